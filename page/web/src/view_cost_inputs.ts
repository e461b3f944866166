// SPDX-License-Identifier: GPL-3.0-or-later
// The figures of the cost file as fields, by section: the number, its unit, its range, and where it comes from.
import { button, clear, freshId, h } from './dom';
import { plainNumbers } from './sheet';
import { state } from './state';
import type { Fault } from './types';
import type { CostAnswer, CostInput } from './types_cost';

/** "1.50 per L" -> ["1.50", "per L"]. */
function split(text: string): [string, string] {
  const match = /^\s*([-−+]?[\d\s\u202f.,]*\d)\s*(.*)$/.exec(text);
  return match ? [match[1].replace(/[\s\u202f]/g, '').replace('−', '-'), match[2]] : ['', text];
}

export function costInputs(set: (key: string, text: string | null) => Promise<void>, isTried: (key: string) => boolean): { draw(answer: CostAnswer, place: HTMLElement): void; faults(list: Fault[]): void } {
  const wrongs = new Map<string, HTMLElement>();
  const opened = new Set<string>();
  const field = (input: CostInput): HTMLElement => {
    const id = freshId('cost');
    const shown = state.units === 'us' ? input.text_us : input.text;
    const [number, unit] = split(shown);
    const control = h('input', { id, type: 'text', inputmode: 'decimal', autocomplete: 'off', value: number, 'data-input': input.key, 'aria-describedby': `${id}-help`, class: input.trust !== null ? 'by-default' : '' });
    const scale = input.value !== 0 && number !== '' ? Number(number) / input.value : null;
    const part = (value: number | null) => (value === null || scale === null ? null : String(Number((value * scale).toPrecision(4))));
    const low = part(input.low);
    const high = part(input.high);
    const isRange = input.spread !== 'plain' && low !== null && high !== null;
    const wrong = h('div', {});
    wrongs.set(input.key, wrong);
    control.addEventListener('change', () => {
      const typed = plainNumbers(control.value.trim());
      if (typed === '' ) {
        void set(input.key, null);
      } else if (typed !== number) {
        // A unit or a range that was typed counts as it stands.
        void set(input.key, /[A-Za-z%]/.test(typed.replace(/\bto\b/g, '')) ? typed : `${typed} ${unit}`.trim());
      }
    });
    const from = isTried(input.key) ? 'tried out here, not in the file' : input.trust !== null ? `not in the file; taken as usual (${input.trust})` : `from the ${input.from}`;
    return h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, input.label),
      isTried(input.key) ? button('as it was', () => void set(input.key, null), 'quiet small', { 'aria-label': `as it was: ${input.label}` })
        : input.trust === null && input.from.includes('file') ? button('use default', () => void set(input.key, null), 'quiet small', { 'aria-label': `use default for ${input.label}` }) : h('span', { class: 'by-default-tag' }, input.trust !== null ? 'default' : input.from)),
    h('div', { class: 'field-control' }, control, unit ? h('span', { class: 'unit-word' }, unit) : null), wrong,
    h('p', { class: 'field-help', id: `${id}-help` }, `${input.doc}; `, isRange ? `between ${low} and ${high}; ` : '', from));
  };
  return {
    draw: (answer, place) => {
      const focus = place.contains(document.activeElement) ? document.activeElement?.getAttribute('data-input') : null;
      place.querySelectorAll<HTMLDetailsElement>('details.panel').forEach((box) => {
        const name = box.getAttribute('data-section') ?? '';
        if (box.open) {
          opened.add(name);
        } else {
          opened.delete(name);
        }
      });
      const sections = new Map<string, CostInput[]>();
      answer.inputs.forEach((input) => {
        const name = input.key.split('.')[0];
        sections.set(name, [...(sections.get(name) ?? []), input]);
      });
      clear(place, h('h2', {}, 'The figures'), h('p', { class: 'field-help' }, 'Change any of them; a range is typed as 1.2 to 1.8. Italic ones are not in your file: the usual is taken.'),
        ...[...sections].map(([name, list]) => {
          const box = h('details', { class: 'panel', 'data-section': name }, h('summary', {}, `${name} (${list.filter((one) => one.trust === null).length} of ${list.length} given)`), h('div', { class: 'fields' }, ...list.map(field)));
          box.open = opened.has(name);
          return box;
        }));
      if (focus) {
        place.querySelector<HTMLElement>(`[data-input="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
      }
    },
    faults: (list) => {
      wrongs.forEach((one) => one.replaceChildren());
      list.filter((fault) => fault.severity === 'error').forEach((fault) => {
        const key = fault.section !== null && fault.path !== null ? `${fault.section}.${fault.path}` : (fault.part ?? '');
        wrongs.get(key)?.append(h('p', { class: 'field-fault error' }, fault.message, fault.remedy ? `; ${fault.remedy}` : ''));
      });
    },
  };
}
