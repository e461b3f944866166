// SPDX-License-Identifier: GPL-3.0-or-later
// The main picture: the fuel path laid out straight, with the bands below it. The frame is drawn when the rig, the way of the
// fuel or the room changes; only what moves is drawn again when time does.
import { BAND_COUNT, bandAxis, bandContents, bandScales, type BandScales } from './bands';
import { clear, h, s } from './dom';
import { layoutPath, wayBack, type Layout, type Wire } from './layout';
import { ratioText, thickness, thicknessWords } from './scale';
import { at, momentAt, state } from './state';
import { symbol } from './symbols';
import type { GoodRun, Part, PartSeries, Read } from './types';
import { show } from './units';

/** Less flow than this, some 0.004 L/h, counts as none. */
const STILL_M3_S = 1e-9;
/** Parts of which one flow does not tell what flows in the lines that meet there. */
const branching = new Set(['tank', 'tee', 'valve', 'injection pump', 'injectors']);
const NAME_HEIGHT = 46;
const ROW = 88;
const FIRST = NAME_HEIGHT + 36;

interface Drawn {
  key: string;
  layout: Layout;
  parts: Part[];
  columnWidth: number;
  axis: number;
  scales: BandScales | null;
  wires: { wire: Wire; line: SVGPathElement; label: SVGTextElement | null; arrow: SVGPathElement }[];
  badges: Map<number, SVGTextElement>;
  groups: Map<number, SVGGElement>;
  moving: SVGGElement;
  axisMoving: SVGGElement;
  pick: SVGRectElement;
  height: number;
}

export interface Picture { element: HTMLElement; frame(): void; time(): void; select(): void; svg(): SVGSVGElement[] }

function seriesOf(run: GoodRun | null, index: number): PartSeries | undefined {
  return run?.series.parts.find((part) => part.index === index);
}

/** Words into at most two lines of about `room` characters. */
export function wrap(name: string, room: number): string[] {
  const lines = [''];
  for (const word of name.split(' ')) {
    const last = lines[lines.length - 1];
    if (last !== '' && last.length + 1 + word.length > room && lines.length < 2) {
      lines.push(word);
    } else {
      lines[lines.length - 1] = last === '' ? word : `${last} ${word}`;
    }
  }
  return lines.map((text) => (text.length > room + 3 ? `${text.slice(0, room + 1)}…` : text));
}

/** All values of a part at the moment, as pairs of word and value. */
export function valuesOf(run: GoodRun, index: number, sample: number, kind: string): [string, string][] {
  const part = seriesOf(run, index);
  if (!part) {
    return [];
  }
  if (kind === 'valve' || kind === 'tee') {
    const flow = at(part.flow_m3_s, sample);
    return flow === null ? [] : [['Flow', show('volume flow', Math.abs(flow))]];
  }
  const pair = (quantity: string, a: number | null, b: number | null) =>
    a === null && b === null ? null : `${show(quantity, a, false)} → ${show(quantity, b)}`;
  const limit = at(run.series.inlet_limit_m2_s, sample);
  const out = at(part.out_m2_s, sample);
  const list: [string, string | null][] = [
    ['Temperature', pair('temperature', at(part.in_k, sample), at(part.out_k, sample))],
    ['Viscosity', pair('kinematic viscosity', at(part.in_m2_s, sample), out)],
    ['Against limit', limit !== null && out !== null ? `${ratioText(out / limit)} (${thicknessWords[thickness(out / limit) ?? 0]})` : null],
    ['Pressure', pair('pressure', at(part.in_pa, sample), at(part.out_pa, sample))],
    ['Drop', at(part.drop_pa, sample) === null ? null : show('pressure', at(part.drop_pa, sample))],
    ['Flow', at(part.flow_m3_s, sample) === null ? null : show('volume flow', at(part.flow_m3_s, sample))],
    ['Electric heat', at(part.heat_w, sample) ? show('power', at(part.heat_w, sample)) : null],
    ['From coolant', at(part.coolant_w, sample) ? show('power', at(part.coolant_w, sample)) : null],
    ['Hottest wall', at(part.wall_max_k, sample) === null ? null : show('temperature', at(part.wall_max_k, sample))],
  ];
  return list.filter((row): row is [string, string] => row[1] !== null);
}

export function createPicture(open: (name: string) => void): Picture {
  const main = s('svg', { class: 'picture', role: 'group', 'aria-label': 'Fuel path from tank to injectors' });
  const axisSvg = s('svg', { class: 'picture-axis', 'aria-hidden': 'true' });
  const scroller = h('div', { class: 'picture-scroll', tabindex: '-1' }, axisSvg, main);
  const card = h('div', { class: 'card-values', hidden: true });
  const element = h('div', { class: 'picture-box' }, scroller, card);
  let drawn: Drawn | null = null;

  const showCard = (index: number | null, x: number, y: number) => {
    if (index === null || !state.run || !drawn) {
      card.hidden = true;
      return;
    }
    const part = drawn.parts.find((other) => other.index === index);
    const rows = valuesOf(state.run, index, state.sample, part?.kind ?? '');
    if (!part || rows.length === 0) {
      card.hidden = true;
      return;
    }
    clear(card, h('strong', {}, part.name), h('dl', {}, ...rows.flatMap(([word, value]) => [h('dt', {}, word), h('dd', {}, value)])));
    card.hidden = false;
    const room = element.getBoundingClientRect();
    const left = Math.min(Math.max(4, x - room.left + 16), Math.max(4, room.width - card.offsetWidth - 4));
    const top = Math.min(Math.max(4, y - room.top + 16), Math.max(4, room.height - card.offsetHeight - 4));
    card.style.transform = `translate(${left}px, ${top}px)`;
  };

  main.addEventListener('pointermove', (event) => {
    if (!drawn) {
      return;
    }
    const group = (event.target as Element).closest?.('[data-part]');
    const box = main.getBoundingClientRect();
    const column = Math.floor((event.clientX - box.left) / drawn.columnWidth);
    const below = event.clientY - box.top > FIRST + (drawn.layout.rows - 1) * ROW + 60;
    const index = group ? Number(group.getAttribute('data-part')) : below ? drawn.layout.main[column] : undefined;
    showCard(index ?? null, event.clientX, event.clientY);
  });
  main.addEventListener('pointerleave', () => showCard(null, 0, 0));
  scroller.addEventListener('scroll', () => showCard(null, 0, 0), { passive: true });
  main.addEventListener('click', (event) => {
    const group = (event.target as Element).closest?.('[data-part]');
    const part = group && drawn?.parts.find((other) => other.index === Number(group.getAttribute('data-part')));
    if (part) {
      showCard(null, 0, 0);
      open(part.name);
    }
  });
  main.addEventListener('keydown', (event) => {
    const group = (event.target as Element).closest?.('[data-part]');
    if (!group || !drawn) {
      return;
    }
    if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault();
      (group as SVGGElement).dispatchEvent(new MouseEvent('click', { bubbles: true }));
      return;
    }
    const direction = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (direction) {
      event.preventDefault();
      const groups = [...main.querySelectorAll<SVGGElement>('[data-part]')];
      const next = groups[(groups.indexOf(group as SVGGElement) + direction + groups.length) % groups.length];
      groups.forEach((other) => other.setAttribute('tabindex', other === next ? '0' : '-1'));
      next.focus();
    }
  });

  let lastGood: Read | null = null;
  /** Width of the box, kept so that drawing need not ask for a layout. */
  let room = 0;
  const ways = (read: Read, run: GoodRun | null): { path: number[]; return_path: number[] } => {
    if (!run || run.series.moments.length === 0) {
      return { path: read.path ?? [], return_path: read.return_path ?? [] };
    }
    const moment = momentAt(run, state.sample);
    const pump = read.parts.find((part) => part.kind === 'injection pump');
    const carries = (index: number) => (branching.has(read.parts.find((part) => part.index === index)?.kind ?? '') ? null : at(seriesOf(run, index)?.flow_m3_s, state.sample));
    return { path: moment.path, return_path: pump ? wayBack(pump.index, read.joints ?? [], moment.path, run.back, carries) : moment.return_path };
  };
  const frame = () => {
    const run = state.run;
    // While the text has faults the joints are not known: the last picture stays.
    if (state.read?.ok && state.read.path) {
      lastGood = state.read;
    } else if (!run) {
      lastGood = null;
    }
    const read = lastGood;
    if (!read || !read.joints || !read.path) {
      drawn = null;
      main.replaceChildren();
      axisSvg.replaceChildren();
      return;
    }
    const moment = ways(read, run);
    const layout = layoutPath(read.parts, read.joints, moment.path, moment.return_path);
    room = room || element.clientWidth;
    const narrow = room < 640;
    const axis = narrow ? 78 : 124;
    const columnWidth = Math.max(narrow ? 96 : 94, Math.floor((room - axis - 2) / layout.columns));
    const pathBottom = FIRST + (layout.rows - 1) * ROW + 58;
    const bandHeight = narrow ? 84 : 86;
    const gap = 32;
    const height = pathBottom + 26 + BAND_COUNT * (bandHeight + gap) - gap + 8;
    const width = columnWidth * layout.columns;
    const focused = document.activeElement?.closest?.('[data-part]')?.getAttribute('data-part');

    main.setAttribute('viewBox', `0 0 ${width} ${height}`);
    main.setAttribute('width', String(width));
    main.setAttribute('height', String(height));
    axisSvg.setAttribute('width', String(axis));
    scroller.style.setProperty('--axis-share', String(axis / (axis + layout.columns * columnWidth))); // on paper both shrink alike
    axisSvg.setAttribute('height', String(height));
    axisSvg.setAttribute('viewBox', `0 0 ${axis} ${height}`);
    const px = (column: number) => (column + 0.5) * columnWidth;
    const py = (row: number) => FIRST + row * ROW;
    const half = 26;

    const back = s('g');
    const pick = s('rect', { x: 0, y: 0, width: columnWidth, height, class: 'pick', visibility: 'hidden' });
    const blame = run?.verdict.part ?? null;
    back.append(pick);
    layout.main.forEach((_, column) => back.append(s('path', { d: `M${(column + 1) * columnWidth} ${pathBottom + 20}V${height}`, class: 'column-line' })));

    const wires = layout.wires.map((wire) => {
      const [first, second] = [layout.places.get(wire.from), layout.places.get(wire.to)];
      let points = wire.points.map(([x, y]) => [px(x), py(y)] as [number, number]);
      if (first && second && points.length === 2 && first.row === second.row) {
        const way = points[1][0] > points[0][0] ? 1 : -1;
        points = [[px(first.column) + way * half, py(first.row)], [px(second.column) - way * half, py(second.row)]];
      } else {
        // Ends meet the symbols whatever the width of a column.
        points = points.map(([x, y], order) => {
          const place = order === 0 ? first : order === points.length - 1 ? second : undefined;
          return place && Math.abs(y - py(place.row)) < 1 ? [px(place.column) + (x > px(place.column) ? half : -half), y] : place ? [x, py(place.row) + 22] : [x, y];
        });
      }
      const d = points.map(([x, y], order) => `${order === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');
      const line = s('path', { d, class: 'pipe' });
      let longest = 0;
      for (let order = 1; order + 1 < points.length; order += 1) {
        const size = (k: number) => Math.hypot(points[k + 1][0] - points[k][0], points[k + 1][1] - points[k][1]);
        longest = size(order) > size(longest) ? order : longest;
      }
      const [from, to] = [points[longest], points[longest + 1]];
      const angle = (Math.atan2(to[1] - from[1], to[0] - from[0]) * 180) / Math.PI;
      const middle = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
      const arrow = s('path', { d: 'M-4 -5 5 0 -4 5Z', class: 'arrow' });
      const holder = s('g', { transform: `translate(${middle[0].toFixed(1)} ${middle[1].toFixed(1)}) rotate(${angle.toFixed(0)})` }, arrow);
      const label = wire.straight ? s('text', { x: middle[0], y: middle[1] - 9, class: 'ratio', 'text-anchor': 'middle' }) : null;
      back.append(line, holder);
      if (label) {
        back.append(label);
      }
      return { wire, line, label, arrow };
    });
    for (const [coil, target] of layout.warms) {
      const a = layout.places.get(coil);
      const b = layout.places.get(target);
      if (a && b) {
        back.append(s('path', { d: `M${px(a.column)} ${py(a.row) - 14}L${px(b.column)} ${py(b.row) + 26}`, class: 'warms' }));
      }
    }

    const badges = new Map<number, SVGTextElement>();
    const groups = new Map<number, SVGGElement>();
    const front = s('g');
    const order = [...layout.places.values()].sort((a, b) => a.row - b.row || a.column - b.column);
    order.forEach((place, count) => {
      const part = read.parts.find((other) => other.index === place.part);
      if (!part) {
        return;
      }
      const [x, y] = [px(place.column), py(place.row)];
      const drawing = symbol(part.kind, { heated: (part.heaters ?? []).length > 0 && part.kind !== 'chamber' });
      drawing.setAttribute('transform', `translate(${x} ${y})${place.forward ? '' : ' scale(-1 1)'}`);
      if (!place.forward) {
        drawing.querySelectorAll('text').forEach((text) => text.setAttribute('transform', 'scale(-1 1)'));
      }
      const lines = wrap(part.name, Math.floor(columnWidth / 9.2));
      const nameY = place.row === 0 ? NAME_HEIGHT - 10 - (lines.length - 1) * 18 : y + 40;
      const name = s('text', { x, y: nameY, class: 'part-name', 'text-anchor': 'middle' }, ...lines.map((text, row) => s('tspan', { x, dy: row === 0 ? 0 : 17 }, row + 1 < lines.length ? `${text} ` : text)));
      const badge = s('text', { x, y: place.row === 0 ? y + 42 : y - 26, class: 'badge', 'text-anchor': 'middle' });
      const group = s(
        'g',
        { class: `part${blame === part.index ? ' blame' : ''}`, role: 'button', tabindex: count === 0 ? '0' : '-1', 'data-part': part.index, 'data-name': part.name },
        s('rect', { x: x - columnWidth / 2 + 3, y: place.row === 0 ? 2 : y - 38, width: columnWidth - 6, height: place.row === 0 ? FIRST + 46 : 84, rx: 10, class: 'part-hit' }),
        drawing, name, badge,
      );
      if (blame === part.index) {
        group.append(s('path', { d: `M${x + 17} ${y - 22}l9 -15 9 15Z`, class: 'blame-mark' }), s('path', { d: `M${x + 26} ${y - 32}v5M${x + 26} ${y - 25}v1`, class: 'blame-line' }));
      }
      badges.set(part.index, badge);
      groups.set(part.index, group);
      front.append(group);
    });

    const moving = s('g');
    const axisMoving = s('g');
    main.replaceChildren(
      s('defs', {}, s('pattern', { id: 'hatch', width: 8, height: 8, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' }, s('rect', { width: 8, height: 8, class: 'hatch-back' }), s('path', { d: 'M0 0V8', class: 'hatch-line' }))),
      back, front, moving,
    );
    axisSvg.replaceChildren(axisMoving);
    const pump = layout.main.findIndex((index) => read.parts.find((part) => part.index === index)?.kind === 'injection pump');
    const junctions = new Set(layout.main.flatMap((index, column) => (['valve', 'tee'].includes(read.parts.find((part) => part.index === index)?.kind ?? '') ? [column] : [])));
    const scales = run ? bandScales(run, { main: layout.main, columnWidth, top: pathBottom + 26, height: bandHeight, gap, width, pump, junctions }) : null;
    drawn = { key: `${moment.path.join()}/${moment.return_path.join()}`, layout, parts: read.parts, columnWidth, axis, scales, wires, badges, groups, moving, axisMoving, pick, height };
    element.classList.toggle('stale', state.stale);
    if (focused !== undefined && focused !== null) {
      groups.get(Number(focused))?.focus();
    }
    select(false);
    time();
  };

  const time = () => {
    const run = state.run;
    if (!drawn || !run) {
      return;
    }
    if (run.series.moments.length > 0) {
      const moment = lastGood ? ways(lastGood, run) : momentAt(run, state.sample);
      if (`${moment.path.join()}/${moment.return_path.join()}` !== drawn.key) {
        frame();
        return;
      }
    }
    const limit = at(run.series.inlet_limit_m2_s, state.sample) ?? run.limits.run_kinematic_m2_s;
    for (const { wire, line, label, arrow } of drawn.wires) {
      const from = seriesOf(run, wire.from);
      const to = seriesOf(run, wire.to);
      // What flows in a line is what flows in the two-port part at either end of it.
      const carrier = [wire.from, wire.to].find((index) => !branching.has(drawn?.parts.find((part) => part.index === index)?.kind ?? ''));
      const flow = carrier === undefined ? null : at(seriesOf(run, carrier)?.flow_m3_s, state.sample);
      const still = flow !== null && Math.abs(flow) < STILL_M3_S;
      const back = flow !== null && flow < 0;
      const kinematic = back ? (at(from?.out_m2_s, state.sample) ?? at(to?.in_m2_s, state.sample)) : (at(to?.in_m2_s, state.sample) ?? at(from?.out_m2_s, state.sample));
      const level = thickness(kinematic === null ? null : kinematic / limit);
      line.setAttribute('class', `pipe ${level === null ? '' : `n${level}`}${still ? ' still' : ''}`);
      arrow.setAttribute('visibility', still ? 'hidden' : 'visible');
      arrow.setAttribute('transform', back ? 'rotate(180)' : '');
      if (label) {
        label.textContent = kinematic === null || still ? '' : ratioText(kinematic / limit);
      }
    }
    for (const [index, badge] of drawn.badges) {
      const part = drawn.parts.find((other) => other.index === index);
      const series = seriesOf(run, index);
      const heat = (at(series?.heat_w, state.sample) ?? 0) + (part?.kind === 'coolant coil' || part?.kind === 'exchanger' ? (at(series?.coolant_w, state.sample) ?? 0) : 0);
      const switched = at(series?.on, state.sample);
      let text = '';
      if (part?.kind === 'valve') {
        const positions = part.special?.find((value) => value.path === 'positions')?.text ?? '';
        const words = [...positions.matchAll(/([^{},:]+):/g)].map((match) => match[1].trim());
        text = switched === null ? '' : `→ ${words[switched] ?? switched}`;
      } else if (part?.kind === 'electric pump' && switched === 0) {
        text = 'off';
      } else if (heat > 0.5 && part?.kind !== 'electric pump' && part?.kind !== 'injection pump') {
        text = show('power', heat);
      } else if (part?.kind === 'electric pump') {
        text = 'on';
      } else if ((part?.heaters ?? []).length > 0) {
        text = 'heat off';
      }
      badge.textContent = ` ${text}`;
      if (part) {
        drawn.groups.get(index)?.setAttribute('aria-label', `${part.name}${text ? ` ${text}` : ''}, ${part.kind}${run.verdict.part === index ? ', to blame' : ''}`);
      }
      badge.classList.toggle('hot', heat > 0.5 && text.length > 0 && text !== 'on');
    }
    if (drawn.scales) {
      drawn.moving.replaceChildren(bandContents(run, state.ghost, drawn.scales, state.sample));
      drawn.axisMoving.replaceChildren(bandAxis(run, drawn.scales, state.sample, drawn.axis));
    }
  };

  const select = (reveal = true) => {
    if (!drawn) {
      return;
    }
    for (const [index, group] of drawn.groups) {
      const chosen = drawn.parts.find((part) => part.index === index)?.name === state.selected;
      group.classList.toggle('chosen', chosen);
      if (chosen) {
        const column = drawn.layout.main.indexOf(index);
        drawn.pick.setAttribute('visibility', column >= 0 ? 'visible' : 'hidden');
        drawn.pick.setAttribute('x', String(column * drawn.columnWidth));
        if (!reveal) {
          continue;
        }
        const left = (drawn.layout.places.get(index)?.column ?? 0) * drawn.columnWidth;
        const wide = scroller.clientWidth - drawn.axis;
        if (left < scroller.scrollLeft || left + drawn.columnWidth > scroller.scrollLeft + wide) {
          scroller.scrollLeft = Math.max(0, left - wide / 2 + drawn.columnWidth / 2);
        }
      }
    }
    if (state.selected === null) {
      drawn.pick.setAttribute('visibility', 'hidden');
    }
  };

  new ResizeObserver(() => {
    const width = element.clientWidth;
    if (width !== room && width > 0) {
      room = width;
      frame();
    }
  }).observe(element);
  return { element, frame, time, select: () => select(), svg: () => [axisSvg, main] };
}
