// SPDX-License-Identifier: GPL-3.0-or-later
// What the page knows, in one place; who wants to hear of a change subscribes by topic.
import type { Catalogue, GoodRun, Moment, Read, Start, UnitSystem } from './types';

export type View = 'path' | 'oil' | 'start' | 'wire' | 'faults' | 'compare' | 'log' | 'yard' | 'life' | 'cost';
export type Topic = 'rig' | 'time' | 'select' | 'view' | 'units' | 'file' | 'busy' | 'book';

export interface State {
  start: Start;
  catalogue: Catalogue;
  units: UnitSystem;
  theme: 'auto' | 'light' | 'dark';
  view: View;
  /** The rig file's text: the one truth. */
  text: string;
  /** The text as last saved or loaded. */
  savedText: string;
  file: { name: string; stamp: string } | null;
  past: string[];
  future: string[];
  read: Read | null;
  /** The last run that could be carried out. */
  run: GoodRun | null;
  /** The run before it, drawn as a ghost. */
  ghost: GoodRun | null;
  /** True while the text has errors and `run` belongs to an older text. */
  stale: boolean;
  /** True while nobody has answered for the text that stands. */
  unanswered: boolean;
  selected: string | null;
  sample: number;
}

export const state: State = {
  start: null as unknown as Start,
  catalogue: null as unknown as Catalogue,
  units: 'metric',
  theme: 'auto',
  view: 'path',
  text: '',
  savedText: '',
  file: null,
  past: [],
  future: [],
  read: null,
  run: null,
  ghost: null,
  stale: false,
  unanswered: false,
  selected: null,
  sample: 0,
};

type Listener = () => void;
const listeners = new Map<Topic, Listener[]>();

export function on(topics: Topic[], listener: Listener): void {
  for (const topic of topics) {
    listeners.set(topic, [...(listeners.get(topic) ?? []), listener]);
  }
}

/** Tells every listener of the topics, each once. */
export function emit(...topics: Topic[]): void {
  const called = new Set<Listener>();
  for (const topic of topics) {
    for (const listener of listeners.get(topic) ?? []) {
      if (!called.has(listener)) {
        called.add(listener);
        listener();
      }
    }
  }
}

/** Reads a column of a series, which may be one number for all times. */
export function at(column: number | null | (number | null)[] | undefined, sample: number): number | null {
  if (column === undefined || column === null) {
    return null;
  }
  return Array.isArray(column) ? (column[sample] ?? null) : column;
}

/** The sample nearest to a time. */
export function sampleAt(run: GoodRun, time_s: number): number {
  const times = run.series.time_s;
  let low = 0;
  let high = times.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (times[middle] <= time_s) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return time_s - times[low] <= times[high] - time_s ? low : high;
}

export function timeNow(): number {
  return state.run?.series.time_s[state.sample] ?? 0;
}

/** The way of the fuel at a sample. */
export function momentAt(run: GoodRun, sample: number): { path: number[]; return_path: number[] } {
  let found: Moment = run.series.moments[0] ?? { sample: 0, path: [], return_path: [] };
  for (const moment of run.series.moments) {
    if (moment.sample <= sample) {
      found = moment;
    }
  }
  return { path: found.path, return_path: found.return_path ?? run.back };
}

/** Small settings that outlive a reload; a browser that forbids storage loses them quietly. */
export const keep = {
  get(key: string): string | null {
    try {
      return window.localStorage.getItem(`oilwright.${key}`);
    } catch {
      return null;
    }
  },
  set(key: string, value: string | null): void {
    try {
      if (value === null) {
        window.localStorage.removeItem(`oilwright.${key}`);
      } else {
        window.localStorage.setItem(`oilwright.${key}`, value);
      }
    } catch {
      // Nothing depends on it.
    }
  },
};
