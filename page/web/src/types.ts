// SPDX-License-Identifier: GPL-3.0-or-later
// What the server says and takes: docs/page-api.md as types. All numbers are SI.

export type UnitSystem = 'metric' | 'us';
export type Grade = 'good' | 'tight' | 'unknown' | 'bad' | 'impossible';
/** A column whose value never changes is one number. */
export type Column = number | null | (number | null)[];

export interface Fault {
  severity: 'error' | 'warning';
  line: number | null;
  column: number | null;
  part: string | null;
  section: string | null;
  path: string | null;
  message: string;
  remedy: string | null;
}

export interface UnitScale { label: string; factor: number; offset: number }
export interface Quantity { si: string; metric: UnitScale; us: UnitScale }
export interface FileEntry { name: string; title: string; size: number; stamp: string; kind: 'rig' | 'yard' | 'costs' }
export interface Template { key: string; title: string; about: string; text: string }
export interface Start {
  api: number;
  version: string;
  folder: string;
  can_write: boolean;
  shared: boolean;
  files: FileEntry[];
  templates: Template[];
  demo: string;
  quantities: Record<string, Quantity>;
  verbs: string[];
}

export interface FieldSpec {
  key: string;
  /** What the page calls it, where that is not the file's own word. */
  label?: string;
  type: 'real' | 'count' | 'flag' | 'choice' | 'text';
  quantity: string | null;
  default: number | string | null;
  low: number | null;
  high: number | null;
  default_text: { metric: string; us: string } | null;
  range_text: { metric: string; us: string } | null;
  bare_unit: string | null;
  none: boolean;
  choices: string[] | null;
  doc: string;
  units: string[] | null;
}
export interface SpecialSpec { key: string; doc: string }
export interface Kind {
  word: string;
  kind: string;
  about: string;
  ports: string[];
  place: string;
  in_line: boolean;
  has_heaters: boolean;
  fields: FieldSpec[];
  special: SpecialSpec[];
}
export interface Section { name: string; about: string; fields: FieldSpec[]; special: SpecialSpec[] }
export interface Catalogue {
  kinds: Kind[];
  common: FieldSpec[];
  heater: FieldSpec[];
  thermostat: FieldSpec[];
  leg: FieldSpec[];
  sections: Section[];
  oils: { name: string; about: string }[];
  terms: { word: string; about: string }[];
  /** Fields of the maps below the electrics. */
  tables: Record<string, FieldSpec[]>;
}

export interface FieldValue {
  path: string;
  key: string;
  text: string;
  value: number | null;
  given: boolean;
  line: number | null;
  column: number | null;
}
export interface HeaterValue { name: string; path: string; fields: FieldValue[] }
/** What the file holds there: texts, lists and maps. */
export type Held = string | Held[] | { [key: string]: Held };
export interface SpecialValue { path: string; text: string; value: Held; line: number | null; column: number | null }
export interface Part {
  index: number;
  kind: string;
  name: string;
  line: number | null;
  column: number | null;
  place: string;
  fields: FieldValue[];
  heaters?: HeaterValue[];
  special?: SpecialValue[];
}
export interface SectionValue {
  name: string;
  given: boolean;
  line: number | null;
  fields: FieldValue[];
  special?: SpecialValue[];
  legs?: { path: string; fields: FieldValue[] }[];
}
export interface Joint { from: number; from_port: string; to: number; to_port: string }
export interface Rule { index: number; line: number | null; text: string; set: string; to: string; when: string }
export interface Read {
  faults: Fault[];
  ok: boolean;
  name: string;
  notes: string;
  parts: Part[];
  sections: SectionValue[];
  oil: { text: string; value?: Held; line: number | null; fluids: { name: string; kind: string | null; text: string }[] } | null;
  lines?: { line: number | null; entries: string[] }[];
  joints?: Joint[];
  path?: number[];
  return_path?: number[];
  rules?: Rule[];
}

export type Edit = Record<string, unknown> & { op: string };
export interface EditAnswer {
  text: string;
  changed: boolean;
  notes: string[];
  faults: Fault[];
  failed?: { index: number; message: string; remedy: string | null };
}

export interface Answer {
  kind: string;
  question: string;
  grade: Grade;
  unit: string;
  value: number | null;
  limit: number | null;
  margin: number | null;
  tightness: number | null;
  time_s: number | null;
  part: string | null;
  trust: string;
  basis: string;
  text: string;
  mend: string;
}
export interface MorningEvent { time_s: number; kind: string; text: string; part: string | null; element: number | null; value: number | null }
export interface MorningReport {
  rig: string;
  fluids: string[];
  headline: string;
  advice: string;
  grade: Grade;
  started: boolean;
  ready_s: number | null;
  start_s: number | null;
  end_s: number;
  trouble: string | null;
  answers: Answer[];
  events: MorningEvent[];
  worst_moment: { time_s: number; why: string } | null;
}
export interface Verdict {
  grade: Grade;
  headline: string;
  advice: string;
  part: number | null;
  answer: number | null;
  mend: { text: string; edits: Edit[] | null } | null;
}
export interface Limits {
  start_kinematic_m2_s: number;
  run_kinematic_m2_s: number;
  warm_up_s: number;
  ready_k: number | null;
  suction_floor_pa: number;
  inlet_max_pa: number;
  oil_max_k: number;
  min_fill: number;
}
export interface PartSeries {
  index: number;
  in_k: Column; out_k: Column; oil_max_k: Column; wall_k: Column; wall_max_k: Column; element_max_k: Column;
  in_m2_s: Column; out_m2_s: Column; in_pa: Column; out_pa: Column; flow_m3_s: Column; drop_pa: Column;
  heat_w: Column; coolant_w: Column; gain_w: Column; share: Column; on: Column;
}
export interface Moment { sample: number; path: number[]; return_path?: number[] }
export interface Series {
  count: number;
  time_s: number[];
  engine: Column; leg: Column; key: Column;
  speed_m_s: Column; engine_rad_s: Column; coolant_k: Column; bay_k: Column; ambient_k: Column;
  request_m3_s: Column; burned_m3_s: Column; full_request_m3_s: Column; full_burned_m3_s: Column;
  inlet_k: Column; inlet_pa: Column; inlet_kinematic_m2_s: Column; inlet_fill: Column; inlet_share: Column; inlet_limit_m2_s: Column;
  lowest_pa: Column; lowest_part: Column; heaters_w: Column; pumps_w: Column; charge_c: Column; volts_v: Column;
  parts: PartSeries[];
  moments: Moment[];
}
export interface Run {
  faults: Fault[];
  morning?: MorningReport;
  verdict?: Verdict;
  answers?: { kind: string; part: number | null; mend_edits: Edit[] | null }[];
  cautions?: string[];
  limits?: Limits;
  series?: Series;
  took_ms?: number;
}
/** A run that was carried out: nothing is missing. */
export interface GoodRun extends Required<Run> {
  /** The parts' names by index, noted when the run was made. */
  names: string[];
  /** The way back at the start, for moments that do not say theirs. */
  back: number[];
}

export interface OilTable {
  name: string;
  description: string;
  trust: string;
  cloud_point_k: number | null;
  pour_point_k: number | null;
  flash_point_k: number | null;
  heating_value_j_kg: number | null;
  density_15_kg_m3: number | null;
  temperature_k: number[];
  kinematic_m2_s: number[];
  dynamic_pa_s: number[];
  density_kg_m3: number[];
  reach: { limit_m2_s: number; temperature_k: number | null }[];
}
export interface CompareRow { kind: string; question: string; quantity: string; values: (number | null)[]; grades: (Grade | null)[]; better: number | null }
export interface Comparison { runs: (Run & { label: string })[]; rows: CompareRow[] }
