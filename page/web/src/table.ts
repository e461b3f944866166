// SPDX-License-Identifier: GPL-3.0-or-later
// Tables that a phone shows as cards: each row one card under its first cell, each value with its column's word before it.
import { h, type Kid } from './dom';

export interface TableOptions { caption?: string; marked?: (row: number, column: number) => string }

export function table(title: string, head: Kid[], rows: Kid[][], options: TableOptions = {}): HTMLElement {
  const labels = head.map((word) => (word instanceof Node ? word.textContent : word) || '');
  const kind = (kid: Kid, row: number, column: number) => [typeof kid === 'string' && kid.length < 11 ? 'short' : '', options.marked?.(row, column) ?? ''].filter(Boolean).join(' ') || null;
  return h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': title }, h('table', { class: 'cards' }, options.caption ? h('caption', {}, options.caption) : null,
    h('thead', {}, h('tr', {}, ...head.map((word) => h('th', { scope: 'col' }, word instanceof Node ? word.cloneNode(true) : word)))),
    h('tbody', {}, ...rows.map((row, at) => h('tr', {}, ...row.map((kid, order) => (order === 0 ? h('th', { scope: 'row' }, kid) : h('td', { 'data-label': labels[order], class: kind(kid, at, order) }, kid))))))));
}
