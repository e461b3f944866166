// SPDX-License-Identifier: GPL-3.0-or-later
// The yard: its vessels with their levels, its batches by what was done last, and the plan of the yard file.
import { ageWords, book, refresh } from './book';
import { clear, h, type Kid } from './dom';
import { on, state } from './state';
import { gradeMark } from './symbols';
import type { LogBatch } from './types_book';
import { digits, show } from './units';
import { openEntry } from './view_log';
import { kindIcon } from './view_log_icons';
import { batchDialog, vesselDialog } from './view_yard_batch';
import { yardPlan } from './view_yard_plan';
import { vesselTile } from './view_yard_vessel';

/** Columns of the board, in the order of the work. */
export const columns = [
  { key: 'settling', label: 'Settling', empty: 'no batch settles' },
  { key: 'drying', label: 'Drying', empty: 'none is drying' },
  { key: 'filtering', label: 'Filtering', empty: 'none is filtered' },
  { key: 'ready', label: 'Ready', empty: 'none is ready' },
  { key: 'used', label: 'Used or rejected', empty: 'none yet' },
] as const;
export type Column = (typeof columns)[number]['key'];

/** Where a batch stands: by the decision, else by what was done to it last. */
export function columnOf(batch: LogBatch): Column {
  if (batch.decision === 'reject' || (batch.volume_m3 <= 0 && batch.in_m3 > 0)) {
    return 'used';
  }
  if (batch.decision === 'keep') {
    return 'ready';
  }
  return batch.step === 'filter' || batch.step === 'centrifuge' || batch.step === 'blend' ? 'filtering' : batch.step === 'heat' || batch.step === 'dry' ? 'drying' : 'settling';
}

const decisions: Record<string, { grade: string; words: string }> = {
  keep: { grade: 'good', words: 'fit for the tank' }, rework: { grade: 'tight', words: 'rework it' }, reject: { grade: 'bad', words: 'rejected' },
};

export function decisionMark(batch: LogBatch): Kid {
  const known = batch.decision !== null ? decisions[batch.decision] : undefined;
  if (batch.volume_m3 <= 0 && batch.in_m3 > 0 && batch.decision !== 'reject') {
    return h('span', { class: 'grade-cell' }, 'used up');
  }
  if (batch.decision === 'keep' && batch.over_text !== '') {
    return h('span', { class: 'grade-cell' }, gradeMark('tight'), ` kept, but ${batch.over_text}`);
  }
  return h('span', { class: 'grade-cell' }, gradeMark(known?.grade ?? 'unknown'), ` ${known?.words ?? 'not decided'}`);
}

export function testWords(batch: LogBatch): string {
  const found = [
    batch.acid_mg_g !== null ? `acid ${digits(batch.acid_mg_g)} mg KOH/g` : '', batch.water_kg_kg !== null ? `water ${digits(batch.water_kg_kg * 1e6)} mg/kg` : '',
    batch.solids_kg_kg !== null ? `solids ${digits(batch.solids_kg_kg * 1e6)} mg/kg` : '',
  ].filter(Boolean);
  return found.length ? found.join(', ') : batch.tests > 0 ? 'tested, no figures' : 'no test yet';
}

function card(batch: LogBatch): HTMLElement {
  return h('button', { type: 'button', class: 'batch-card', 'data-batch': batch.name, click: () => void batchDialog(batch) },
    h('span', { class: 'batch-top' }, h('strong', {}, batch.name), h('strong', {}, show('volume', batch.volume_m3))),
    h('span', {}, [batch.vessel_name ? `in ${batch.vessel_name}` : '', `begun ${ageWords(batch.started_s)}${ageWords(batch.started_s) === 'today' ? '' : ' ago'}`].filter(Boolean).join(', ')),
    h('span', {}, batch.step ? `last: ${batch.step}` : 'nothing done yet', batch.step && batch.last_s ? ` (${ageWords(batch.last_s)}${ageWords(batch.last_s) === 'today' ? '' : ' ago'})` : ''),
    h('span', {}, testWords(batch)), decisionMark(batch));
}

export function viewYard(): { element: HTMLElement; draw(): void; time(): void } {
  const trouble = h('div', { role: 'status' });
  const vessels = h('section', { 'aria-label': 'Vessels' });
  const board = h('section', { 'aria-label': 'Batches' });
  const plan = yardPlan();
  const element = h('div', { class: 'view yard-view' }, trouble, vessels, board, plan.element);
  const add = (word: string, label: string) => (book.start?.can_write ? h('button', { type: 'button', class: 'button with-icon', 'data-yard-add': word, click: () => {
    document.querySelector<HTMLElement>('[data-view="log"]')?.click();
    openEntry(word);
  } }, kindIcon(word), label) : null);
  const draw = () => {
    clear(trouble, book.trouble ? h('p', { class: 'field-fault error' }, `The logbook: ${book.trouble}`) : null);
    const sum = book.vessels.reduce((all, vessel) => all + Math.max(0, vessel.level_m3), 0);
    clear(vessels, h('div', { class: 'head-row' }, h('h2', {}, 'Vessels', book.vessels.length ? h('small', {}, ` ${show('volume', sum)} in all`) : null), add('level', 'Measured level'), add('vessel', 'New vessel')),
      book.vessels.length ? h('div', { class: 'vessels' }, ...book.vessels.map((vessel) => vesselTile(vessel, book.batches, () => void vesselDialog(vessel)))) : h('p', {}, 'No vessel is in the book yet. Add a drum or tank, then pick-ups can go into it.'));
    const by = new Map<Column, LogBatch[]>(columns.map((column) => [column.key, []]));
    book.batches.forEach((batch) => by.get(columnOf(batch))?.push(batch));
    clear(board, h('div', { class: 'head-row' }, h('h2', {}, 'Batches'), add('batch', 'New batch'), add('step', 'Batch step'), add('test', 'Test')),
      h('div', { class: 'board' }, ...columns.map((column) => {
        const list = by.get(column.key) ?? [];
        return h('section', { class: `column${list.length ? '' : ' bare'}`, 'data-column': column.key, 'aria-label': column.label }, h('h3', {}, column.label, h('span', { class: 'tally' }, ` ${list.length}`)),
          ...(column.key === 'used' && list.length > 3 ? [...list.slice(0, 2).map(card), h('details', { class: 'more' }, h('summary', {}, `${list.length - 2} older`), ...list.slice(2).map(card))] : list.length ? list.map(card) : [h('p', { class: 'field-help' }, column.empty)]));
      })));
    plan.draw();
  };
  on(['book'], () => {
    if (state.view === 'yard') {
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

