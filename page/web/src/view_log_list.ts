// SPDX-License-Identifier: GPL-3.0-or-later
// What stands in the logbook: newest first, with search, by kind, page by page; an entry opens to all it says and can be
// taken back, which adds a counter-entry and loses nothing.
import { api } from './api';
import { book, dayWords, kindOf, takeBack, troubleWords } from './book';
import { button, clear, debounce, freshId, h } from './dom';
import { notice } from './notice';
import { complain } from './run';
import { state } from './state';
import type { LogEntry, LogMore } from './types_book';
import { kindIcon } from './view_log_icons';
import { traceForward } from './view_yard_batch';

/** The fields of an entry as its kind orders them. */
export function entryFields(entry: LogEntry): [string, string][] {
  const kind = kindOf(entry.kind);
  const order = kind ? kind.fields.map((field) => field.key) : Object.keys(entry.fields);
  return order.filter((key) => entry.fields[key] !== undefined).map((key) => [kind?.fields.find((field) => field.key === key)?.label ?? key, entry.fields[key].text]);
}

export function entryItem(entry: LogEntry, changed: () => void): HTMLElement {
  const isUndone = entry.undone_by !== null && entry.undone_by !== 0;
  const take = async () => {
    try {
      const answer = await takeBack([entry.id]);
      if (answer.done) {
        notice('Taken back. The entry stays in the book, with the entry that took it back.');
        changed();
      } else {
        notice(answer.faults.map((fault) => [fault.message, fault.remedy].filter(Boolean).join('; ')).join('. '), 'error');
      }
    } catch (error) {
      complain(error);
    }
  };
  const went = h('div', { 'aria-live': 'polite' });
  const showForward = async () => {
    try {
      clear(went, ...traceForward(await api.logForward(entry.id, state.units)));
    } catch (error) {
      complain(error);
    }
  };
  return h('li', { class: isUndone ? 'entry undone' : 'entry', 'data-entry': entry.id },
    h('details', {}, h('summary', {}, kindIcon(entry.kind), h('span', { class: 'entry-words' }, h('span', {}, entry.sentence), h('small', {}, `${dayWords(entry.at_s)}${isUndone ? ', taken back' : ''}`))),
      h('dl', { class: 'pairs' }, ...entryFields(entry).flatMap(([word, text]) => [h('dt', {}, word), h('dd', {}, text)]), h('dt', {}, 'number'), h('dd', {}, String(entry.id))),
      entry.kind === 'pickup' && !isUndone ? button('Where it went', () => void showForward(), '', { 'data-forward': entry.id }) : null, went,
      isUndone || entry.kind === 'undo' || !book.start?.can_write ? null : button('Take back', () => void take(), 'danger')));
}

export function logList(): { element: HTMLElement; reload(): void; hasFailed(): boolean } {
  const searchId = freshId('search');
  const kindId = freshId('kind');
  const undoneId = freshId('undone');
  const list = h('ul', { class: 'entries' });
  const foot = h('div', { class: 'row' });
  const said = h('p', { class: 'field-help', role: 'status' });
  let turn = 0;
  let hasFailed = false;
  const load = async (more: LogMore | null) => {
    turn += 1;
    const mine = turn;
    try {
      const answer = await api.logList({ text: search.value.trim(), kind: kind.value, undone: undone.checked, more, units: state.units });
      if (mine !== turn) {
        return;
      }
      hasFailed = false;
      if (more === null) {
        list.replaceChildren();
      }
      list.append(...answer.entries.map((entry) => entryItem(entry, () => void load(null))));
      said.textContent = list.children.length === 0 ? (search.value || kind.value ? 'Nothing in the book says that.' : 'The book is empty. The first pick-up or fill begins it.') : '';
      const next = answer.more;
      clear(foot, next ? button('Older entries', () => void load(next), '', { id: 'older' }) : null);
    } catch (error) {
      if (mine === turn) {
        // Said here and not over the page: nobody pressed anything, and it may come right by itself.
        hasFailed = true;
        clear(said, `The entries cannot be shown now. ${troubleWords(error)} `, button('Try again', () => void load(more)));
      }
    }
  };
  const later = debounce(250);
  const search = h('input', { id: searchId, type: 'search', autocomplete: 'off', placeholder: 'a name, a word', input: () => later.later(() => void load(null)) });
  const kind = h('select', { id: kindId, change: () => void load(null) }, h('option', { value: '' }, 'all kinds'));
  const undone = h('input', { id: undoneId, type: 'checkbox', class: 'tick', change: () => void load(null) });
  const element = h('section', { class: 'log-list', 'aria-label': 'Entries' }, h('h2', {}, 'In the book'),
    h('div', { class: 'list-tools' }, h('div', {}, h('label', { for: searchId }, 'Search'), search), h('div', {}, h('label', { for: kindId }, 'Kind'), kind),
      h('label', { class: 'tick-label', for: undoneId }, undone, 'show what was taken back')),
    said, list, foot);
  return {
    element,
    hasFailed: () => hasFailed,
    reload: () => {
      if (kind.options.length === 1 && book.start) {
        kind.append(...book.start.kinds.map((one) => h('option', { value: one.word }, one.label)));
      }
      void load(null);
    },
  };
}
