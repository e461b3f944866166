// SPDX-License-Identifier: GPL-3.0-or-later
// What the program says of the logbook, the yard and the costs: docs/page-api.md as types. Numbers are SI.

export interface LogField {
  key: string;
  label: string;
  type: 'quantity' | 'text' | 'choice' | 'ref' | 'money';
  quantity: string;
  required: boolean;
  bare: string | null;
  csv_unit: string | null;
  choices: string[] | null;
  refs: string[];
  doc: string;
}
export interface LogKind { word: string; label: string; is_thing: boolean; doc: string; fields: LogField[] }
export interface LogStart { kinds: LogKind[]; book: string; exists: boolean; can_write: boolean; why_not: string; version: number }

export interface LogEntry {
  id: number;
  kind: string;
  at_s: number;
  made_s: number;
  undone_by: number | null;
  sentence: string;
  fields: Record<string, { si?: number; number?: number; text: string }>;
}
export interface LogMore { before_at_s: number; before_id: number }
export interface LogFault { severity: 'error' | 'warning'; entry: number | null; field: string | null; message: string; remedy: string | null }
export interface LogSaid { understood: boolean; sentence: string; question: string; suggestion: string; id: number | null; undo: boolean }

export interface LogSource { id: number; name: string; last_s: number | null; pickups: number; collected_m3: number }
export interface LogVessel {
  id: number;
  name: string;
  use: string | null;
  capacity_m3: number | null;
  level_m3: number;
  level_text: string;
  batches: number;
  is_below: boolean;
  is_over: boolean;
  changed_s: number | null;
}
export interface LogBatch {
  id: number;
  name: string;
  vessel: number | null;
  vessel_name: string;
  started_s: number;
  last_s: number | null;
  volume_m3: number;
  volume_text: string;
  in_m3: number;
  out_m3: number;
  lost_m3: number;
  steps: number;
  tests: number;
  step: string | null;
  decision: string | null;
  /** Results over the limits of the fuel standard; "" when none is. */
  over_text: string;
  acid_mg_g: number | null;
  water_kg_kg: number | null;
  solids_kg_kg: number | null;
}
export interface LogVehicle { id: number; name: string; rig: string; last_fill_s: number | null; odometer_m: number | null; counted_m: number | null; distance_m: number; consumption_m3_m: number | null; oil_m3: number; diesel_m3: number }
export interface LogReminder { kind: string; subject: string; thing: number | null; is_due: boolean; is_soon: boolean; is_unknown: boolean; used: number; due_s: number | null; left_text: string; reason: string }
export interface LogShare { id: number; kind: string; name: string; at_s: number; share: number; volume_m3: number; text?: string }
export interface LogTrace { volume_m3: number; parts: LogShare[]; sources: LogShare[]; batches: LogShare[]; unknown: number; is_cut: boolean }
export interface LogBatchDetail { batch: LogBatch; entries: LogEntry[]; trace: LogTrace }
/** A place for filters: one filter of one vehicle, as the log has taught. Distances in metres. */
export interface FilterPlace {
  vehicle: number;
  vehicle_name: string;
  filter: string;
  life_m: number;
  low_m: number;
  high_m: number;
  study_m: number | null;
  factor: number;
  n: number;
  running: number;
  others: number;
  has_study: boolean;
  text: string;
  now_m: number | null;
  solids_kg_kg: number | null;
  /** By the filter study of the vehicle's rig: its laws' shortest and longest; asked by the page. */
  model?: [number, number];
  curve: { distance_m: number; share: number }[];
}
export interface FilterLife { vehicle: number; vehicle_name: string; filter: string; from_s: number; to_s: number; is_censored: boolean; distance_m: number | null; reason: string | null }
export interface FilterAnswer { places: FilterPlace[]; lives: FilterLife[] }
/** What one vehicle uses, as the log has taught. */
export interface LogVehicleDetail {
  vehicle: LogVehicle;
  fuel: { rate_text: string; low_text: string; high_text: string; n: number; odd: number; is_rising: boolean; text: string };
  odd: { kind: string; text: string }[];
}
/** The yard file or the cost file; `stamp` null: the demo's text, not saved yet. */
export interface Sheet { which: string; name: string; text: string; demo: boolean; stamp: string | null }
