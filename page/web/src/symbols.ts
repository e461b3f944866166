// SPDX-License-Identifier: GPL-3.0-or-later
// Symbols of the parts, drawn after ISO 1219-1 and ISO 14617, each within a square of 48 with its centre at 0,0.
// Flow enters at the left; a symbol for the return is mirrored by the caller.
import { s } from './dom';

const line = (d: string, extra: Record<string, string | number> = {}) => s('path', { d, class: 'sym', ...extra });
const filled = (d: string) => s('path', { d, class: 'sym-fill' });
const circle = (r: number, x = 0, y = 0, kind = 'sym') => s('circle', { cx: x, cy: y, r, class: kind });
const diamond = () => line('M-22 0 0 -22 22 0 0 22Z');
const ends = () => line('M-26 0H-22M22 0H26');
/** A spring, as on the spring side of a valve. */
const spring = (x: number, y: number) => line(`M${x} ${y}l4 -3 0 6 4 -6 0 6 4 -6 0 3`);

export interface SymbolState { heated: boolean }

export function symbol(kind: string, state: SymbolState): SVGGElement {
  const g = s('g', {});
  switch (kind) {
    case 'tank': // an open reservoir, the line ending below the surface
      g.append(line('M-22 -18V20H22V-18'), line('M-22 -6H22', { class: 'sym thin' }), line('M8 20V8M8 20', { class: 'sym' }), line('M8 12H26V0', { class: 'sym' }));
      break;
    case 'hose': // a flexible line: sagging between two dots
      g.append(line('M-24 0Q0 26 24 0'), circle(3.5, -24, 0, 'sym-fill'), circle(3.5, 24, 0, 'sym-fill'));
      break;
    case 'tube': // a rigid line
      g.append(line('M-26 0H26'), line('M-16 -6H16M-16 6H16', { class: 'sym thin' }));
      break;
    case 'chamber': // a heater: arrows pointing out of the diamond are a cooler, into it a heater
      g.append(diamond(), ends(), line('M0 -20V-7M0 20V7'), filled('M-4.5 -11 0 -3 4.5 -11Z'), filled('M-4.5 11 0 3 4.5 11Z'));
      break;
    case 'exchanger': // a heater with lines of the heat carrier
      g.append(diamond(), ends(), line('M-7 -26V26M7 -26V26', { class: 'sym thin' }), filled('M-11 -6 -7 2 -3 -6Z'), filled('M11 6 7 -2 3 6Z'));
      break;
    case 'electric pump': // circle, solid triangle in the direction of delivery, motor M
      g.append(circle(19), line('M-26 0H-19M19 0H26'), filled('M8 -10 19 0 8 10Z'), line('M-10 5V-5L-5.5 1 -1 -5V5', { class: 'sym motor' }));
      break;
    case 'lift pump': // circle and triangle with the drive by a plunger and its spring
      g.append(circle(19), line('M-26 0H-19M19 0H26'), filled('M8 -10 19 0 8 10Z'), line('M-13 5H3M-5 5V11'), spring(-11, -4));
      break;
    case 'injection pump':
      g.append(circle(20), line('M-26 0H-20M20 0H26'), filled('M8 -10 20 0 8 10Z'), line('M-14 14 12 -20', { class: 'sym' }), filled('M14 -23 12 -14 6 -18Z'));
      break;
    case 'filter':
      g.append(diamond(), ends(), line('M0 -22V22', { 'stroke-dasharray': '5 4' }));
      break;
    case 'screen': // a coarse filter
      g.append(diamond(), ends(), line('M0 -22V22', { 'stroke-dasharray': '2 4' }), line('M-7 -15V15M7 -15V15', { class: 'sym thin', 'stroke-dasharray': '2 4' }));
      break;
    case 'coolant coil':
      g.append(line('M-26 12H-16V-8a5 5 0 0 1 10 0V4a5 5 0 0 0 10 0V-8a5 5 0 0 1 10 0V12H26'));
      break;
    case 'injectors':
      for (const x of [-15, -5, 5, 15]) {
        g.append(line(`M${x} -14V6`), filled(`M${x - 4} 4h8l-4 12Z`));
      }
      g.append(line('M-26 0H-20V-14H15'));
      break;
    case 'valve': // three ways, moved by a solenoid
      g.append(line('M-22 0 -22 -12 0 0 -22 12Z'), line('M22 0 22 -12 0 0 22 12Z'), line('M0 0 -11 20H11Z'), line('M0 0V-16'), line('M-7 -16H7V-24H-7Z'));
      break;
    case 'check valve':
      g.append(line('M-26 0H-8M10 0H26'), line('M-8 -12 10 0 -8 12'), circle(7, -2, 0));
      break;
    case 'relief valve':
      g.append(line('M-15 -15H15V15H-15Z'), line('M-26 0H26'), filled('M15 0 5 -5V5Z'), spring(-6, 21), line('M-22 0V-22H0V-15', { class: 'sym thin', 'stroke-dasharray': '4 3' }));
      break;
    case 'orifice':
      g.append(line('M-26 0H26'), line('M-10 -14Q0 -4 10 -14M-10 14Q0 4 10 14'));
      break;
    case 'tee':
      g.append(line('M-26 0H26M0 0V22'), circle(5, 0, 0, 'sym-fill'));
      break;
    default:
      g.append(line('M-20 -14H20V14H-20Z'), ends());
  }
  if (state.heated) { // resistance heater, as a mark
    g.append(line('M-12 -30h4l2 -4 4 8 4 -8 4 8 2 -4h4', { class: 'sym heat' }));
  }
  return g;
}

/** The shape that goes with a grade, so that colour is never alone. */
export function gradeMark(grade: string): SVGSVGElement {
  const svg = s('svg', { viewBox: '0 0 32 32', class: `mark ${grade}`, 'aria-hidden': 'true' });
  switch (grade) {
    case 'good':
      svg.append(s('circle', { cx: 16, cy: 16, r: 14, class: 'mark-back' }), s('path', { d: 'M9 17l5 5 9 -11', class: 'mark-line' }));
      break;
    case 'tight':
      svg.append(s('path', { d: 'M16 2 31 29H1Z', class: 'mark-back' }), s('path', { d: 'M16 11v8M16 23.4v1.2', class: 'mark-line' }));
      break;
    case 'unknown':
      svg.append(s('rect', { x: 2, y: 2, width: 28, height: 28, rx: 4, class: 'mark-back' }), s('path', { d: 'M11 12q0 -5 5 -5t5 4.5q0 3 -5 5v2.5M16 24v.6', class: 'mark-line' }));
      break;
    default:
      svg.append(s('path', { d: 'M10 1h12l9 9v12l-9 9H10l-9 -9V10Z', class: 'mark-back' }), s('path', { d: 'M10 10l12 12M22 10 10 22', class: 'mark-line' }));
  }
  return svg;
}
export const gradeWords: Record<string, string> = { good: 'good', tight: 'tight', unknown: 'not known', bad: 'fails', impossible: 'cannot be' };
