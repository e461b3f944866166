// SPDX-License-Identifier: GPL-3.0-or-later
// The logbook as the page knows it: its kinds of entry, the things that have names, and the way an entry is written.
// Nothing is worked out here; everything is asked of the program.
import { api, ApiError } from './api';
import type { LogBatch, LogEntry, LogFault, LogKind, LogReminder, LogSaid, LogSource, LogStart, LogVehicle, LogVessel } from './types_book';
import { emit, keep, state } from './state';

export interface Book {
  start: LogStart | null;
  sources: LogSource[];
  vessels: LogVessel[];
  batches: LogBatch[];
  vehicles: LogVehicle[];
  due: LogReminder[];
  /** Why the logbook cannot be read, "" when it can. */
  trouble: string;
}
export const book: Book = { start: null, sources: [], vessels: [], batches: [], vehicles: [], due: [], trouble: '' };

/** A thing that can be picked for a field. */
export interface Thing { kind: string; id: number; name: string; last_s: number; note: string; isSpent: boolean; use?: string | null }

export function kindOf(word: string): LogKind | undefined {
  return book.start?.kinds.find((kind) => kind.word === word);
}

export function things(kinds: string[]): Thing[] {
  const all: Thing[] = [
    ...book.sources.map((one) => ({ kind: 'source', id: one.id, name: one.name, last_s: one.last_s ?? 0, note: '', isSpent: false })),
    ...book.vessels.map((one) => ({ kind: 'vessel', id: one.id, name: one.name, last_s: one.changed_s ?? 0, note: one.level_text, isSpent: false, use: one.use })),
    ...book.batches.map((one) => ({ kind: 'batch', id: one.id, name: one.name, last_s: one.last_s ?? one.started_s ?? 0, note: one.volume_text, isSpent: one.volume_m3 <= 0 && one.in_m3 > 0 })),
    ...book.vehicles.map((one) => ({ kind: 'vehicle', id: one.id, name: one.name, last_s: one.last_fill_s ?? 0, note: '', isSpent: false })),
  ];
  return all.filter((one) => kinds.includes(one.kind)).sort((a, b) => Number(a.isSpent) - Number(b.isSpent) || b.last_s - a.last_s || b.id - a.id);
}

/** What went wrong, with what would help, as one sentence or two. */
export function troubleWords(error: unknown): string {
  return error instanceof ApiError ? [error.message, error.remedy].filter(Boolean).join(/[.?!]$/.test(error.message) ? ' ' : '; ') : String(error);
}

let shownIn = '';
async function readBook(): Promise<void> {
  try {
    const before = `${book.start?.version ?? -1}/${shownIn}/${book.trouble}`;
    book.start = await api.logStart();
    if (book.start.exists && `${book.start.version}/${state.units}/` !== before) {
      const [all, due] = await Promise.all([api.logThings(state.units), api.logDue(state.units)]);
      book.sources = all.sources.sources;
      book.vessels = all.levels.vessels;
      book.batches = all.batches.batches;
      book.vehicles = all.vehicles.vehicles;
      book.due = due.reminders;
      shownIn = state.units;
    }
    book.trouble = '';
  } catch (error) {
    book.trouble = troubleWords(error);
  }
}

let loading: Promise<void> | null = null;
let isOld = false;
/** Asks everything anew; calls while one is under way join it. What was begun before the book was written is read again. */
export function refresh(wasWritten = false): Promise<void> {
  if (loading) {
    isOld ||= wasWritten;
    return loading;
  }
  loading = (async () => {
    do {
      isOld = false;
      await readBook();
    } while (isOld);
    loading = null;
    emit('book');
  })();
  return loading;
}

/** What came of writing. */
export interface Written { done: boolean; entries: LogEntry[]; faults: LogFault[]; said?: LogSaid }

/** A mark by which the program knows the same order when it is sent again because the answer was lost. */
export function newToken(): string {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

export interface NewEntry { kind: string; at?: string; fields: Record<string, string> }

export async function write(order: { entries: NewEntry[] } | { words: string }, token: string): Promise<Written> {
  const answer = await api.logAdd({ ...order, token, units: state.units });
  if (answer.done) {
    void refresh(true);
  }
  return answer;
}

export async function takeBack(ids: number[]): Promise<Written> {
  const answer = await api.logUndo(ids);
  if (answer.done) {
    void refresh(true);
  }
  return answer;
}

/** What was picked last for a field, for the next time. */
export const lastPick = {
  get: (kind: string, key: string): string | null => keep.get(`pick.${kind}.${key}`),
  set: (kind: string, key: string, value: string): void => keep.set(`pick.${kind}.${key}`, value === '' ? null : value),
};

/** "today 14:05", "yesterday", "Mon 24 Nov", "24 Nov 2025". */
export function dayWords(at_s: number, now = Date.now() / 1000, withTime = true): string {
  const date = new Date(at_s * 1000);
  const today = new Date(now * 1000);
  const midnight = new Date(today.getFullYear(), today.getMonth(), today.getDate()).getTime() / 1000;
  const clock = `${String(date.getHours()).padStart(2, '0')}:${String(date.getMinutes()).padStart(2, '0')}`;
  if (at_s >= midnight && at_s < midnight + 86400) {
    return withTime ? `today ${clock}` : 'today';
  }
  if (at_s >= midnight - 86400 && at_s < midnight) {
    return 'yesterday';
  }
  const month = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'][date.getMonth()];
  const day = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'][date.getDay()];
  return date.getFullYear() === today.getFullYear() ? `${day} ${date.getDate()} ${month}` : `${date.getDate()} ${month} ${date.getFullYear()}`;
}

/** Age in days as people say it. */
export function ageWords(since_s: number, now = Date.now() / 1000): string {
  const days = Math.floor((now - since_s) / 86400);
  return days < 1 ? 'today' : days === 1 ? '1 day' : days < 60 ? `${days} days` : `${Math.round(days / 30.44)} months`;
}

/** Looks for changes by others (the command line, another phone) while a view of the book is open. */
export function watchBook(isShown: () => boolean): void {
  window.setInterval(() => {
    if (document.visibilityState === 'visible' && isShown()) {
      void refresh();
    }
  }, 8000);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible' && isShown()) {
      void refresh();
    }
  });
}
