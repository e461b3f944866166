// SPDX-License-Identifier: GPL-3.0-or-later
// Compare: two rigs side by side, each of them the present text, an earlier one, a file or a template.
import { api, isAbort } from './api';
import { chart, cssColor, spread } from './charts';
import { clear, freshId, h, type Kid } from './dom';
import { faultLine } from './fields';
import { complain } from './run';
import { at, sampleAt, state } from './state';
import { table } from './table';
import { gradeMark, gradeWords } from './symbols';
import type { Comparison, GoodRun } from './types';
import { clock, digits, show, toShown, unitLabel } from './units';

async function textOf(choice: string): Promise<string> {
  const [kind, name] = [choice.slice(0, choice.indexOf(':')), choice.slice(choice.indexOf(':') + 1)];
  switch (kind) {
    case 'file':
      return (await api.open(name)).text;
    case 'template':
      return state.start.templates.find((template) => template.key === name)?.text ?? '';
    case 'saved':
      return state.savedText;
    case 'before':
      return state.past[state.past.length - 1] ?? state.text;
    default:
      return state.text;
  }
}

export function viewCompare(): { element: HTMLElement; draw(): void; time(): void } {
  const controls = h('section', { class: 'conditions', 'aria-label': 'What to compare' });
  const result = h('div', { 'aria-live': 'polite' });
  const element = h('div', { class: 'view' }, controls, result);
  const chosen = ['now:', ''];
  let soak = '';
  let asking: AbortController | null = null;
  let asked = '';
  const soakFault = h('div', { id: freshId('soak-wrong') });
  const soakId = freshId('soak');

  const choices = (): [string, string][] => [
    ['now:', 'as on the page'],
    ...(state.past.length ? [['before:', 'before the last change'] as [string, string]] : []),
    ...(state.text !== state.savedText ? [['saved:', 'as saved'] as [string, string]] : []),
    ...state.start.files.filter((file) => file.kind === 'rig').map((file): [string, string] => [`file:${file.name}`, file.title || file.name]),
    ...state.start.templates.map((template): [string, string] => [`template:${template.key}`, `template: ${template.title}`]),
  ];

  const look = async () => {
    asking?.abort();
    asking = new AbortController();
    const { signal } = asking;
    try {
      const list = choices();
      const texts = await Promise.all(chosen.map(async (choice) => ({ label: list.find(([value]) => value === choice)?.[1] ?? choice, text: await textOf(choice), ...(soak.trim() ? { soak: /[a-z°]/i.test(soak) ? soak.trim() : `${soak.trim().replace(',', '.')} ${state.units === 'us' ? 'degF' : 'degC'}` } : {}) })));
      if (texts[0].label === texts[1].label) {
        texts[1].label += ' (2)';
      }
      draw_result(await api.compare(texts, state.units, signal));
    } catch (error) {
      if (!isAbort(error)) {
        complain(error);
      }
    }
  };

  const draw_result = (comparison: Comparison) => {
    const shares: Record<string, string> = { fill: '%', delivery: '%', full_load: '% missing' };
    const value = (quantity: string, si: number | null, kind: string): Kid => (si === null ? '–' : shares[kind] !== undefined && quantity === 'number' ? `${digits(si * 100, 0)} ${shares[kind]}` : quantity === 'time' ? clock(si) : quantity === 'number' ? digits(si) : show(quantity, si));
    // What is wrong with the one entry for both is told there, once.
    const wrong = comparison.runs.flatMap((run) => run.faults).find((fault) => fault.severity === 'error' && fault.part === '--soak');
    soakFault.replaceChildren(...(wrong ? [faultLine({ ...wrong, message: wrong.remedy ?? wrong.message, remedy: null }, null)] : []));
    document.getElementById(soakId)?.setAttribute('aria-invalid', String(wrong !== undefined));
    const kids: Kid[] = [h('div', { class: 'split' }, ...comparison.runs.map((run) => h('section', { class: `compare-run ${run.verdict?.grade ?? 'unknown'}` }, h('h2', {}, run.label),
      run.verdict ? h('div', { class: 'verdict-words' }, gradeMark(run.verdict.grade), h('div', {}, h('p', { class: 'headline small' }, run.verdict.headline), h('p', { class: 'advice' }, run.verdict.advice))) : h('div', {}, ...(wrong ? [h('p', {}, 'Not worked out.')] : run.faults.filter((fault) => fault.severity === 'error').map((fault) => faultLine(fault, null)))))))];
    const runs = comparison.runs.filter((run) => run.series) as unknown as (GoodRun & { label: string })[];
    if (runs.length === 2) {
      const colors = ['--v', '--t'];
      const x = runs[0].series.time_s;
      const same = (run: GoodRun, column: (run: GoodRun) => number | null | (number | null)[], quantity: string) => x.map((time) => {
        const si = time > run.morning.end_s ? null : at(column(run), sampleAt(run, time));
        return si === null ? null : toShown(quantity, si);
      });
      const plot = (title: string, quantity: string, column: (run: GoodRun) => number | null | (number | null)[], log: boolean) => chart({
        title, x, unit: unitLabel(quantity), time: true, log,
        lines: [...runs.map((run, order) => ({ label: run.label, data: same(run, column, quantity), color: cssColor(colors[order]), ...(order ? { dash: [8, 4] } : {}) })),
          ...(log ? [{ label: 'limit', data: spread(runs[0].series.inlet_limit_m2_s, x.length).map((si) => (si === null ? null : toShown(quantity, si))), color: cssColor('--limit'), dash: [3, 4], width: 2, step: true }] : [])],
      }).element;
      kids.push(h('div', { class: 'charts' }, plot('Viscosity at the injection pump', 'kinematic viscosity', (run) => run.series.inlet_kinematic_m2_s, true), plot('Oil at the pump', 'temperature', (run) => run.series.inlet_k, false)));
    }
    const rows = comparison.rows.filter((row) => row.kind !== 'simulation'); // the simulation's own books say nothing of a vehicle
    if (rows.length > 0) {
      kids.push(table('Question by question', ['Question', ...comparison.runs.map((run) => run.label)], rows.map((row): Kid[] => [row.question, ...row.values.map((si, order) => h('span', { class: 'grade-cell' }, row.grades[order] ? gradeMark(row.grades[order] as string) : null, ' ', value(row.quantity, si, row.kind), row.grades[order] ? h('span', { class: 'sr' }, ` ${gradeWords[row.grades[order] as string]}`) : null, row.better === order ? h('strong', {}, ' better') : null))]),
      { caption: 'Question by question; the better one is marked', marked: (row, column) => (rows[row].better === column - 1 ? 'better half' : 'half') }));
    }
    clear(result, ...kids);
  };

  const build = () => {
    const list = choices();
    if (!list.some(([value]) => value === chosen[1])) {
      chosen[1] = list.length > 1 ? list[1][0] : list[0][0];
    }
    const pick = (order: number) => {
      const id = freshId('rig');
      const select = h('select', { id, change: () => {
        chosen[order] = select.value;
        void look();
      } }, ...list.map(([value, words]) => h('option', { value }, words)));
      select.value = chosen[order];
      return h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, order === 0 ? 'first' : 'second')), h('div', { class: 'field-control' }, select));
    };
    const id = soakId;
    const input = h('input', { id, 'aria-describedby': soakFault.id, type: 'text', value: soak, placeholder: state.units === 'us' ? '5 degF' : '-15 degC', autocomplete: 'off' });
    input.addEventListener('change', () => {
      soak = input.value;
      void look();
    });
    clear(controls, pick(0), pick(1), h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, 'soak temperature for both')), h('div', { class: 'field-control' }, input), soakFault, h('p', { class: 'field-help' }, 'empty: each its own')));
  };
  return {
    element,
    draw: () => {
      const key = `${state.text}/${state.units}/${state.past.length}`;
      if (asked !== key) {
        asked = key;
        build();
        void look();
      }
    },
    time: () => undefined,
  };
}
