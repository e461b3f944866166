// SPDX-License-Identifier: GPL-3.0-or-later
// The plan of the yard file: one batch walked through its steps, what it comes to, and the week with what holds it up.
import { button, clear, freshId, h, type Kid } from './dom';
import { dialog, notice } from './notice';
import { complain } from './run';
import { SheetWork, faultWords, plainNumbers, runJob } from './sheet';
import { state } from './state';
import { gradeMark, gradeWords } from './symbols';
import type { Fault } from './types';
import { clock, digits, show, splitQuantity } from './units';

interface PlanStep {
  step: string; kind: string; vessel: string; into: string; elapsed_s: number; watched_s: number; hands_on_s: number; energy_j: number;
  start_k: number; end_k: number; left_m3: number; water_share: number; free_water_share: number; solids_share: number; filters: number; reach: string; note: string;
}
interface PlanFinding { key: string; label: string; grade: string; step: string | null; text: string; mend: string; basis: string; trust: string }
interface PlanWeek {
  collected_m3: number; batches_wanted: number; batches_possible: number; batches: number; clean_m3: number; backlog_m3: number; limit: string; vessel: string | null; step: string | null; text: string;
  working_s: number; hands_on_s: number; watched_s: number; energy_kwh: number; filters: number; waste_kg: Record<string, number>; costs: { label: string; week: number; litre: number; counted: boolean }[];
  cost_week: number; cost_litre: number; currency: string;
}
interface PlanAnswer {
  yard: string; grade: string; headline: string; clean_m3: number; incoming: { volume_m3: number; water_share: number; solids_share: number }; steps: PlanStep[]; waste_kg: Record<string, number>;
  findings: PlanFinding[]; cautions: { key: string; text: string }[]; week: PlanWeek;
}

/** Steps last from minutes to days. */
export function span(seconds: number): string {
  return seconds >= 36 * 3600 ? `${digits(seconds / 86400, 1)} days` : clock(seconds);
}
const ppm = (share: number) => (share >= 1e-3 ? `${digits(share * 100, 2)} %` : `${digits(share * 1e6, 0)} mg/kg`);

function walk(answer: PlanAnswer): HTMLElement {
  return h('ol', { class: 'step-list' }, ...answer.steps.map((step, order) => {
    const bad = step.reach === 'never' || step.reach === 'refused';
    return h('li', { class: 'plan-step', 'data-step': step.step }, h('span', { class: 'step-number', 'aria-hidden': 'true' }, String(order + 1)),
      h('div', {}, h('p', {}, h('strong', {}, step.step), ` (${step.kind}) in ${step.vessel}${step.into !== step.vessel ? `, into ${step.into}` : ''}`),
        h('p', {}, [span(step.elapsed_s), show('temperature', step.end_k), step.energy_j > 0 ? `${digits(step.energy_j / 3.6e6, 2)} kWh` : '', step.hands_on_s > 0 ? `${clock(step.hands_on_s)} of work` : '', step.watched_s > 0 ? `watched ${clock(step.watched_s)}` : ''].filter(Boolean).join(', ')),
        h('p', { class: 'field-help' }, `left: ${show('volume', step.left_m3)}, water ${ppm(step.water_share)}, solids ${ppm(step.solids_share)}`),
        step.note ? h('p', { class: bad ? 'field-fault error' : 'field-help' }, step.note) : null));
  }));
}

function week(plan: PlanWeek): Kid[] {
  const share = (used: number) => (plan.working_s > 0 ? used / plan.working_s : 0);
  const bar = (word: string, used: number, text: string) => {
    const line = h('span', { class: 'share-bar', 'aria-hidden': 'true' });
    line.style.width = `${Math.max(0.5, Math.min(100, used * 100))}%`;
    return h('li', { class: 'bar-row' }, h('span', {}, word), h('strong', {}, text), line);
  };
  const batches = Math.max(plan.batches_wanted, plan.batches_possible, 1e-9);
  const waste = Object.entries(plan.waste_kg).filter(([, kg]) => kg > 0).map(([what, kg]) => `${what} ${show('mass', kg)}`).join(', ');
  return [
    h('p', { class: 'advice' }, h('strong', {}, 'Bottleneck: '), plan.text),
    h('ul', { class: 'step-list' }, bar('Batches that would keep up', plan.batches_wanted / batches, digits(plan.batches_wanted)), bar('Batches the yard can do', plan.batches_possible / batches, digits(plan.batches_possible)),
      bar('Hands-on work', share(plan.hands_on_s), `${clock(plan.hands_on_s)} of ${clock(plan.working_s)}`), bar('Someone must be there', share(plan.watched_s), `${clock(plan.watched_s)} of ${clock(plan.working_s)}`)),
    h('dl', { class: 'pairs big' }, ...([['Collected a week', show('volume', plan.collected_m3)], ['Clean oil a week', show('volume', plan.clean_m3)], ['Left over, growing', plan.backlog_m3 > 0 ? `${show('volume', plan.backlog_m3)} a week` : 'nothing'],
      ['Electricity', `${digits(plan.energy_kwh)} kWh a week`], ['Filters used', digits(plan.filters, 2)], ['Waste', waste || 'none'], ['Cost of a clean litre', `${plan.cost_litre.toFixed(3)} ${plan.currency}`]] as [string, string][]).flatMap(([word, text]) => [h('dt', {}, word), h('dd', {}, text)])),
    h('details', { class: 'more' }, h('summary', {}, 'Cost by kind'), h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': 'Cost by kind' }, h('table', {}, h('thead', {}, h('tr', {}, ...['What for', 'a week', 'a litre'].map((word) => h('th', { scope: 'col' }, word)))),
      h('tbody', {}, ...plan.costs.map((cost) => h('tr', {}, h('th', { scope: 'row' }, cost.label, cost.counted ? '' : ' (not counted)'), h('td', { class: 'short' }, cost.week.toFixed(2)), h('td', { class: 'short' }, cost.litre.toFixed(3)))))))),
  ];
}

/** The numbers of the week that are tried out most: where they stand in the file, and what they begin with. */
const knobs: { section: string; path: string; label: string; unit: string; doc: string }[] = [
  { section: 'week', path: 'batch', label: 'batch as it comes', unit: 'L', doc: 'how much oil goes through at a time' },
  { section: 'week', path: 'pick-ups', label: 'pick-ups a week', unit: '', doc: 'how often oil is fetched' },
  { section: 'week', path: 'a pick-up', label: 'oil of a pick-up', unit: 'L', doc: 'what one brings' },
  { section: 'week', path: 'days', label: 'days worked a week', unit: '', doc: 'days on which someone is there' },
  { section: 'climate', path: 'shed', label: 'air in the shed', unit: 'degC', doc: 'where the vessels stand' },
];

/** A value as the text of the file has it, for plain `key: value` or `section: {key: value}`; '' when it is not there. */
export function valueIn(text: string, section: string, path: string): string {
  const head = new RegExp(`^${section}:([^\\n]*)((?:\\n(?:[ \\t][^\\n]*|[ \\t]*#[^\\n]*|))*)`, 'm').exec(text);
  const inside = head ? `${head[1]}\n${head[2]}` : '';
  const found = new RegExp(`(?:^|[{,\\n])\\s*${path}:\\s*([^,}#\\n]+)`).exec(inside);
  return found ? found[1].trim() : '';
}

export function yardPlan(): { element: HTMLElement; draw(): void } {
  const result = h('div', { 'aria-live': 'polite' });
  const fields = h('div', { class: 'conditions' });
  const tools = h('div', { class: 'row' });
  const element = h('section', { class: 'yard-plan', 'aria-label': 'Plan of the yard' }, h('h2', {}, 'Plan of the yard'), result, h('details', { class: 'more', open: window.innerWidth > 900 }, h('summary', {}, 'Try other figures'), fields), tools);
  let turn = 0;
  let done = '';
  const textDialog = () => dialog('The yard file', (close) => {
    const id = freshId('yard');
    const area = h('textarea', { id, class: 'mono', rows: 22, spellcheck: 'false' });
    area.value = work.text;
    return [h('label', { for: id }, 'The yard file as it will be saved. Comments are kept.'), area, h('div', { class: 'row' }, button('Use this text', () => {
      close();
      work.put(area.value);
    }, 'main'), button('Leave it', close))];
  });
  const drawFields = () => {
    const focus = fields.contains(document.activeElement) ? document.activeElement?.getAttribute('data-knob') : null;
    clear(fields, ...knobs.map((knob) => {
      const id = freshId('knob');
      const now = valueIn(work.text, knob.section, knob.path);
      const split = splitQuantity(now);
      const input = h('input', { id, type: 'text', inputmode: 'decimal', autocomplete: 'off', value: split?.number ?? '', 'data-knob': knob.path, 'aria-describedby': `${id}-help`, placeholder: 'default' });
      const unit = split?.unit || knob.unit;
      input.addEventListener('change', () => {
        const typed = plainNumbers(input.value.trim());
        void work.set(knob.section, knob.path, typed === '' ? null : /[A-Za-z%]/.test(typed) || unit === '' ? typed : `${typed} ${unit}`);
      });
      return h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, knob.label)), h('div', { class: 'field-control' }, input, unit ? h('span', { class: 'unit-word' }, unit.replace('degC', '°C').replace('degF', '°F')) : null), h('p', { class: 'field-help', id: `${id}-help` }, knob.doc));
    }));
    if (focus) {
      fields.querySelector<HTMLElement>(`[data-knob="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
    }
    clear(tools, button('Undo', () => work.undo(), '', { disabled: !work.canUndo }), state.start.can_write ? button(work.demo ? `Save as ${work.name}` : 'Save', () => void work.save(), work.dirty || work.demo ? 'main' : '') : null, button('The file\'s text', () => void textDialog()));
  };
  const show_ = (answer: PlanAnswer) => {
    const odd = answer.findings.filter((one) => one.grade !== 'good');
    const good = answer.findings.filter((one) => one.grade === 'good');
    const item = (one: PlanFinding) => h('article', { class: `answer ${one.grade}` }, gradeMark(one.grade), h('div', {}, h('h3', {}, one.label, h('span', { class: 'grade-word' }, ` ${gradeWords[one.grade] ?? one.grade}`)), h('p', {}, one.text), one.mend ? h('p', {}, h('strong', {}, 'Mend: '), one.mend) : null));
    clear(result,
      h('section', { class: `verdict ${answer.grade} plain-verdict`, 'aria-label': 'Verdict on the batch' }, h('div', { class: 'verdict-words' }, gradeMark(answer.grade), h('div', {}, h('h3', { class: 'headline small' }, answer.headline, h('span', { class: 'sr' }, ` (${gradeWords[answer.grade] ?? answer.grade})`)),
        h('p', { class: 'advice' }, `${work.demo ? 'An invented yard, to be changed to yours. ' : ''}${show('volume', answer.incoming.volume_m3)} as it comes give ${show('volume', answer.clean_m3)} of clean oil.`)))),
      answer.cautions.length ? h('section', { class: 'cautions' }, h('h2', {}, 'Take care'), h('ul', {}, ...answer.cautions.slice(0, 3).map((one) => h('li', {}, one.text))),
        answer.cautions.length > 3 ? h('details', {}, h('summary', {}, `${answer.cautions.length - 3} more to take care of`), h('ul', {}, ...answer.cautions.slice(3).map((one) => h('li', {}, one.text)))) : null) : null,
      odd.length ? h('div', { class: 'answers' }, ...odd.map(item)) : null,
      good.length ? h('details', { class: 'more' }, h('summary', {}, `What is right (${good.length})`), h('div', { class: 'answers' }, ...good.map(item))) : null,
      h('div', { class: 'plan-grid' }, h('section', { 'aria-label': 'One batch' }, h('h3', {}, 'One batch, step by step'), walk(answer)), h('section', { 'aria-label': 'The week' }, h('h3', {}, 'The week'), ...week(answer.week))));
  };
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
      drawFields();
      const answer = await runJob('batch', work.text, {}, () => mine === turn);
      if (!answer) {
        return;
      }
      done = key;
      const faults = (answer.rig_faults ?? []) as Fault[];
      if (faults.some((fault) => fault.severity === 'error')) {
        if (result.childElementCount > 0) {
          notice(faultWords(work.name, faults[0]), 'error');
        } else {
          clear(result, ...faults.map((fault) => h('p', { class: 'field-fault error' }, faultWords(work.name, fault))));
        }
        return;
      }
      show_(answer as unknown as PlanAnswer);
    } catch (error) {
      complain(error);
    }
  };
  const work = new SheetWork('yard', () => void run());
  return { element, draw: () => void run() };
}
