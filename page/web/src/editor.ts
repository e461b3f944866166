// SPDX-License-Identifier: GPL-3.0-or-later
// The panel of one part: its fields, heaters, place in the path; adding, moving, renaming, removing.
import { button, clear, freshId, h, s, type Kid } from './dom';
import { faultLine, fieldList, openFolds, redrawKeeping, type FieldHost } from './fields';
import { dialog } from './notice';
import { positionNames, ruleRows, specialEditor } from './rows';
import { edit } from './run';
import { emit, momentAt, state } from './state';
import type { Edit, Fault, FieldSpec, Kind, Part, SpecialValue } from './types';
import { valuesOf } from './picture';
import { gradeMark, symbol } from './symbols';

export function kindOf(part: Part): Kind | undefined {
  return state.catalogue.kinds.find((kind) => kind.word === part.kind) ?? state.catalogue.kinds.find((kind) => kind.kind === part.kind);
}

const kindWords: Record<string, string> = {
  'tank': 'holds the fuel', 'hose': 'a flexible line', 'tube': 'a rigid line', 'electric pump': 'pushes the fuel while current flows', 'filter': 'holds back dirt; the colder the oil, the more it costs',
  'injection pump': 'meters the fuel to the injectors', 'check valve': 'lets the fuel through one way only', 'relief valve': 'opens at a set pressure', 'orifice': 'a small hole that holds flow back', 'tee': 'joins or parts lines',
};

/** What a kind is, without its ports. */
function aboutKind(kind: Kind | undefined): string {
  return (kind?.about ?? '').replace(/(; )?ports? .*$/, '') || (kindWords[kind?.word ?? ''] ?? '');
}

/** Host of the fields of a part or section. */
export function hostFor(target: { part: string } | { section: string }): FieldHost {
  const belongs = (fault: Fault) => ('part' in target ? fault.part === target.part && fault.section === null : fault.section === target.section);
  return {
    set: (path, value, written) => edit([{ op: 'set', ...target, path, value }], written),
    faults: (path) => (state.read?.faults ?? []).filter((fault) => belongs(fault) && (fault.path ?? '') === path),
    faultsBelow: (path) => (state.read?.faults ?? []).filter((fault) => belongs(fault) && fault.path?.startsWith(`${path}/`)),
    units: state.units,
  };
}

function specialRow(key: string, doc: string, value: SpecialValue | undefined, part: Part, host: FieldHost): HTMLElement {
  const id = freshId('field');
  const faults = host.faults(key);
  if (key === 'warms' || key === 'start at') {
    const names = key === 'warms'
      ? (state.read?.parts ?? []).filter((other) => other.name !== part.name && !['coolant coil', 'injectors', 'tee'].includes(other.kind)).map((other) => other.name)
      : positionNames(part);
    const select = h('select', { id, 'data-path': key, change: () => void host.set(key, select.value) }, ...[...new Set([...(value ? [value.text] : ['']), ...names])].map((name) => h('option', { value: name }, name || 'choose')));
    select.value = value?.text ?? '';
    return h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, key)), h('div', { class: 'field-control' }, select),
      ...faults.map((fault) => faultLine(fault, key)), h('p', { class: 'field-help' }, doc));
  }
  return specialEditor(key, doc, value?.value, { part: part.name }, host) ?? h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('span', {}, key)), h('p', { class: 'mono' }, value?.text ?? 'not given'),
    ...faults.map((fault) => faultLine(fault, key)),
    h('p', { class: 'field-help' }, `${doc}. Change it in the file's text.`));
}

/** Sets many things at once on the way of the fuel: where a part may stand. */
function neighbours(part: Part): { before: Part | null; after: Part | null } {
  const read = state.read;
  if (!read) {
    return { before: null, after: null };
  }
  const path = state.run && !state.stale ? momentAt(state.run, state.sample).path : (read.path ?? []);
  for (const way of [path, read.return_path ?? []]) {
    const place = way.indexOf(part.index);
    if (place >= 0) {
      return { before: read.parts[way[place - 1]] ?? null, after: read.parts[way[place + 1]] ?? null };
    }
  }
  return { before: null, after: null };
}

/** Ask for a kind, then add it behind a part. */
export function addDialog(after: string | null): Promise<void> {
  return dialog('Add a part', (close) => {
    const read = state.read;
    const places = (read?.parts ?? []).filter((part) => part.kind !== 'injectors' && part.kind !== 'coolant coil');
    const id = freshId('place');
    const select = h('select', { id }, ...places.map((part) => h('option', { value: part.name }, part.name)));
    select.value = after ?? places[0]?.name ?? '';
    return [
      h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, 'Behind')), h('div', { class: 'field-control' }, select)),
      h('div', { class: 'kind-list' }, ...state.catalogue.kinds.filter((kind) => kind.in_line || kind.word === 'coolant coil').map((kind) => {
        const press = async () => {
          close();
          const names = new Set((state.read?.parts ?? []).map((part) => part.name));
          let name = `new ${kind.word}`;
          for (let count = 2; names.has(name); count += 1) {
            name = `new ${kind.word} ${count}`;
          }
          if (await edit([{ op: 'add', kind: kind.word, name, after: select.value }])) {
            state.selected = name;
            emit('select');
          }
        };
        return h('button', { type: 'button', class: 'kind', click: () => void press(), 'data-kind': kind.word }, s('svg', { viewBox: '-34 -30 68 60', class: 'kind-symbol', 'aria-hidden': 'true' }, symbol(kind.word, { heated: false })), h('strong', {}, kind.word), h('span', {}, aboutKind(kind)));
      })),
    ];
  });
}

export function createEditor(): { element: HTMLElement; draw(): void } {
  const element = h('aside', { class: 'editor', id: 'editor', 'aria-label': 'Part', hidden: true });
  let shown: string | null = null;
  let scrolled = 0;
  element.addEventListener('scroll', () => {
    scrolled = element.scrollTop;
  }, { passive: true });

  const shut = () => {
    const part = state.read?.parts.find((other) => other.name === state.selected);
    state.selected = null;
    emit('select');
    if (part) {
      document.querySelector<SVGGElement>(`.picture [data-part="${part.index}"]`)?.focus();
    }
  };
  element.addEventListener('keydown', (event) => {
    if (event.key === 'Escape') {
      shut();
    }
  });

  const heaters = (part: Part, host: FieldHost): Kid[] => {
    const kind = kindOf(part);
    if (!kind?.has_heaters) {
      return [];
    }
    const add: Edit = { op: 'append', part: part.name, path: 'heaters', value: { name: `element ${(part.heaters?.length ?? 0) + 1}`, power: '150 W', thermostat: { opens: '75 degC', closes: '68 degC', senses: 'oil' } } };
    return [
      h('h3', {}, 'Electric elements'),
      ...(part.heaters ?? []).map((heater) => {
        const has = heater.fields.some((field) => field.path.includes('/thermostat/'));
        const specs: FieldSpec[] = state.catalogue.heater;
        return h('details', { class: 'heater', open: true }, h('summary', {}, heater.name),
          fieldList(specs, heater.fields.filter((field) => !field.path.includes('/thermostat/')), heater.path, host, 1),
          has ? h('h4', {}, 'Its thermostat') : null,
          has ? fieldList(state.catalogue.thermostat, heater.fields.filter((field) => field.path.includes('/thermostat/')), `${heater.path}/thermostat`, host, 2) : h('p', { class: 'field-help' }, 'It has no thermostat.'),
          button(`Take out ${heater.name}`, () => void edit([{ op: 'drop', part: part.name, path: heater.path }]), 'danger small'));
      }),
      (part.heaters?.length ?? 0) < 4 ? button('Add an element', () => void edit([add])) : null,
    ];
  };

  const draw = () => {
    const part = state.read?.parts.find((other) => other.name === state.selected);
    element.hidden = !part;
    document.body.classList.toggle('editing', Boolean(part));
    if (!part) {
      shown = null;
      return;
    }
    const kind = kindOf(part);
    const host = hostFor({ part: part.name });
    const isSame = shown === part.name;
    const scroll = isSame ? scrolled : 0;
    const folds = openFolds(element);
    const { before, after } = neighbours(part);
    const specs = [...(kind?.fields ?? []), ...state.catalogue.common];
    const nameId = freshId('name');
    const name = h('input', { id: nameId, type: 'text', value: part.name, autocomplete: 'off', 'data-path': 'name' });
    name.addEventListener('change', () => {
      const next = name.value.trim();
      if (next !== '' && next !== part.name) {
        void edit([{ op: 'rename', part: part.name, name: next }]).then((done) => {
          if (done) {
            state.selected = next;
            emit('select');
          }
        });
      }
    });
    const loose = (state.read?.faults ?? []).filter((fault) => fault.part === part.name && fault.section === null && (fault.path === null || !specs.concat(state.catalogue.heater, state.catalogue.thermostat).some((spec) => fault.path === spec.key || fault.path?.endsWith(`/${spec.key}`)) && !(kind?.special ?? []).some((special) => special.key === fault.path || fault.path?.startsWith(`${special.key}/`))));
    const values = state.run && !state.stale ? valuesOf(state.run, part.index, state.sample, part.kind) : [];
    const build = () => clear(element,
      h('div', { class: 'editor-head' }, h('div', {}, h('h2', { tabindex: '-1' }, part.name), h('p', {}, [kind?.word ?? part.kind, aboutKind(kind)].filter(Boolean).join(': '))), button('Close', shut, '')),
      state.run ? h('p', { class: 'editor-verdict', 'aria-hidden': 'true' }, gradeMark(state.stale ? 'unknown' : state.run.verdict.grade), state.stale ? 'An entry cannot be used yet.' : state.run.verdict.headline) : null,
      ...loose.map((fault) => faultLine(fault, null)),
      fieldList(specs.filter((spec) => spec.key !== 'price'), part.fields, '', host, 4),
      ...(kind?.special ?? []).filter((special) => special.key !== 'heaters').map((special) => specialRow(special.key, special.doc, part.special?.find((value) => value.path === special.key), part, host)),
      ...heaters(part, host),
      ruleRows(hostFor({ section: 'controls' }), part.name),
      values.length ? h('h3', {}, 'At this moment') : null,
      values.length ? h('dl', { class: 'pairs' }, ...values.flatMap(([word, value]) => [h('dt', {}, word), h('dd', {}, value)])) : null,
      h('h3', {}, 'Place in the path'),
      h('div', { class: 'row' },
        kind?.in_line && before ? button('◀ Move toward tank', () => void moveBefore(part, before), '', {}) : null,
        kind?.in_line && after && after.kind !== 'injection pump' ? button('Move toward engine ▶', () => void edit([{ op: 'move', part: part.name, after: after.name }])) : null,
        part.kind !== 'injectors' ? button('Add a part behind it', () => void addDialog(part.name)) : null,
        part.kind !== 'injectors' && part.kind !== 'injection pump' ? button('Remove', () => void edit([{ op: 'remove', part: part.name }]), 'danger') : null),
      h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: nameId }, 'Name')), h('div', { class: 'field-control' }, name)));
    if (isSame) {
      redrawKeeping(element, () => {
        build();
        folds();
      });
    } else {
      build();
    }
    if (!isSame) {
      element.scrollTop = 0;
      element.querySelector('h2')?.focus({ preventScroll: true });
      if (window.innerWidth <= 900) { // the panel covers the lower part: keep the path in sight above it
        document.querySelector('.picture-box')?.scrollIntoView({ block: 'start' });
      }
    } else if (scroll > 0) {
      element.scrollTop = scroll;
    }
    shown = part.name;
  };

  const moveBefore = async (part: Part, before: Part) => {
    const path = state.read?.path ?? [];
    const place = path.indexOf(before.index);
    const ahead = place > 0 ? state.read?.parts[path[place - 1]] : undefined;
    await edit([ahead ? { op: 'move', part: part.name, after: ahead.name, before: before.name } : { op: 'move', part: part.name, after: null }]);
  };
  return { element, draw };
}
