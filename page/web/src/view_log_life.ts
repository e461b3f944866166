// SPDX-License-Identifier: GPL-3.0-or-later
// How long filters last, as the log has taught: the curve of each filter's place, where the one in place stands on it, the
// modelled distance beside it; and what is due.
import { api, isAbort } from './api';
import { book, dayWords, refresh } from './book';
import { clear, h, s, type Kid } from './dom';
import { complain } from './run';
import { runJob } from './sheet';
import { on, state } from './state';
import { gradeMark } from './symbols';
import type { FilterAnswer, FilterLife, FilterPlace, LogReminder, LogVehicleDetail } from './types_book';
import { digits } from './units';
import { openEntry } from './view_log';
import { kindIcon } from './view_log_icons';

/** Distances of the road, not of hoses. */
export function road(distance_m: number, withUnit = true): string {
  const value = state.units === 'us' ? distance_m / 1609.344 : distance_m / 1000;
  const rounded = value >= 1000 ? Math.round(value / 10) * 10 : Math.round(value);
  const text = String(rounded).replace(/\B(?=(\d{3})+$)/g, '\u202f');
  return withUnit ? `${text} ${state.units === 'us' ? 'miles' : 'km'}` : text;
}

const dueIcons: Record<string, string> = {
  filter: 'filter', 'oil change': 'repair', battery: 'repair', 'batch age': 'batch', test: 'test', 'water drain': 'filter',
};

/** Leads to the form that settles a reminder. */
function noteButton(one: LogReminder): HTMLElement | null {
  const id = `#${one.thing ?? 0}`;
  const vehicle = one.thing !== null && book.vehicles.some((other) => other.id === one.thing);
  const form: [string, Record<string, string>] | null = one.kind === 'test' || one.kind === 'batch age' ? ['test', { of: id }]
    : !vehicle ? null : one.kind === 'filter' ? ['filter', { vehicle: id, filter: one.subject.split(': ').slice(1).join(': ') }] : ['repair', one.kind === 'water drain' ? { vehicle: id, what: 'other', detail: 'water drained' } : { vehicle: id, what: one.kind }];
  return form === null || one.thing === null || !book.start?.can_write ? null : h('button', { type: 'button', class: 'button with-icon due-note', 'aria-label': `Done: ${one.subject}, ${one.kind}`, click: () => {
    document.querySelector<HTMLElement>('[data-view="log"]')?.click();
    openEntry(form[0], form[1]);
  } }, kindIcon(dueIcons[one.kind] ?? 'gauge'), 'Done');
}

export function dueList(list: LogReminder[]): HTMLElement {
  return h('ul', { class: 'due-list' }, ...list.map((one) => h('li', { class: one.is_due ? 'now' : one.is_soon ? 'soon' : one.is_unknown ? 'unknown' : '' }, gradeMark(one.is_due ? 'bad' : one.is_soon ? 'tight' : one.is_unknown ? 'unknown' : 'good'),
    h('span', {}, h('strong', {}, `${one.kind === 'filter' ? one.subject : `${one.subject}, ${one.kind}`}: ${one.is_due ? 'due now' : one.is_soon ? 'due soon' : one.is_unknown ? 'not known' : 'not yet'}`), h('span', { class: 'due-why' }, one.reason)),
    noteButton(one) ?? kindIcon(dueIcons[one.kind] ?? 'gauge'))));
}

const WIDE = 360;
const HIGH = 214;
const LEFT = 46;
const RIGHT = 12;
const UP = 30;
const DOWN = 176;

/** The life curve: share of filters still good against distance; the 90 % band of the next one's life is shaded. */
export function lifeCurve(place: FilterPlace): SVGSVGElement {
  const own = Math.max(place.high_m * 1.15, (place.now_m ?? 0) * 1.1, 1);
  // A model far from what was learned is told at the edge, so that the curve keeps its room.
  const isFar = place.model !== undefined && place.model[1] * 1.05 > own * 2.2;
  const most = place.model && !isFar ? Math.max(own, place.model[1] * 1.05) : own * (place.model && isFar ? 1.25 : 1);
  const x = (distance: number) => LEFT + (Math.min(distance, most) / most) * (WIDE - LEFT - RIGHT);
  const y = (share: number) => DOWN - share * (DOWN - UP);
  const points = place.curve.filter((point) => point.distance_m <= most).map((point) => `${x(point.distance_m).toFixed(1)} ${y(point.share).toFixed(1)}`);
  const step = [500, 1000, 2000, 2500, 5000, 10000, 20000, 25000, 50000, 100000, 200000].map((value) => value * (state.units === 'us' ? 1609.344 : 1000)).find((value) => most / value <= 4.5) ?? most;
  const ticks = Array.from({ length: Math.floor(most / step) + 1 }, (_, order) => order * step);
  const upright = (distance: number, kind: string, words: string, high: number, after: boolean) => s('g', { class: kind }, s('path', { d: `M${x(distance)} ${DOWN}V${high}` }),
    s('text', { x: x(distance) + (after ? 5 : -5), y: high + 11, 'text-anchor': after ? 'start' : 'end' }, words));
  const isRight = (distance: number) => x(distance) < WIDE * 0.6;
  return s('svg', { viewBox: `0 0 ${WIDE} ${HIGH}`, class: 'life-curve', role: 'img', 'aria-label': `${place.filter}: half of them last ${road(place.life_m)}, nine in ten between ${road(place.low_m)} and ${road(place.high_m)}${place.now_m !== null ? `; the one in place has done ${road(place.now_m)}` : ''}` },
    s('rect', { x: x(place.low_m), y: UP, width: Math.max(1, x(place.high_m) - x(place.low_m)), height: DOWN - UP, class: 'life-band' }),
    ...[0, 0.5, 1].flatMap((share) => [s('path', { d: `M${LEFT} ${y(share)}H${WIDE - RIGHT}`, class: 'life-grid' }), s('text', { x: LEFT - 5, y: y(share) + 4, class: 'life-tick', 'text-anchor': 'end' }, `${share * 100} %`)]),
    ...ticks.map((tick) => s('text', { x: x(tick), y: DOWN + 16, class: 'life-tick', 'text-anchor': tick === 0 ? 'start' : x(tick) > WIDE - RIGHT - 22 ? 'end' : 'middle' }, road(tick, false))),
    s('text', { x: WIDE - RIGHT, y: HIGH - 4, class: 'life-tick', 'text-anchor': 'end' }, state.units === 'us' ? 'miles since it was fitted' : 'km since it was fitted'),
    s('text', { x: LEFT, y: 12, class: 'life-tick' }, 'still good'),
    points.length > 1 ? s('path', { d: `M${points.join('L')}`, class: 'life-line' }) : null,
    place.model && isFar ? s('g', {}, s('path', { d: place.model[0] < most ? `M${x(place.model[0])} ${UP + 60}v10m0 -5H${WIDE - RIGHT}m-9 -6 9 6 -9 6` : `M${WIDE - RIGHT - 40} ${UP + 65}H${WIDE - RIGHT}m-9 -6 9 6 -9 6`, class: 'life-model' }),
      s('text', { x: WIDE - RIGHT, y: UP + 52, class: 'life-model-word', 'text-anchor': 'end' }, `modelled: ${road(place.model[0], false)} to ${road(place.model[1], false)}`)) : null,
    place.model && !isFar ? s('path', { d: `M${x(place.model[0])} ${UP + 60}v10m0 -5H${x(place.model[1])}m0 -5v10`, class: 'life-model' }) : null,
    place.model && !isFar ? s('text', { x: (x(place.model[0]) + x(place.model[1])) / 2, y: UP + 56, class: 'life-model-word', 'text-anchor': 'middle' }, 'modelled') : null,
    upright(place.life_m, 'life-half', 'learned', UP, isRight(place.life_m)),
    place.now_m !== null ? upright(place.now_m, 'life-now', 'now', UP + 28, isRight(place.now_m)) : null);
}

function placeCard(place: FilterPlace, lives: FilterLife[]): HTMLElement {
  const vehicle = book.vehicles.find((one) => one.id === place.vehicle);
  const past = place.now_m !== null ? place.now_m / place.life_m : null;
  const grade = place.now_m === null ? 'unknown' : place.now_m >= place.high_m ? 'bad' : place.now_m >= place.low_m ? 'tight' : 'good';
  const words = place.now_m === null ? 'No distance is known since it was fitted.'
    : grade === 'good' ? 'Nineteen in twenty last longer than this one has by now.' : grade === 'tight' ? 'It is in the range in which such filters plug.' : 'It has outlasted nineteen in twenty. Have the next one at hand.';
  const pair = (word: string, value: Kid): Kid[] => [h('dt', {}, word), h('dd', {}, value)];
  return h('article', { class: 'life', 'data-filter': `${place.vehicle_name} ${place.filter}` }, h('h3', {}, `${place.vehicle_name}: ${place.filter}`),
    h('p', { class: 'grade-cell' }, gradeMark(grade), ` ${words}`), lifeCurve(place),
    h('dl', { class: 'pairs' }, ...pair('in place since', place.now_m === null ? 'not known' : `${road(place.now_m)}${past !== null ? ` (${digits(past * 100, 0)} % of the usual life)` : ''}`),
      ...pair('learned', `${road(place.life_m)}; nine in ten from ${road(place.low_m)} to ${road(place.high_m)}`),
      ...pair('modelled', place.model ? `${road(place.model[0])} to ${road(place.model[1])} by the vehicle's rig file${dirtOf(place) === null ? '' : `, on oil as dirty: ${digits(dirtOf(place) ?? 0)} mg/kg`}` : vehicle?.rig ? 'its rig file has no filter of this name' : 'name the rig file of this vehicle in the book')),
    h('p', { class: 'field-help' }, place.text),
    lives.length ? h('details', { class: 'more' }, h('summary', {}, `Filters so far (${lives.length})`), h('ul', { class: 'lives' }, ...lives.map((life) => h('li', {}, `${dayWords(life.from_s, undefined, false)} to ${life.is_censored ? 'now' : dayWords(life.to_s, undefined, false)}: ${life.distance_m === null ? 'distance not known' : road(life.distance_m)}${life.reason ? `, ${life.reason}` : life.is_censored ? ', still in place' : ''}`)))) : null,
    book.start?.can_write ? h('button', { type: 'button', class: 'button with-icon', click: () => {
      document.querySelector<HTMLElement>('[data-view="log"]')?.click();
      openEntry('filter', { vehicle: `#${place.vehicle}`, filter: place.filter });
    } }, kindIcon('filter'), 'Filter changed') : null);
}

/** A filter of a rig's study: the shortest and longest of its laws, and their middle. */
interface Model { ends: [number, number]; middle_m: number | null }
interface Study { dirt_kg_kg: number; filters: Map<string, Model> }
const models = new Map<string, Promise<Study>>();
/** What the filter study says of a rig file of the folder on oil as dirty as the log tells (mg/kg), by the filter's name. */
function modelOf(rig: string, dirt: number | null): Promise<Study> {
  const name = rig.split('/').pop() ?? '';
  const file = state.start.files.find((one) => one.name === name);
  if (!file || !state.start.verbs.includes('filter')) {
    return Promise.resolve({ dirt_kg_kg: 0, filters: new Map() });
  }
  const options: Record<string, string> = dirt !== null ? { dirt: dirt.toPrecision(3) } : {};
  const key = `${file.stamp} ${options.dirt ?? ''}`;
  const known = models.get(key) ?? (async () => {
    const { text } = await api.open(name);
    const said = await runJob('filter', text, options, () => true) as { dirt_kg_kg: number; filters?: { part: string; middle_m: number | null; cases: { laws: { distance_m: number }[] }[] }[] } | null;
    return { dirt_kg_kg: said?.dirt_kg_kg ?? 0, filters: new Map((said?.filters ?? []).map((one): [string, Model] => {
      const ways = (one.cases[0]?.laws ?? []).map((law) => law.distance_m);
      return [one.part, { ends: [Math.min(...ways), Math.max(...ways)], middle_m: one.middle_m }];
    })) };
  })();
  models.set(key, known);
  known.catch(() => models.delete(key));
  return known;
}

/** The rig's filter that the log's name means: the same, or the only one on both sides. */
export function filterOf<T>(filters: Map<string, T>, name: string, isOnly: boolean): T | undefined {
  const same = [...filters].find(([part]) => part.toLowerCase() === name.toLowerCase());
  return same?.[1] ?? (isOnly && filters.size === 1 ? [...filters.values()][0] : undefined);
}

const dirtOf = (place: FilterPlace) => (place.solids_kg_kg !== null && place.solids_kg_kg > 0 ? place.solids_kg_kg * 1e6 : null);

/** Each filter with the study of its rig as what was known before the log, as `oilwright filter --log` has it. */
async function besideModels(places: FilterPlace[], signal?: AbortSignal): Promise<FilterPlace[]> {
  return Promise.all(places.map(async (place) => {
    const rig = book.vehicles.find((one) => one.id === place.vehicle)?.rig ?? '';
    const study = rig === '' ? undefined : await modelOf(rig, dirtOf(place)).catch(() => undefined);
    const model = study && filterOf(study.filters, place.filter, places.filter((one) => one.vehicle === place.vehicle).length === 1);
    if (!study || !model) {
      return place;
    }
    const learned = model.middle_m !== null && study.dirt_kg_kg > 0
      ? (await api.logFilterBeside(place.vehicle, place.filter, model.middle_m, study.dirt_kg_kg, state.units, signal)).place : null;
    const one: FilterPlace = { ...(learned ?? place), solids_kg_kg: place.solids_kg_kg };
    if (Number.isFinite(model.ends[0]) && model.ends[1] > 0) {
      one.model = model.ends;
    }
    return one;
  }));
}

function fuelCard(one: LogVehicleDetail): HTMLElement {
  const { vehicle, fuel, odd } = one;
  return h('article', { class: 'life', 'data-fuel': vehicle.name }, h('h3', {}, vehicle.name),
    h('p', { class: 'grade-cell' }, gradeMark(fuel.n === 0 ? 'unknown' : fuel.is_rising ? 'tight' : 'good'), ` ${fuel.n === 0 ? 'Not enough fills with an odometer yet.' : fuel.is_rising ? 'The last tanks took more than the ones before.' : 'The last tanks are as usual.'}`),
    fuel.n > 0 ? h('dl', { class: 'pairs' }, h('dt', {}, 'uses'), h('dd', {}, `${fuel.rate_text}; nine in ten from ${fuel.low_text} to ${fuel.high_text}`)) : null,
    h('p', { class: 'field-help' }, fuel.text),
    odd.length ? h('details', { class: 'more' }, h('summary', {}, `Odd tanks (${odd.length})`), h('ul', {}, ...odd.slice(0, 10).map((item) => h('li', {}, item.text)))) : null);
}

export function viewLife(): { element: HTMLElement; draw(): void; time(): void } {
  const trouble = h('div', { role: 'status' });
  const places = h('section', { class: 'lives-grid', 'aria-label': 'Filter life' });
  const due = h('section', { 'aria-label': 'Due' });
  const fuel = h('section', { class: 'lives-grid', 'aria-label': 'Fuel use' });
  const element = h('div', { class: 'view life-view' }, trouble, due, h('h2', {}, 'How long filters last'), places, h('h2', {}, 'What each vehicle uses'), fuel);
  let asking: AbortController | null = null;
  let shown = '';
  const load = async () => {
    asking?.abort();
    asking = new AbortController();
    try {
      const answer: FilterAnswer = book.start?.exists ? await api.logFilters(state.units, asking.signal) : { places: [], lives: [] };
      const text = JSON.stringify(answer) + state.units + String(book.start?.version);
      if (text !== shown) { // a poll that brings nothing new must not shut what is open
        const mine = asking;
        const used = book.start?.exists ? (await api.logFuel(state.units, asking.signal)).vehicles : [];
        const taught = await besideModels(answer.places, asking?.signal);
        if (mine !== asking) {
          return; // a newer one is under way
        }
        shown = text;
        clear(fuel, ...(used.length ? used.map(fuelCard) : [h('p', {}, 'No vehicle is in the book yet.')]));
        clear(places, ...(taught.length ? taught.map((place) => placeCard(place, answer.lives.filter((life) => life.vehicle === place.vehicle && life.filter === place.filter)))
          : [h('p', {}, 'No filter change is in the book yet. Note each change with its odometer; from the second one on the book learns.')]));
      }
      clear(trouble);
    } catch (error) {
      if (!isAbort(error)) {
        complain(error);
      }
    }
  };
  const draw = () => {
    const now = book.due.filter((one) => one.is_due || one.is_soon);
    const later = book.due.filter((one) => !one.is_due && !one.is_soon);
    const wasOpen = due.querySelector('details')?.open ?? false; // a poll must not shut what is open
    const rest = later.length ? h('details', { class: 'more' }, h('summary', {}, `Not due or not known (${later.length})`), dueList(later)) : null;
    if (rest) {
      rest.open = wasOpen;
    }
    clear(due, h('h2', {}, 'What is due'), now.length ? dueList(now) : h('p', {}, 'Nothing is due by what the book knows.'), rest);
    void load();
  };
  on(['book'], () => {
    if (state.view === 'life') {
      draw();
    }
  });
  return {
    element,
    draw: () => {
      draw();
      void refresh();
    },
    time: () => undefined,
  };
}

