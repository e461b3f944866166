// SPDX-License-Identifier: GPL-3.0-or-later
// The three bands below the fuel path, on its own x axis: temperature, viscosity and pressure against their limits.
import { s } from './dom';
import { logTicks, ticks } from './scale';
import { at, sampleAt } from './state';
import type { Column, GoodRun, PartSeries } from './types';
import { digits, show, toShown, unitLabel } from './units';

export interface BandPlace { main: number[]; columnWidth: number; top: number; height: number; gap: number; width: number; pump: number; /** Columns of valves and tees, which hold no oil of their own. */ junctions: Set<number> }

interface Limit { value: number; label: string; side: 'over' | 'under'; everywhere: boolean }
interface Band {
  title: string;
  quantity: string;
  log: boolean;
  ends: (part: PartSeries) => [Column, Column];
  limits: (run: GoodRun, sample: number) => Limit[];
}

const bands: Band[] = [
  {
    title: 'Temperature', quantity: 'temperature', log: false, ends: (part) => [part.in_k, part.out_k],
    limits: (run) => [
      { value: run.limits.oil_max_k, label: 'oil max', side: 'over', everywhere: true },
      ...(run.limits.ready_k ? [{ value: run.limits.ready_k, label: 'ready', side: 'under' as const, everywhere: false }] : []),
    ],
  },
  {
    title: 'Viscosity', quantity: 'kinematic viscosity', log: true, ends: (part) => [part.in_m2_s, part.out_m2_s],
    limits: (run, sample) => {
      const limit = at(run.series.inlet_limit_m2_s, sample);
      return limit === null ? [] : [{ value: limit, label: 'limit', side: 'over', everywhere: true }];
    },
  },
  {
    title: 'Pressure', quantity: 'pressure', log: false, ends: (part) => [part.in_pa, part.out_pa],
    limits: (run) => [
      { value: run.limits.suction_floor_pa, label: 'suction', side: 'under', everywhere: true },
      { value: run.limits.inlet_max_pa, label: 'pump max', side: 'over', everywhere: false },
    ],
  },
];
export const BAND_COUNT = bands.length;

/** What is drawn of a part: behind the injection pump's inlet the pressure is another world, and not drawn. */
function seen(band: Band, part: PartSeries, column: number, pump: number): [Column, Column] {
  const [first, second] = band.ends(part);
  if (band.quantity !== 'pressure' || pump < 0 || column < pump) {
    return [first, second];
  }
  return column === pump ? [first, null] : [null, null];
}

function extent(run: GoodRun, place: BandPlace, band: Band): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  place.main.forEach((index, column) => {
    const part = run.series.parts.find((other) => other.index === index);
    for (const values of part && !place.junctions.has(column) ? seen(band, part, column, place.pump) : []) {
      for (const value of Array.isArray(values) ? values : [values]) {
        if (value !== null && value !== undefined) {
          low = Math.min(low, value);
          high = Math.max(high, value);
        }
      }
    }
  });
  for (const limit of band.limits(run, run.series.count - 1)) {
    low = Math.min(low, limit.value);
    high = Math.max(high, limit.value);
  }
  if (!(low < Infinity)) {
    return [0, 1];
  }
  if (band.log) {
    return [Math.max(low, 1e-9) / 1.3, high * 1.3];
  }
  const room = (high - low || 1) * 0.12;
  return [low - room, high + room];
}

/** The y of a value in each band; made once a run and layout, so that the axes stand still while time moves. */
export interface BandScales { y: ((si: number) => number)[]; top: number[]; place: BandPlace; range: [number, number][] }

export function bandScales(run: GoodRun, place: BandPlace): BandScales {
  const top = bands.map((_, index) => place.top + index * (place.height + place.gap));
  const range = bands.map((band) => extent(run, place, band));
  const y = bands.map((band, index) => {
    const [low, high] = range[index];
    const share = band.log
      ? (value: number) => (Math.log(Math.max(value, 1e-9)) - Math.log(low)) / (Math.log(high) - Math.log(low))
      : (value: number) => (value - low) / (high - low);
    return (value: number) => top[index] + place.height * (1 - Math.min(1.02, Math.max(-0.02, share(value))));
  });
  return { y, top, place, range };
}

/** Axis of the bands: titles, units, ticks, limits. Stands still beside the scrolling picture. */
export function bandAxis(run: GoodRun, scales: BandScales, sample: number, width: number): SVGGElement {
  const g = s('g', { class: 'band-axis' });
  bands.forEach((band, index) => {
    const top = scales.top[index];
    g.append(
      s('text', { x: 4, y: top - 9, class: 'band-title' }, `${band.title}, ${unitLabel(band.quantity)}${band.log ? ', log scale' : ''}`),
    );
    const [low, high] = scales.range[index].map((value) => toShown(band.quantity, value));
    const list = band.log ? logTicks(low, high) : ticks(low, high, scales.place.height / 34);
    const limits = band.limits(run, sample).map((limit) => ({ ...limit, y: scales.y[index](limit.value) }));
    const back = toShown(band.quantity, 1) - toShown(band.quantity, 0);
    const zero = toShown(band.quantity, 0);
    for (const value of list) {
      const y = scales.y[index]((value - zero) / back);
      if (limits.some((limit) => Math.abs(limit.y - y) < (width > 90 ? 15 : 24))) {
        continue;
      }
      g.append(s('text', { x: width - 8, y: y + 5, class: 'tick', 'text-anchor': 'end' }, digits(value)), s('path', { d: `M${width - 5} ${y}H${width}`, class: 'tick-line' }));
    }
    let before = Infinity;
    for (const limit of [...limits].sort((a, b) => b.y - a.y)) {
      const y = Math.min(Math.max(limit.y, top + 4), top + scales.place.height - 4, before - (width > 90 ? 15 : 28));
      before = y;
      const value = show(band.quantity, limit.value, false);
      if (width > 90) {
        g.append(s('text', { x: width - 8, y: y + 5, class: 'tick limit-text', 'text-anchor': 'end' }, `${limit.label} ${value}`));
      } else {
        g.append(s('text', { x: width - 6, y: y + 12, class: 'tick limit-text', 'text-anchor': 'end' }, value), s('text', { x: width - 6, y: y - 2, class: 'tick small limit-text', 'text-anchor': 'end' }, limit.label));
      }
      g.append(s('path', { d: `M${width - 5} ${limit.y}H${width}`, class: 'limit-line' }));
    }
  });
  return g;
}

/** What stands at the two ends of a column, in the direction of the way; a valve or tee shows what its neighbours do. */
function endValues(run: GoodRun, indices: (number | null)[], band: Band, sample: number, place: BandPlace, column: number): (number | null)[] {
  const part = (order: number) => {
    const index = indices[order];
    return index === null || index === undefined ? undefined : run.series.parts.find((other) => other.index === index);
  };
  const own = (order: number): (number | null)[] => {
    const found = part(order);
    if (!found) {
      return [null, null];
    }
    const pair = seen(band, found, order, place.pump).map((value) => at(value, sample));
    return (at(found.flow_m3_s, sample) ?? 0) < -1e-9 ? [pair[1], pair[0]] : pair;
  };
  return place.junctions.has(column) ? [own(column - 1)[1], own(column + 1)[0]] : own(column);
}

function trace(run: GoodRun, indices: (number | null)[], band: Band, sample: number, place: BandPlace, x: (column: number) => [number, number], y: (si: number) => number): { d: string; labels: { x: number; y: number; value: number; first: boolean }[] } {
  let d = '';
  let pen = false;
  const labels: { x: number; y: number; value: number; first: boolean }[] = [];
  indices.forEach((index, column) => {
    if (index === null) {
      pen = false;
      return;
    }
    const [first, second] = endValues(run, indices, band, sample, place, column);
    const [left, right] = x(column);
    [[left, first], [right, second]].forEach(([px, value], end) => {
      if (value === null || px === null) {
        pen = false;
        return;
      }
      d += `${pen ? 'L' : 'M'}${px.toFixed(1)} ${y(value).toFixed(1)}`;
      pen = true;
      labels.push({ x: px, y: y(value), value, first: end === 0 });
    });
  });
  return { d, labels };
}

/** The moving contents of the bands at one sample, with the ghost of the run before. */
export function bandContents(run: GoodRun, ghost: GoodRun | null, scales: BandScales, sample: number): SVGGElement {
  const g = s('g', { class: 'bands' });
  const { place } = scales;
  const width = place.columnWidth * place.main.length;
  const ends = (column: number): [number, number] => [(column + 0.12) * place.columnWidth, (column + 0.88) * place.columnWidth];
  const pumpX = (place.pump + 0.12) * place.columnWidth;
  bands.forEach((band, index) => {
    const top = scales.top[index];
    const bottom = top + place.height;
    const y = scales.y[index];
    g.append(s('rect', { x: 0, y: top, width, height: place.height, class: 'band-back' }));
    for (const limit of band.limits(run, sample)) {
      const edge = Math.min(Math.max(y(limit.value), top), bottom);
      const [from, size] = limit.everywhere ? [0, width] : [Math.max(0, pumpX - place.columnWidth * 0.45), place.columnWidth * 0.9];
      g.append(
        limit.side === 'over'
          ? s('rect', { x: from, y: top, width: size, height: Math.max(0, edge - top), class: 'beyond' })
          : s('rect', { x: from, y: edge, width: size, height: Math.max(0, bottom - edge), class: 'beyond' }),
        s('path', { d: `M${from} ${edge}h${size}`, class: 'limit-line' }),
      );
    }
    if (ghost) {
      const then = ghost.series.time_s.length > 0 ? sampleAt(ghost, run.series.time_s[sample]) : 0;
      const indices = place.main.map((part) => {
        const found = ghost.names.indexOf(run.names[part] ?? '');
        return found < 0 ? null : found;
      });
      g.append(s('path', { d: trace(ghost, indices, band, then, place, ends, y).d, class: 'ghost' }));
    }
    const now = trace(run, place.main, band, sample, place, ends, y);
    g.append(s('path', { d: now.d, class: `trace ${['t', 'v', 'p'][index]}` }));
    let last: string | null = null;
    now.labels.forEach((label, order) => {
      const text = digits(toShown(band.quantity, label.value), band.quantity === 'temperature' || Math.abs(toShown(band.quantity, label.value)) >= 10 ? 0 : 1);
      const isLast = order === now.labels.length - 1;
      g.append(s('circle', { cx: label.x, cy: label.y, r: 3.5, class: `dot ${['t', 'v', 'p'][index]}` }));
      if (text !== last && (!label.first || order === 0)) {
        const below = label.y - top < 20;
        g.append(s('text', { x: label.x, y: below ? label.y + 19 : label.y - 8, class: 'value', 'text-anchor': order === 0 ? 'start' : isLast ? 'end' : 'middle' }, text));
        last = text;
      }
    });
  });
  return g;
}
