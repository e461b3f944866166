// SPDX-License-Identifier: GPL-3.0-or-later
// A vessel of the yard, drawn with what stands in it: the height is the level, the number says the same.
import { h, s } from './dom';
import type { LogBatch, LogVessel } from './types_book';
import { digits, show } from './units';

const TOP = 16;
const BOTTOM = 104;

/** Share of the vessel that is full, null when its size is not known. */
export function fullness(vessel: LogVessel): number | null {
  return vessel.capacity_m3 !== null && vessel.capacity_m3 > 0 ? vessel.level_m3 / vessel.capacity_m3 : null;
}

function drawn(vessel: LogVessel): SVGSVGElement {
  const share = fullness(vessel);
  const held = Math.max(0, Math.min(1, share ?? (vessel.level_m3 > 0 ? 0.5 : 0)));
  const y = BOTTOM - held * (BOTTOM - TOP);
  const ticks = [0.25, 0.5, 0.75].map((mark) => s('path', { d: `M70 ${BOTTOM - mark * (BOTTOM - TOP)}h8`, class: 'vessel-tick' }));
  return s('svg', { viewBox: '0 0 96 116', class: 'vessel-drawing', 'aria-hidden': 'true' },
    s('path', { d: `M18 ${TOP}V${BOTTOM}a30 8 0 0 0 60 0V${TOP}`, class: 'vessel-wall' }),
    held > 0 ? s('path', { d: `M18 ${y}V${BOTTOM}a30 8 0 0 0 60 0V${y}a30 8 0 0 1 -60 0Z`, class: share === null ? 'vessel-oil guess' : 'vessel-oil' }) : null,
    held > 0 ? s('ellipse', { cx: 48, cy: y, rx: 30, ry: 8, class: 'vessel-face' }) : null,
    ...ticks, s('ellipse', { cx: 48, cy: TOP, rx: 30, ry: 8, class: 'vessel-rim' }),
    share === null && held > 0 ? s('text', { x: 48, y: 84, class: 'vessel-mark' }, '?') : null);
}

export function vesselTile(vessel: LogVessel, batches: LogBatch[], open: () => void): HTMLButtonElement {
  const share = fullness(vessel);
  const state = vessel.is_below ? 'below nothing: measure it' : vessel.is_over ? 'over full: measure it' : share === null ? 'size not told' : share >= 0.9 ? 'nearly full' : vessel.level_m3 <= 0 ? 'empty' : '';
  const inside = batches.filter((batch) => batch.vessel === vessel.id && batch.volume_m3 > 0).map((batch) => batch.name);
  return h('button', { type: 'button', class: `vessel${vessel.is_below || vessel.is_over ? ' odd' : ''}`, 'data-vessel': vessel.name, click: open },
    drawn(vessel), h('span', { class: 'vessel-name' }, vessel.name),
    h('strong', {}, show('volume', vessel.level_m3)),
    h('small', {}, share === null ? (vessel.use ?? '') : `${digits(share * 100, 0)} % of ${show('volume', vessel.capacity_m3)}`),
    inside.length ? h('small', {}, inside.slice(0, 3).join(', ') + (inside.length > 3 ? ` and ${inside.length - 3} more` : '')) : null,
    state ? h('small', { class: 'vessel-state' }, state) : null);
}
