// SPDX-License-Identifier: GPL-3.0-or-later
// Vehicle and path: the conditions of the morning, the main picture, its legend, cautions, and the same as a table.
import { button, clear, h, s, type Kid } from './dom';
import { addDialog, hostFor } from './editor';
import { fieldRow, redrawKeeping } from './fields';
import type { Picture } from './picture';
import { edit } from './run';
import { sectionPanels } from './sections';
import { thickness, thicknessWords } from './scale';
import { at, keep, momentAt, state } from './state';
import { table } from './table';
import { clock, show, unitLabel } from './units';
import type { FieldSpec } from './types';

export function hint(): HTMLElement {
  const gone = () => {
    keep.set('hint', 'seen');
    box.remove();
  };
  const step = (count: string, title: string, text: string) => h('li', {}, h('span', { class: 'step-number', 'aria-hidden': 'true' }, count), h('span', {}, h('strong', {}, title), ` ${text}`));
  const box = h('section', { class: 'hint', 'aria-label': 'How to begin' },
    h('ol', {},
      step('1', 'Read the verdict', 'above: it names the part that decides.'),
      step('2', 'Drag the time bar', 'at the foot: see the oil warm up.'),
      step('3', 'Tap a part, change it', 'the dashed line is how it was before.')),
    button('Got it', gone, 'main'));
  return box;
}

/** A fuel that has more to it than a name, in few words. */
function fuelWords(text: string): string {
  const words = text.replace(/\bblend:|[{}]/g, ' ').replace(/\s+/g, ' ').replace(/ ,/g, ',').trim();
  return words.length > 42 ? `${words.slice(0, 40)} …` : words || 'as in the file';
}

/** The few things one changes most: how cold, which oil, how it is driven. */
export function conditions(): { element: HTMLElement; draw(): void } {
  const element = h('section', { class: 'conditions', 'aria-label': 'Conditions of the morning' });
  let shown = '';
  const draw = () => {
    const values = (state.read?.sections ?? []).filter((section) => section.name === 'climate' || section.name === 'drive').map((section) => section.fields);
    const key = JSON.stringify([values, state.read?.oil, state.units, (state.read?.faults ?? []).filter((fault) => fault.part === null)]);
    if (key === shown) {
      return;
    }
    shown = key;
    redrawKeeping(element, rebuild);
  };
  const rebuild = () => {
    const read = state.read;
    const section = (name: string) => state.catalogue.sections.find((other) => other.name === name);
    const value = (name: string, key: string) => read?.sections.find((other) => other.name === name)?.fields.find((field) => field.key === key);
    const ambient = section('climate')?.fields.find((field) => field.key === 'ambient');
    const cycle = section('drive')?.fields.find((field) => field.key === 'cycle');
    const bare = (spec: FieldSpec | undefined, name: string, label: string) => spec ? fieldRow({ ...spec, label }, value(name, spec.key), spec.key, hostFor({ section: name }), true) : null;
    const oilText = read?.oil?.text ?? '';
    const names = state.catalogue.oils.map((oil) => oil.name);
    const plain = names.includes(oilText);
    const oil = h('select', { id: 'oil-choice', change: () => {
      if (oil.value !== '') {
        void edit([{ op: 'set', section: 'oil', value: oil.value }]);
      }
    } }, ...(plain ? [] : [h('option', { value: '' }, read?.oil ? fuelWords(oilText) : 'choose')]), ...names.map((name) => h('option', { value: name }, name)));
    oil.value = plain ? oilText : '';
    clear(element,
      bare(ambient, 'climate', 'Night before'),
      read?.oil && read.oil.fluids.length > 1
        ? h('p', { class: 'field inline' }, h('strong', {}, 'Fuel '), read.oil.fluids.map((fluid) => `${fluid.name}: ${fluid.text}`).join(', '))
        : h('div', { class: 'field inline' }, h('label', { for: 'oil-choice' }, 'Fuel'), oil),
      bare(cycle, 'drive', 'Drive'),
      button('Add a part', () => void addDialog(state.selected)));
  };
  return { element, draw };
}

export function legend(): HTMLElement {
  return h('div', { class: 'legend' },
    h('strong', {}, 'Viscosity of the oil against the limit at the pump: '),
    ...thicknessWords.map((word, level) => h('span', { class: 'legend-item' }, s('svg', { width: 44, height: 14, 'aria-hidden': 'true' }, s('path', { d: 'M2 7H42', class: `pipe n${level}` })), word)),
    h('span', { class: 'legend-item' }, s('svg', { width: 44, height: 14, 'aria-hidden': 'true' }, s('path', { d: 'M2 7H42', class: 'ghost' })), 'the run before'),
    h('span', { class: 'legend-item' }, s('svg', { width: 44, height: 14, 'aria-hidden': 'true' }, s('path', { d: 'M2 7H42', class: 'limit-line' })), 'limit'));
}

export function cautionBox(): { element: HTMLElement; draw(): void } {
  const element = h('section', { class: 'cautions', 'aria-label': 'Cautions' });
  return { element, draw: () => clear(element, h('h2', {}, 'Take care'), h('ul', {}, ...(state.run?.cautions ?? []).map((text) => h('li', {}, text)))) };
}

/** The picture as a table, for reading aloud and for paper. */
export function pathTable(open: (name: string) => void): { element: HTMLElement; draw(): void } {
  const body = h('div', {});
  const element = h('details', { class: 'panel' }, h('summary', {}, 'Values as a table'), body);
  element.addEventListener('toggle', () => draw());
  const draw = () => {
    const run = state.run;
    if (!run || (!element.open && !window.matchMedia('print').matches)) {
      return;
    }
    const i = state.sample;
    const moment = momentAt(run, i);
    const head = [['Part', ''], ['Warm in', unitLabel('temperature')], ['Warm out', unitLabel('temperature')], ['Viscosity out', unitLabel('kinematic viscosity')], ['Against the limit', ''], ['Pressure in', unitLabel('pressure')], ['Pressure out', unitLabel('pressure')], ['Flow', unitLabel('volume flow')], ['Heat', unitLabel('power')]];
    const limit = at(run.series.inlet_limit_m2_s, i);
    const row = (index: number): Kid[] | null => {
      const part = run.series.parts.find((other) => other.index === index);
      const name = run.names[index];
      if (!part || name === undefined) {
        return null;
      }
      const out = at(part.out_m2_s, i);
      const level = limit !== null && out !== null ? thickness(out / limit) : null;
      return [button(name, () => open(name), 'quiet', { 'aria-label': `Open ${name}` }),
        ...[show('temperature', at(part.in_k, i), false), show('temperature', at(part.out_k, i), false), show('kinematic viscosity', out, false), level === null ? '' : thicknessWords[level],
          show('pressure', at(part.in_pa, i), false), show('pressure', at(part.out_pa, i), false), show('volume flow', at(part.flow_m3_s, i), false), at(part.heat_w, i) ? show('power', at(part.heat_w, i), false) : '']];
    };
    redrawKeeping(body, () => clear(body, table('Values along the path', head.map(([word, unit]) => h('span', {}, word, unit ? h('small', {}, ` ${unit}`) : null)),
      [...moment.path, ...moment.return_path].map(row).filter((cells): cells is Kid[] => cells !== null), { caption: `Along the path at ${clock(run.series.time_s[i])}` })));
  };
  return { element, draw };
}

export function viewPath(picture: Picture, open: (name: string) => void): { element: HTMLElement; draw(): void; time(): void } {
  const where = conditions();
  const care = cautionBox();
  const sections = sectionPanels();
  const values = pathTable(open);
  const about = h('p', { class: 'rig-notes' });
  const element = h('div', { class: 'view' }, where.element, picture.element, legend(), care.element, values.element, h('h2', {}, 'Vehicle, engine, drive and limits'),
    h('details', { class: 'panel' }, h('summary', {}, 'about this vehicle'), about), sections.element);
  if (keep.get('hint') !== 'seen') {
    element.prepend(hint());
  }
  return {
    element,
    draw: () => {
      where.draw();
      picture.frame();
      care.draw();
      values.draw();
      sections.draw();
      about.textContent = state.read?.notes || 'The file carries no notes.';
    },
    time: () => {
      picture.time();
      values.draw();
    },
  };
}
