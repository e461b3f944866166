// SPDX-License-Identifier: GPL-3.0-or-later
// Cold start: the morning as curves against time, and every limit with its margin.
import { chart, cssColor, spread } from './charts';
import { button, clear, h } from './dom';
import { at, emit, sampleAt, state } from './state';
import { edit } from './run';
import { gradeMark, gradeWords } from './symbols';
import type { Answer, Column, Edit, GoodRun } from './types';
import { clock, showUnit, toShown, unitLabel } from './units';
import { editWords } from './verdict';

function converted(quantity: string, column: Column, count: number): (number | null)[] {
  return spread(column, count).map((value) => (value === null ? null : toShown(quantity, value)));
}

/** The ghost's column at the times of the run. */
function ghostly(run: GoodRun, ghost: GoodRun, quantity: string, column: Column): (number | null)[] {
  return run.series.time_s.map((time) => {
    if (time > ghost.morning.end_s) {
      return null;
    }
    const value = at(column, sampleAt(ghost, time));
    return value === null ? null : toShown(quantity, value);
  });
}

export function answerTable(open: (name: string) => void): HTMLElement {
  const run = state.run;
  if (!run) {
    return h('p', {}, 'No answers yet.');
  }
  const order = { impossible: 0, bad: 1, tight: 2, unknown: 3, good: 4 };
  const list = [...run.morning.answers].sort((a, b) => order[a.grade] - order[b.grade]);
  const mendOf = (answer: Answer) => run.answers[run.morning.answers.indexOf(answer)]?.mend_edits ?? null;
  return h('div', { class: 'answers' }, ...list.map((answer) => h('article', { class: `answer ${answer.grade}` }, gradeMark(answer.grade),
    h('div', {}, h('h3', {}, answer.question, h('span', { class: 'grade-word' }, ` ${gradeWords[answer.grade]}`)), h('p', {}, answer.text),
      answer.mend ? h('p', {}, h('strong', {}, 'Mend: '), answer.mend) : null,
      h('p', { class: 'basis' }, answer.limit === null ? '' : `Limit ${showUnit(answer.unit, answer.limit)}. `, `Rests on: ${answer.trust}. ${answer.basis}`),
      h('div', { class: 'row' },
        mendOf(answer) && !state.stale ? button(`Do it: ${editWords(mendOf(answer) as Edit[])}`, () => void edit(mendOf(answer) as Edit[]), 'small') : null,
        answer.part ? button(answer.part, () => open(answer.part as string), 'small') : null,
        answer.time_s !== null ? button(`at ${clock(answer.time_s)}`, () => {
          state.sample = sampleAt(run, answer.time_s as number);
          emit('time');
        }, 'small') : null)))));
}

export function viewStart(open: (name: string) => void): { element: HTMLElement; draw(): void; time(): void } {
  const charts = h('div', { class: 'charts' });
  const answers = h('section', { 'aria-label': 'Every limit' });
  const element = h('div', { class: 'view' }, charts, h('h2', {}, 'Every question, the doubtful first'), answers);
  let made: { draw(): void }[] = [];
  return {
    element,
    draw: () => {
      const run = state.run;
      if (!run) {
        clear(charts, h('p', {}, 'There is no run to show yet.'));
        return;
      }
      const v = run.series;
      const old = state.ghost;
      const ghost = (label: string, quantity: string, column: (run: GoodRun) => Column) => old ? [{ label: `${label} before`, data: ghostly(run, old, quantity, column(old)), color: cssColor('--ghost'), dash: [6, 5], width: 2 }] : [];
      const line = (label: string, quantity: string, column: Column, color: string, dash?: number[]) => ({ label, data: converted(quantity, column, v.count), color: cssColor(color), ...(dash ? { dash } : {}) });
      const list = [
        chart({ title: 'Viscosity at the injection pump', x: v.time_s, unit: unitLabel('kinematic viscosity'), time: true, log: true, lines: [line('oil', 'kinematic viscosity', v.inlet_kinematic_m2_s, '--v'), { ...line('limit', 'kinematic viscosity', v.inlet_limit_m2_s, '--limit', [10, 5]), step: true }, ...ghost('oil', 'kinematic viscosity', (r) => r.series.inlet_kinematic_m2_s)] }),
        chart({ title: 'Temperature', x: v.time_s, unit: unitLabel('temperature'), time: true, lines: [line('oil at the pump', 'temperature', v.inlet_k, '--t'), line('coolant', 'temperature', v.coolant_k, '--v', [3, 3]), ...ghost('oil', 'temperature', (r) => r.series.inlet_k)] }),
        chart({ title: 'Pressure', x: v.time_s, unit: unitLabel('pressure'), time: true, lines: [line('pump inlet', 'pressure', v.inlet_pa, '--p'), line('lowest anywhere', 'pressure', v.lowest_pa, '--t', [3, 3]), ...ghost('pump inlet', 'pressure', (r) => r.series.inlet_pa)] }),
        chart({ title: 'Electric power', x: v.time_s, unit: unitLabel('power'), time: true, lines: [line('heaters', 'power', v.heaters_w, '--t'), line('pumps', 'power', v.pumps_w, '--p', [3, 3]), ...ghost('heaters', 'power', (r) => r.series.heaters_w)] }),
      ];
      made = list;
      clear(charts, ...list.map((item) => item.element));
      clear(answers, answerTable(open));
    },
    time: () => made.forEach((item) => item.draw()),
  };
}
