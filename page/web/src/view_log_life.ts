// SPDX-License-Identifier: GPL-3.0-or-later
// How long filters last, as the log has taught: the curve of each filter's place, where the one in place stands on it, the
// modelled distance beside it; and what is due.
import { api, isAbort } from './api';
import { book, dayWords, refresh } from './book';
import { clear, h, s, type Kid } from './dom';
import { complain } from './run';
import { on, state } from './state';
import { gradeMark } from './symbols';
import type { FilterAnswer, FilterLife, FilterPlace, LogReminder } from './types_book';
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

const dueWords: Record<string, [string, string]> = {
  filter: ['filter', 'Filter changed'], lube: ['repair', 'Oil changed'], battery: ['repair', 'Battery'], 'batch age': ['batch', 'Batch'], test: ['test', 'Test'], water: ['filter', 'Water drained'],
};

export function dueList(list: LogReminder[]): HTMLElement {
  return h('ul', { class: 'due-list' }, ...list.map((one) => h('li', { class: one.is_due ? 'now' : one.is_soon ? 'soon' : '' }, gradeMark(one.is_due ? 'bad' : one.is_soon ? 'tight' : 'good'),
    h('span', {}, h('strong', {}, `${one.subject}: ${one.is_due ? 'due now' : one.is_soon ? 'due soon' : 'not yet'}`), h('span', { class: 'due-why' }, one.reason)),
    kindIcon(dueWords[one.kind]?.[0] ?? 'gauge'))));
}

const WIDE = 360;
const HIGH = 214;
const LEFT = 40;
const RIGHT = 12;
const UP = 30;
const DOWN = 176;

/** The life curve: share of filters still good against distance; the 90 % band of the next one's life is shaded. */
export function lifeCurve(place: FilterPlace): SVGSVGElement {
  const most = Math.max(place.high_m * 1.15, (place.now_m ?? 0) * 1.1, (place.study_m ?? 0) * 1.1, 1);
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
    ...ticks.map((tick) => s('text', { x: x(tick), y: DOWN + 16, class: 'life-tick', 'text-anchor': tick === 0 ? 'start' : 'middle' }, road(tick, false))),
    s('text', { x: WIDE - RIGHT, y: HIGH - 4, class: 'life-tick', 'text-anchor': 'end' }, state.units === 'us' ? 'miles since it was fitted' : 'km since it was fitted'),
    s('text', { x: LEFT, y: 12, class: 'life-tick' }, 'still good'),
    points.length > 1 ? s('path', { d: `M${points.join('L')}`, class: 'life-line' }) : null,
    place.study_m !== null && place.has_study ? upright(place.study_m, 'life-study', 'modelled', UP + 14, isRight(place.study_m)) : null,
    upright(place.life_m, 'life-half', 'learned', UP, isRight(place.life_m)),
    place.now_m !== null ? upright(place.now_m, 'life-now', 'now', UP + 28, isRight(place.now_m)) : null);
}

function placeCard(place: FilterPlace, lives: FilterLife[]): HTMLElement {
  const past = place.now_m !== null ? place.now_m / place.life_m : null;
  const grade = place.now_m === null ? 'unknown' : place.now_m >= place.high_m ? 'bad' : place.now_m >= place.low_m ? 'tight' : 'good';
  const words = place.now_m === null ? 'No distance is known since it was fitted.'
    : grade === 'good' ? 'Nineteen in twenty last longer than this one has by now.' : grade === 'tight' ? 'It is in the range in which such filters plug.' : 'It has outlasted nineteen in twenty. Have the next one at hand.';
  const pair = (word: string, value: Kid): Kid[] => [h('dt', {}, word), h('dd', {}, value)];
  return h('article', { class: 'life', 'data-filter': `${place.vehicle_name} ${place.filter}` }, h('h3', {}, `${place.vehicle_name}: ${place.filter}`),
    h('p', { class: 'grade-cell' }, gradeMark(grade), ` ${words}`), lifeCurve(place),
    h('dl', { class: 'pairs' }, ...pair('in place since', place.now_m === null ? 'not known' : `${road(place.now_m)}${past !== null ? ` (${digits(past * 100, 0)} % of the usual life)` : ''}`),
      ...pair('learned', `${road(place.life_m)}; nine in ten from ${road(place.low_m)} to ${road(place.high_m)}`),
      ...pair('modelled', place.has_study && place.study_m !== null ? road(place.study_m) : 'no model of this vehicle is named in the book')),
    h('p', { class: 'field-help' }, place.text),
    lives.length ? h('details', { class: 'more' }, h('summary', {}, `Filters so far (${lives.length})`), h('ul', { class: 'lives' }, ...lives.map((life) => h('li', {}, `${dayWords(life.from_s, undefined, false)} to ${life.is_censored ? 'now' : dayWords(life.to_s, undefined, false)}: ${life.distance_m === null ? 'distance not known' : road(life.distance_m)}${life.reason ? `, ${life.reason}` : life.is_censored ? ', still in place' : ''}`)))) : null,
    book.start?.can_write ? h('button', { type: 'button', class: 'button with-icon', click: () => {
      document.querySelector<HTMLElement>('[data-view="log"]')?.click();
      openEntry('filter', { vehicle: `#${place.vehicle}`, filter: place.filter });
    } }, kindIcon('filter'), 'Filter changed') : null);
}

export function viewLife(): { element: HTMLElement; draw(): void; time(): void } {
  const trouble = h('div', { role: 'status' });
  const places = h('section', { class: 'lives-grid', 'aria-label': 'Filter life' });
  const due = h('section', { 'aria-label': 'Due' });
  const element = h('div', { class: 'view life-view' }, trouble, due, h('h2', {}, 'How long filters last'), places);
  let asking: AbortController | null = null;
  let shown = '';
  const load = async () => {
    asking?.abort();
    asking = new AbortController();
    try {
      const answer: FilterAnswer = book.start?.exists ? await api.logFilters(state.units, asking.signal) : { places: [], lives: [] };
      const text = JSON.stringify(answer) + state.units;
      if (text !== shown) { // a poll that brings nothing new must not shut what is open
        shown = text;
        clear(places, ...(answer.places.length ? answer.places.map((place) => placeCard(place, answer.lives.filter((life) => life.vehicle === place.vehicle && life.filter === place.filter)))
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
    clear(due, h('h2', {}, 'What is due'), book.due.length ? dueList(book.due) : h('p', {}, 'Nothing is due by what the book knows.'));
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

