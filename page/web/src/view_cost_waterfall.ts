// SPDX-License-Identifier: GPL-3.0-or-later
// From free oil to what a litre or a mile truly costs: one step a line, each beginning where the one before ended, the sum
// with its band, and diesel for comparison.
import { s } from './dom';

export interface WaterLine { label: string; value: number; isWork: boolean }
export interface Waterfall {
  lines: WaterLine[];
  total: number;
  /** 5 % and 95 % points of the total; null when not sampled. */
  band: [number, number] | null;
  diesel: number;
  text(value: number): string;
  /** "EUR/L" */
  unit: string;
  totalLabel: string;
  dieselLabel: string;
}

const ROW = 44;
const PAD = 10;

/** Places of the bars: each from where the sum stood to where it stands now. Pure. */
export function steps(lines: WaterLine[]): { from: number; to: number }[] {
  let sum = 0;
  return lines.map((line) => {
    const from = sum;
    sum += line.value;
    return { from, to: sum };
  });
}

/** `WIDE`: pixels there are; letters keep their size on a phone. */
export function waterfall(water: Waterfall, WIDE = 640): SVGSVGElement {
  const places = steps(water.lines);
  const all = [0, water.total, water.diesel, ...(water.band ?? []), ...places.flatMap((place) => [place.from, place.to])].filter(Number.isFinite);
  const low = Math.min(...all);
  const high = Math.max(...all, low + 1e-9);
  const x = (value: number) => PAD + ((value - low) / (high - low)) * (WIDE - 2 * PAD);
  const rows = water.lines.length + 2;
  const tall = rows * ROW + 10;
  const bar = (from: number, to: number, y: number, kind: string, high_ = 15) => s('rect', { x: Math.min(x(from), x(to)), y: y + 23, width: Math.max(1.5, Math.abs(x(to) - x(from))), height: high_, class: kind });
  const words = (y: number, label: string, value: string, strong: boolean) => [s('text', { x: PAD + 5, y: y + 17, class: strong ? 'water-word strong' : 'water-word' }, label), s('text', { x: WIDE - PAD - 8, y: y + 17, class: strong ? 'water-word strong' : 'water-word', 'text-anchor': 'end' }, value)];
  const dieselY = (rows - 1) * ROW;
  const totalY = (rows - 2) * ROW;
  const sign = (value: number) => (value < 0 ? '' : '+ ');
  return s('svg', { viewBox: `0 0 ${WIDE} ${tall}`, width: WIDE, height: tall, class: 'waterfall', role: 'img', 'aria-label': `${water.totalLabel} ${water.text(water.total)}, ${water.dieselLabel} ${water.text(water.diesel)}, ${water.unit}. The table below says the same line by line.` },
    s('defs', {}, s('pattern', { id: 'hatch-work', width: 7, height: 7, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' }, s('rect', { width: 7, height: 7, class: 'hatch-work-back' }), s('path', { d: 'M0 0V7', class: 'hatch-work-line' }))),
    s('path', { d: `M${x(water.diesel)} 0V${dieselY + 38}`, class: 'water-diesel-line' }),
    s('path', { d: `M${x(0)} 0V${tall}`, class: 'water-zero' }),
    ...water.lines.flatMap((line, order) => {
      const y = order * ROW;
      const place = places[order];
      return [
        ...(order > 0 ? [s('path', { d: `M${x(place.from)} ${y - 6}V${y + 23}`, class: 'water-join' })] : []),
        bar(place.from, place.to, y, `water-bar${line.isWork ? ' work' : ''}${line.value < 0 ? ' less' : ''}`), ...words(y, line.label, `${sign(line.value)}${water.text(line.value)}`, false),
      ];
    }),
    s('path', { d: `M${x(water.total)} ${totalY - 6}V${totalY + 23}`, class: 'water-join' }),
    bar(0, water.total, totalY, 'water-bar total'), ...words(totalY, water.totalLabel, water.text(water.total), true),
    water.band ? s('path', { d: `M${x(water.band[0])} ${totalY + 23}v15M${x(water.band[1])} ${totalY + 23}v15M${x(water.band[0])} ${totalY + 30.5}H${x(water.band[1])}`, class: 'water-band' }) : null,
    bar(0, water.diesel, dieselY, 'water-bar diesel'), ...words(dieselY, water.dieselLabel, water.text(water.diesel), true));
}
