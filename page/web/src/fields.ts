// SPDX-License-Identifier: GPL-3.0-or-later
// One field of a part or section: number with its unit, choice, yes or no, text; its explanation, range, default and faults.
import { button, debounce, freshId, h, type Kid } from './dom';
import { whichFile } from './run';
import { nextStep, prettyUnit, splitQuantity } from './units';
import type { Fault, FieldSpec, FieldValue, UnitSystem } from './types';

export interface FieldHost {
  /** Writes a value at once (`null`: back to the default). False when it could not be. `written` is called before it is drawn. */
  set(path: string, value: string | boolean | null, written?: () => void): Promise<boolean>;
  faults(path: string): Fault[];
  /** Those of anything below a path. */
  faultsBelow(path: string): Fault[];
  units: UnitSystem;
}

/** A fault as one line: what is wrong, then what would do, each once. At its field it does not say the field's name again. */
export function faultLine(fault: Fault, key: string | null, id?: string): HTMLElement {
  const told = key !== null && fault.message.startsWith(`${key}: `) ? fault.message.slice(key.length + 2) : fault.message;
  const remedy = fault.remedy && !told.includes(fault.remedy) ? `; ${fault.remedy}` : '';
  return h('p', { class: `field-fault ${fault.severity}`, id: id ?? freshId('fault') }, prettyUnit(`${told}${remedy}`));
}

/** Rebuilds a box of fields; who was typing keeps place, words and cursor, also what no answer has come for yet. */
export function redrawKeeping(box: HTMLElement, rebuild: () => void): void {
  const focused = box.contains(document.activeElement) ? (document.activeElement as HTMLElement) : null;
  const mark = focused?.getAttribute('data-path') ?? focused?.getAttribute('aria-label') ?? null;
  const cursor = focused instanceof HTMLInputElement && focused.dataset.pending !== undefined ? [focused.selectionStart, focused.selectionEnd] : null;
  // What was typed for another file stays with it.
  const typed = [...box.querySelectorAll<HTMLInputElement>(`input[data-pending="${whichFile()}"]`)].map((input): [string, string] => [input.getAttribute('data-path') ?? '', input.value]);
  rebuild();
  for (const [path, value] of typed) {
    const input = box.querySelector<HTMLInputElement>(`input[data-path="${CSS.escape(path)}"]`);
    if (input) {
      input.value = value;
      input.dispatchEvent(new Event('input')); // so that it is sent from here
    }
  }
  const again = mark === null ? null : box.querySelector<HTMLElement>(`[data-path="${CSS.escape(mark)}"], [aria-label="${CSS.escape(mark)}"]`);
  again?.focus({ preventScroll: true });
  if (again instanceof HTMLInputElement && again.type === 'text') {
    again.setSelectionRange(cursor?.[0] ?? again.value.length, cursor?.[1] ?? again.value.length);
  }
}

/** Notes which folds of a box stand open, by their words; the function it gives opens them again. */
export function openFolds(box: HTMLElement): () => void {
  const name = (details: HTMLDetailsElement) => [details, ...parents(details)].map((fold) => fold.querySelector('summary')?.textContent?.replace(/ \(\d+\)$/, '')).join('/');
  const parents = (details: HTMLDetailsElement): HTMLDetailsElement[] => {
    const above = details.parentElement?.closest('details');
    return above && box.contains(above) ? [above, ...parents(above)] : [];
  };
  const folds = new Map([...box.querySelectorAll('details')].map((details) => [name(details), details.open]));
  return () => box.querySelectorAll('details').forEach((details) => {
    details.open = folds.get(name(details)) ?? details.open;
  });
}

/** The unit to begin with: the user's own, else that of the default in the chosen system. */
function unitsOf(spec: FieldSpec, own: string, units: UnitSystem): string[] {
  const list = [...(spec.units ?? [])];
  if (units === 'us' && list.length === 2) {
    list.reverse();
  }
  const first = splitQuantity(spec.default_text?.[units] ?? '')?.unit ?? '';
  if (spec.quantity === 'number' && !list.includes('')) {
    list.unshift(''); // a plain number is a share or a count as it stands
  }
  for (const unit of [first, own]) {
    if (unit !== '' && !list.includes(unit)) {
      list.push(unit);
    }
  }
  return list;
}

export function fieldRow(spec: FieldSpec, value: FieldValue | undefined, path: string, host: FieldHost, inline = false): HTMLElement {
  const id = freshId('field');
  const given = value?.given ?? false;
  const text = value === undefined ? '' : value.text;
  const faults = host.faults(path);
  const wrong = faults.some((fault) => fault.severity === 'error');
  const help = `${id}-help`;
  const error = `${id}-error`;
  const marks = { id, 'data-path': path, 'aria-describedby': wrong ? `${error} ${help}` : help, 'aria-invalid': wrong ? 'true' : null };
  const later = debounce(350);
  const send = (next: string, before: string, written: () => void = () => undefined) => {
    later.cancel();
    if (next !== before) {
      return host.set(path, next, written);
    }
    written();
    return Promise.resolve(true);
  };
  const label = spec.label ?? spec.key;
  let isFirst = true; // of several errors the first is the one that the field is described by
  const lines = () => faults.map((fault) => {
    const its = fault.severity === 'error' && isFirst ? error : undefined;
    isFirst = isFirst && its === undefined;
    return faultLine(fault, spec.key, its);
  });
  let control: Kid[];
  if (spec.type === 'choice' || (spec.type === 'flag' && spec.choices)) {
    const select = h('select', { ...marks, change: () => void send(select.value, text) }, ...(spec.choices ?? []).map((choice) => h('option', { value: choice }, choice)));
    select.value = text;
    control = [select];
  } else if (spec.type === 'flag') {
    const yes = value?.value === 1;
    const select = h('select', { ...marks, change: () => void host.set(path, select.value === 'yes') }, h('option', { value: 'yes' }, 'yes'), h('option', { value: 'no' }, 'no'));
    select.value = yes ? 'yes' : 'no';
    control = [select];
  } else if (spec.type === 'text') {
    const input = h('input', { ...marks, type: 'text', value: text, autocomplete: 'off', change: () => void send(input.value, text) });
    control = [input];
  } else {
    const shown = given ? text : (spec.default_text?.[host.units] ?? text);
    // A unit that is none of this quantity's stays in the words, so that the next number goes with one that is.
    const parts = splitQuantity(shown);
    const split = parts && wrong && parts.unit !== '' && !(spec.units ?? []).includes(parts.unit) ? null : parts;
    const units = spec.type === 'count' ? [] : unitsOf(spec, split?.unit ?? '', host.units);
    const unit = units.length > 0 ? h('select', { class: 'unit', 'aria-label': `Unit of ${label}` }, ...units.map((name) => h('option', { value: name }, name === '' ? 'no unit' : prettyUnit(name)))) : null;
    if (unit) {
      unit.value = split ? split.unit || (spec.quantity === 'number' ? '' : (spec.bare_unit ?? units[0])) : units[0];
    }
    const input = h('input', { ...marks, type: 'text', inputmode: 'decimal', autocomplete: 'off', value: split ? split.number : shown, class: given ? '' : 'by-default' });
    const whole = () => {
      // A unit typed beside the number counts more than the one picked.
      const said = input.value.trim().replace(/^([-+−]?\d+),(\d{1,2})(?!\d)/, '$1.$2'); // 1,5 as many write it
      const typed = splitQuantity(said);
      return typed && typed.unit === '' && unit && unit.value !== '' ? `${said} ${unit.value}` : said;
    };
    let before = whole();
    let underWay = 0;
    const sendNow = () => {
      if (!input.isConnected) {
        return; // drawn anew: the field in its place carries on
      }
      const now = whole();
      const old = before;
      if (now === old && underWay > 0) {
        later.cancel();
        return; // it is on its way
      }
      before = now;
      underWay += 1;
      // Until it stands in the text, what is drawn meanwhile leaves it in the field.
      const sent = send(now, old, () => {
        if (before === now && whole() === now) {
          delete input.dataset.pending;
        }
      });
      void sent.then((done) => {
        underWay -= 1;
        if (!done && before === now) {
          before = old; // it is asked again with the next Enter
        }
      });
    };
    input.addEventListener('change', sendNow);
    input.addEventListener('blur', sendNow);
    input.addEventListener('keydown', (event) => {
      if (event.key === 'Enter') {
        sendNow();
      }
    });
    input.addEventListener('input', () => {
      input.dataset.pending = whichFile();
      if (splitQuantity(input.value)) {
        later.later(sendNow);
      }
    });
    unit?.addEventListener('change', sendNow);
    const step = (direction: 1 | -1) => {
      const now = splitQuantity(input.value);
      if (now && Number.isFinite(Number(now.number.replace(',', '.')))) {
        const count = Number(now.number.replace(',', '.'));
        input.value = String(spec.type === 'count' ? count + direction : nextStep(count, direction)) + (now.unit ? ` ${now.unit}` : '');
        input.dataset.pending = whichFile();
        later.later(sendNow);
      }
    };
    control = [
      button('−', () => step(-1), 'step', { 'aria-label': `Less ${label}` }), input,
      button('+', () => step(1), 'step', { 'aria-label': `More ${label}` }), unit,
    ];
  }
  if (inline) {
    return h('div', { class: `field inline${wrong ? ' wrong' : ''}` }, h('label', { for: id }, label), h('div', { class: 'field-control' }, ...control),
      ...lines(),
      h('span', { class: 'sr', id: help }, spec.doc));
  }
  const range = faults.some((fault) => fault.remedy?.startsWith('give ')) ? null : spec.range_text?.[host.units]; // the remedy says it
  const usual = spec.default_text?.[host.units] ?? (spec.default === null ? null : String(spec.default));
  return h('div', { class: `field${wrong ? ' wrong' : ''}` },
    h('div', { class: 'field-head' }, h('label', { for: id }, label),
      given ? button('use default', () => void host.set(path, null), 'quiet small', { 'aria-label': `use default for ${label}` }) : h('span', { class: 'by-default-tag' }, 'default')),
    h('div', { class: 'field-control' }, ...control),
    ...lines(),
    h('p', { class: 'field-help', id: help }, spec.doc, range ? `. Range ${range}` : '', usual && given ? `; default ${usual}` : ''));
}

/** Fields in order: those given and the first few at once, the others behind "More". */
export function fieldList(specs: FieldSpec[], values: FieldValue[], stem: string, host: FieldHost, first: number): HTMLElement {
  const row = (spec: FieldSpec) => {
    const path = stem === '' ? spec.key : `${stem}/${spec.key}`;
    return fieldRow(spec, values.find((value) => value.path === path) ?? values.find((value) => value.key === spec.key), path, host);
  };
  const known = (spec: FieldSpec) => values.some((value) => value.key === spec.key && value.given) || host.faults(stem === '' ? spec.key : `${stem}/${spec.key}`).length > 0;
  const front = specs.filter((spec, order) => order < first || known(spec));
  const rest = specs.filter((spec) => !front.includes(spec));
  return h('div', { class: 'fields' }, ...front.map(row), rest.length > 0 ? h('details', { class: 'more' }, h('summary', {}, `More settings (${rest.length})`), ...rest.map(row)) : null);
}
