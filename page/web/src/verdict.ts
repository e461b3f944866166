// SPDX-License-Identifier: GPL-3.0-or-later
// The answer in one sentence, its margin, the part to blame and the mend; beside it the values at the moment.
import { button, clear, h, s } from './dom';
import { edit, evaluate } from './run';
import { ratioText, thickness } from './scale';
import { at, emit, sampleAt, state } from './state';
import { gradeMark, gradeWords } from './symbols';
import type { Answer, Edit, Fault } from './types';
import { clock, digits, prettyUnit, show, showUnit } from './units';

/** What an edit does, in few words for a button. */
export function editWords(edits: Edit[]): string {
  return edits.map((edit) => {
    const where = [edit.part ?? edit.section, edit.path].filter((word) => typeof word === 'string' && word !== '').join(', ').replaceAll('/', ' ');
    const value = edit.value as { blend?: Record<string, string> } | null;
    const shares = edit.section === 'oil' && typeof value === 'object' ? (edit.path === 'blend' ? value as Record<string, string> : value?.blend) : undefined;
    const what = shares ? Object.entries(shares).map(([name, share]) => `${share} ${name}`).join(', ')
      : typeof edit.value === 'object' && edit.value !== null ? JSON.stringify(edit.value).replaceAll('"', '') : String(edit.value ?? edit.kind ?? '');
    if (shares) {
      return `fuel: ${what}`;
    }
    return edit.op === 'set' ? `${where}: ${prettyUnit(what)}` : `${edit.op} ${where || String(edit.kind ?? '')} ${what}`.trim();
  }).join('; ');
}

/** How far a value is from its limit, as a bar of which the mark at 100 % is the limit. */
export function marginBar(answer: Answer): HTMLElement | null {
  if (answer.value === null || answer.limit === null || answer.limit === 0) {
    return null;
  }
  const share = answer.value / answer.limit;
  if (answer.unit === 'K' || share < 0 || !Number.isFinite(share)) {
    return h('p', { class: 'margin-text' }, `${showUnit(answer.unit, answer.value)} against ${showUnit(answer.unit, answer.limit)}`);
  }
  const fill = Math.min(share, 2) * 50;
  const svg = s('svg', { viewBox: '0 0 100 12', class: `margin-bar ${answer.grade}`, preserveAspectRatio: 'none', 'aria-hidden': 'true' },
    s('rect', { x: 0, y: 2, width: 100, height: 8, class: 'margin-back' }), s('rect', { x: 0, y: 2, width: fill, height: 8, class: 'margin-fill' }), s('rect', { x: 49.6, y: 0, width: 0.8, height: 12, class: 'margin-limit' }));
  const spare = answer.margin !== null && answer.limit ? Math.abs(answer.margin / answer.limit) : null;
  const words = spare === null || answer.margin === null ? '' : answer.margin >= 0 ? `${digits(spare * 100, 0)} % to spare` : `${digits(spare * 100, 0)} % past the limit`;
  return h('div', { class: 'margin' }, svg, h('p', { class: 'margin-text' }, `${showUnit(answer.unit, answer.value)}, limit ${showUnit(answer.unit, answer.limit)}${words ? `: ${words}` : ''}`));
}

/** Opens the panel of a section at the field that cannot be used. */
function showSection(fault: Fault): void {
  const panel = document.querySelector<HTMLDetailsElement>(`[data-section="${CSS.escape(fault.section ?? '')}"]`);
  if (panel) {
    panel.open = true;
    window.setTimeout(() => { // once it is filled
      const field = panel.querySelector<HTMLElement>(`[data-path="${CSS.escape(fault.path ?? '')}"]`);
      for (let fold = field?.closest('details'); fold && fold !== panel; fold = fold.parentElement?.closest('details') ?? null) {
        fold.open = true;
      }
      (field ?? panel).scrollIntoView({ block: 'center' });
      field?.focus({ preventScroll: true });
    });
  }
}

export function createVerdict(open: (name: string) => void): { element: HTMLElement; draw(): void; time(): void } {
  const words = h('div', { class: 'verdict-words', 'aria-live': 'polite' });
  const actions = h('div', { class: 'verdict-actions' });
  const tiles = h('dl', { class: 'tiles' });
  const element = h('section', { class: 'verdict', id: 'verdict', 'aria-label': 'Verdict' }, h('div', { class: 'verdict-main' }, words, actions), tiles);

  const draw = () => {
    const run = state.run;
    const errors = (state.read?.faults ?? []).filter((fault) => fault.severity === 'error');
    element.className = `verdict ${state.stale ? 'unknown' : (run?.verdict.grade ?? 'unknown')}`;
    actions.replaceChildren();
    if (state.stale || !run) {
      clear(words, gradeMark(errors.length ? 'bad' : 'unknown'),
        h('div', {},
          h('h1', { class: 'headline' }, state.unanswered ? 'No answer: the program could not be reached.' : errors.length === 1 ? 'One entry cannot be used yet.' : errors.length > 1 ? `${errors.length} entries cannot be used yet.` : 'No answer yet.'),
          h('ul', { class: 'fault-list' }, ...errors.slice(0, 6).map((fault) => h('li', {}, [fault.part ?? fault.section, fault.message].filter(Boolean).join(': '), fault.remedy ? `; ${fault.remedy}` : '',
            fault.line ? ` (line ${fault.line})` : '', ' ', fault.part ? button(`Show ${fault.part}`, () => open(fault.part as string), 'small') : fault.section && document.querySelector(`[data-section="${CSS.escape(fault.section)}"]`) ? button(`Show ${fault.section}`, () => showSection(fault), 'small') : null))),
          run ? h('p', { class: 'advice' }, state.unanswered ? 'The picture below is that of an older text. Your change is kept.' : 'The picture below is that of the last run without errors.') : null));
      if (state.unanswered) {
        actions.append(button('Ask again', () => void evaluate({ keepGhost: true }), 'main'));
      }
      time();
      return;
    }
    const verdict = run.verdict;
    const answer = verdict.answer !== null ? run.morning.answers[verdict.answer] : undefined;
    clear(words, gradeMark(verdict.grade),
      h('div', {},
        h('h1', { class: 'headline' }, verdict.headline, h('span', { class: 'sr' }, ` (${gradeWords[verdict.grade]})`)),
        h('p', { class: 'advice' }, verdict.advice),
        answer ? marginBar(answer) : null));
    const blamed = verdict.part !== null ? run.names[verdict.part] : undefined;
    const mend = verdict.mend;
    if (mend && mend.edits && mend.edits.length > 0) {
      const edits = mend.edits;
      actions.append(button(`Do it: ${editWords(edits)}`, () => void edit(edits), 'main mend'));
    }
    if (blamed) {
      actions.append(button(`Show ${blamed}`, () => open(blamed)));
    }
    if (answer?.time_s !== null && answer?.time_s !== undefined) {
      const moment = answer.time_s;
      actions.append(button(`See ${clock(moment)}`, () => {
        if (state.run) {
          state.sample = sampleAt(state.run, moment);
          emit('time');
        }
      }));
    }
    const warnings = (state.read?.faults ?? []).filter((fault) => fault.severity === 'warning');
    if (warnings.length) {
      actions.append(h('details', { class: 'warnings' }, h('summary', {}, warnings.length === 1 ? '1 remark' : `${warnings.length} remarks`),
        h('ul', {}, ...warnings.map((fault) => h('li', {}, [fault.part ?? fault.section, fault.message, fault.remedy].filter(Boolean).join('; '))))));
    }
    time();
  };

  const time = () => {
    const run = state.run;
    if (!run) {
      tiles.replaceChildren();
      return;
    }
    const v = run.series;
    const i = state.sample;
    const limit = at(v.inlet_limit_m2_s, i);
    const kinematic = at(v.inlet_kinematic_m2_s, i);
    const ratio = limit !== null && kinematic !== null ? kinematic / limit : null;
    const asked = at(v.request_m3_s, i) ?? 0;
    const got = at(v.burned_m3_s, i) ?? 0;
    const tile = (word: string, value: string, extra = '', kind = '') => h('div', { class: `tile ${kind}` }, h('dt', {}, word), h('dd', {}, value, extra ? h('small', {}, ` ${extra}`) : null));
    const level = thickness(ratio);
    clear(tiles,
      tile('Oil at pump', show('temperature', at(v.inlet_k, i))),
      tile('Viscosity there', show('kinematic viscosity', kinematic), ratio === null ? '' : ratioText(ratio), level === null ? '' : `n${level}`),
      tile('Pressure there', show('pressure', at(v.inlet_pa, i))),
      tile('Fuel to engine', asked > 0 ? show('volume flow', got) : '–', asked > 0 ? `${digits((got / asked) * 100, 0)} %` : ''),
      tile('Heaters', show('power', at(v.heaters_w, i))),
      tile('Coolant', show('temperature', at(v.coolant_k, i))));
  };
  return { element, draw, time };
}
