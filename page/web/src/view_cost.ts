// SPDX-License-Identifier: GPL-3.0-or-later
// Costs: what a litre and a mile on oil truly cost against diesel, with and without paying oneself, how sure that is, which
// figure moves it most; each figure can be changed where it stands.
import { book, refresh } from './book';
import { button, clear, h, type Kid } from './dom';
import { download, plainSvg } from './export';
import { notice } from './notice';
import { complain } from './run';
import { SheetWork, faultWords, runJob } from './sheet';
import { keep, on, state } from './state';
import { gradeMark, gradeWords } from './symbols';
import type { Fault } from './types';
import type { CostAnswer, SideKey } from './types_cost';
import { digits } from './units';
import { costInputs } from './view_cost_inputs';
import { chips } from './view_log_form';
import { waterfall, type Waterfall } from './view_cost_waterfall';

/** Hundredths of money a litre or 100 km are worth showing; of a mile thousandths, or its lines were all nought. */
export function money(value: number, currency: string, per = ''): string {
  const size = Math.abs(value);
  const text = size >= 1000 ? digits(Math.round(value), 0).replace(/\B(?=(\d{3})+$)/g, '\u202f') : value.toFixed(size >= 100 ? 0 : per === '/mile' ? 3 : 2).replace('-', '−');
  return `${text} ${currency}${per}`;
}

/** What a figure is shown by: litre or gallon, 100 km or mile. */
export function perUnit(what: 'litre' | 'way'): { word: string; per: string; factor: number } {
  const isUs = state.units === 'us';
  return what === 'litre' ? (isUs ? { word: 'a gallon', per: '/gal', factor: 3.785411784e-3 } : { word: 'a litre', per: '/L', factor: 1e-3 })
    : isUs ? { word: 'a mile', per: '/mile', factor: 1609.344 } : { word: '100 km', per: '/100 km', factor: 1e5 };
}

function pickWater(answer: CostAnswer, what: 'litre' | 'way', side: SideKey): Waterfall {
  const { word, per, factor } = perUnit(what);
  const of = (line: { m3: number; m: number }) => (what === 'litre' ? line.m3 : line.m) * factor;
  const band = answer.study.bands[side][what === 'litre' ? 'cost_m3' : 'cost_m']?.points ?? [];
  const total = (what === 'litre' ? answer.sides[side].cost_m3 : answer.sides[side].cost_m) * factor;
  const diesel = (what === 'litre' ? (answer.year.oil_m3 > 0 ? answer.diesel_year / answer.year.oil_m3 : 0) : answer.diesel_m) * factor;
  return {
    lines: answer.lines.filter((line) => (side === 'counted' || !line.is_work) && Math.abs(of(line)) > 1e-9).map((line) => ({ label: line.label, value: of(line), isWork: line.is_work })),
    total, diesel, band: typeof band[0] === 'number' && typeof band[2] === 'number' ? [band[0] * factor, band[2] * factor] : null,
    text: (value) => money(value, '', per).replace(per, '').trim(), unit: `${answer.currency}${per}`,
    totalLabel: what === 'litre' ? 'On oil' : `On oil, ${word}`, dieselLabel: what === 'litre' ? 'Diesel it replaces' : `On diesel, ${word}`,
  };
}

/** An SI value as the fields of its input show it, null when that cannot be told. */
function shownAs(answer: CostAnswer, key: string, si: number): string | null {
  const input = answer.inputs.find((one) => one.key === key);
  const match = input && state.units === 'us' ? /^([-−\d.]+)\s+(.+)$/.exec(input.text_us) : null;
  const scale = match && input && input.value !== 0 ? Number(match[1].replace('−', '-')) / input.value : null;
  return scale !== null && match && Number.isFinite(scale) ? `${digits(si * scale)} ${match[2]}` : null;
}

function table(title: string, rows: [string, string, string][], head: [string, string, string]): HTMLElement {
  return h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': title }, h('table', {}, h('thead', {}, h('tr', {}, ...head.map((word) => h('th', { scope: 'col' }, word)))),
    h('tbody', {}, ...rows.map((row) => h('tr', {}, h('th', { scope: 'row' }, row[0]), h('td', { class: 'short' }, row[1]), h('td', { class: 'short' }, row[2]))))));
}

export function viewCost(): { element: HTMLElement; draw(): void; time(): void } {
  const tools = h('div', { class: 'row' });
  const result = h('div', { class: 'cost-result', 'aria-live': 'polite', 'aria-busy': 'false' });
  const fields = h('div', {});
  const element = h('div', { class: 'view cost-view' }, result, fields, tools);
  let answer: CostAnswer | null = null;
  let what: 'litre' | 'way' = keep.get('cost.what') === 'litre' ? 'litre' : 'way';
  let side: SideKey | null = keep.get('cost.side') === 'counted' ? 'counted' : keep.get('cost.side') === 'unpaid' ? 'unpaid' : null;
  let withLog = keep.get('cost.log') !== 'no';
  /** Which vehicle of the logbook; "" all together. */
  let whose = keep.get('cost.vehicle') ?? '';
  const vehicle = () => (withLog && book.vehicles.some((one) => one.name === whose) ? whose : '');
  let turn = 0;
  let done = '';
  let wide = 0;

  const room = () => Math.min(760, Math.max(300, (result.clientWidth || window.innerWidth - 16) - (window.innerWidth > 900 ? 340 : 0)));
  const show = () => {
    if (!answer) {
      return;
    }
    const now = answer;
    const chosen: SideKey = side ?? (now.counts_hours ? 'counted' : 'unpaid');
    const numbers = now.sides[chosen];
    const bands = now.study.bands[chosen];
    const water = pickWater(now, what, chosen);
    const { per, factor } = perUnit(what);
    const other = perUnit(what === 'litre' ? 'way' : 'litre');
    wide = room();
    const chance = now.study.chances[chosen].worth_above_0;
    const grade = numbers.npv > 0 ? (chance >= 0.9 ? 'good' : 'tight') : 'bad';
    const whatPick = chips('Cost of', [{ value: 'way', words: perUnit('way').word }, { value: 'litre', words: perUnit('litre').word }], what, false, (value) => {
      what = value === 'litre' ? 'litre' : 'way';
      keep.set('cost.what', what);
      show();
      focusChip(what);
    });
    const sidePick = chips('Your own hours', [{ value: 'unpaid', words: 'left out' }, { value: 'counted', words: 'paid' }], chosen, false, (value) => {
      side = value === 'counted' ? 'counted' : 'unpaid';
      keep.set('cost.side', side);
      show();
      focusChip(side);
    });
    const logPick = book.start?.exists ? chips('Figures', [{ value: 'yes', words: 'with the logbook' }, { value: 'no', words: 'the file alone' }], withLog ? 'yes' : 'no', false, (value) => {
      withLog = value === 'yes';
      keep.set('cost.log', value);
      void run();
    }) : null;
    const vehiclePick = logPick && withLog && book.vehicles.length > 1 ? chips('Vehicle', [{ value: '', words: 'all' }, ...book.vehicles.slice(0, 8).map((one) => ({ value: one.name, words: one.name }))], vehicle(), false, (value) => {
      whose = value;
      keep.set('cost.vehicle', value === '' ? null : value);
      void run();
    }) : null;
    const range = (key: string, text: (value: number) => string) => {
      const points = bands[key]?.points ?? [];
      return typeof points[0] === 'number' && typeof points[2] === 'number' ? `nine in ten: ${text(points[0])} to ${text(points[2])}` : '';
    };
    const tile = (word: string, value: string, note: string, key: string) => h('div', { class: 'tile', 'data-cost': key }, h('dt', {}, word), h('dd', {}, value, note ? h('small', {}, note) : null));
    const costOf = (which: { per: string; factor: number }, name: 'cost_m' | 'cost_m3') => money(numbers[name] * which.factor, now.currency, which.per);
    const way = what === 'way' ? { per, factor } : other;
    const litre = what === 'litre' ? { per, factor } : other;
    const drawing = waterfall(water, wide);
    const influence = now.study.influence.filter((one) => one.total > 0.005).slice(0, 6);
    const most = Math.max(...influence.map((one) => one.total), 1e-9);
    const even = now.break_even;
    const dl = (rows: [string, string | null][]) => h('dl', { class: 'pairs big narrow' }, ...rows.filter((row) => row[1] !== null).flatMap(([word, value]) => [h('dt', {}, word), h('dd', {}, value)]));
    clear(result,
      h('section', { class: `verdict ${grade} plain-verdict`, 'aria-label': 'Verdict on costs' }, h('div', { class: 'verdict-words' }, gradeMark(grade), h('div', {}, h('h1', { class: 'headline' }, now.verdict, h('span', { class: 'sr' }, ` (${gradeWords[grade]})`)),
        h('p', { class: 'advice' }, `It pays within ${now.years} years in ${digits(chance * 100, 0)} of 100 cases that the figures allow, with your own hours ${chosen === 'counted' ? 'paid' : 'left out'}.`)))),
      h('div', { class: 'switches' }, whatPick.element, sidePick.element, logPick?.element, vehiclePick?.element),
      now.taken.log ? h('p', { class: 'field-help' }, now.taken.log) : null,
      h('dl', { class: 'tiles cost-tiles' }, tile(`On oil, ${perUnit('way').word}`, costOf(way, 'cost_m'), range('cost_m', (value) => money(value * way.factor, '', way.per).replace(way.per, '').trim()), 'way'),
        tile(`On diesel, ${perUnit('way').word}`, money(now.diesel_m * way.factor, now.currency, way.per), '', 'diesel'), tile(`Oil, ${perUnit('litre').word}`, costOf(litre, 'cost_m3'), range('cost_m3', (value) => money(value * litre.factor, '', '').trim()), 'litre'),
        tile('Saved a year', money(numbers.saving_year, now.currency), range('saving_year', (value) => money(value, '', '').trim()), 'saving'),
        tile('Paid back', numbers.payback_years === null ? 'never' : `after ${digits(numbers.payback_years, 1)} years`, '', 'payback'),
        tile(`Worth over ${now.years} years`, money(numbers.npv, now.currency), range('npv', (value) => money(value, '', '').trim()), 'npv')),
      h('div', { class: 'cost-grid' },
        h('section', { 'aria-label': 'From free oil to the true cost' }, h('h2', {}, 'From free oil to the true cost ', h('small', {}, `in ${water.unit}`)), drawing,
          h('p', { class: 'field-help' }, 'Each bar begins where the one above ended. Hatched: your own hours. The fork on the sum holds nine cases in ten; the dashed line is diesel.'),
          h('details', { class: 'more' }, h('summary', {}, 'The same as a table'), table('Cost lines', [...now.lines.filter((line) => line.year !== 0).map((line): [string, string, string] => [line.label, money(line.m * way.factor, now.currency, way.per), money(line.year, now.currency)]),
            ['all but your hours', money(now.sides.unpaid.cost_m * way.factor, now.currency, way.per), money(now.sides.unpaid.cost_year, now.currency)], ['all with your hours', money(now.sides.counted.cost_m * way.factor, now.currency, way.per), money(now.sides.counted.cost_year, now.currency)],
            ['diesel it replaces', money(now.diesel_m * way.factor, now.currency, way.per), money(now.diesel_year, now.currency)]], ['What for', perUnit('way').word, 'a year']))),
        h('div', {},
          h('section', { 'aria-label': 'What moves it most' }, h('h2', {}, 'What moves it most'), influence.length ? h('ul', { class: 'step-list' }, ...influence.map((one) => {
            const bar = h('span', { class: 'share-bar', 'aria-hidden': 'true' });
            bar.style.width = `${(one.total / most) * 100}%`;
            const field = now.inputs.find((input) => input.key === one.key);
            return h('li', { class: 'bar-row' }, h('button', { type: 'button', class: 'button quiet', click: () => focusInput(one.key) }, `${one.label}${field ? `: ${state.units === 'us' ? field.text_us : field.text}` : ''}`), h('strong', {}, `${digits(one.total * 100, 0)} %`), bar);
          })) : h('p', {}, 'Every figure is given as exact, so nothing moves it.')),
          h('section', { 'aria-label': 'Break-even' }, h('h2', {}, 'It breaks even at'), dl([
            ['diesel price', even.diesel_price_m3 === null ? null : money(even.diesel_price_m3 * perUnit('litre').factor, now.currency, perUnit('litre').per)],
            ['driven a year', even.distance_m_year === null ? null : state.units === 'us' ? `${digits(Math.round(even.distance_m_year / 16093.44) * 10, 0)} miles` : `${digits(Math.round(even.distance_m_year / 10000) * 10, 0)} km`],
            ['an hour of your work earns', even.hour_s === null ? null : money(even.hour_s * 3600, now.currency)]]),
          even.diesel_price_m3 === null && even.distance_m_year === null ? h('p', {}, 'No diesel price and no distance within reason make it even.') : null),
          now.would_pay_with.length ? h('section', { 'aria-label': 'It would pay with' }, h('h2', {}, 'It would pay with'), h('ul', { class: 'step-list' }, ...now.would_pay_with.map((mend) => h('li', { class: 'mend-row' }, h('span', {}, `${mend.label}: ${shownAs(now, mend.key, mend.to) ?? mend.to_text} instead of ${shownAs(now, mend.key, mend.from) ?? mend.from_text}`), button('Try it', () => void set(mend.key, mend.to_text), 'small'))))) : null)),
      h('details', { class: 'more' }, h('summary', {}, 'What these figures mean, and rules that differ from place to place'), h('ul', {}, ...[...now.meanings, ...now.notes].map((text) => h('li', {}, text)))));
  };
  const focusChip = (value: string) => result.querySelector<HTMLElement>(`.chips input[value="${value}"]`)?.focus();
  const focusInput = (key: string) => {
    const box = fields.querySelector<HTMLElement>(`[data-input="${CSS.escape(key)}"]`);
    box?.closest('details')?.setAttribute('open', '');
    box?.focus();
    box?.scrollIntoView({ block: 'center' });
  };
  /** Figures tried out over what the logbook or a yard plan says: not in the file, gone with the page. */
  const tried = new Map<string, string>();
  /** "fuel.diesel price" is the key "diesel price" of the section "fuel". */
  const set = (key: string, text: string | null): Promise<void> => {
    const from = answer?.inputs.find((input) => input.key === key)?.from ?? '';
    if (tried.has(key) || (text !== null && /logbook|yard/.test(from))) {
      if (text === null) {
        tried.delete(key);
      } else {
        tried.set(key, text);
      }
      return run();
    }
    const dot = key.indexOf('.');
    return dot < 0 ? work.set(key, '', text) : work.set(key.slice(0, dot), key.slice(dot + 1), text);
  };
  const inputs = costInputs(set, (key) => tried.has(key));

  const drawTools = () => {
    clear(tools, button('Undo', () => work.undo(), '', { id: 'cost-undo', disabled: !work.canUndo }), state.start.can_write ? button(work.demo ? `Save as ${work.name}` : 'Save', () => void work.save(), work.dirty || work.demo ? 'main' : '', { id: 'cost-save' }) : null,
      button('Drawing (SVG)', () => {
        const svg = result.querySelector<SVGSVGElement>('.waterfall');
        if (svg && answer) {
          download('costs.svg', 'image/svg+xml', plainSvg(svg, [answer.name, answer.verdict]));
        }
      }), button('Table (CSV)', () => answer && download('costs.csv', 'text/csv', costCsv(answer))),
      button('Cost file (YAML)', () => download(work.name || 'costs.yaml', 'application/yaml', work.text)));
  };

  const run = async () => {
    turn += 1;
    const mine = turn;
    const isWanted = () => mine === turn;
    try {
      await work.load();
      drawTools();
      if (!state.start.verbs.includes('cost')) {
        clear(result, h('p', {}, 'This build cannot reckon costs.'));
        return;
      }
      const key = `${work.text}/${state.units}/${withLog}/${vehicle()}/${book.start?.version ?? ''}/${JSON.stringify([...tried])}`;
      if (key === done) {
        return;
      }
      result.setAttribute('aria-busy', 'true');
      if (!answer) {
        clear(result, h('p', { class: 'headline' }, 'Costs: working'), h('progress', { max: 1, 'aria-label': 'Progress' }));
      }
      const said = await runJob('cost', work.text, { log: withLog && book.start?.exists === true, ...(vehicle() !== '' ? { vehicle: vehicle() } : {}), set: [...tried].map(([name, text]) => `${name}=${text}`) }, isWanted);
      if (!said || !isWanted()) {
        return;
      }
      done = key;
      const faults = (said.faults ?? said.rig_faults ?? []) as Fault[];
      if (faults.some((fault) => fault.severity === 'error')) {
        inputs.faults(faults);
        if (!answer) {
          clear(result, ...faults.map((fault) => h('p', { class: 'field-fault error' }, faultWords(work.name, fault))));
        } else {
          notice(faultWords(work.name, faults[0]), 'error');
        }
        result.setAttribute('aria-busy', 'false');
        return;
      }
      answer = said as unknown as CostAnswer;
      show();
      result.dataset.book = withLog ? String(book.start?.version ?? 0) : '';
      result.setAttribute('aria-busy', 'false');
      inputs.draw(answer, fields);
    } catch (error) {
      complain(error);
      tried.clear(); // the command names what it could not take
      result.setAttribute('aria-busy', 'false');
      if (!answer) {
        const kids: Kid[] = [h('p', {}, 'The costs cannot be worked out now.'), button('Try again', () => void run(), 'main')];
        clear(result, ...kids);
      }
    }
  };
  const work = new SheetWork('costs', () => void run());
  on(['book'], () => {
    if (state.view === 'cost') {
      void run();
    }
  });
  window.addEventListener('resize', () => {
    if (state.view === 'cost' && answer && Math.abs(room() - wide) > 40) {
      show();
    }
  });
  return {
    element,
    draw: () => {
      void refresh().then(run);
    },
    time: () => undefined,
  };
}

/** RFC 4180. */
export function costCsv(answer: CostAnswer): string {
  const litre = perUnit('litre');
  const way = perUnit('way');
  const rows: [string, string, number, number, number][] = answer.lines.map((line) => [line.label, line.is_work ? 'yes' : 'no', line.m3 * litre.factor, line.m * way.factor, line.year]);
  const sum = (label: string, work: string, one: { cost_m3: number; cost_m: number; cost_year: number }) => rows.push([label, work, one.cost_m3 * litre.factor, one.cost_m * way.factor, one.cost_year]);
  sum('all but your hours', 'no', answer.sides.unpaid);
  sum('all with your hours', 'yes', answer.sides.counted);
  rows.push(['diesel it replaces', 'no', answer.year.oil_m3 > 0 ? (answer.diesel_year / answer.year.oil_m3) * litre.factor : 0, answer.diesel_m * way.factor, answer.diesel_year]);
  const quote = (text: string) => (/[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
  return [['line', 'own hours', `${answer.currency}${litre.per}`, `${answer.currency}${way.per}`, `${answer.currency} a year`].map(quote).join(','),
    ...rows.map((row) => [quote(row[0]), row[1], ...row.slice(2).map((value) => Number(Number(value).toPrecision(6)))].join(','))].join('\r\n') + '\r\n';
}
