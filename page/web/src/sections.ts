// SPDX-License-Identifier: GPL-3.0-or-later
// Vehicle, engine, climate, drive, electrics, limits: the sections of the file that are no parts.
import { button, clear, h } from './dom';
import { hostFor } from './editor';
import { faultLine, fieldList, openFolds, redrawKeeping } from './fields';
import { ruleRows, specialEditor, viscosityRows } from './rows';
import { edit } from './run';
import { state } from './state';
import type { Section } from './types';

/** The rules have no fields of their own in the catalogue. */
const controls: Section = { name: 'controls', about: 'what moves by itself while driving: valves, pumps, heaters', fields: [], special: [] };
const fuel: Section = { name: 'oil', about: 'what was measured of the fuel in the tank; the night\'s fuel is chosen above the picture, blends in the view Oil', fields: [], special: [] };
const wordsOf = (name: string) => (name === 'controls' ? 'rules for valves, pumps and heaters' : name === 'oil' ? 'fuel, as measured' : name);

export function sectionPanels(): { element: HTMLElement; draw(): void } {
  const element = h('div', { class: 'section-panels' });
  const panels = new Map<string, { box: HTMLDetailsElement; body: HTMLElement }>();
  const fillPanel = (name: string) => {
    const panel = panels.get(name);
    const section = name === 'controls' ? controls : name === 'oil' ? fuel : state.catalogue.sections.find((other) => other.name === name);
    if (!panel || !section) {
      return;
    }
    const value = state.read?.sections.find((other) => other.name === name);
    const wrong = (state.read?.faults ?? []).filter((fault) => fault.severity === 'error' && fault.section === name);
    const summary = panel.box.querySelector('summary');
    if (summary) {
      summary.textContent = wrong.length ? `${wordsOf(name)}: ${wrong.length === 1 ? '1 entry' : `${wrong.length} entries`} to mend` : wordsOf(name);
    }
    if (!panel.box.open) {
      return;
    }
    const host = hostFor({ section: name });
    const folds = openFolds(panel.body);
    const build = () => clear(panel.body, h('p', { class: 'field-help' }, section.about),
      ...wrong.filter((fault) => fault.path === null && name !== 'controls' && name !== 'oil').map((fault) => faultLine(fault, null)),
      name === 'controls' ? ruleRows(host) : name === 'oil' ? viscosityRows(host) : null,
      fieldList(section.fields, value?.fields ?? [], '', host, 6),
      ...(value?.legs ?? []).map((leg, order) => h('details', { class: 'heater' }, h('summary', {}, leg.fields.find((field) => field.key === 'name')?.text || `leg ${order + 1}`),
        fieldList(state.catalogue.leg, leg.fields, leg.path, host, 4), button('Take out this leg', () => void edit([{ op: 'drop', section: name, path: leg.path }]), 'danger small'))),
      name === 'drive' ? button('Add a leg', () => void edit([{ op: 'append', section: 'drive', path: 'legs', value: { name: 'new leg', speed: '50 km/h', for: '5 min' } }])) : null,
      ...(section.special ?? []).filter((special) => special.key !== 'legs').map((special) => specialEditor(special.key, special.doc, value?.special?.find((other) => other.path === special.key)?.value, { section: name }, host) ?? h('p', { class: 'field-help' }, `${special.key}: ${special.doc}`)));
    redrawKeeping(panel.body, () => {
      build();
      folds();
    });
  };
  return {
    element,
    draw: () => {
      if (panels.size === 0) {
        for (const section of [...state.catalogue.sections.filter((other) => other.fields.length > 0 && other.name !== 'oil'), fuel, controls]) {
          const body = h('div', {});
          const box = h('details', { class: 'panel', 'data-section': section.name }, h('summary', {}, wordsOf(section.name)), body);
          panels.set(section.name, { box, body });
          box.addEventListener('toggle', () => fillPanel(section.name));
          element.append(box);
        }
      }
      panels.forEach((_, name) => fillPanel(name));
    },
  };
}
