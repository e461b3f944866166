// SPDX-License-Identifier: GPL-3.0-or-later
// Faults: what happens when one thing breaks, the worst first, with how one notices it, what helps and what to carry.
import { button, h, type Kid } from './dom';
import { gradeMark } from './symbols';

interface Failure {
  name: string; part: string | null; class: string; cold_start: string; motorway: string; noticed: string; remedy: string; spare: string; minutes: number | null;
  verdict: { text: string } | null;
}
const classes: [string, string, string, string][] = [
  ['dangerous', 'Dangerous', 'impossible', 'may hurt someone or burn; guard against these first'],
  ['strands', 'Leaves the driver stranded', 'bad', 'the vehicle does not start or does not get home'],
  ['limps', 'Limps home', 'tight', 'it still moves, with less power or care'],
  ['unnoticed', 'Goes unnoticed', 'unknown', 'the morning passes; found only when one looks'],
];

/** Null when the answer has another shape. */
export function renderFaults(result: Record<string, unknown>, open: (name: string) => void): Kid[] | null {
  const failures = result.failures as Failure[] | undefined;
  if (!Array.isArray(failures) || typeof result.headline !== 'string') {
    return null;
  }
  const groups = classes.map(([key, title, grade, about]) => ({ key, title, grade, about, list: failures.filter((failure) => failure.class === key) }));
  const item = (failure: Failure) => h('article', { class: 'answer' }, h('div', {}, h('h3', {}, failure.name),
    h('p', {}, failure.verdict?.text ?? ''),
    failure.noticed ? h('p', {}, h('strong', {}, 'How one notices: '), failure.noticed) : null,
    failure.remedy ? h('p', {}, h('strong', {}, 'What helps: '), failure.remedy) : null,
    h('p', { class: 'basis' }, `Cold start: ${failure.cold_start}. Motorway: ${failure.motorway}.${failure.spare ? ` Carry: ${failure.spare}.` : ''}${failure.minutes ? ` About ${Math.round(failure.minutes)} min to mend.` : ''}`),
    failure.part ? h('div', { class: 'row' }, button(failure.part, () => open(failure.part as string), 'small')) : null));
  return [
    h('h1', { class: 'headline' }, result.headline),
    h('ul', { class: 'counts' }, ...groups.map((group) => h('li', { class: `count ${group.grade}` }, gradeMark(group.grade), h('strong', {}, String(group.list.length)), ` ${group.title.toLowerCase()}`))),
    ...groups.filter((group) => group.list.length > 0).map((group, order) => h('details', { class: 'panel', open: order < 2 }, h('summary', {}, `${group.title} (${group.list.length})`), h('p', { class: 'field-help' }, group.about), h('div', { class: 'answers' }, ...group.list.map(item)))),
  ];
}
