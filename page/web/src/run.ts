// SPDX-License-Identifier: GPL-3.0-or-later
// Text in, picture out: edits, undo, reading and simulating, with older questions aborted.
import { api, ApiError, isAbort } from './api';
import { notice } from './notice';
import { emit, keep, sampleAt, state, timeNow } from './state';
import type { Edit, Run } from './types';

const DEEPEST = 200;
let asking: AbortController | null = null;
/** Edits, undo and redo wait for each other: each works on the text the last one left. */
let queue: Promise<unknown> = Promise.resolve();
/** Rises when another file comes onto the page: what was asked of the one before is dropped. */
let epoch = 0;

/** Marks what belongs to the file on the page. */
export function whichFile(): string {
  return String(epoch);
}

function isGood(run: Run): run is Required<Run> {
  return run.morning !== undefined && run.series !== undefined && run.verdict !== undefined;
}

/** Reads and simulates the text that stands; the newest call wins. */
export async function evaluate(options: { fresh?: boolean; keepGhost?: boolean } = {}): Promise<void> {
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
      state.ghost = options.fresh ? null : options.keepGhost ? state.ghost : state.run;
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
    state.unanswered = false;
    emit('rig');
  } catch (error) {
    if (!isAbort(error) && !mine.signal.aborted) {
      complain(error);
      // What stands on the page belongs to an older text, and says so.
      state.stale = true;
      state.unanswered = true;
      if (options.fresh) {
        state.run = null;
        state.ghost = null;
      }
      emit('rig');
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
    epoch += 1;
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

/** Does something when all that was asked before is done. */
function inTurn<T>(act: () => Promise<T>): Promise<T> {
  const turn = queue.then(act);
  queue = turn.catch(() => undefined);
  return turn;
}

/** Makes `text` the rig file once the edits before it are done: the whole text was typed anew. */
export function replaceText(text: string): Promise<void> {
  return inTurn(() => setText(text));
}

/** Until every edit that was asked for stands in the text. */
export async function allDone(): Promise<void> {
  await inTurn(() => Promise.resolve());
}

/** Carries edits out on the text; resolves to true when they were done. `written` is called when they stand in the text, before the
 *  picture is drawn. */
export function edit(edits: Edit[], written: () => void = () => undefined): Promise<boolean> {
  const asked = epoch;
  return inTurn(async () => {
    const started = performance.now();
    if (asked !== epoch) {
      return false;
    }
    try {
      const answer = await api.edit(state.text, edits, state.units);
      if (asked !== epoch) {
        return false; // it was of another file
      }
      if (answer.failed) {
        notice([answer.failed.message, answer.failed.remedy].filter(Boolean).join('; '), 'error');
        return false;
      }
      for (const note of answer.notes ?? []) {
        notice(note, 'plain');
      }
      written();
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
}

/** Takes the text on top of one pile and puts the present one on the other. */
function swap(from: 'past' | 'future', to: 'past' | 'future'): Promise<void> {
  return inTurn(async () => {
    const text = state[from].pop();
    if (text !== undefined) {
      state[to].push(state.text);
      state.text = text;
      keepDraft();
      emit('file');
      await evaluate();
    }
  });
}

export function undo(): Promise<void> {
  return swap('past', 'future');
}

export function redo(): Promise<void> {
  return swap('future', 'past');
}
