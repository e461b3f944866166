// SPDX-License-Identifier: GPL-3.0-or-later
// Faults: what happens when one thing breaks, the worst first, with how one notices it, what helps and what to carry.
import { button, h, type Kid } from './dom';
import { gradeMark } from './symbols';
import { prettyUnit } from './units';

interface Failure {
  name: string; part: string | null; class: string; cold_start: string; motorway: string; noticed: string; remedy: string; spare: string; minutes: number | null;
  verdict: { text: string } | null;
  /** It fails as the vehicle fails with nothing broken; not counted. */
  as_unbroken?: boolean;
}
const classes: [string, string, string, string][] = [
  ['dangerous', 'Dangerous', 'impossible', 'may hurt someone or burn; guard against these first'],
  ['strands', 'Leaves the driver stranded', 'bad', 'the vehicle does not start or does not get home'],
  ['limps', 'Limps home', 'tight', 'it still moves, with less power or care'],
  ['unnoticed', 'Goes unnoticed', 'unknown', 'the morning passes; found only when one looks'],
];
const after: Record<string, string> = { dangerous: 'dangerous', strands: 'stranded', limps: 'limps', unnoticed: 'not noticed', none: 'no harm' };
const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

/** What is worth carrying: each spare once, with how many of the faults that strand it helps. */
function spares(failures: Failure[]): Kid {
  const counts = new Map<string, number>();
  for (const failure of failures) {
    for (const spare of failure.spare && failure.spare !== 'none' ? failure.spare.split(', ') : []) {
      counts.set(spare, (counts.get(spare) ?? 0) + 1);
    }
  }
  const list = [...counts].sort((a, b) => b[1] - a[1]);
  return list.length ? h('details', { class: 'panel' }, h('summary', {}, `What to carry (${list.length})`), h('p', { class: 'field-help' }, 'with how many of the faults that are dangerous or leave the driver stranded it helps'),
    h('ul', { class: 'spares' }, ...list.map(([name, count]) => h('li', {}, `${capital(name)}: `, h('strong', {}, String(count)))))) : null;
}

export function renderFaults(result: Record<string, unknown>, open: (name: string) => void): Kid[] {
  const all = (result.failures as Failure[] | undefined) ?? [];
  const failures = all.filter((failure) => !failure.as_unbroken);
  const same = all.filter((failure) => failure.as_unbroken);
  const cautions = (result.cautions as string[] | undefined) ?? [];
  const groups = classes.map(([key, title, grade, about]) => ({ key, title, grade, about, list: failures.filter((failure) => failure.class === key) }));
  const worst = groups.find((group) => group.list.length > 0);
  const item = (grade: string) => (failure: Failure) => h('article', { class: `answer ${grade}` }, gradeMark(grade), h('div', {}, h('h3', {}, failure.name),
    failure.verdict?.text ? h('p', {}, prettyUnit(capital(failure.verdict.text))) : null,
    failure.noticed ? h('p', {}, h('strong', {}, 'How one notices: '), failure.noticed) : null,
    failure.remedy ? h('p', {}, h('strong', {}, 'What helps: '), prettyUnit(failure.remedy)) : null,
    failure.spare && failure.spare !== 'none' ? h('p', {}, h('strong', {}, 'Carry: '), failure.spare) : null,
    h('p', { class: 'basis' }, `Cold start: ${after[failure.cold_start] ?? failure.cold_start}. Motorway: ${after[failure.motorway] ?? failure.motorway}.${failure.minutes ? ` About ${Math.round(failure.minutes)} min to mend.` : ''}`),
    failure.part ? h('div', { class: 'row' }, button(failure.part, () => open(failure.part as string), 'small', { 'aria-label': `Show ${failure.part}` })) : null));
  return [
    h('div', { class: 'verdict-words' }, gradeMark(worst?.grade ?? 'good'), h('h1', { class: 'headline', tabindex: '-1' }, String(result.headline ?? 'Every single fault'))),
    h('ul', { class: 'counts' }, ...groups.map((group) => h('li', { class: `count ${group.grade}` }, gradeMark(group.grade), h('strong', {}, String(group.list.length)), ` ${group.title.toLowerCase()}`))),
    cautions.length ? h('section', { class: 'cautions' }, h('h2', {}, 'Take care'), h('ul', {}, ...cautions.map((text) => h('li', {}, text)))) : null,
    ...groups.filter((group) => group.list.length > 0).map((group, order) => h('details', { class: 'panel', open: order < 2 }, h('summary', {}, `${group.title} (${group.list.length})`), h('p', { class: 'field-help' }, group.about), h('div', { class: 'answers' }, ...group.list.map(item(group.grade))))),
    same.length ? h('details', { class: 'panel', 'data-as-unbroken': same.length }, h('summary', {}, `No different from unbroken (${same.length})`),
      h('p', { class: 'field-help' }, 'With nothing broken the vehicle fails in the same way. Mend that first, then these can be told apart.'), h('ul', {}, ...same.map((failure) => h('li', {}, capital(failure.name))))) : null,
    spares(failures.filter((failure) => failure.class === 'dangerous' || failure.class === 'strands')),
  ];
}
