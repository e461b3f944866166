// SPDX-License-Identifier: GPL-3.0-or-later
// Oil: what is in the tank, from a name, a blend or two readings of viscosity; its curve and what it reaches.
import { api, isAbort } from './api';
import { chart, cssColor } from './charts';
import { button, clear, debounce, freshId, h } from './dom';
import { faultLine } from './fields';
import { notice } from './notice';
import { complain, edit } from './run';
import { state } from './state';
import type { Held, OilTable } from './types';
import { show, toShown, unitLabel } from './units';

/** Thicker than this the oil does not run, and the curve ends. */
const SOLID_M2_S = 5e-3;

const withUnit = (text: string, unit: string) => (/[a-z]/i.test(text) ? text : `${text} ${unit}`);

/** "70 %" or 0.7 as per cent. */
function shareOf(text: string): number {
  const value = Number.parseFloat(text);
  return text.includes('%') ? value : value * 100;
}

/** "35 mm2/s @ 40 degC, 8 mm2/s @ 100 degC" as the rig file says it; null when it reads otherwise. */
export function measuredForFile(text: string): { viscosity: { at: string; is: string }[] } | null {
  const points = text.split(',').map((piece) => /^\s*([^@]+?)\s*@\s*([^@]+?)\s*$/.exec(piece));
  return points.every((point) => point !== null) ? { viscosity: points.map((point) => ({ at: withUnit((point as RegExpExecArray)[2], 'degC'), is: withUnit((point as RegExpExecArray)[1], 'mm2/s') })) } : null;
}

export function viewOil(): { element: HTMLElement; draw(): void; time(): void } {
  const controls = h('section', { class: 'conditions', 'aria-label': 'Which oil' });
  const result = h('div', { class: 'oil-result', 'aria-live': 'polite' });
  const element = h('div', { class: 'view' }, controls, result);
  let asked = '';
  let first = '';
  let second = '';
  let share = 100;
  let free = '';
  let tank = '';
  let asking: AbortController | null = null;
  const later = debounce(250);
  const wrong = h('div', { id: freshId('oil-wrong') });

  const text = () => (free.trim() !== '' ? free.trim() : share >= 100 || second === '' ? first : `${share}% ${first} + ${100 - share}% ${second}`);
  /** The same as the rig file says it. */
  const forFile = (): unknown => (free.trim() !== '' ? measuredForFile(free) : share >= 100 || second === '' ? first : { blend: { [first]: `${share} %`, [second]: `${100 - share} %` } });

  const look = async () => {
    const oil = text();
    asked = `${oil}/${state.units}`;
    asking?.abort();
    asking = new AbortController();
    try {
      const answer = await api.oil(oil, state.units, asking.signal);
      const isFree = free.trim() !== '';
      const input = controls.querySelector<HTMLInputElement>('[data-path="measured"]');
      input?.setAttribute('aria-invalid', String(!answer.oil && isFree));
      clear(wrong, ...(answer.oil || !isFree ? [] : answer.faults.map((fault) => faultLine(fault, null))));
      if (!answer.oil) {
        clear(result, ...(isFree ? [h('p', { class: 'advice' }, 'The readings cannot be used yet.')] : answer.faults.map((fault) => faultLine(fault, null))));
        return;
      }
      show_table(answer.oil, oil);
    } catch (error) {
      if (!isAbort(error)) {
        asked = ''; // asked again when one comes back
        complain(error);
      }
    }
  };

  const show_table = (oil: OilTable, words: string) => {
    const x = oil.temperature_k.map((value) => toShown('temperature', value));
    const run = state.run;
    const limit = (value: number, label: string, dash: number[]) => ({ label, data: x.map(() => toShown('kinematic viscosity', value)), color: cssColor('--limit'), dash, width: 2 });
    const curve = chart({
      title: `Viscosity of ${words}`, x, unit: `${unitLabel('kinematic viscosity')}, log scale`, xLabel: unitLabel('temperature'), time: false, log: true, height: 340,
      lines: [{ label: 'viscosity', data: oil.kinematic_m2_s.map((value) => (value > SOLID_M2_S ? null : toShown('kinematic viscosity', value))), color: cssColor('--v') },
        ...(run ? [limit(run.limits.start_kinematic_m2_s, 'limit to start', [3, 4]), limit(run.limits.run_kinematic_m2_s, 'limit to drive', [10, 5])] : [])],
    });
    const facts: [string, string][] = [
      ...oil.reach.map((reach): [string, string] => [`Thin enough for ${show('kinematic viscosity', reach.limit_m2_s)}`, reach.temperature_k === null ? 'not within the table' : `from ${show('temperature', reach.temperature_k)}`]),
      ['Cloud point', oil.cloud_point_k == null ? 'not known' : show('temperature', oil.cloud_point_k)],
      ['Pour point', oil.pour_point_k == null ? 'not known' : show('temperature', oil.pour_point_k)],
      ['Flash point', oil.flash_point_k == null ? 'not known' : show('temperature', oil.flash_point_k)],
      ['Density at 15 °C', oil.density_15_kg_m3 == null ? 'not known' : show('density', oil.density_15_kg_m3)],
      ['Net heat', oil.heating_value_j_kg == null ? 'not known' : show('heating value', oil.heating_value_j_kg)],
      ['Rests on', oil.trust],
    ];
    const file = forFile();
    const several = (state.read?.oil?.fluids.length ?? 1) > 1;
    clear(result, h('p', { class: 'advice' }, oil.description),
      h('div', { class: 'row' }, file !== null && several ? h('p', { class: 'field-help' }, 'This vehicle has several fuels; which tank holds what stands in the file\'s text.') : file !== null ? button('Put it in the tank', () => void edit([{ op: 'set', section: 'oil', value: file }]).then((done) => done && notice('It is in the tank; Undo takes it out again.')), 'main') : null),
      h('div', { class: 'split' }, curve.element, h('dl', { class: 'pairs big' }, ...facts.flatMap(([word, value]) => [h('dt', {}, word), h('dd', {}, value)]))));
  };

  /** Begins with a fuel of the file: a name, a blend of two, or readings. */
  const take = (held: Held | undefined) => {
    const names = state.catalogue.oils.map((oil) => oil.name);
    const map = typeof held === 'object' && !Array.isArray(held) ? held : {};
    const parts = Object.entries(typeof map.blend === 'object' && !Array.isArray(map.blend) ? map.blend : {}).map(([name, part]): [string, number] => [name, shareOf(String(part))]);
    const points = Array.isArray(map.viscosity) ? map.viscosity.map((point) => point as { at?: Held; is?: Held }) : [];
    const kind = typeof held === 'string' ? held : String(map.kind ?? '');
    free = points.length > 0 ? points.map((point) => `${String(point.is)} @ ${String(point.at)}`).join(', ') : '';
    first = names.includes(kind) ? kind : (names[0] ?? '');
    second = '';
    share = 100;
    if (parts.length === 2 && parts.every(([name, part]) => names.includes(name) && part > 0)) {
      parts.sort((a, b) => Number(a[0] === 'diesel') - Number(b[0] === 'diesel')); // the oil first, what thins it after
      [[first], [second]] = parts;
      share = Math.round(parts[0][1]);
    } else if (parts.length > 2) {
      free = parts.map(([name, part]) => `${part}% ${name}`).join(' + ');
    }
  };

  const build = () => {
    const names = state.catalogue.oils.map((oil) => oil.name);
    const [a, b, c, d] = ['oil-a', 'oil-b', 'oil-share', 'oil-free'].map(freshId);
    const update = () => later.later(() => void look());
    const pick = (id: string, value: string, empty: string | null, set: (value: string) => void) => {
      const select = h('select', { id, change: () => {
        set(select.value);
        build();
        update();
      } }, ...(empty === null ? [] : [h('option', { value: '' }, empty)]), ...names.map((name) => h('option', { value: name }, name)));
      select.value = value;
      return select;
    };
    const out = h('output', { for: c }, second === '' ? '' : `${share} % ${first}, ${100 - share} % ${second}`);
    const range = h('input', { id: c, type: 'range', min: 0, max: 100, step: 1, value: share, disabled: second === '' });
    range.addEventListener('input', () => {
      share = Number(range.value);
      out.textContent = `${share} % ${first}, ${100 - share} % ${second}`;
      update();
    });
    const input = h('input', { id: d, 'data-path': 'measured', 'aria-describedby': wrong.id, type: 'text', value: free, placeholder: '35 mm2/s @ 40 degC, 8 mm2/s @ 100 degC', autocomplete: 'off' });
    input.addEventListener('input', () => {
      free = input.value;
      update();
    });
    const field = (id: string, label: string, control: Node, help: string) => h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, label)), h('div', { class: 'field-control' }, control), h('p', { class: 'field-help' }, help));
    clear(controls,
      field(a, 'oil', pick(a, first, null, (value) => { first = value; }), state.catalogue.oils.find((oil) => oil.name === first)?.about ?? ''),
      field(b, 'blended with', pick(b, second, 'nothing', (value) => {
        second = value;
        share = value === '' ? 100 : share === 100 ? 70 : share;
      }), 'shares by volume'),
      h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: c }, 'share')), h('div', { class: 'field-control' }, range), h('p', { class: 'field-help' }, out)),
      h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: d }, 'or measured')), h('div', { class: 'field-control' }, input), wrong, h('p', { class: 'field-help' }, 'one or two readings of viscosity; they count before the names')));
  };
  return {
    element,
    draw: () => {
      const own = state.read?.oil?.text ?? '';
      if (first === '' || own !== tank) { // what is in the tank is looked at first
        tank = own;
        take(state.read?.oil?.value);
        build();
      }
      if (asked !== `${text()}/${state.units}`) {
        void look();
      }
    },
    time: () => undefined,
  };
}
