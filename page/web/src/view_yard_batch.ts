// SPDX-License-Identifier: GPL-3.0-or-later
// One batch or vessel: what it holds, where that came from, where it went, and everything that was done to it.
import { api } from './api';
import { book, dayWords } from './book';
import { button, clear, h, type Kid } from './dom';
import { dialog } from './notice';
import { complain } from './run';
import { state } from './state';
import type { LogBatch, LogEntry, LogShare, LogTrace, LogVessel } from './types_book';
import { digits, show } from './units';
import { openEntry } from './view_log';
import { kindIcon } from './view_log_icons';
import { entryItem } from './view_log_list';
import { decisionMark, testWords } from './view_yard';
import { vesselTile } from './view_yard_vessel';

function shares(title: string, list: LogShare[], icon: string, withDay: boolean): Kid {
  return list.length === 0 ? null : h('div', { class: 'shares' }, h('h4', {}, title), h('ul', {}, ...list.slice(0, 12).map((one) => {
    const bar = h('span', { class: 'share-bar', 'aria-hidden': 'true' });
    bar.style.width = `${Math.max(1, Math.min(100, one.share * 100))}%`;
    return h('li', {}, kindIcon(one.kind !== '' && icon === 'move' ? one.kind : icon), h('span', { class: 'share-words' }, h('span', {}, one.name, withDay && one.at_s ? h('small', {}, ` ${dayWords(one.at_s, undefined, false)}`) : null),
      h('strong', {}, `${show('volume', one.volume_m3)}, ${digits(one.share * 100, one.share < 0.1 ? 1 : 0)} %`)), bar);
  }), list.length > 12 ? h('li', {}, `and ${list.length - 12} more`) : null));
}

/** From the bins on: sources, the pick-ups, the batches it went through. */
export function traceBack(trace: LogTrace, own: string): Kid[] {
  if (trace.volume_m3 <= 0) {
    return [h('p', {}, 'It is empty: there is nothing to trace.')];
  }
  return [
    shares('Kitchens it came from', trace.sources, 'source', false),
    shares('Pick-ups and what else went in', trace.parts, 'pickup', true),
    shares('Batches it went through', trace.batches.filter((one) => one.name !== own), 'batch', false),
    trace.unknown > 1e-4 ? h('p', { class: 'field-help' }, `${digits(trace.unknown * 100, 1)} % cannot be traced${trace.is_cut ? ': the book holds more movements than are followed' : ''}.`) : null,
  ];
}

/** On to vessels, vehicles and waste. */
export function traceForward(trace: LogTrace): Kid[] {
  return trace.parts.length ? [shares('Where it is or went', trace.parts.map((one) => (one.kind === 'step' ? { ...one, name: `${one.name}: taken off` } : one)), 'move', false)] : [h('p', {}, 'It has gone nowhere yet.')];
}

function history(entries: LogEntry[], reload: () => void): Kid[] {
  return [h('h3', {}, 'History'), entries.length ? h('ul', { class: 'entries' }, ...entries.map((entry) => entryItem(entry, reload))) : h('p', {}, 'Nothing yet.')];
}

/** Leads to the form of a kind with the thing filled in. */
function doButtons(close: () => void, list: [string, string, Record<string, string>][]): Kid {
  return book.start?.can_write ? h('div', { class: 'row' }, ...list.map(([word, label, preset]) => h('button', { type: 'button', class: 'button with-icon', click: () => {
    close();
    document.querySelector<HTMLElement>('[data-view="log"]')?.click();
    openEntry(word, preset);
  } }, kindIcon(word), label))) : null;
}

export function batchDialog(batch: LogBatch): Promise<void> {
  return dialog(`Batch ${batch.name}`, (close) => {
    const facts = h('div', {}, h('p', { class: 'field-help' }, 'Asking the book …'));
    const load = async () => {
      try {
        const [{ batch: now, entries, trace }, forward] = await Promise.all([api.logBatch(batch.id, state.units), api.logForward(batch.id, state.units)]);
        const pair = (word: string, value: Kid): Kid[] => [h('dt', {}, word), h('dd', {}, value)];
        clear(facts,
          h('dl', { class: 'pairs big' }, ...pair('Holds', show('volume', now.volume_m3)), ...pair('Stands in', now.vessel_name || 'not told'), ...pair('Went in', show('volume', now.in_m3)),
            ...pair('Taken off as waste', show('volume', now.lost_m3)), ...pair('Went on', show('volume', now.out_m3)), ...pair('Tests', testWords(now)), ...pair('Decision', decisionMark(now))),
          doButtons(close, [['step', 'Batch step', { batch: `#${now.id}` }], ['test', 'Test', { of: `#${now.id}` }], ['move', 'Move oil', { from: `#${now.id}` }], ['fill', 'Fill a vehicle', { from: `#${now.id}` }]]),
          h('h3', {}, 'Where it came from'), ...traceBack(trace, now.name), h('h3', {}, 'Where it went'), ...traceForward(forward), ...history(entries, () => void load()));
      } catch (error) {
        complain(error);
        clear(facts, h('p', {}, 'It cannot be shown now.'), button('Try again', () => void load()));
      }
    };
    void load();
    return [facts];
  });
}

export function vesselDialog(vessel: LogVessel): Promise<void> {
  return dialog(vessel.name, (close) => {
    const facts = h('div', {}, h('p', { class: 'field-help' }, 'Asking the book …'));
    const load = async () => {
      try {
        const [trace, list] = await Promise.all([api.logTrace(vessel.id, state.units), api.logList({ text: '', kind: '', undone: false, more: null, thing: vessel.id, units: state.units })]);
        const tile = vesselTile(vessel, book.batches, () => undefined);
        tile.disabled = true;
        clear(facts, tile,
          doButtons(close, [['level', 'Measured level', { of: `#${vessel.id}` }], ['move', 'Move oil', { from: `#${vessel.id}` }], ['fill', 'Fill a vehicle', { from: `#${vessel.id}` }]]),
          h('h3', {}, 'Where it came from'), ...traceBack(trace, ''), ...history(list.entries, () => void load()));
      } catch (error) {
        complain(error);
        clear(facts, h('p', {}, 'It cannot be shown now.'), button('Try again', () => void load()));
      }
    };
    void load();
    return [facts];
  });
}
