// SPDX-License-Identifier: GPL-3.0-or-later
// The plan of the yard file: one batch walked through its steps, and the week with what holds it up.
import { clear, h } from './dom';
import { complain } from './run';
import { SheetWork, runJob } from './sheet';
import { state } from './state';
import { renderResult } from './view_job';

export function yardPlan(): { element: HTMLElement; draw(): void } {
  const result = h('div', { 'aria-live': 'polite' });
  const element = h('section', { 'aria-label': 'Plan' }, h('h2', {}, 'Plan of the yard'), result);
  let turn = 0;
  let done = '';
  const run = async () => {
    if (!state.start.verbs.includes('batch')) {
      clear(result, h('p', { class: 'field-help' }, 'This build cannot plan a yard.'));
      return;
    }
    turn += 1;
    const mine = turn;
    try {
      await work.load();
      const key = `${work.text}/${state.units}`;
      if (done === key) {
        return;
      }
      const answer = await runJob('batch', work.text, {}, () => mine === turn);
      if (answer) {
        done = key;
        clear(result, ...renderResult(answer));
      }
    } catch (error) {
      complain(error);
    }
  };
  const work = new SheetWork('yard', () => void run());
  return { element, draw: () => void run() };
}
