// SPDX-License-Identifier: GPL-3.0-or-later
// A small drawing for every kind of entry, so that a button is known before it is read. Always beside the word.
import { s } from './dom';

const drawn: Record<string, string> = {
  pickup: 'M7 12h14l-1.5 15h-11ZM5 12h18M11 12V9h6v3M27 20V6m-4 4 4-4 4 4', // a bin, lifted
  fill: 'M5 27V8a2 2 0 0 1 2-2h8a2 2 0 0 1 2 2v19M3 27h16M8 10h6v5H8ZM17 16h4v7a2.5 2.5 0 0 0 5 0V12l-4-4',
  odometer: 'M4 23a12 12 0 1 1 24 0ZM16 23l6-9M8 23h2M22 23h2M16 13v2',
  filter: 'M16 3 29 16 16 29 3 16ZM16 3v4m0 3v4m0 3v4m0 3v4',
  test: 'M12 4h8M13 4v9L6 26a2 2 0 0 0 2 3h16a2 2 0 0 0 2-3l-7-13V4M9.5 20h13',
  step: 'M6 5h20v11L18 25v4h-4v-4L6 16ZM6 13c3-2 4 2 7 0s4 2 7 0 4 1 6 0',
  waste: 'M7 10h18l-2 18H9ZM5 10h22M12 10V6h8v4M13 15l.6 8M19 15l-.6 8',
  expense: 'M4 9c0-5 16-5 16 0s-16 5-16 0v6c0 5 16 5 16 0V9M4 15v6c0 3.500 8 4.600 12.500 3.200M20 19.500a6 6 0 1 1-.01 0Z',
  move: 'M3 10h9v17H3ZM20 10h9v17h-9ZM8 7c2-4 14-4 16 0m-4-1 4 1.500 1-4.500M3 18h9M20 22h9',
  shift: 'M3 12h8v15H3ZM21 12h8v15h-8ZM13 19h6m-3-3 3 3-3 3',
  level: 'M6 7v21h20V7M6 17h20M21 4v20M18 10h3M18 14h3M18 20h3',
  gauge: 'M16 4a11 11 0 1 0 .01 0ZM16 15l5-6M16 26v3M9 15h1.500M16 8v1.500M21.500 15H23',
  repair: 'M27 8a7 7 0 0 1-9.500 8.500L8 27l-4-4 10.500-9.500A7 7 0 0 1 23 4l-4 4 1 4 4 1Z',
  source: 'M4 28V14L16 5l12 9v14ZM12 28v-9h8v9',
  vessel: 'M8 6h16v22H8ZM8 6c2-2 14-2 16 0M8 13h16M8 21h16',
  vehicle: 'M3 23V9h16v14M19 13h5l5 6v4h-3M12 23h8M3 23h2M8.500 20a3 3 0 1 0 .01 0ZM23 20a3 3 0 1 0 .01 0Z',
  batch: 'M4 16 16 4h12v12L16 28ZM23 9h.01',
  undo: 'M10 8 4 14l6 6M4 14h15a7 7 0 0 1 0 14h-6',
};

export function kindIcon(word: string): SVGSVGElement {
  return s('svg', { viewBox: '0 0 32 32', class: 'kind-icon', 'aria-hidden': 'true' }, s('path', { d: drawn[word] ?? drawn.batch }));
}
