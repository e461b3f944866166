// SPDX-License-Identifier: GPL-3.0-or-later
// Wiring and Faults: long work on the server with progress and cancel; its answer shown as sentences and tables.
import { api } from './api';
import { button, clear, h, type Kid } from './dom';
import { complain } from './run';
import { state } from './state';
import { gradeMark, gradeWords } from './symbols';
import { clock, digits, show } from './units';

const suffixes: [string, string][] = [
  ['_m2_s', 'kinematic viscosity'], ['_m3_s', 'volume flow'], ['_rad_s', 'rotation'], ['_m_s', 'speed'], ['_mm2', ''], ['_m2', 'area'], ['_ohm', 'resistance'],
  ['_pa', 'pressure'], ['_kg', 'mass'], ['_k', 'temperature'], ['_w', 'power'], ['_v', 'voltage'], ['_a', 'current'], ['_c', 'charge'], ['_j', 'energy'], ['_s', 'time'], ['_m', 'length'],
];
const grades = ['good', 'tight', 'unknown', 'bad', 'impossible'];

/** A key of the answer as words and the quantity its ending names. */
function keyWords(key: string): { words: string; quantity: string | null } {
  for (const [suffix, quantity] of suffixes) {
    if (key.endsWith(suffix) && quantity !== '') {
      return { words: key.slice(0, -suffix.length).replaceAll('_', ' '), quantity };
    }
  }
  return { words: key.replaceAll('_', ' '), quantity: null };
}

function cell(key: string, value: unknown): Kid {
  if (value === null || value === undefined) {
    return '–';
  }
  if (typeof value === 'boolean') {
    return value ? 'yes' : 'no';
  }
  if (typeof value === 'number') {
    const { quantity } = keyWords(key);
    return quantity === 'time' ? clock(value) : quantity ? show(quantity, value) : key.endsWith('_mm2') ? `${digits(value)} mm²` : digits(value);
  }
  if (typeof value === 'string') {
    return grades.includes(value) ? h('span', { class: 'grade-cell' }, gradeMark(value), ` ${gradeWords[value]}`) : value;
  }
  if (Array.isArray(value)) {
    return value.every((item) => typeof item !== 'object') ? value.map((item) => String(item)).join(', ') : `${value.length} entries`;
  }
  return Object.entries(value as Record<string, unknown>).filter(([, inner]) => typeof inner !== 'object').map(([inner, item]) => `${keyWords(inner).words} ${String(item)}`).join(', ');
}

function tableOf(title: string, rows: Record<string, unknown>[]): HTMLElement {
  const keys = [...new Set(rows.flatMap((row) => Object.keys(row)))].filter((key) => rows.some((row) => row[key] !== null && row[key] !== '' && !(Array.isArray(row[key]) && typeof (row[key] as unknown[])[0] === 'number' && (row[key] as unknown[]).length > 6)));
  return h('section', {}, h('h2', {}, title), h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': title },
    h('table', {}, h('thead', {}, h('tr', {}, ...keys.map((key) => h('th', { scope: 'col' }, keyWords(key).words)))),
      h('tbody', {}, ...rows.map((row) => h('tr', {}, ...keys.map((key, order) => order === 0 ? h('th', { scope: 'row' }, cell(key, row[key])) : h('td', {}, cell(key, row[key])))))))));
}

/** A drawing of the server, as a picture: nothing in it can act. */
export function drawing(words: string, svg: string): HTMLElement {
  const image = h('img', { alt: words, class: 'drawing', src: `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}` });
  return h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': words }, image);
}

/** Any answer of the command line's JSON: sentences first, then short facts, then its lists as tables. */
export function renderResult(result: Record<string, unknown>): Kid[] {
  const kids: Kid[] = [];
  const grade = typeof result.grade === 'string' ? result.grade : null;
  if (typeof result.headline === 'string') {
    kids.push(h('div', { class: 'verdict-words' }, grade ? gradeMark(grade) : null, h('p', { class: 'headline' }, result.headline)));
  }
  if (typeof result.advice === 'string' && result.advice !== '') {
    kids.push(h('p', { class: 'advice' }, result.advice));
  }
  for (const [key, value] of Object.entries(result)) {
    if (typeof value === 'string' && value.startsWith('<svg')) {
      kids.push(drawing(keyWords(key).words, value));
    }
  }
  const plain = Object.entries(result).filter(([key, value]) => !['headline', 'advice', 'grade', 'format', 'format_version', 'rig', 'faults'].includes(key) && (typeof value === 'number' || typeof value === 'boolean' || (typeof value === 'string' && !value.startsWith('<svg'))));
  if (plain.length) {
    kids.push(h('dl', { class: 'pairs big' }, ...plain.flatMap(([key, value]) => [h('dt', {}, keyWords(key).words), h('dd', {}, cell(key, value))])));
  }
  for (const [key, value] of Object.entries(result)) {
    if (Array.isArray(value) && value.length > 0 && typeof value[0] === 'object' && value[0] !== null && key !== 'faults') {
      kids.push(tableOf(keyWords(key).words, value as Record<string, unknown>[]));
    } else if (Array.isArray(value) && value.length > 0 && typeof value[0] === 'string') {
      kids.push(h('section', { class: key === 'cautions' ? 'cautions' : '' }, h('h2', {}, keyWords(key).words), h('ul', {}, ...value.map((item) => h('li', {}, String(item))))));
    }
  }
  return kids;
}

/** Carries a short job out; null when it did not come to an end. */
export async function jobResult(verb: string): Promise<Record<string, unknown> | null> {
  const job = await api.jobStart(verb, state.text, state.units);
  for (let wait = 40; wait < 5000; wait *= 1.4) {
    const now = await api.job(job.id);
    if (now.state !== 'running') {
      return now.result ?? null;
    }
    await new Promise((next) => window.setTimeout(next, wait));
  }
  return null;
}

export function viewJob(verb: string, title: string, about: string, special: (result: Record<string, unknown>) => Kid[] | null): { element: HTMLElement; draw(): void; time(): void } {
  const element = h('div', { class: 'view' });
  let done = '';
  let running: string | null = null;
  const run = async () => {
    const text = state.text;
    const bar = h('progress', { max: 1, 'aria-label': 'Progress' });
    let cancelled = false;
    try {
      const job = await api.jobStart(verb, text, state.units);
      running = job.id;
      clear(element, h('p', { class: 'headline' }, `${title}: working`), bar, button('Cancel', () => {
        cancelled = true;
        void api.jobCancel(job.id).catch(complain);
        clear(element, h('p', {}, 'Cancelled.'), button(`Work out ${title.toLowerCase()}`, () => void run(), 'main'));
      }));
      for (let wait = 40; !cancelled; wait = Math.min(wait * 1.5, 800)) {
        const now = await api.job(job.id);
        if (now.state !== 'running') {
          done = `${text}/${state.units}`;
          const faults = (now.result?.faults ?? []) as { message: string; remedy: string | null }[];
          clear(element, ...(now.state === 'done' && now.result ? (faults.some((fault) => (fault as { severity?: string }).severity === 'error') ? faults.map((fault) => h('p', { class: 'field-fault error' }, fault.message)) : (special(now.result) ?? renderResult(now.result))) : [h('p', { class: 'field-fault error' }, now.error?.message ?? `The work ended: ${now.state}.`)]));
          break;
        }
        if (now.progress !== undefined) {
          bar.value = now.progress;
        }
        await new Promise((next) => window.setTimeout(next, wait));
      }
    } catch (error) {
      if (!cancelled) {
        complain(error);
        clear(element, h('p', {}, 'It could not be worked out.'), button('Try again', () => void run(), 'main'));
      }
    } finally {
      running = null;
    }
  };
  return {
    element,
    draw: () => {
      if (!state.start.verbs.includes(verb)) {
        clear(element, h('div', { class: 'not-yet' }, h('h1', { class: 'headline' }, `${title}: not in this build yet`), h('p', {}, about), h('p', {}, 'This program cannot answer it yet, so nothing is shown here.')));
      } else if (running === null && done !== `${state.text}/${state.units}`) {
        void run();
      }
    },
    time: () => undefined,
  };
}
