// SPDX-License-Identifier: GPL-3.0-or-later
// The logbook: big buttons to add, one line for those who type, what was understood with the way back, what is due, and
// what stands in the book.
import { api } from './api';
import { book, kindOf, newToken, refresh, takeBack, watchBook, write, type Written } from './book';
import { button, clear, debounce, freshId, h } from './dom';
import { complain } from './run';
import { keep, on, state } from './state';
import { entryForm } from './view_log_form';
import { kindIcon } from './view_log_icons';
import { dueList } from './view_log_life';
import { logList } from './view_log_list';

const first = ['pickup', 'fill', 'odometer', 'filter', 'test', 'step', 'waste', 'expense'];
const others = ['batch', 'move', 'shift', 'level', 'gauge', 'repair', 'source', 'vessel', 'vehicle'];
const short: Record<string, string> = { odometer: 'Distance', step: 'Batch step', source: 'New source', vessel: 'New vessel', vehicle: 'New vehicle', batch: 'New batch', level: 'Measured level', shift: 'Batch to another vessel', move: 'Move oil' };

/** What stands in the place of the buttons for a while. */
let openKind: ((word: string, preset?: Record<string, string>) => void) | null = null;
/** Opens the form of a kind from another view. */
export function openEntry(word: string, preset?: Record<string, string>): void {
  openKind?.(word, preset);
}

export function viewLog(): { element: HTMLElement; draw(): void; time(): void } {
  const adds = h('section', { class: 'adds', 'aria-label': 'Add an entry' });
  const saved = h('section', { class: 'saved', 'aria-label': 'What was written', tabindex: '-1' });
  const trouble = h('div', { role: 'status' });
  const due = h('section', { class: 'due', 'aria-label': 'Due' });
  const list = logList();
  const quick = quickLine((written) => showSaved(written, null));
  const element = h('div', { class: 'view log-view' }, trouble, saved, adds, quick.element, due, list.element);
  let form: ReturnType<typeof entryForm> | null = null;
  saved.hidden = true;

  const showSaved = (written: Written, word: string | null) => {
    const ids = written.entries.map((entry) => entry.id);
    const sentences = written.entries.map((entry) => h('p', { class: 'said' }, kindIcon(entry.kind), h('span', {}, entry.sentence)));
    const warnings = written.faults.map((fault) => h('p', { class: 'field-fault warning' }, fault.message, fault.remedy ? `; ${fault.remedy}` : ''));
    const back = async () => {
      try {
        const answer = await takeBack(ids);
        clear(saved, h('p', { class: 'said' }, kindIcon('undo'), h('span', {}, answer.done ? 'Taken back. Both entries stay in the book, neither counts.' : `Not taken back: ${answer.faults.map((fault) => fault.message).join('; ')}`)));
        saved.focus();
        list.reload();
      } catch (error) {
        complain(error);
      }
    };
    saved.hidden = false;
    clear(saved, h('p', { class: 'saved-head' }, 'Saved'), ...sentences, ...warnings,
      h('div', { class: 'row' }, button('Take back', () => void back(), 'danger', { id: 'take-back' }), word ? button(`Another ${(kindOf(word)?.label ?? word).toLowerCase()}`, () => openForm(word)) : null));
    window.scrollTo({ top: 0 });
    saved.focus({ preventScroll: true });
    list.reload();
  };

  const tile = (word: string, main: boolean) => {
    const kind = kindOf(word);
    return kind ? h('button', { type: 'button', class: main ? 'add main' : 'add', 'data-add': word, click: () => openForm(word) }, kindIcon(word), h('span', {}, short[word] ?? kind.label)) : null;
  };
  const drawButtons = () => {
    form = null;
    clear(adds, h('div', { class: 'add-grid' }, ...first.map((word, order) => tile(word, order < 2))),
      h('details', { class: 'more' }, h('summary', {}, 'Something else'), h('div', { class: 'add-grid' }, ...others.map((word) => tile(word, false)))));
    [quick.element, due, list.element].forEach((part) => { part.hidden = false; });
  };
  const openForm = (word: string, preset?: Record<string, string>) => {
    const kind = kindOf(word);
    if (!kind) {
      return;
    }
    saved.hidden = true;
    form = entryForm(kind, {
      preset,
      close: drawButtons,
      saved: (written) => {
        drawButtons();
        showSaved(written, word);
      },
    });
    clear(adds, form.element);
    [quick.element, due, list.element].forEach((part) => { part.hidden = true; });
    form.begin();
  };
  openKind = openForm;

  let version = '';
  const draw = () => {
    clear(trouble, book.trouble ? h('p', { class: 'field-fault error' }, `The logbook: ${book.trouble}`) : null,
      book.start && !book.start.can_write ? h('p', { class: 'field-fault warning' }, book.start.why_not) : null);
    if (book.start && form === null && adds.childElementCount === 0) {
      drawButtons();
    }
    if (book.start && !book.start.can_write) {
      adds.hidden = quick.element.hidden = true;
    }
    const top = book.due.filter((one) => one.is_due || one.is_soon);
    clear(due, ...(top.length ? [h('h2', {}, 'Due'), dueList(top.slice(0, 4))] : []));
    const now = `${state.units} ${book.start?.version ?? ''}`;
    if (book.start && (version !== now || (list.hasFailed() && book.trouble === ''))) {
      version = now;
      list.reload();
    }
    form?.renew();
  };
  on(['book'], () => {
    if (state.view === 'log') {
      draw();
    }
  });
  watchBook(() => ['log', 'yard', 'life'].includes(state.view));
  let units = '';
  return {
    element,
    draw: () => {
      draw();
      if (units !== state.units || book.start === null) {
        units = state.units;
        void refresh();
      }
    },
    time: () => undefined,
  };
}

/** One line of words, as the command line takes them, with what is understood below while it is typed. */
function quickLine(done: (written: Written) => void): { element: HTMLElement } {
  const id = freshId('words');
  const kept = keep.get('words') ?? '';
  const input = h('input', { id, type: 'text', autocomplete: 'off', autocapitalize: 'off', spellcheck: 'false', enterkeyhint: 'send', placeholder: 'pickup cafe 60 L drum 1', value: kept, 'aria-describedby': `${id}-said` });
  const said = h('p', { class: 'quick-said', id: `${id}-said`, role: 'status' }, kept ? 'Not saved yet.' : '');
  let token = newToken();
  let turn = 0;
  const later = debounce(300);
  const look = async () => {
    turn += 1;
    const mine = turn;
    const words = input.value.trim();
    if (words === '') {
      said.textContent = '';
      return;
    }
    try {
      const answer = await api.logAdd({ words, dry: true, units: state.units });
      if (mine === turn && answer.said) {
        said.textContent = answer.said.understood ? `Will write: ${answer.said.sentence}` : answer.said.question;
        said.classList.toggle('asks', !answer.said.understood);
      }
    } catch {
      // The line stays as it is; saving tells what is wrong.
    }
  };
  input.addEventListener('input', () => {
    token = newToken();
    keep.set('words', input.value.trim() === '' ? null : input.value);
    later.later(() => void look());
  });
  const form = h('form', { class: 'quick', 'aria-label': 'Add by words' }, h('label', { for: id }, 'Or in words'), h('div', { class: 'field-control' }, input, h('button', { type: 'submit', class: 'button main' }, 'Add')), said);
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    later.cancel();
    turn += 1;
    const words = input.value.trim();
    if (words === '') {
      input.focus();
      return;
    }
    write({ words }, token).then((written) => {
      if (written.done) {
        input.value = '';
        said.textContent = '';
        token = newToken();
        keep.set('words', null);
        done(written);
      } else {
        said.classList.add('asks');
        said.textContent = written.said?.question || written.faults.map((fault) => [fault.message, fault.remedy].filter(Boolean).join('; ')).join('. ') || 'Not understood.';
        input.focus();
      }
    }, (error: unknown) => {
      said.classList.add('asks');
      said.textContent = `Not saved: ${error instanceof Error ? error.message : String(error)} The words are kept here.`;
    });
  });
  return { element: form };
}
