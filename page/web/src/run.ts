// SPDX-License-Identifier: GPL-3.0-or-later
// Text in, picture out: edits, undo, reading and simulating, with older questions aborted.
import { api, ApiError, isAbort } from './api';
import { notice } from './notice';
import { emit, keep, sampleAt, state, timeNow } from './state';
import type { Edit, Run } from './types';

const DEEPEST = 200;
let asking: AbortController | null = null;
/** Edits wait for each other: each works on the text the last one left. */
let queue: Promise<unknown> = Promise.resolve();

function isGood(run: Run): run is Required<Run> {
  return run.morning !== undefined && run.series !== undefined && run.verdict !== undefined;
}

/** Reads and simulates the text that stands; the newest call wins. */
export async function evaluate(options: { fresh?: boolean } = {}): Promise<void> {
  asking?.abort();
  const mine = new AbortController();
  asking = mine;
  const text = state.text;
  emit('busy');
  try {
    const [read, run] = await Promise.all([api.read(text, mine.signal), api.morning(text, state.units, mine.signal)]);
    if (mine.signal.aborted) {
      return;
    }
    const time = timeNow();
    state.read = read;
    if (isGood(run)) {
      state.ghost = options.fresh ? null : state.run;
      state.run = { ...run, names: read.parts.map((part) => part.name), back: read.return_path ?? [] };
      state.stale = false;
      const decisive = run.verdict.answer !== null ? run.morning.answers[run.verdict.answer]?.time_s : null;
      const first = decisive ?? run.morning.worst_moment?.time_s ?? 0;
      state.sample = sampleAt(state.run, options.fresh ? first : Math.min(time, run.morning.end_s));
    } else {
      state.stale = true;
      read.faults = run.faults.length > read.faults.length ? run.faults : read.faults;
      if (options.fresh) {
        state.run = null;
        state.ghost = null;
      }
    }
    if (state.selected !== null && !read.parts.some((part) => part.name === state.selected)) {
      state.selected = null;
    }
    emit('rig');
  } catch (error) {
    if (!isAbort(error)) {
      complain(error);
    }
  } finally {
    if (asking === mine) {
      asking = null;
      emit('busy');
    }
  }
}

export function isBusy(): boolean {
  return asking !== null;
}

export function complain(error: unknown): void {
  if (error instanceof ApiError) {
    notice(error.remedy ? `${error.message} ${error.remedy}` : error.message, 'error');
  } else {
    notice(error instanceof Error ? error.message : String(error), 'error');
  }
}

/** Makes `text` the rig file; `options.fresh` forgets the history (another file was opened). */
export async function setText(text: string, options: { fresh?: boolean } = {}): Promise<void> {
  if (options.fresh) {
    state.past = [];
    state.future = [];
    state.selected = null;
  } else if (text !== state.text) {
    state.past.push(state.text);
    state.past.splice(0, Math.max(0, state.past.length - DEEPEST));
    state.future = [];
  }
  state.text = text;
  keepDraft();
  emit('file');
  await evaluate(options);
}

export function keepDraft(): void {
  const dirty = state.text !== state.savedText;
  keep.set('draft', dirty ? JSON.stringify({ name: state.file?.name ?? null, stamp: state.file?.stamp ?? null, text: state.text, saved: state.savedText }) : null);
}

/** Carries edits out on the text; resolves to true when they were done. */
export function edit(edits: Edit[]): Promise<boolean> {
  const turn = queue.then(async () => {
    const started = performance.now();
    try {
      const answer = await api.edit(state.text, edits, state.units);
      if (answer.failed) {
        notice([answer.failed.message, answer.failed.remedy].filter(Boolean).join('; '), 'error');
        return false;
      }
      for (const note of answer.notes ?? []) {
        notice(note, 'plain');
      }
      if (answer.changed) {
        await setText(answer.text);
        performance.measure('edit-to-drawn', { start: started });
      }
      return true;
    } catch (error) {
      complain(error);
      return false;
    }
  });
  queue = turn;
  return turn;
}

export async function undo(): Promise<void> {
  const text = state.past.pop();
  if (text !== undefined) {
    state.future.push(state.text);
    state.text = text;
    keepDraft();
    emit('file');
    await evaluate();
  }
}

export async function redo(): Promise<void> {
  const text = state.future.pop();
  if (text !== undefined) {
    state.past.push(state.text);
    state.text = text;
    keepDraft();
    emit('file');
    await evaluate();
  }
}
