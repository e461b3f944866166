// SPDX-License-Identifier: GPL-3.0-or-later
// Opening, saving, templates, the text itself.
import { api, ApiError } from './api';
import { button, freshId, h } from './dom';
import { csvText, download, savePng, saveSvg, stem } from './export';
import { dialog, notice } from './notice';
import { allDone, complain, keepDraft, replaceText, setText } from './run';
import { emit, keep, state } from './state';

export function isDirty(): boolean {
  return state.text !== state.savedText;
}

function mayLeave(): boolean {
  return !isDirty() || window.confirm('The changes since the last save will be lost. Go on?');
}

export async function openText(text: string, file: { name: string; stamp: string } | null): Promise<void> {
  state.file = file;
  state.savedText = text;
  keep.set('file', file?.name ?? null);
  await setText(text, { fresh: true });
}

export async function openFile(name: string): Promise<void> {
  const file = await api.open(name);
  await openText(file.text, { name: file.name, stamp: file.stamp });
}

/** The folder's files as they are now: someone else may have saved one. */
async function listFiles(): Promise<void> {
  try {
    state.start.files = (await api.start()).files;
  } catch {
    // The list before will do; what cannot be opened says so.
  }
}

async function write(name: string, stamp: string | null, force: boolean): Promise<void> {
  const answer = await api.save(name, state.text, stamp, force);
  state.file = { name: answer.name, stamp: answer.stamp };
  state.savedText = state.text;
  keep.set('file', answer.name);
  keepDraft();
  emit('file');
  notice(`Saved as ${answer.name}.`);
  await listFiles();
}

export async function save(): Promise<void> {
  await allDone(); // what was typed last belongs to it
  if (!state.start.can_write) {
    download(`${stem()}.yaml`, 'application/yaml', state.text);
    notice('This page may not write in the shop\'s folder; the file went to your downloads.');
    return;
  }
  if (!state.file) {
    await saveAs();
    return;
  }
  await overwriting(state.file.name, state.file.stamp);
}

async function overwriting(name: string, stamp: string | null): Promise<void> {
  try {
    await write(name, stamp, false);
  } catch (error) {
    if (error instanceof ApiError && (error.code === 'changed' || error.code === 'exists')) {
      const question = error.code === 'changed' ? `${name} was changed by someone else since you opened it.` : `There is a file ${name} already.`;
      if (window.confirm(`${question} Write over it?`)) {
        await write(name, stamp, true).catch(complain);
      }
      return;
    }
    complain(error);
  }
}

export async function saveAs(): Promise<void> {
  let chosen: string | null = null;
  await dialog('Save as', (close) => {
    const id = freshId('name');
    const input = h('input', { id, type: 'text', value: state.file?.name ?? `${stem()}.yaml`, autocomplete: 'off' });
    const go = () => {
      const name = input.value.trim();
      chosen = name === '' ? null : /\.(ya?ml|json)$/.test(name) ? name : `${name}.yaml`;
      close();
    };
    input.addEventListener('keydown', (event) => {
      if (event.key === 'Enter') {
        event.preventDefault();
        go();
      }
    });
    return [h('div', { class: 'field' }, h('div', { class: 'field-head' }, h('label', { for: id }, 'File name')), h('div', { class: 'field-control' }, input), h('p', { class: 'field-help' }, `In the folder ${state.start.folder}.`)), button('Save', go, 'main')];
  });
  if (chosen !== null) {
    await overwriting(chosen, state.file?.name === chosen ? state.file.stamp : null);
  }
}

export async function openDialog(): Promise<void> {
  await listFiles();
  return dialog('Open or begin', (close) => {
    const rigs = state.start.files.filter((file) => file.kind === 'rig');
    const pick = h('input', { type: 'file', accept: '.yaml,.yml,.json', class: 'sr', 'aria-label': 'A rig file of this device' });
    pick.addEventListener('change', () => {
      const file = pick.files?.[0];
      if (file && mayLeave()) {
        close();
        file.text().then((text) => openText(text, null)).catch(complain);
      }
    });
    return [
      h('h3', {}, 'Begin with a template'),
      h('div', { class: 'kind-list' }, ...state.start.templates.map((template) => h('button', {
        type: 'button', class: 'kind', 'data-template': template.key, click: () => {
          if (mayLeave()) {
            close();
            openText(template.text, null).catch(complain);
          }
        },
      }, h('strong', {}, template.title), h('span', {}, template.about)))),
      h('h3', {}, 'Files in the shop\'s folder'),
      rigs.length === 0 ? h('p', {}, 'There is none yet.') : null,
      h('div', { class: 'kind-list' }, ...rigs.map((file) => h('button', {
        type: 'button', class: 'kind', 'data-file': file.name, click: () => {
          if (mayLeave()) {
            close();
            openFile(file.name).catch(complain);
          }
        },
      }, h('strong', {}, file.title || file.name), h('span', {}, file.name)))),
      h('h3', {}, 'From this device'), pick, button('Choose a file', () => pick.click()),
    ];
  });
}

/** The text itself, for what no field holds. */
export function textDialog(): Promise<void> {
  return dialog('The file\'s text', (close) => {
    const id = freshId('text');
    const area = h('textarea', { id, class: 'mono', rows: 22, spellcheck: 'false' });
    area.value = state.text;
    return [
      h('label', { for: id }, 'The rig file as it will be saved. Comments are kept.'), area,
      h('div', { class: 'row' }, button('Use this text', () => {
        close();
        replaceText(area.value).catch(complain);
      }, 'main'), button('Leave it', close)),
    ];
  });
}

export function takeHomeDialog(pieces: () => SVGSVGElement[]): Promise<void> {
  return dialog('Export', (close) => {
    const item = (title: string, about: string, run: () => void, kind: string) => h('button', { type: 'button', class: 'kind', 'data-export': kind, click: () => {
      close();
      run();
    } }, h('strong', {}, title), h('span', {}, about));
    return [h('div', { class: 'kind-list' },
      item('Drawing (SVG)', 'the fuel path and its bands, sharp at any size', () => saveSvg(pieces()), 'svg'),
      item('Picture (PNG)', 'for a message or a report', () => void savePng(pieces()).catch(complain), 'png'),
      item('Table (CSV)', 'all values through the morning, in the units shown', () => download(`${stem()}.csv`, 'text/csv', csvText()), 'csv'),
      item('Rig file (YAML)', 'what the command line reads', () => download(`${stem()}.yaml`, 'application/yaml', state.text), 'yaml'),
      item('Print', 'this view on paper', () => window.print(), 'print'))];
  });
}
