// SPDX-License-Identifier: GPL-3.0-or-later
// Wiring and Faults: long work on the server with progress and cancel. While it works the answer before stays, and says that it is
// of an older text; what arrives late is dropped.
import { api } from './api';
import { button, clear, h, type Kid } from './dom';
import { faultLine } from './fields';
import { complain } from './run';
import { state } from './state';
import type { Fault } from './types';

/** A drawing of the server, as a picture: nothing in it can act. */
export function drawing(words: string, svg: string): HTMLElement {
  const image = h('img', { alt: words, class: 'drawing', src: `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}` });
  return h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': words }, image);
}

type Ended = { state: string; result?: Record<string, unknown>; error?: { message: string } };

/** Asks until a job has ended; null when `isWanted` says no more, and then it is called off. */
async function waitFor(id: string, isWanted: () => boolean, tell: (share: number) => void): Promise<Ended | null> {
  for (let wait = 40; ; wait = Math.min(wait * 1.5, 800)) {
    if (!isWanted()) {
      void api.jobCancel(id).catch(() => undefined);
      return null;
    }
    const now = await api.job(id);
    if (now.state !== 'running') {
      return isWanted() ? now : null;
    }
    tell(now.progress ?? 0);
    await new Promise((next) => window.setTimeout(next, wait));
  }
}

/** Carries a short job out; null when it did not come to an end or is no longer wanted. */
export async function jobResult(verb: string, text: string, isWanted: () => boolean): Promise<Record<string, unknown> | null> {
  const job = await api.jobStart(verb, text, state.units);
  return (await waitFor(job.id, isWanted, () => undefined))?.result ?? null;
}

export interface JobShow {
  /** The answer, as the command line's JSON. */
  (result: Record<string, unknown>, text: string): Kid[];
}

export function viewJob(verb: string, title: string, about: string, show: JobShow): { element: HTMLElement; draw(): void; time(): void } {
  const status = h('div', { class: 'job-status', role: 'status' });
  const body = h('div', { class: 'job-body' });
  const element = h('div', { class: 'view job' }, status, body);
  let turn = 0;
  let done = '';
  let asked = '';
  const key = () => `${state.text}/${state.units}`;

  const say = (...kids: Kid[]) => {
    clear(status, ...kids);
    body.classList.toggle('old', kids.length > 0);
  };
  const again = (words: string, label: string) => say(h('p', {}, words), button(label, () => void run(), 'main'));

  const run = async () => {
    turn += 1;
    const mine = turn;
    const { text } = state;
    asked = key();
    const bar = h('progress', { max: 1, 'aria-label': `${title}: share done` });
    const share = h('span', {}, '');
    say(h('p', { class: 'headline small' }, `${title}: working`, body.childElementCount ? h('span', { class: 'basis' }, ' (below: the answer before)') : null), h('div', { class: 'row' }, bar, share, button('Cancel', () => {
      turn += 1;
      again('Cancelled.', `Work out ${title.toLowerCase()}`);
    })));
    try {
      const job = await api.jobStart(verb, text, state.units);
      const ended = await waitFor(job.id, () => mine === turn, (told) => {
        if (told > 0) { // unknown until the work says so
          bar.value = told;
          share.textContent = `${Math.round(told * 100)} %`;
        }
      });
      if (ended === null) {
        return;
      }
      const faults = ((ended.result?.rig_faults ?? []) as Fault[]).filter((fault) => fault.severity === 'error');
      if (faults.length > 0) {
        say(h('p', { class: 'headline small' }, `${title} cannot be worked out: ${faults.length === 1 ? 'an entry' : `${faults.length} entries`} cannot be used yet.`), ...faults.map((fault) => faultLine({ ...fault, message: [fault.part ?? fault.section, fault.message].filter(Boolean).join(': ') }, null)));
      } else if (ended.state === 'done' && ended.result) {
        done = `${text}/${state.units}`;
        const at = document.activeElement instanceof HTMLElement && body.contains(document.activeElement) ? document.activeElement.textContent : null;
        clear(body, ...show(ended.result, text));
        say();
        if (at !== null) { // the button that was pressed is gone or another: the focus stays with the answer
          ([...body.querySelectorAll('button')].find((other) => other.textContent === at) ?? body.querySelector<HTMLElement>('h1'))?.focus({ preventScroll: true });
        }
      } else {
        again(ended.error?.message ?? `The work ended: ${ended.state}.`, 'Try again');
      }
    } catch (error) {
      if (mine === turn) {
        complain(error);
        again('It could not be worked out.', 'Try again');
      }
    }
  };
  return {
    element,
    draw: () => {
      if (!state.start.verbs.includes(verb)) {
        clear(element, h('div', { class: 'not-yet' }, h('h1', { class: 'headline' }, `${title}: not in this build yet`), h('p', {}, about), h('p', {}, 'This program cannot answer it yet, so nothing is shown here.')));
      } else if (done === key()) {
        turn += 1; // an answer on its way is of another text
        asked = done;
        say();
      } else if (asked !== key()) {
        void run();
      }
    },
    time: () => undefined,
  };
}
