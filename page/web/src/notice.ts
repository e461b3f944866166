// SPDX-License-Identifier: GPL-3.0-or-later
// Short messages at the edge of the page, and dialogs.
import { button, h, must, type Kid } from './dom';

export function notice(text: string, kind: 'plain' | 'error' = 'plain'): void {
  const list = must<HTMLElement>('#notices');
  const item = h('div', { class: `notice ${kind}`, role: kind === 'error' ? 'alert' : 'status' }, h('span', {}, text));
  const gone = () => item.remove();
  item.append(button('Close', gone, 'quiet'));
  [...list.children].filter((other) => other.firstElementChild?.textContent === text).forEach((other) => other.remove());
  list.append(item);
  while (list.children.length > 3) {
    list.firstElementChild?.remove();
  }
  if (kind === 'plain') {
    window.setTimeout(gone, 7000);
  }
}

/** Opens a dialog; resolves when it is closed. `close` is handed to the builder. */
export function dialog(title: string, build: (close: () => void) => Kid[]): Promise<void> {
  return new Promise((done) => {
    const box = h('dialog', { class: 'dialog', 'aria-label': title });
    const close = () => box.close();
    box.append(
      h('div', { class: 'dialog-head' }, h('h2', {}, title), button('Close', close, 'quiet')),
      h('div', { class: 'dialog-body' }, ...build(close)),
    );
    box.addEventListener('close', () => {
      box.remove();
      done();
    });
    box.addEventListener('click', (event) => {
      if (event.target === box) {
        close();
      }
    });
    document.body.append(box);
    box.showModal();
  });
}
