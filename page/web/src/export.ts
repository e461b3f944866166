// SPDX-License-Identifier: GPL-3.0-or-later
// Takes the picture home: SVG, PNG, CSV, and the rig file itself.
import { h, s } from './dom';
import { at, state } from './state';
import { toShown, unitLabel } from './units';

export function download(name: string, kind: string, data: Blob | string): void {
  const address = URL.createObjectURL(typeof data === 'string' ? new Blob([data], { type: kind }) : data);
  const link = h('a', { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  window.setTimeout(() => URL.revokeObjectURL(address), 10000);
}

export function stem(): string {
  const name = state.file?.name.replace(/\.(ya?ml|json)$/, '') ?? state.read?.name ?? 'rig';
  return name.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '') || 'rig';
}

const kept = ['fill', 'stroke', 'stroke-width', 'stroke-dasharray', 'stroke-linecap', 'stroke-linejoin', 'font-size', 'font-weight', 'font-family', 'text-anchor', 'opacity', 'fill-opacity', 'visibility', 'paint-order'];

/** A copy whose looks stand in attributes, so that it needs no style sheet. */
function plain(source: SVGSVGElement): SVGSVGElement {
  const copy = source.cloneNode(true) as SVGSVGElement;
  const from = [source, ...source.querySelectorAll<SVGElement>('*')];
  const to = [copy, ...copy.querySelectorAll<SVGElement>('*')];
  from.forEach((element, order) => {
    const style = getComputedStyle(element);
    for (const key of kept) {
      const value = style.getPropertyValue(key);
      if (value !== '') {
        to[order].setAttribute(key, value);
      }
    }
    to[order].removeAttribute('class');
    to[order].removeAttribute('tabindex');
    to[order].removeAttribute('role');
  });
  return copy;
}

/** The picture as one stand-alone drawing with its verdict on top. */
export function pictureSvg(pieces: SVGSVGElement[]): { text: string; width: number; height: number } {
  const widths = pieces.map((piece) => Number(piece.getAttribute('width')));
  const height = Math.max(...pieces.map((piece) => Number(piece.getAttribute('height')))) + 70;
  const width = widths.reduce((sum, value) => sum + value, 0) + 20;
  const style = getComputedStyle(document.documentElement);
  const ink = style.getPropertyValue('--ink').trim();
  const svg = s('svg', { xmlns: 'http://www.w3.org/2000/svg', width, height, viewBox: `0 0 ${width} ${height}` },
    s('rect', { width, height, fill: style.getPropertyValue('--paper').trim() }),
    s('text', { x: 12, y: 26, 'font-size': 19, 'font-weight': 700, 'font-family': 'system-ui, sans-serif', fill: ink }, state.read?.name ?? ''),
    s('text', { x: 12, y: 50, 'font-size': 16, 'font-family': 'system-ui, sans-serif', fill: ink }, state.run?.verdict.headline ?? ''));
  let x = 10;
  pieces.forEach((piece, order) => {
    const copy = plain(piece);
    copy.setAttribute('x', String(x));
    copy.setAttribute('y', '64');
    x += widths[order];
    svg.append(copy);
  });
  return { text: new XMLSerializer().serializeToString(svg), width, height };
}

/** Any drawing of the page by itself, with lines of text on top. */
export function plainSvg(source: SVGSVGElement, lines: string[]): string {
  const style = getComputedStyle(document.documentElement);
  const width = Number(source.getAttribute('width'));
  const high = Number(source.getAttribute('height')) + 24 * lines.length + 20;
  const copy = plain(source);
  copy.setAttribute('y', String(24 * lines.length + 10));
  return new XMLSerializer().serializeToString(s('svg', { xmlns: 'http://www.w3.org/2000/svg', width: width + 20, height: high, viewBox: `-10 0 ${width + 20} ${high}` },
    s('rect', { x: -10, width: width + 20, height: high, fill: style.getPropertyValue('--paper').trim() }),
    ...lines.map((line, order) => s('text', { x: 0, y: 24 * (order + 1), 'font-size': 16, 'font-weight': order === 0 ? 700 : 400, 'font-family': 'system-ui, sans-serif', fill: style.getPropertyValue('--ink').trim() }, line)), copy));
}

export function saveSvg(pieces: SVGSVGElement[]): void {
  download(`${stem()}.svg`, 'image/svg+xml', pictureSvg(pieces).text);
}

export async function savePng(pieces: SVGSVGElement[]): Promise<void> {
  const { text, width, height } = pictureSvg(pieces);
  const image = new Image();
  const address = URL.createObjectURL(new Blob([text], { type: 'image/svg+xml' }));
  try {
    await new Promise<void>((done, fail) => {
      image.onload = () => done();
      image.onerror = () => fail(new Error('The picture could not be drawn.'));
      image.src = address;
    });
    const canvas = h('canvas', { width: width * 2, height: height * 2 });
    canvas.getContext('2d')?.drawImage(image, 0, 0, width * 2, height * 2);
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/png'));
    if (!blob) {
      throw new Error('The picture could not be drawn.');
    }
    download(`${stem()}.png`, 'image/png', blob);
  } finally {
    URL.revokeObjectURL(address);
  }
}

/** RFC 4180: all samples, in the units on the screen. */
export function csvText(): string {
  const run = state.run;
  if (!run) {
    return '';
  }
  const quote = (text: string) => (/[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
  type Pick = { head: string; quantity: string; column: Parameters<typeof at>[0] };
  const unit = (quantity: string) => unitLabel(quantity);
  const v = run.series;
  const picks: Pick[] = [
    { head: 'speed', quantity: 'speed', column: v.speed_m_s }, { head: 'coolant', quantity: 'temperature', column: v.coolant_k },
    { head: 'pump inlet', quantity: 'temperature', column: v.inlet_k }, { head: 'pump inlet', quantity: 'kinematic viscosity', column: v.inlet_kinematic_m2_s },
    { head: 'pump inlet limit', quantity: 'kinematic viscosity', column: v.inlet_limit_m2_s }, { head: 'pump inlet', quantity: 'pressure', column: v.inlet_pa },
    { head: 'fuel asked', quantity: 'volume flow', column: v.request_m3_s }, { head: 'fuel burned', quantity: 'volume flow', column: v.burned_m3_s }, { head: 'heaters', quantity: 'power', column: v.heaters_w },
  ];
  for (const part of v.parts) {
    const name = run.names[part.index] ?? `part ${part.index}`;
    picks.push(
      { head: `${name} in`, quantity: 'temperature', column: part.in_k }, { head: `${name} out`, quantity: 'temperature', column: part.out_k },
      { head: `${name} out`, quantity: 'kinematic viscosity', column: part.out_m2_s }, { head: `${name} in`, quantity: 'pressure', column: part.in_pa },
      { head: `${name} out`, quantity: 'pressure', column: part.out_pa }, { head: `${name} flow`, quantity: 'volume flow', column: part.flow_m3_s }, { head: `${name} heat`, quantity: 'power', column: part.heat_w });
  }
  const lines = [['time (s)', ...picks.map((pick) => `${pick.head} (${unit(pick.quantity)})`)].map(quote).join(',')];
  for (let sample = 0; sample < v.count; sample += 1) {
    lines.push([v.time_s[sample], ...picks.map((pick) => {
      const value = at(pick.column, sample);
      return value === null ? '' : Number(toShown(pick.quantity, value).toPrecision(6));
    })].join(','));
  }
  return `${lines.join('\r\n')}\r\n`;
}
