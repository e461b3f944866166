// SPDX-License-Identifier: GPL-3.0-or-later
// A yard or cost file under work: its text, edits that keep its comments, undo, saving, and the answer of the program to it.
import { api, ApiError } from './api';
import { notice } from './notice';
import { complain } from './run';
import { state } from './state';
import type { Fault } from './types';

/** Runs a verb as a job until it ends; null when it was left behind by a newer one. */
export async function runJob(verb: string, text: string, options: Record<string, unknown>, isWanted: () => boolean): Promise<Record<string, unknown> | null> {
  const job = await api.jobStart(verb, text, state.units, options);
  for (let wait = 30; ; wait = Math.min(wait * 1.4, 500)) {
    if (!isWanted()) {
      void api.jobCancel(job.id).catch(() => undefined);
      return null;
    }
    const now = await api.job(job.id);
    if (now.state !== 'running') {
      if (now.state !== 'done' || !now.result) {
        throw new ApiError(200, 'failed', now.error?.message ?? `The work ended: ${now.state}.`, null);
      }
      return now.result;
    }
    await new Promise((next) => window.setTimeout(next, wait));
  }
}

/** Numbers as a file takes them: a decimal comma is a point, one before three digits parts thousands, as in the log's lines. */
export function plainNumbers(text: string): string {
  return text.replace(/(\d),(\d{3})(?!\d)/g, '$1$2').replace(/(\d),(\d)/g, '$1.$2');
}

/** A fault of a file as one line: "costs.yaml, line 2: ...; what would be right". */
export function faultWords(name: string, fault: Pick<Fault, 'line' | 'message' | 'remedy'>): string {
  return `${name}${fault.line ? `, line ${fault.line}` : ''}: ${[fault.message, fault.remedy].filter(Boolean).join('; ')}`;
}

export class SheetWork {
  text = '';
  saved = '';
  name = '';
  demo = false;
  private stamp: string | null = null;
  private past: string[] = [];
  private loading: Promise<void> | null = null;

  constructor(readonly which: 'yard' | 'costs', private readonly changed: () => void) {}

  get dirty(): boolean {
    return this.text !== this.saved;
  }
  get canUndo(): boolean {
    return this.past.length > 0;
  }

  /** Loads it once; a call while it loads waits for the same. */
  load(): Promise<void> {
    this.loading ??= api.sheet(this.which).then((sheet) => {
      this.text = this.saved = sheet.text;
      this.stamp = sheet.stamp;
      this.name = sheet.name;
      this.demo = sheet.demo;
    }).catch((error: unknown) => {
      this.loading = null;
      throw error;
    });
    return this.loading;
  }

  /** Makes a text the sheet; the one before can be had back. */
  put(text: string): void {
    if (text !== this.text) {
      this.past.push(this.text);
      this.past.splice(0, Math.max(0, this.past.length - 100));
      this.text = text;
      this.changed();
    }
  }

  undo(): void {
    const text = this.past.pop();
    if (text !== undefined) {
      this.text = text;
      this.changed();
    }
  }

  /** Writes one value into its section, nothing else is touched; null takes it out. */
  async set(section: string, path: string, value: string | boolean | null): Promise<void> {
    try {
      const answer = await api.edit(this.text, [{ op: 'set', section, path, value }], state.units);
      if (answer.failed) {
        notice([answer.failed.message, answer.failed.remedy].filter(Boolean).join('; '), 'error');
      } else {
        this.put(answer.text);
      }
    } catch (error) {
      complain(error);
    }
  }

  async save(force = false): Promise<void> {
    try {
      const answer = await api.sheetSave(this.which, this.text, this.stamp, force);
      this.stamp = answer.stamp;
      this.saved = this.text;
      this.demo = false;
      notice(`Saved as ${answer.name}.`);
      this.changed();
    } catch (error) {
      if (!force && error instanceof ApiError && (error.code === 'changed' || error.code === 'exists')) {
        if (window.confirm(`${this.name} was changed by someone else meanwhile. Write over it?`)) {
          await this.save(true);
        }
        return;
      }
      complain(error);
    }
  }
}
