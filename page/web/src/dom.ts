// SPDX-License-Identifier: GPL-3.0-or-later
// Small helpers to build HTML and SVG without markup in strings.

type Value = string | number | boolean | null | undefined | ((event: never) => void);
type Props = Record<string, Value>;
export type Kid = Node | string | null | undefined | false;

function fill(element: Element, props: Props, kids: Kid[]): void {
  for (const [key, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) {
      continue;
    }
    if (typeof value === 'function') {
      element.addEventListener(key, value as unknown as EventListener);
    } else if (key === 'value' && element instanceof HTMLElement) {
      (element as HTMLInputElement).value = String(value);
    } else {
      element.setAttribute(key, value === true ? '' : String(value));
    }
  }
  for (const kid of kids) {
    if (kid !== null && kid !== undefined && kid !== false) {
      element.append(kid);
    }
  }
}

/** An HTML element; a function among the properties is a listener under the event's name. */
export function h<K extends keyof HTMLElementTagNameMap>(tag: K, props: Props = {}, ...kids: Kid[]): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  fill(element, props, kids);
  return element;
}

/** An SVG element. */
export function s<K extends keyof SVGElementTagNameMap>(tag: K, props: Props = {}, ...kids: Kid[]): SVGElementTagNameMap[K] {
  const element = document.createElementNS('http://www.w3.org/2000/svg', tag);
  fill(element, props, kids);
  return element;
}

export function clear(element: Element, ...kids: Kid[]): void {
  element.replaceChildren(...kids.filter((kid): kid is Node | string => kid !== null && kid !== undefined && kid !== false));
}

/** A button with words; `kind` picks its look: '' plain, 'main', 'quiet', 'danger'. */
export function button(label: string, press: () => void, kind = '', props: Props = {}): HTMLButtonElement {
  return h('button', { type: 'button', class: `button ${kind}`.trim(), click: press, ...props }, label);
}

let counter = 0;
export function freshId(stem: string): string {
  counter += 1;
  return `${stem}-${counter}`;
}

export function must<T extends Element>(selector: string): T {
  const found = document.querySelector<T>(selector);
  if (!found) {
    throw new Error(`the page lacks ${selector}`);
  }
  return found;
}

/** Calls `run` once things have been quiet for `wait_ms`; `flush` at once. */
export function debounce(wait_ms: number): { later(run: () => void): void; cancel(): void } {
  let timer = 0;
  return {
    later(run) {
      window.clearTimeout(timer);
      timer = window.setTimeout(run, wait_ms);
    },
    cancel() {
      window.clearTimeout(timer);
    },
  };
}
