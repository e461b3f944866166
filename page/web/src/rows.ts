// SPDX-License-Identifier: GPL-3.0-or-later
// Lists and maps of the rig file as rows of fields: a pump's curve, a valve's positions, rules, gears, measured viscosities, the
// wiring's maps and circuits. Each row is one entry of the file; only its own lines are changed.
import { button, freshId, h, type Kid } from './dom';
import { faultLine, fieldRow, type FieldHost } from './fields';
import { edit } from './run';
import { state } from './state';
import type { Edit, FieldSpec, FieldValue, Held, Part } from './types';

/** The part or section that the entries belong to, as edits name it. */
export type Target = { part: string } | { section: string };
type Held1 = { [key: string]: Held };

/** A column of a row: a number with units, a choice or a text. */
function column(key: string, label: string, quantity: string | null, units: string[], doc: string, extra: Partial<FieldSpec> = {}): FieldSpec {
  return { key, label, type: quantity === null ? 'text' : 'real', quantity, default: null, low: null, high: null, default_text: null, range_text: null, bare_unit: units[0] ?? null, none: false, choices: null, doc, units, ...extra };
}
const choice = (key: string, label: string, choices: string[], doc: string): FieldSpec => column(key, label, null, [], doc, { type: 'choice', choices });

const words = (held: Held | undefined): string => (typeof held === 'string' ? held : held === undefined ? '' : JSON.stringify(held).replaceAll('"', ''));
/** What stands in the file for a field, else its default. */
function given(spec: FieldSpec, path: string, held: Held | undefined): FieldValue {
  const text = held === undefined ? (spec.default_text?.metric ?? '') : words(held);
  return { path, key: spec.key, text, value: spec.type === 'flag' ? Number(held === undefined ? spec.default : /^(yes|true|on)$/.test(text)) : null, given: held !== undefined, line: null, column: null };
}
const list = (held: Held | undefined): Held[] => (Array.isArray(held) ? held : []);
const map = (held: Held | undefined): Held1 => (typeof held === 'object' && !Array.isArray(held) ? held : {});

/** Adds something and brings the cursor to it. */
async function adding(edits: Edit[], focus: string): Promise<void> {
  if (await edit(edits)) {
    document.querySelector<HTMLElement>(`[data-path="${CSS.escape(focus)}"]`)?.focus();
  }
}

function outButton(what: string, act: () => void, label = 'Take out'): HTMLButtonElement {
  return button(label, act, 'danger small', { 'aria-label': `Take out ${what}` });
}

/** Faults of an entry that stand at none of its fields. */
function loose(host: FieldHost, path: string, keys: string[]): Kid[] {
  return host.faultsBelow(path).filter((fault) => !keys.some((key) => fault.path === `${path}/${key}`)).map((fault) => faultLine(fault, null));
}

/** One entry of a list: its columns beside each other, and a button to take it out. */
function entry(title: string, columns: FieldSpec[], held: Held1, path: string, host: FieldHost, out: (() => void) | null): HTMLElement {
  return h('div', { class: 'entry-row', role: 'group', 'aria-label': title },
    h('div', { class: 'entry-cells' }, ...columns.map((spec) => fieldRow(spec, given(spec, `${path}/${spec.key}`, held[spec.key]), `${path}/${spec.key}`, host, true)), out ? outButton(title, out) : null),
    ...loose(host, path, columns.map((spec) => spec.key)));
}

const group = (title: string, doc: string, ...kids: Kid[]) => h('section', { class: 'rows', 'aria-label': title }, h('h4', {}, title), ...kids, h('p', { class: 'field-help' }, doc));

/** A list of maps with the same few columns. */
function rowList(key: string, title: string, doc: string, what: string, columns: FieldSpec[], held: Held | undefined, target: Target, host: FieldHost, fresh: (last: Held1 | undefined, count: number) => Held1, most: number, start?: Held1[]): HTMLElement {
  const rows = list(held).map(map);
  const stem = key === '' ? '' : `${key}/`;
  const add = () => {
    const edits: Edit[] = rows.length === 0 && start ? [{ op: 'set', ...target, path: key, value: start }] : [{ op: 'append', ...target, path: key, value: fresh(rows[rows.length - 1], rows.length) }];
    void adding(edits, `${stem}${rows.length}/${columns[0].key}`);
  };
  return group(title, doc,
    ...(key === '' ? [] : host.faults(key)).map((fault) => faultLine(fault, key)),
    rows.length === 0 ? h('p', {}, 'None in the file.') : null,
    ...rows.map((row, order) => entry(`${what} ${order + 1}`, columns, row, `${stem}${order}`, host, () => void edit([{ op: 'drop', ...target, path: `${stem}${order}` }]))),
    rows.length < most ? button(`Add a ${what}`, add) : null);
}

function curve(held: Held | undefined, target: Target, host: FieldHost, doc: string): HTMLElement {
  const us = state.units === 'us';
  const columns = [column('flow', 'flow', 'volume flow', us ? ['US gal/h', 'L/h', 'L/min'] : ['L/h', 'L/min', 'US gal/h'], 'measured'), column('pressure', 'pressure', 'pressure', us ? ['psi', 'kPa', 'bar'] : ['kPa', 'bar', 'psi'], 'at that flow')];
  return rowList('curve', 'curve', doc, 'point', columns, held, target, host, (last) => ({ flow: last ? words(last.flow) : '0 L/h', pressure: last ? words(last.pressure) : '35 kPa' }), 12,
    [{ flow: '0 L/h', pressure: '35 kPa' }, { flow: '120 L/h', pressure: '0 kPa' }]);
}

const sides = ['a', 'b', 'a+b', 'none'];
/** A valve's positions as the file gives them, else those it has by default. */
const positionsOr = (held: Held | undefined): Held1 => (Object.keys(map(held)).length ? map(held) : { open: 'a', shut: 'none' });
/** The names of a valve's positions. */
export function positionNames(valve: Part): string[] {
  return Object.keys(positionsOr(valve.special?.find((special) => special.path === 'positions')?.value));
}

/** Names of a valve's positions, each with the sides that join the common port. */
function positions(held: Held | undefined, target: Target, host: FieldHost, doc: string): HTMLElement {
  const all = Object.entries(positionsOr(held));
  const isGiven = Object.keys(map(held)).length > 0;
  const put = (next: [string, Held][]) => edit([{ op: 'set', ...target, path: 'positions', value: Object.fromEntries(next) }]);
  const row = ([name, its]: [string, Held], order: number) => {
    const id = freshId('position');
    const input = h('input', { id, type: 'text', value: name, autocomplete: 'off', 'data-path': `positions/${order}/name`, 'aria-label': `Name of position ${order + 1}` });
    input.addEventListener('change', () => {
      const next = input.value.trim();
      if (next !== '' && next !== name && !all.some(([other]) => other === next)) {
        void put(all.map((pair, place): [string, Held] => (place === order ? [next, pair[1]] : pair)));
      } else {
        input.value = name;
      }
    });
    const shown = words(its).replaceAll(' ', '');
    const select = h('select', { 'data-path': `positions/${name}`, 'aria-label': `What position ${name} joins`, change: () => void (isGiven ? edit([{ op: 'set', ...target, path: `positions/${name}`, value: select.value }]) : put(all.map((pair): [string, Held] => (pair[0] === name ? [name, select.value] : pair)))) },
      ...[...new Set([...sides, shown])].map((word) => h('option', { value: word }, word)));
    select.value = shown;
    return h('div', { class: 'entry-row' }, h('div', { class: 'entry-cells' }, input, select, all.length > 2 ? outButton(`position ${name}`, () => void edit([{ op: 'set', ...target, path: `positions/${name}`, value: null }])) : null),
      ...host.faults(`positions/${name}`).map((fault) => faultLine(fault, name)));
  };
  return group('positions', doc, ...host.faults('positions').map((fault) => faultLine(fault, 'positions')), ...all.map(row),
    all.length < 4 ? button('Add a position', () => {
      const names = new Set(all.map(([name]) => name));
      const fresh = ['shut', 'both', 'other', 'fourth', 'fifth'].find((name) => !names.has(name)) ?? 'new';
      void adding([{ op: 'set', ...target, path: 'positions', value: Object.fromEntries([...all, [fresh, 'none']]) }], `positions/${all.length}/name`);
    }) : null);
}

/** A list of speeds, one a gear. */
function gears(held: Held | undefined, target: Target, host: FieldHost, doc: string): HTMLElement {
  const own = list(held).map(words);
  const spec = (order: number) => column(String(order), `gear ${order + 1}`, 'speed', state.units === 'us' ? ['mph', 'km/h'] : ['km/h', 'mph'], 'road speed at 1000 rpm');
  return group('gears', doc, ...host.faults('gears').map((fault) => faultLine(fault, 'gears')),
    own.length === 0 ? h('p', {}, 'As by default.') : null,
    h('div', { class: 'entry-cells' }, ...own.map((text, order) => fieldRow(spec(order), given(spec(order), `gears/${order}`, text), `gears/${order}`, host, true))),
    h('div', { class: 'row' },
      own.length < 8 ? button(own.length ? 'Add a gear' : 'Give the gears', () => void adding(own.length ? [{ op: 'append', ...target, path: 'gears', value: own[own.length - 1] }] : [{ op: 'set', ...target, path: 'gears', value: ['7 km/h', '13 km/h', '20.5 km/h', '29 km/h', '36.5 km/h'] }], `gears/${own.length}`)) : null,
      own.length > 1 ? outButton('the last gear', () => void edit([{ op: 'drop', ...target, path: `gears/${own.length - 1}` }]), 'Take out the last gear') : null));
}

/** A map with the fields of a table of the catalogue. */
function fieldMap(key: string, title: string, specs: FieldSpec[], held: Held | undefined, host: FieldHost, path = key): HTMLElement {
  const values = map(held);
  const row = (spec: FieldSpec) => fieldRow(wire(spec), given(spec, `${path}/${spec.key}`, values[spec.key]), `${path}/${spec.key}`, host);
  const isKnown = (spec: FieldSpec) => spec.key in values || host.faults(`${path}/${spec.key}`).length > 0;
  const front = specs.filter(isKnown);
  const rest = specs.filter((spec) => !isKnown(spec));
  return h('details', { class: 'heater rows', 'data-rows': path, open: host.faultsBelow(path).length > 0 }, h('summary', {}, title),
    ...host.faults(path).map((fault) => faultLine(fault, key)),
    h('div', { class: 'fields' }, ...front.map(row), rest.length ? h('details', { class: 'more', open: front.length === 0 }, h('summary', {}, `${front.length ? 'More' : 'All'} settings (${rest.length})`), ...rest.map(row)) : null));
}

/** Sections of wires are told in mm², or as AWG in words. */
function wire(spec: FieldSpec): FieldSpec {
  return spec.quantity === 'area' ? { ...spec, units: ['mm2'], bare_unit: 'mm2' } : spec;
}

const cables = ['main', 'charging', 'starter', 'body earth', 'engine earth'];
const loads = ['glow plugs', 'starter', 'lamp', 'pump', 'valve', 'heater', 'other'];

/** What a circuit can feed: parts that take current, and what belongs to the vehicle. */
function loadNames(): string[] {
  return [...(state.read?.parts ?? []).flatMap((part) => (part.heaters?.length ? part.heaters.map((heater) => `${part.name}/${heater.name}`) : ['electric pump', 'valve'].includes(part.kind) ? [part.name] : [])), ...loads];
}

function circuits(held: Held | undefined, target: Target, host: FieldHost, doc: string): HTMLElement {
  const rows = list(held).map(map);
  const taken = new Set(rows.map((row) => words(row.load)));
  const free = loadNames().filter((name) => !taken.has(name));
  return group('circuits', doc, ...host.faults('circuits').map((fault) => faultLine(fault, 'circuits')),
    ...rows.map((row, order) => {
      const path = `circuits/${order}`;
      const name = words(row.circuit) || words(row.load) || `circuit ${order + 1}`;
      const box = fieldMap('circuit', name, state.catalogue.tables.circuits ?? [], row, host, path);
      box.querySelector('summary')?.after(
        ...[choice('load', 'load', [...new Set([words(row.load), ...loadNames()])], 'what it feeds'), column('circuit', 'name', null, [], 'what it is called')]
          .map((spec) => fieldRow(spec, given(spec, `${path}/${spec.key}`, row[spec.key]), `${path}/${spec.key}`, host, true)));
      box.append(outButton(name, () => void edit([{ op: 'drop', ...target, path }])));
      return box;
    }),
    free.length && rows.length < 32 ? button('Add a circuit', () => void adding([{ op: 'append', ...target, path: 'circuits', value: { load: free[0] } }], `circuits/${rows.length}/load`)) : null);
}

/** A special key as fields; null when it has none and stays text. */
export function specialEditor(key: string, doc: string, held: Held | undefined, target: Target, host: FieldHost): HTMLElement | null {
  const tables = state.catalogue.tables;
  switch (key) {
    case 'curve':
      return curve(held, target, host, 'measured points in place of the straight line: flow rising, pressure falling, 2 to 12 of them');
    case 'positions':
      return positions(held, target, host, 'which sides join the common port in each position, 2 to 4 of them');
    case 'gears':
      return gears(held, target, host, doc);
    case 'circuits':
      return circuits(held, target, host, 'what is fused by itself; loads that no circuit feeds get one with the defaults');
    case 'cables':
      return group('cables', 'the thick ones; a size that is left out is chosen', ...cables.map((name) => fieldMap(name, `${name} cable`, tables.cables ?? [], map(held)[name], host, `cables/${name}`)));
    case 'alternator':
      return words(held) === 'none' ? group('alternator', 'The vehicle has none.', button('It has one', () => void host.set('alternator', null))) : fieldMap(key, key, tables[key] ?? [], held, host);
    case 'starter battery':
    case 'wiring':
      return fieldMap(key, key, tables[key] ?? [], held, host);
    default:
      return null;
  }
}

/** The rules: what is set, to what, when; of one part, those that set it. */
export function ruleRows(host: FieldHost, only: string | null = null): HTMLElement {
  const read = state.read;
  const valves = (read?.parts ?? []).filter((part) => part.kind === 'valve');
  const isMeant = (name: string) => only === null || name === only || name.startsWith(`${only}/`);
  const settable = [...valves.map((part) => part.name), ...(read?.parts ?? []).filter((part) => part.kind === 'electric pump').map((part) => part.name), ...(read?.parts ?? []).flatMap((part) => (part.heaters ?? []).map((heater) => `${part.name}/${heater.name}`))].filter(isMeant);
  const target = { section: 'controls' };
  const all = read?.rules ?? [];
  const rules = all.filter((rule) => isMeant(rule.set));
  const toOf = (name: string) => {
    const valve = valves.find((part) => part.name === name);
    return valve ? positionNames(valve) : ['on', 'off'];
  };
  const row = (order: number) => {
    const rule = rules[order];
    const path = String(rule.index);
    const columns = [
      ...(only !== null && settable.length === 1 ? [] : [choice('set', 'set', [...new Set([rule.set, ...settable])].filter(Boolean), 'valve, pump or heater')]), choice('to', 'to', [...new Set([rule.to, ...toOf(rule.set)])].filter(Boolean), 'its position, or on and off'),
      column('when', 'when', null, [], 'such as: coolant above 70 degC, 90 s before stop, 10 s after start, key on')];
    return entry(`rule ${rule.index + 1}`, columns, { set: rule.set, to: rule.to, when: rule.when }, path, host, () => void edit([{ op: 'drop', ...target, path }]));
  };
  if (only !== null && settable.length === 0) {
    return h('div', {});
  }
  return group(only === null ? 'rules' : 'rules that set it', 'Each is done at the moment its condition comes true, in the order of the list.',
    ...host.faults('').map((fault) => faultLine(fault, null)),
    rules.length === 0 ? h('p', {}, 'No rule: everything stays as at key on.') : null,
    ...rules.map((_, order) => row(order)),
    settable.length === 0 ? h('p', { class: 'field-help' }, 'Nothing in this rig can be set: add a valve, an electric pump or a heater first.')
      : button('Add a rule', () => void adding([{ op: 'append', ...target, value: { set: settable[0], to: toOf(settable[0])[0], when: '10 s after start' } }], `${all.length}/to`)));
}

/** Measured viscosities of the rig's one fuel; each point a temperature and what was read there. */
export function viscosityRows(host: FieldHost): HTMLElement {
  const oil = state.read?.oil?.value;
  if ((state.read?.oil?.fluids.length ?? 0) > 1) {
    return h('p', { class: 'field-help' }, 'This vehicle has several fuels; their readings stand in the file\'s text.');
  }
  const points = [{ at: '40 degC', is: '35 mm2/s' }, { at: '100 degC', is: '8 mm2/s' }];
  if (typeof oil !== 'object') { // a name alone: it becomes the kind
    return group('measured viscosities', 'two or more readings outweigh the tables', h('p', {}, 'None in the file.'),
      button('Add readings', () => void adding([{ op: 'set', section: 'oil', value: { ...(oil ? { kind: oil } : {}), viscosity: points } }], 'viscosity/0/at')));
  }
  const us = state.units === 'us';
  const columns = [column('at', 'at', 'temperature', us ? ['degF', 'degC'] : ['degC', 'degF'], 'temperature of the reading'), column('is', 'is', 'kinematic viscosity', ['mm2/s', 'cSt'], 'kinematic viscosity')];
  return rowList('viscosity', 'measured viscosities', 'two or more readings outweigh the tables; they are joined by ASTM D341', 'reading', columns, map(oil).viscosity, { section: 'oil' }, host,
    (last) => ({ at: last ? words(last.at) : '40 degC', is: last ? words(last.is) : '35 mm2/s' }), 12, points);
}

