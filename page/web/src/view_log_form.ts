// SPDX-License-Identifier: GPL-3.0-or-later
// A form for one kind of entry, made from the logbook's own table: what was picked last is picked again, numbers get a
// number pad and their unit beside them, today is meant unless told. What was typed is kept until it is saved.
import { ApiError } from './api';
import { book, kindOf, lastPick, newToken, things, write, type NewEntry, type Thing, type Written } from './book';
import { button, clear, freshId, h, type Kid } from './dom';
import { keep, state } from './state';
import type { LogField, LogKind } from './types_book';
import { kindIcon } from './view_log_icons';
import { prettyUnit } from './units';

/** What is asked at once; the rest stands behind "More". Required fields are always asked. */
const usual: Record<string, string[]> = {
  pickup: ['volume', 'source', 'into'], fill: ['vehicle', 'oil', 'from', 'odometer', 'diesel', 'full'], odometer: ['vehicle', 'odometer'],
  filter: ['vehicle', 'filter', 'odometer', 'reason'], test: ['of', 'decision', 'acid', 'water', 'solids'], step: ['batch', 'what', 'temperature', 'loss', 'waste'],
  waste: ['what', 'volume', 'taker'], expense: ['what', 'amount', 'vehicle'], gauge: ['vehicle', 'filter', 'reading', 'odometer'],
  repair: ['what', 'vehicle', 'odometer', 'cost'], batch: ['name', 'from', 'volume', 'vessel'], source: ['name', 'distance'],
  vessel: ['name', 'use', 'capacity'], vehicle: ['name'], move: ['from', 'to', 'volume'], shift: ['batch', 'vessel'], level: ['of', 'level'],
};
/** What is worth remembering for the next time: places and habits, never amounts or findings. */
const habits = ['source', 'into', 'vehicle', 'from', 'vessel', 'to', 'taker', 'filter', 'full', 'batch'];
/** What may be picked beside a number, by the unit of its column in CSV: metric first, then US. */
const units: Record<string, string[]> = {
  'L': ['L', 'US gal'], 'km': ['km', 'mi'], 's': ['min', 'h'], 'kPa': ['kPa', 'psi', 'bar', 'inHg'], 'degC': ['degC', 'degF'], 'kWh': ['kWh', 'MJ'],
};
const unitWords: Record<string, string> = { 'US gal': 'gal (US)' };
/** The number of a titration is written with the alkali it took; 1 mg/g is 1 g/kg. */
const wordsOf = (spec: LogField, unit: string) => (spec.key === 'acid' && unit === 'g/kg' ? 'mg KOH/g' : (unitWords[unit] ?? prettyUnit(unit)));

interface Control { element: HTMLElement; text(): string; put(text: string): void; focus(options?: FocusOptions): void; readonly picks: boolean; extra?(): NewEntry | null; renew?(): void }

let radios = 0;
/** One choice of a few, as large buttons; the keyboard's arrows move between them. */
export function chips(label: string, list: { value: string; words: string; note?: string }[], start: string, optional: boolean, changed: (value: string) => void): { element: HTMLFieldSetElement; value(): string; put(value: string): void; focus(options?: FocusOptions): void } {
  radios += 1;
  const name = `choice-${radios}`;
  let now = start;
  const inputs = list.map((one) => {
    const input = h('input', { type: 'radio', class: 'sr', name, id: freshId('chip'), value: one.value });
    input.checked = one.value === start;
    input.addEventListener('change', () => {
      now = input.value;
      changed(now);
    });
    // A second tap takes an answer back that is not needed.
    input.addEventListener('click', () => {
      if (optional && input.dataset.was === 'yes') {
        input.checked = false;
        now = '';
        changed(now);
      }
      inputs.forEach((other) => { other.dataset.was = other.checked ? 'yes' : ''; });
    });
    input.dataset.was = input.checked ? 'yes' : '';
    return input;
  });
  const element = h('fieldset', { class: 'chips' }, h('legend', {}, label),
    h('div', { class: 'chip-row' }, ...list.map((one, order) => h('span', { class: 'chip-box' }, inputs[order], h('label', { class: 'chip', for: inputs[order].id }, one.words, one.note ? h('small', {}, ` ${one.note}`) : null)))));
  return {
    element,
    value: () => now,
    put: (value) => {
      now = value;
      inputs.forEach((input) => {
        input.checked = input.value === value;
        input.dataset.was = input.checked ? 'yes' : '';
      });
    },
    focus: (options) => (inputs.find((input) => input.checked) ?? inputs[0])?.focus(options),
  };
}

function field(label: string, id: string, needed: boolean, control: Kid[], help: string): HTMLElement {
  return h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, label), needed ? null : h('span', { class: 'by-default-tag' }, 'may be left out')),
    h('div', { class: 'field-control' }, ...control), h('p', { class: 'field-help', id: `${id}-help` }, help));
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

/** What vessels are for, in the order in which a field of an entry is likely to mean them. */
const meant: Record<string, string[]> = {
  'pickup.into': ['raw', '', 'work'], 'batch.from': ['raw', '', 'work'], 'batch.vessel': ['work', '', 'raw'], 'shift.vessel': ['work', '', 'raw'],
  'fill.from': ['clean', 'batch', '', 'work'], 'waste.from': ['waste', '', 'work'],
};
/** 0 fits best; 10 what has been used up. */
export function fitness(word: string, key: string, one: Thing): number {
  const order = meant[`${word}.${key}`];
  if (one.isSpent) {
    return 10;
  }
  if (!order || (one.kind !== 'vessel' && one.kind !== 'batch')) {
    return 0;
  }
  const at = order.indexOf(one.kind === 'batch' ? 'batch' : (one.use ?? ''));
  return at >= 0 ? at : one.kind === 'batch' ? 5 : 6;
}

function refPick(kind: LogKind, spec: LogField, changed: () => void): Control {
  const all = things(spec.refs);
  const last = lastPick.get(kind.word, spec.key);
  // The one used last first, then what is meant for it (raw oil does not belong beside the clean), then by how lately it was used.
  const sorted = [...all].sort((a, b) => Number(b.name === last && !b.isSpent) - Number(a.name === last && !a.isSpent) || fitness(kind.word, spec.key, a) - fitness(kind.word, spec.key, b));
  const front = sorted.filter((one) => !one.isSpent).slice(0, 6);
  const rest = sorted.filter((one) => !front.includes(one));
  const values = new Map<string, Thing>(sorted.map((one) => [`${one.kind}:${one.id}`, one]));
  const keyOf = (one: Thing | undefined) => (one ? `${one.kind}:${one.id}` : '');
  const makable = spec.refs.filter((word) => ['source', 'vessel', 'vehicle', 'batch'].includes(word));
  const newId = freshId('new');
  const newName = h('input', { id: newId, type: 'text', autocomplete: 'off', autocapitalize: 'words', input: () => changed() });
  const newKind = h('select', { 'aria-label': 'What it is' }, ...makable.map((word) => h('option', { value: word }, kindOf(word)?.label ?? word)));
  const newBox = h('div', { class: 'new-thing' }, h('label', { for: newId }, 'Its name'), h('div', { class: 'field-control' }, newName, makable.length > 1 ? newKind : null));
  const others = rest.length ? h('select', { 'aria-label': `Other ${spec.label}`, change: () => {
    if (others && others.value !== '') {
      pick.put('');
      chosen = others.value;
      show();
    }
  } }, h('option', { value: '' }, `${rest.length} more …`), ...rest.map((one) => h('option', { value: keyOf(one) }, one.note ? `${one.name} (${one.note})` : one.name))) : null;
  let chosen = last !== null && sorted[0]?.name === last && !sorted[0].isSpent ? keyOf(sorted[0]) : spec.required && front.length === 1 ? keyOf(front[0]) : '';
  const show = () => {
    newBox.hidden = chosen !== 'new';
    changed();
  };
  const mixed = spec.refs.length > 1;
  const pick = chips(capital(spec.label), [
    ...front.map((one) => ({ value: keyOf(one), words: one.name, note: [mixed && one.kind === 'batch' ? 'batch' : '', one.note].filter(Boolean).join(' ') })),
    ...(makable.length && all.length < 400 ? [{ value: 'new', words: all.length ? 'New …' : `New ${makable[0]} …` }] : []),
  ], chosen, !spec.required, (value) => {
    chosen = value;
    if (others) {
      others.value = '';
    }
    show();
    if (value === 'new') {
      newName.focus();
    }
  });
  /** A "new" one that is in the book already is that one. */
  const known = () => sorted.find((one) => one.name.toLowerCase() === newName.value.trim().toLowerCase());
  newBox.hidden = true;
  pick.element.append(...[others, newBox].filter((one): one is HTMLSelectElement | HTMLDivElement => one !== null));
  return {
    element: pick.element,
    picks: chosen !== '',
    text: () => {
      const one = chosen === 'new' ? known() : values.get(chosen);
      return one ? `#${one.id}` : chosen === 'new' ? newName.value.trim() : '';
    },
    extra: () => (chosen === 'new' && newName.value.trim() !== '' && !known() ? { kind: makable.length > 1 ? newKind.value : makable[0], fields: { name: newName.value.trim() } } : null),
    put: (text) => {
      const one = sorted.find((other) => `#${other.id}` === text);
      if (one) {
        chosen = keyOf(one);
        pick.put(front.includes(one) ? chosen : '');
        if (others && !front.includes(one)) {
          others.value = chosen;
        }
      } else {
        chosen = text === '' ? '' : 'new';
        pick.put(chosen);
        newName.value = text;
      }
      show();
    },
    focus: pick.focus,
  };
}

/** The things to pick from, kept to what stands in the book also while the form is open. */
function refControl(kind: LogKind, spec: LogField, changed: () => void): Control {
  const listed = () => JSON.stringify(things(spec.refs));
  let isTouched = false;
  let isRenewed = false;
  const touch = () => {
    if (!isRenewed) {
      isTouched = true;
      changed();
    }
  };
  let now = refPick(kind, spec, touch);
  let shown = listed();
  const element = h('div', {}, now.element);
  return {
    element,
    get picks() {
      return now.picks;
    },
    text: () => now.text(),
    extra: () => now.extra?.() ?? null,
    put: (text) => now.put(text),
    focus: (options) => now.focus(options),
    renew: () => {
      const inside = element.contains(document.activeElement);
      if (listed() === shown || (inside && document.activeElement?.matches('input[type="text"], select'))) {
        return; // what is being typed is not taken from under the thumb
      }
      const text = now.text();
      const kindOfNew = element.querySelector<HTMLSelectElement>('.new-thing select')?.value;
      isRenewed = true;
      now = refPick(kind, spec, touch);
      if (isTouched) {
        now.put(text);
      }
      isRenewed = false;
      element.replaceChildren(now.element);
      const select = element.querySelector<HTMLSelectElement>('.new-thing select');
      if (select && kindOfNew) {
        select.value = kindOfNew;
      }
      shown = listed();
      if (inside) {
        now.focus({ preventScroll: true });
      }
    },
  };
}

function quantityControl(spec: LogField, changed: () => void): Control {
  const id = freshId('entry');
  const bare = spec.bare ?? spec.csv_unit ?? '';
  const list = [...(units[spec.csv_unit ?? ''] ?? [])];
  if (bare !== '' && !list.includes(bare)) {
    list.unshift(bare);
  }
  const kept = keep.get(`unit.${spec.csv_unit}`);
  const wanted = kept !== null && list.includes(kept) ? kept : state.units === 'us' && list.length > 1 && spec.csv_unit !== 's' && spec.csv_unit !== 'kWh' ? list[1] : (list[0] ?? '');
  const input = h('input', { id, type: 'text', inputmode: 'decimal', autocomplete: 'off', enterkeyhint: 'done', class: 'big-number', 'aria-describedby': `${id}-help`, input: () => changed() });
  const unit = list.length > 1 ? h('select', { class: 'unit', 'aria-label': `Unit of ${spec.label}`, change: () => {
    keep.set(`unit.${spec.csv_unit}`, unit?.value ?? null);
    changed();
  } }, ...list.map((name) => h('option', { value: name }, wordsOf(spec, name)))) : null;
  if (unit) {
    unit.value = wanted;
  }
  return {
    element: field(capital(spec.label), id, spec.required, [input, unit ?? (wanted === '' ? null : h('span', { class: 'unit-word' }, wordsOf(spec, wanted)))], spec.doc),
    picks: false,
    text: () => {
      const typed = input.value.trim();
      // A unit that was typed counts more than the one beside it.
      if (state.units === 'us' && /^[\d.,\s]+gal$/.test(typed)) {
        return typed.replace(/\s*gal$/, ' US gal'); // who has chosen US units means that gallon
      }
      return typed === '' || /[^\d.,+\-−\s]/.test(typed) ? typed : `${typed.replace('−', '-').replace(/^([-+]?\d+),(\d{1,2})$/, '$1.$2')} ${unit?.value ?? wanted}`.trim();
    },
    put: (text) => {
      const match = /^(\S+)\s+(.+)$/.exec(text);
      if (match && unit && list.includes(match[2])) {
        input.value = match[1];
        unit.value = match[2];
      } else {
        input.value = match && !unit && match[2] === wanted ? match[1] : text;
      }
    },
    focus: (options) => input.focus(options),
  };
}

function plainControl(kind: LogKind, spec: LogField, changed: () => void): Control {
  const id = freshId('entry');
  const isMoney = spec.type === 'money';
  const input = h('input', { id, type: 'text', inputmode: isMoney ? 'decimal' : null, autocomplete: 'off', class: isMoney ? 'big-number' : '', 'aria-describedby': `${id}-help`, input: () => changed() });
  const last = habits.includes(spec.key) ? lastPick.get(kind.word, spec.key) : null;
  if (last !== null) {
    input.value = last;
  }
  return {
    element: field(capital(spec.label), id, spec.required, [input], spec.doc), picks: last !== null,
    text: () => (isMoney ? input.value.trim().replace(/^(-?\d+),(\d{1,2})$/, '$1.$2') : input.value.trim()), put: (text) => { input.value = text; }, focus: (options) => input.focus(options),
  };
}

function choiceControl(kind: LogKind, spec: LogField, changed: () => void): Control {
  const last = habits.includes(spec.key) ? (lastPick.get(kind.word, spec.key) ?? '') : '';
  const pick = chips(capital(spec.label), (spec.choices ?? []).map((words) => ({ value: words, words })), last, !spec.required, changed);
  return { element: pick.element, picks: last !== '', text: pick.value, put: pick.put, focus: pick.focus };
}

function timeControl(changed: () => void): { element: HTMLElement; at(): string | undefined } {
  const day = h('input', { type: 'date', 'aria-label': 'The day', change: () => changed() });
  day.hidden = true;
  const pick = chips('When', [{ value: '', words: 'Now' }, { value: 'yesterday', words: 'Yesterday' }, { value: 'day', words: 'Another day' }], '', false, (value) => {
    day.hidden = value !== 'day';
    if (value === 'day') {
      day.focus();
    }
    changed();
  });
  pick.element.append(day);
  const noon = (date: Date) => new Date(date.getFullYear(), date.getMonth(), date.getDate(), 12).toISOString().replace(/\.\d+Z$/, 'Z');
  return {
    element: pick.element,
    at: () => {
      const past = new Date();
      past.setDate(past.getDate() - 1);
      return pick.value() === 'yesterday' ? noon(past) : pick.value() === 'day' && day.value !== '' ? noon(new Date(`${day.value}T12:00:00`)) : undefined;
    },
  };
}

/** B11 -> B12; "batch 7" -> "batch 8". */
export function nextName(names: string[]): string {
  const numbered = names.map((name) => /^(.*?)(\d+)$/.exec(name)).find((match) => match !== null);
  return numbered ? `${numbered[1]}${String(Number(numbered[2]) + 1).padStart(numbered[2].length, '0')}` : '';
}

export interface FormHost { saved(written: Written): void; close(): void; preset?: Record<string, string> }

/** `begin` puts the cursor where typing starts; to be called in the same tap, once the form stands in the page. `renew`
 *  takes in what the book has learnt since. */
export function entryForm(kind: LogKind, host: FormHost): { element: HTMLElement; begin(): void; renew(): void } {
  const draftKey = `entry.${kind.word}`;
  let token = newToken();
  let isSaving = false;
  const notes = h('div', { class: 'form-notes', role: 'status' });
  const typed = new Set<string>();
  const store = () => {
    const fields = Object.fromEntries(specs.map((spec, order) => [spec.key, controls[order].text()]).filter(([key, text]) => text !== '' && typed.has(key)));
    keep.set(draftKey, Object.keys(fields).length ? JSON.stringify({ token, fields }) : null);
  };
  const wrongs = new Map<string, HTMLElement>();
  const specs = kind.fields.filter((spec) => !(kind.word === 'level' && spec.key === 'change'));
  const controls = specs.map((spec) => {
    const changed = () => {
      typed.add(spec.key);
      wrongs.get(spec.key)?.replaceChildren();
      store();
    };
    return spec.type === 'ref' ? refControl(kind, spec, changed) : spec.type === 'quantity' ? quantityControl(spec, changed) : spec.type === 'choice' ? choiceControl(kind, spec, changed) : plainControl(kind, spec, changed);
  });
  const control = (key: string) => controls[specs.findIndex((spec) => spec.key === key)];
  const proposeName = () => {
    if (kind.word === 'batch' && !typed.has('name')) {
      control('name')?.put(nextName(book.batches.map((one) => one.name)));
    }
  };
  proposeName();
  const time = timeControl(() => undefined);
  const order = usual[kind.word] ?? [];
  const isFront = (spec: LogField) => spec.required || order.includes(spec.key);
  const rank = (spec: LogField) => (order.includes(spec.key) ? order.indexOf(spec.key) : 99);
  const place = (spec: LogField) => {
    const wrong = h('div', { class: 'wrong-place' });
    wrongs.set(spec.key, wrong);
    return h('div', { class: 'form-field', 'data-field': spec.key }, control(spec.key)?.element, wrong);
  };
  const front = specs.filter(isFront).sort((a, b) => rank(a) - rank(b));
  const rest = specs.filter((spec) => !isFront(spec));

  const kept = keep.get(draftKey);
  let hasDraft = false;
  if (kept !== null) {
    try {
      const draft = JSON.parse(kept) as { token: string; fields: Record<string, string> };
      token = draft.token;
      for (const [key, text] of Object.entries(draft.fields)) {
        control(key)?.put(text);
        typed.add(key);
      }
      hasDraft = Object.keys(draft.fields).length > 0;
    } catch {
      keep.set(draftKey, null);
    }
  }
  for (const [key, text] of Object.entries(host.preset ?? {})) {
    control(key)?.put(text);
    typed.add(key);
  }
  if (hasDraft && !host.preset) {
    clear(notes, h('p', { class: 'kept-note' }, 'This is what you typed last time; it was not saved.'));
  }

  const fault = (key: string | null, message: string, remedy: string) => {
    const where = key !== null ? wrongs.get(key) : undefined;
    const words = h('p', { class: 'field-fault error' }, capital(message), remedy ? `; ${remedy}` : '');
    if (where) {
      where.append(words);
      where.closest('details')?.setAttribute('open', '');
    } else {
      notes.append(words);
    }
    return where;
  };
  const save = async () => {
    if (isSaving) {
      return;
    }
    wrongs.forEach((one) => one.replaceChildren());
    clear(notes);
    const fields: Record<string, string> = {};
    const extra: NewEntry[] = [];
    specs.forEach((spec, place_) => {
      const text = controls[place_].text();
      if (text !== '') {
        fields[spec.key] = text;
      }
      const more = controls[place_].extra?.();
      if (more && !extra.some((one) => one.kind === more.kind && one.fields.name === more.fields.name)) {
        extra.push(more);
      }
    });
    const missing = front.filter((spec) => spec.required && !fields[spec.key]);
    if (missing.length) {
      missing.forEach((spec) => fault(spec.key, 'this is needed', ''));
      control(missing[0].key)?.focus();
      return;
    }
    isSaving = true;
    saveButton.textContent = 'Saving …';
    try {
      const written = await write({ entries: [...extra, { kind: kind.word, at: time.at(), fields }] }, token);
      if (written.done) {
        specs.filter((spec) => habits.includes(spec.key)).forEach((spec) => {
          const text = fields[spec.key] ?? '';
          const name = text.startsWith('#') ? (things(spec.refs ?? []).find((one) => `#${one.id}` === text)?.name ?? text) : text;
          if (text !== '') {
            lastPick.set(kind.word, spec.key, name);
          }
        });
        keep.set(draftKey, null);
        host.saved(written);
        return;
      }
      const first = written.faults.map((one) => fault(one.entry === null || one.entry === extra.length ? one.field : null, one.message, one.remedy ?? '')).find((where) => where !== undefined);
      (first ?? notes).scrollIntoView({ block: 'center' });
    } catch (error) {
      const known = error instanceof ApiError ? error : null;
      fault(null, known?.code === 'gone' ? 'Not saved: the shop\'s computer does not answer' : `Not saved: ${known?.message ?? String(error)}`,
        known?.code === 'gone' ? 'what you typed is kept in this phone; press Save again when you are back on the shop\'s network' : (known?.remedy ?? 'what you typed is kept'));
      notes.scrollIntoView({ block: 'center' });
    } finally {
      isSaving = false;
      saveButton.textContent = 'Save';
    }
  };
  const saveButton = h('button', { type: 'submit', class: 'button main save' }, 'Save');
  const form = h('form', { class: 'entry-form', 'aria-label': kind.label, novalidate: true, 'data-kind': kind.word },
    h('div', { class: 'entry-head' }, kindIcon(kind.word), h('div', {}, h('h1', { class: 'headline' }, kind.label), h('p', { class: 'field-help' }, capital(kind.doc))), button('Close', host.close, 'quiet')),
    ...front.map(place),
    rest.length ? h('details', { class: 'more' }, h('summary', {}, `More: ${rest.slice(0, 3).map((spec) => spec.label).join(', ')}${rest.length > 3 ? ' …' : ''}`), ...rest.map(place)) : null,
    time.element, notes, h('div', { class: 'form-foot' }, saveButton, hasDraft ? button('Empty it', () => {
      keep.set(draftKey, null);
      host.close();
    }) : null));
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    void save();
  });
  return {
    element: form,
    begin: () => {
      const start = front.find((spec) => !control(spec.key)?.picks && !typed.has(spec.key));
      form.scrollIntoView({ block: 'start' });
      (start ? control(start.key) : undefined)?.focus({ preventScroll: true });
    },
    renew: () => {
      controls.forEach((one) => one.renew?.());
      proposeName();
    },
  };
}
