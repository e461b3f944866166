// SPDX-License-Identifier: GPL-3.0-or-later
// The one place that talks to the server.
import type { FilterAnswer, FilterPlace, LogBatch, LogBatchDetail, LogEntry, LogFault, LogMore, LogReminder, LogSaid, LogSource, LogStart, LogTrace, LogVehicle, LogVehicleDetail, LogVessel, Sheet } from './types_book';
import type { Catalogue, Comparison, Edit, EditAnswer, Fault, OilTable, Read, Run, Start, UnitSystem } from './types';

export class ApiError extends Error {
  constructor(readonly status: number, readonly code: string, message: string, readonly remedy: string | null) {
    super(message);
  }
}

async function ask<T>(method: string, address: string, body?: unknown, signal?: AbortSignal): Promise<T> {
  let answer: Response;
  try {
    answer = await fetch(address, {
      method,
      headers: body === undefined ? {} : { 'Content-Type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
      signal,
      credentials: 'same-origin',
    });
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') {
      throw error;
    }
    throw new ApiError(0, 'gone', 'The program does not answer.', 'Start "oilwright page" again, then reload this page.');
  }
  const text = await answer.text();
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new ApiError(answer.status, 'bad_json', `The program's answer cannot be read (status ${answer.status}).`, null);
  }
  if (!answer.ok) {
    const error = (value as { error?: { code: string; message: string; remedy?: string } }).error;
    throw new ApiError(answer.status, error?.code ?? 'unknown', error?.message ?? `status ${answer.status}`, error?.remedy ?? null);
  }
  return value as T;
}

export function isAbort(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'AbortError';
}

export const api = {
  start: () => ask<Start>('GET', '/api/start'),
  catalogue: () => ask<Catalogue>('GET', '/api/catalogue'),
  open: (name: string) => ask<{ name: string; text: string; stamp: string }>('GET', `/api/file?name=${encodeURIComponent(name)}`),
  save: (name: string, text: string, stamp: string | null, force: boolean) =>
    ask<{ name: string; stamp: string }>('PUT', '/api/file', { name, text, stamp, force }),
  read: (text: string, signal?: AbortSignal) => ask<Read>('POST', '/api/read', { text }, signal),
  edit: (text: string, edits: Edit[], units: UnitSystem) => ask<EditAnswer>('POST', '/api/edit', { text, edits, units }),
  morning: (text: string, units: UnitSystem, signal?: AbortSignal) =>
    ask<Run>('POST', '/api/morning', { text, units, samples: 180 }, signal),
  oil: (oil: string, units: UnitSystem, signal?: AbortSignal) =>
    ask<{ faults: Fault[]; oil?: OilTable }>('POST', '/api/oil', { oil, units }, signal),
  compare: (texts: { label: string; text: string; soak?: string; drive?: string }[], units: UnitSystem, signal?: AbortSignal) =>
    ask<Comparison>('POST', '/api/compare', { texts, units, samples: 160 }, signal),
  jobStart: (verb: string, text: string, units: UnitSystem, options: Record<string, unknown> = {}) =>
    ask<{ id: string; state: string }>('POST', '/api/job', { verb, text, options, units }),
  job: (id: string) => ask<{ id: string; state: string; progress?: number; result?: Record<string, unknown>; error?: { message: string } }>('GET', `/api/job/${id}`),
  jobCancel: (id: string) => ask<{ id: string; state: string }>('DELETE', `/api/job/${id}`),
  logStart: () => ask<LogStart>('GET', '/api/log/kinds'),
  logThings: (units: UnitSystem) =>
    ask<{ sources: { sources: LogSource[] }; levels: { vessels: LogVessel[] }; batches: { batches: LogBatch[] }; vehicles: { vehicles: LogVehicle[] } }>('GET', `/api/log/things?done=1&units=${units}`),
  logDue: (units: UnitSystem) => ask<{ reminders: LogReminder[] }>('GET', `/api/log/due?units=${units}`),
  logList: (want: { text: string; kind: string; undone: boolean; more: LogMore | null; thing?: number; units: UnitSystem }) => {
    const query = new URLSearchParams({ units: want.units, limit: '25' });
    const put = (key: string, value: string | number | undefined) => value !== undefined && value !== '' && query.set(key, String(value));
    put('text', want.text);
    put('kind', want.kind);
    put('thing', want.thing);
    put('undone', want.undone ? 1 : undefined);
    put('before_at_s', want.more?.before_at_s);
    put('before_id', want.more?.before_id);
    return ask<{ entries: LogEntry[]; more: LogMore | null }>('GET', `/api/log?${query}`);
  },
  logBatch: (id: number, units: UnitSystem) => ask<LogBatchDetail>('GET', `/api/log/batch?id=${id}&units=${units}`),
  logTrace: (id: number, units: UnitSystem) => ask<LogTrace>('GET', `/api/log/trace?id=${id}&units=${units}`),
  logForward: (id: number, units: UnitSystem) => ask<LogTrace>('GET', `/api/log/forward?id=${id}&units=${units}`),
  /** One filter with what its rig's study says of it as the start. */
  logFilterBeside: (vehicle: number, filter: string, study_m: number, solids_kg_kg: number, units: UnitSystem, signal?: AbortSignal) =>
    ask<{ place: FilterPlace | null }>('GET', `/api/log/filters?id=${vehicle}&filter=${encodeURIComponent(filter)}&study_m=${study_m}&solids_kg_kg=${solids_kg_kg}&units=${units}`, undefined, signal),
  /** What each vehicle uses, learned once for all. */
  logFuel: (units: UnitSystem, signal?: AbortSignal) => ask<{ vehicles: LogVehicleDetail[] }>('GET', `/api/log/fuel?units=${units}`, undefined, signal),
  logFilters: (units: UnitSystem, signal?: AbortSignal) => ask<FilterAnswer>('GET', `/api/log/filters?units=${units}`, undefined, signal),
  logAdd: (order: Record<string, unknown>) =>
    ask<{ done: boolean; entries: LogEntry[]; faults: LogFault[]; said?: LogSaid }>('POST', '/api/log', order),
  logUndo: (ids: number[]) => ask<{ done: boolean; entries: LogEntry[]; faults: LogFault[] }>('POST', '/api/log/undo', { ids }),
  sheet: (which: 'yard' | 'costs') => ask<Sheet>('GET', `/api/sheet?which=${which}`),
  sheetSave: (which: 'yard' | 'costs', text: string, stamp: string | null, force: boolean) =>
    ask<{ name: string; stamp: string }>('PUT', '/api/sheet', { which, text, stamp, force }),
};
