// SPDX-License-Identifier: GPL-3.0-or-later
// Vehicle, engine, climate, drive, electrics, limits: the sections of the file that are no parts.
import { button, clear, h } from './dom';
import { hostFor } from './editor';
import { fieldList } from './fields';
import { edit } from './run';
import { state } from './state';

export function sectionPanels(): { element: HTMLElement; draw(): void } {
  const element = h('div', { class: 'section-panels' });
  const panels = new Map<string, { box: HTMLDetailsElement; body: HTMLElement }>();
  const fillPanel = (name: string) => {
    const panel = panels.get(name);
    const section = state.catalogue.sections.find((other) => other.name === name);
    if (!panel || !section) {
      return;
    }
    const value = state.read?.sections.find((other) => other.name === name);
    const wrong = (state.read?.faults ?? []).filter((fault) => fault.severity === 'error' && fault.part === null && fault.section === name);
    const summary = panel.box.querySelector('summary');
    if (summary) {
      summary.textContent = wrong.length ? `${name}: ${wrong.length === 1 ? '1 entry' : `${wrong.length} entries`} to mend` : name;
    }
    if (!panel.box.open) {
      return;
    }
    const focusPath = panel.body.contains(document.activeElement) ? document.activeElement?.getAttribute('data-path') : null;
    const opened = [...panel.body.querySelectorAll<HTMLDetailsElement>('details.more')].map((details) => details.open);
    const host = hostFor({ section: name });
    clear(panel.body, h('p', { class: 'field-help' }, section.about),
      ...wrong.filter((fault) => fault.path === null).map((fault) => h('p', { class: 'field-fault error' }, fault.message, fault.remedy ? `; ${fault.remedy}` : '')),
      fieldList(section.fields, value?.fields ?? [], '', host, 6),
      ...(value?.legs ?? []).map((leg, order) => h('details', { class: 'heater' }, h('summary', {}, leg.fields.find((field) => field.key === 'name')?.text || `leg ${order + 1}`),
        fieldList(state.catalogue.leg, leg.fields, leg.path, host, 4), button('Take out this leg', () => void edit([{ op: 'drop', section: name, path: leg.path }]), 'danger small'))),
      name === 'drive' ? button('Add a leg', () => void edit([{ op: 'append', section: 'drive', path: 'legs', value: { name: 'new leg', speed: '50 km/h', for: '5 min' } }])) : null,
      ...(section.special ?? []).filter((special) => special.key !== 'legs').map((special) => h('p', { class: 'field-help' }, `${special.key}: ${special.doc}`)));
    panel.body.querySelectorAll<HTMLDetailsElement>('details.more').forEach((details, order) => {
      details.open = opened[order] ?? false;
    });
    if (focusPath) {
      panel.body.querySelector<HTMLElement>(`[data-path="${CSS.escape(focusPath)}"]`)?.focus({ preventScroll: true });
    }
  };
  return {
    element,
    draw: () => {
      if (panels.size === 0) {
        for (const section of state.catalogue.sections.filter((other) => other.fields.length > 0 && other.name !== 'oil')) {
          const body = h('div', {});
          const box = h('details', { class: 'panel', 'data-section': section.name }, h('summary', {}, section.name), body);
          panels.set(section.name, { box, body });
          box.addEventListener('toggle', () => fillPanel(section.name));
          element.append(box);
        }
      }
      panels.forEach((_, name) => fillPanel(name));
    },
  };
}
