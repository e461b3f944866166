// SPDX-License-Identifier: GPL-3.0-or-later
// Puts the page together and begins.
import './style.css';
import './style_yard.css';
import './style_vehicle.css';
import 'uplot/dist/uPlot.min.css';
import { api } from './api';
import { button, clear, h, must } from './dom';
import { createEditor } from './editor';
import { isDirty, openDialog, openFile, openText, save, saveAs, takeHomeDialog, textDialog } from './files';
import { dialog, notice } from './notice';
import { createPicture } from './picture';
import { complain, evaluate, isBusy, redo, setText, undo } from './run';
import { emit, keep, on, state, type View } from './state';
import { createTimeBar } from './timebar';
import { setQuantities, setSystem } from './units';
import { createVerdict } from './verdict';
import { viewCompare } from './view_compare';
import { viewCost } from './view_cost';
import { renderFaults } from './view_faults';
import { viewJob } from './view_job';
import { viewLog } from './view_log';
import { viewLife } from './view_log_life';
import { viewOil } from './view_oil';
import { viewPath } from './view_path';
import { viewStart } from './view_start';
import { renderWire } from './view_wire';
import { viewYard } from './view_yard';

/** Two halves of the work; a phone shows the tabs of one at a time. */
type Area = 'vehicle' | 'yard';
const areas: { key: Area; label: string }[] = [{ key: 'vehicle', label: 'Vehicle' }, { key: 'yard', label: 'Yard and log' }];
const views: { key: View; label: string; area: Area }[] = [
  { key: 'path', label: 'Vehicle and path', area: 'vehicle' }, { key: 'oil', label: 'Oil', area: 'vehicle' }, { key: 'start', label: 'Cold start', area: 'vehicle' },
  { key: 'wire', label: 'Wiring', area: 'vehicle' }, { key: 'faults', label: 'Faults', area: 'vehicle' }, { key: 'compare', label: 'Compare', area: 'vehicle' },
  { key: 'log', label: 'Log', area: 'yard' }, { key: 'yard', label: 'Yard', area: 'yard' }, { key: 'life', label: 'Filters', area: 'yard' }, { key: 'cost', label: 'Costs', area: 'yard' },
];
const areaOf = (view: View): Area => views.find((other) => other.key === view)?.area ?? 'vehicle';

function open(name: string): void {
  state.selected = name;
  if (state.view !== 'path' && state.view !== 'start') {
    go('path');
  }
  emit('select');
}

function go(view: View): void {
  state.view = view;
  keep.set('view', areaOf(view) === 'yard' ? view : null); // who writes the log comes back to the log
  emit('view');
}

function wordsDialog(): void {
  void dialog('Words', () => [h('dl', { class: 'words' }, ...state.catalogue.terms.flatMap((term) => [h('dt', {}, term.word), h('dd', {}, term.about)]))]);
}

function helpDialog(): void {
  void dialog('Help', () => [
    h('h3', {}, 'Three steps'),
    h('ol', {}, h('li', {}, 'Read the verdict. It names the part that decides and what would mend it.'), h('li', {}, 'Drag the time bar at the foot, or press Play. The picture shows that moment.'), h('li', {}, 'Tap a part, change it, watch the dashed line of the run before.')),
    h('h3', {}, 'Yard and log'),
    h('p', {}, 'Tap what happened, type the number, Save. Take back undoes it; nothing is erased. A bookmark to /#view=log opens the log at once.'),
    h('h3', {}, 'Keys'),
    h('dl', { class: 'pairs' }, ...[['Arrow keys on the time bar', 'one moment on or back'], ['Page up, page down', 'next event, event before'], ['Space on the time bar', 'play or pause'], ['Arrow keys on a part', 'next part; Enter opens it'], ['Escape', 'closes the panel'], ['Ctrl Z, Ctrl Y', 'undo, redo'], ['Ctrl S', 'save']].flatMap(([key, what]) => [h('dt', {}, key), h('dd', {}, what)])),
    h('p', {}, 'Oilwright calculates; it does not replace a licensed workshop, and local rules come first.')]);
}

function applyTheme(): void {
  if (state.theme === 'auto') {
    document.documentElement.removeAttribute('data-theme');
  } else {
    document.documentElement.setAttribute('data-theme', state.theme);
  }
}

function settingsDialog(): void {
  void dialog('Settings', () => {
    const choice = <T extends string>(id: string, label: string, value: T, list: [T, string][], set: (value: T) => void) => {
      const select = h('select', { id, change: () => set(select.value as T) }, ...list.map(([key, words]) => h('option', { value: key }, words)));
      select.value = value;
      return h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, label)), h('div', { class: 'field-control' }, select));
    };
    return [
      choice('set-units', 'Units', state.units, [['metric', 'metric'], ['us', 'US']], (value) => {
        state.units = value;
        keep.set('units', value);
        setSystem(value);
        void evaluate({ keepGhost: true });
        emit('units');
      }),
      choice('set-theme', 'Colours', state.theme, [['auto', 'as the device'], ['light', 'light'], ['dark', 'dark']], (value) => {
        state.theme = value;
        keep.set('theme', value);
        applyTheme();
        emit('rig', 'time');
      }),
    ];
  });
}

function build(): void {
  const picture = createPicture(open);
  const verdict = createVerdict(open);
  const editor = createEditor();
  const timeBar = createTimeBar();
  const made = {
    path: viewPath(picture, open),
    oil: viewOil(),
    start: viewStart(open),
    wire: viewJob('wire', 'Wiring', 'Volts at every load, wire and fuse for every circuit, what is left to crank.', renderWire),
    faults: viewJob('faults', 'Faults', 'Which single faults strand the driver and which let him limp home.', (result) => renderFaults(result, open)),
    compare: viewCompare(),
    log: viewLog(),
    yard: viewYard(),
    life: viewLife(),
    cost: viewCost(),
  };

  const nav = must<HTMLElement>('#views');
  const tabs = views.map((view) => button(view.label, () => go(view.key), 'tab', { 'data-view': view.key }));
  /** The view each half was left at. */
  const left: Record<Area, View> = { vehicle: 'path', yard: 'log' };
  const switches = areas.map((area) => button(area.label, () => go(left[area.key]), 'area', { 'data-area': area.key }));
  clear(nav, h('div', { class: 'areas', role: 'group', 'aria-label': 'Which half of the work' }, ...switches),
    ...areas.map((area) => h('div', { class: 'tabs', 'data-tabs': area.key }, ...tabs.filter((_, order) => views[order].area === area.key))));

  const title = h('span', { class: 'file-title' });
  const undoButton = button('Undo', () => void undo(), '', { id: 'undo' });
  const redoButton = button('Redo', () => void redo(), '', { id: 'redo' });
  const saveButton = button('Save', () => void save(), '', { id: 'save' });
  clear(must('#tools'), title, button('Open', () => void openDialog(), '', { id: 'open' }), saveButton, undoButton, redoButton,
    h('details', { class: 'menu' }, h('summary', { class: 'button' }, 'More'), h('div', { class: 'menu-list' },
      button('Save as', () => void saveAs()), button('Export', () => void takeHomeDialog(() => picture.svg()), '', { id: 'export' }), button('File\'s text', () => void textDialog(), '', { id: 'text' }), button('Words', wordsDialog), button('Settings', settingsDialog, '', { id: 'settings' }), button('Help', helpDialog))));
  const menu = must<HTMLDetailsElement>('.menu');
  menu.addEventListener('click', (event) => {
    if ((event.target as Element).closest('.menu-list button')) {
      menu.open = false;
    }
  });
  menu.addEventListener('keydown', (event) => {
    if (event.key === 'Escape' && menu.open) {
      menu.open = false;
      menu.querySelector('summary')?.focus();
    }
  });
  document.addEventListener('pointerdown', (event) => {
    if (!menu.contains(event.target as Node)) {
      menu.open = false;
    }
  });

  const stage = must<HTMLElement>('#stage');
  must('#verdict-place').replaceWith(verdict.element);
  must('#editor-place').replaceWith(editor.element);
  must('#time-place').replaceWith(timeBar.element);

  const drawView = () => {
    const current = made[state.view];
    const isNew = stage.firstElementChild !== current.element;
    if (isNew) {
      stage.replaceChildren(current.element);
      window.scrollTo({ top: 0 });
    }
    const area = areaOf(state.view);
    left[area] = state.view;
    document.body.dataset.area = area;
    switches.forEach((item) => item.setAttribute('aria-pressed', String(item.getAttribute('data-area') === area)));
    // The verdict and the time bar belong to one run; the other views have their own.
    const run = state.view === 'path' || state.view === 'start';
    verdict.element.hidden = !run;
    timeBar.element.hidden = !run;
    document.querySelectorAll<HTMLElement>('.skip').forEach((link) => { link.hidden = !run && link.getAttribute('href') !== '#stage'; });
    document.body.classList.toggle('with-time', run);
    tabs.forEach((tab) => {
      if (tab.getAttribute('data-view') === state.view) {
        tab.setAttribute('aria-current', 'page');
        if (isNew) {
          tab.scrollIntoView({ block: 'nearest', inline: 'nearest' });
        }
      } else {
        tab.removeAttribute('aria-current');
      }
    });
    if (state.read !== null || area === 'yard') {
      current.draw();
    }
  };
  on(['view', 'rig', 'units'], drawView);
  on(['rig', 'units'], () => {
    verdict.draw();
    timeBar.draw();
  });
  on(['time'], () => {
    made[state.view].time();
    verdict.time();
    timeBar.time();
  });
  on(['select'], () => {
    editor.draw();
    picture.select();
  });
  on(['rig', 'file'], () => {
    const dirty = isDirty();
    title.textContent = `${state.read?.name || state.file?.name || 'new rig'}${dirty ? ' (changed)' : ''}`;
    document.title = `${state.read?.name || 'Oilwright'}${dirty ? ' *' : ''} | Oilwright`;
    undoButton.disabled = state.past.length === 0;
    redoButton.disabled = state.future.length === 0;
    saveButton.classList.toggle('main', dirty);
  });
  // Last of all: giving the focus back asks for a layout, which is then the only one.
  on(['rig', 'units'], () => editor.draw());
  on(['busy'], () => document.body.classList.toggle('busy', isBusy()));

  let unfolded: HTMLDetailsElement[] = [];
  window.addEventListener('beforeprint', () => { // on paper everything is open, and ink is dark
    unfolded = [...document.querySelectorAll<HTMLDetailsElement>('.view > details.panel:not([open]), .job-body > details.panel:not([open])')];
    unfolded.forEach((details) => { details.open = true; });
    document.documentElement.setAttribute('data-theme', 'light');
    made[state.view].draw();
    made[state.view].time();
  });
  window.addEventListener('afterprint', () => {
    unfolded.splice(0).forEach((details) => { details.open = false; });
    applyTheme();
    made[state.view].draw();
  });
  document.addEventListener('keydown', (event) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || event.altKey) {
      return;
    }
    const typing = event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
    if (key === 's') {
      event.preventDefault();
      void save();
    } else if (!typing && key === 'z' && !event.shiftKey) {
      event.preventDefault();
      void undo();
    } else if (!typing && (key === 'y' || (key === 'z' && event.shiftKey))) {
      event.preventDefault();
      void redo();
    }
  });
  emit('view');
}

async function begin(): Promise<void> {
  const [start, catalogue] = await Promise.all([api.start(), api.catalogue()]);
  state.start = start;
  state.catalogue = catalogue;
  state.units = keep.get('units') === 'us' ? 'us' : 'metric';
  const theme = keep.get('theme');
  state.theme = theme === 'light' || theme === 'dark' ? theme : 'auto';
  setQuantities(start.quantities);
  setSystem(state.units);
  applyTheme();
  const asked = /^#view=(\w+)$/.exec(window.location.hash)?.[1] ?? keep.get('view');
  state.view = views.find((view) => view.key === asked)?.key ?? 'path';
  build();
  const draft = keep.get('draft');
  const last = keep.get('file');
  const named = /^#file=(.+)$/.exec(window.location.hash);
  if (named) { // the command line named it
    window.history.replaceState(null, '', window.location.pathname);
    const name = decodeURIComponent(named[1]);
    if (draft === null || window.confirm(`Changes from last time were not saved. Open ${name} and lose them?`)) {
      await openFile(name);
      return;
    }
  }
  if (draft !== null) {
    try {
      const kept = JSON.parse(draft) as { name: string | null; stamp: string | null; text: string; saved: string };
      await openText(kept.text, kept.name !== null && kept.stamp !== null ? { name: kept.name, stamp: kept.stamp } : null);
      state.savedText = kept.saved;
      emit('file');
      notice('Your changes from last time are here; they are not saved yet.');
      return;
    } catch {
      keep.set('draft', null);
    }
  }
  if (last !== null && start.files.some((file) => file.name === last)) {
    await openFile(last);
    return;
  }
  const demo = start.templates.find((template) => template.key === start.demo) ?? start.templates[0];
  if (demo) {
    await openText(demo.text, null);
  } else if (start.files.some((file) => file.kind === 'rig')) {
    await openFile(start.files.find((file) => file.kind === 'rig')?.name ?? '');
  } else {
    await setText('', { fresh: true });
  }
}

begin().then(() => {
  document.body.classList.add('ready');
  performance.mark('oilwright-ready');
}, (error) => {
  must('#stage').textContent = '';
  complain(error);
});
