// SPDX-License-Identifier: GPL-3.0-or-later
// Lays the fuel path out straight: the way to the engine in row 0 from left to right, the return below it from right to left,
// all other parts in further rows near what they are joined to. Pure: no drawing here.
import type { Joint, Part } from './types';

export interface Place {
  part: number;
  row: number;
  column: number;
  /** Flow enters at the left. */
  forward: boolean;
}
/** A joint as a line in grid units: x in columns, y in rows; `bend` marks are at half rows. */
export interface Wire {
  joint: Joint | null;
  from: number;
  to: number;
  points: [number, number][];
  /** Both ends on the main row, side by side. */
  straight: boolean;
}
export interface Layout {
  main: number[];
  places: Map<number, Place>;
  columns: number;
  rows: number;
  wires: Wire[];
  /** Coils: which part each one warms. */
  warms: Map<number, number>;
}

const HALF = 0.27; // half the width of a symbol in columns

/** The way with the tees and valves between its parts, which the server leaves out. */
export function filledWay(way: number[], joints: Joint[], taken: Set<number>): number[] {
  const full: number[] = [];
  way.forEach((part, place) => {
    const before = way[place - 1];
    if (before !== undefined && !joints.some((joint) => joint.from === before && joint.to === part)) {
      // The shortest chain of parts that stand in no way.
      const chains: number[][] = [[before]];
      const seen = new Set([before]);
      for (let chain = chains.shift(); chain !== undefined; chain = chains.shift()) {
        const last = chain[chain.length - 1];
        const next = joints.filter((joint) => joint.from === last).map((joint) => joint.to);
        if (next.includes(part)) {
          full.push(...chain.slice(1));
          chain.slice(1).forEach((one) => taken.add(one));
          break;
        }
        for (const one of next) {
          if (!seen.has(one) && !taken.has(one) && chain.length < 4) {
            seen.add(one);
            chains.push([...chain, one]);
          }
        }
      }
    }
    full.push(part);
  });
  return full;
}

/**
 * The way back from the injection pump at a moment, by what flows; where nothing flows, as at the start (`usual`).
 * `flowOf` is null for parts whose one flow does not tell.
 */
export function wayBack(pump: number, joints: Joint[], path: number[], usual: number[], flowOf: (part: number) => number | null): number[] {
  const way: number[] = [];
  const seen = new Set([...path, pump]);
  for (let at = pump; ; ) {
    const next = [...new Set(joints.filter((joint) => joint.from === at && !seen.has(joint.to)).map((joint) => joint.to))];
    if (next.length === 0) {
      return way;
    }
    const rank = (part: number) => (Math.abs(flowOf(part) ?? 0) > 1e-9 ? 2 : 0) + (usual.includes(part) ? 1 : 0);
    at = next.reduce((best, part) => (rank(part) > rank(best) ? part : best));
    way.push(at);
    seen.add(at);
  }
}

export function layoutPath(parts: Part[], joints: Joint[], path: number[], returnPath: number[]): Layout {
  const places = new Map<number, Place>();
  const taken = new Set<string>();
  const put = (part: number, row: number, column: number, forward: boolean) => {
    places.set(part, { part, row, column, forward });
    taken.add(`${row}/${column}`);
  };
  const injectors = parts.find((part) => part.kind === 'injectors');
  const inWay = new Set([...path, ...returnPath]);
  const main = filledWay(path.filter((part, place) => path.indexOf(part) === place), joints, inWay);
  // A second tank stands with its own supply, not at the end of the return.
  const kindOf = new Map(parts.map((part) => [part.index, part.kind]));
  const way = filledWay(returnPath, joints, inWay).filter((part) => kindOf.get(part) !== 'tank');
  if (injectors && !main.includes(injectors.index)) {
    main.push(injectors.index);
  }
  main.forEach((part, column) => put(part, 0, column, true));
  const columns = Math.max(main.length, 4);

  let column = Math.max(0, main.length - (injectors ? 3 : 2));
  let row = 1;
  for (const part of way) {
    if (places.has(part)) {
      continue;
    }
    if (column < 0) {
      row += 1;
      column = columns - 2;
    }
    put(part, row, column, false);
    column -= 1;
  }

  const neighbours = (part: number) =>
    joints.flatMap((joint) => (joint.from === part ? [{ other: joint.to, down: true }] : joint.to === part ? [{ other: joint.from, down: false }] : []));
  // Where row 1 is crossed by the line from the last part of the return to the main row, nothing else may stand.
  const lastBack = way.filter((part) => !main.includes(part)).at(-1);
  const backTo = joints.filter((joint) => joint.from === lastBack).map((joint) => places.get(joint.to)).filter((place) => place?.row === 0).map((place) => (place as Place).column);
  const crossedFrom = lastBack === undefined ? Infinity : Math.min(Infinity, ...backTo);
  const firstFree = Math.max(row, way.length > 0 ? 1 : 0) + 1;
  const nearest = (wanted: number, top: number): [number, number] => {
    for (let level = top; ; level += 1) {
      for (let away = 0; away < 3; away += 1) {
        for (const spot of away === 0 ? [wanted] : [wanted - away, wanted + away]) {
          if (spot >= 0 && spot < columns && !taken.has(`${level}/${spot}`)) {
            return [level, spot];
          }
        }
      }
    }
  };
  const warms = new Map<number, number>();
  for (const part of parts) {
    const target = part.special?.find((value) => value.path === 'warms')?.text ?? part.fields.find((value) => value.path === 'warms')?.text;
    const warmed = target === undefined ? undefined : parts.find((other) => other.name === target);
    if (part.kind === 'coolant coil' && warmed) {
      warms.set(part.index, warmed.index);
    }
  }
  /** The first row from `top` down in which all these columns are free. */
  const rowFor = (spots: number[], top: number): number => {
    let level = top;
    while (spots.some((spot) => taken.has(`${level}/${spot}`))) {
      level += 1;
    }
    return level;
  };
  let left = parts.filter((part) => !places.has(part.index)).map((part) => part.index);
  while (left.length > 0) {
    const anchor = left.find((part) => neighbours(part).some((n) => n.down && places.get(n.other)?.row === 0)) ?? left.find((part) => neighbours(part).some((n) => places.has(n.other))) ?? left.find((part) => places.has(warms.get(part) ?? -1)) ?? left[0];
    const near = neighbours(anchor).filter((n) => places.has(n.other));
    const target = places.get(warms.get(anchor) ?? -1);
    if (target !== undefined) {
      const [level, spot] = nearest(target.column, target.column > crossedFrom || target.row > 0 ? Math.max(firstFree, target.row + 1) : 1);
      put(anchor, level, spot, true);
    } else if (near.length >= 2) {
      const wanted = Math.round(near.reduce((sum, n) => sum + (places.get(n.other) as Place).column, 0) / near.length);
      const down = near.find((n) => n.down);
      const [level, spot] = nearest(Math.min(Math.max(wanted, 0), columns - 1), firstFree);
      put(anchor, level, spot, down === undefined || (places.get(down.other) as Place).column >= spot);
    } else if (near.length === 1) {
      // A whole chain at once, in flow order, so that a second tank with all its parts stands in one row.
      const other = places.get(near[0].other) as Place;
      const up = near[0].down;
      const chain = [anchor];
      for (;;) {
        const last = chain[chain.length - 1];
        const next = neighbours(last).filter((n) => n.down !== up && !places.has(n.other) && !chain.includes(n.other) && !warms.has(n.other));
        if (next.length === 0 || chain.length >= columns) {
          break;
        }
        chain.push(next[0].other);
      }
      const forward = up || other.row === 0 || other.forward;
      const first = up ? other.column - 1 : forward ? other.column + 1 : other.column - 1;
      const way_step = up === forward ? -1 : 1;
      const furthest = first + way_step * (chain.length - 1);
      const shift = Math.min(first, furthest) < 0 ? -Math.min(first, furthest) : Math.max(first, furthest) > columns - 1 ? columns - 1 - Math.max(first, furthest) : 0;
      const spots = chain.map((_, place) => first + shift + way_step * place);
      const level = rowFor(spots, firstFree);
      chain.forEach((part, place) => put(part, level, spots[place], forward));
    } else {
      const [level, spot] = nearest(0, firstFree);
      put(anchor, level, spot, true);
    }
    left = left.filter((part) => !places.has(part));
  }

  const rows = Math.max(0, ...[...places.values()].map((place) => place.row)) + 1;
  const wires: Wire[] = [];
  const bottoms = new Map<number, number>();
  /** Several lines that leave one part downwards stand beside each other. */
  const drop = (part: number): number => {
    const count = bottoms.get(part) ?? 0;
    bottoms.set(part, count + 1);
    return [0, 0.14, -0.14, 0.22][count] ?? 0;
  };
  const blocked = (level: number, from: number, to: number, skip: number[]) =>
    [...places.values()].some(
      (place) => place.row === level && !skip.includes(place.part) && place.column > Math.min(from, to) - 0.4 && place.column < Math.max(from, to) + 0.4,
    );
  let channel = 0;
  /** Where a port must be met: -1 left, 1 right, 0 anywhere. */
  const portSide = (place: Place, port: string | undefined): number =>
    port === 'in' ? (place.forward ? -1 : 1) : port === 'out' || port === 'pickup' ? (place.forward ? 1 : -1) : 0;
  const route = (a: number, b: number, fromPort?: string, toPort?: string): [number, number][] | null => {
    const first = places.get(a);
    const second = places.get(b);
    if (!first || !second) {
      return null;
    }
    const ahead = second.column >= first.column ? 1 : -1;
    const fits = portSide(first, fromPort) * ahead >= 0 && portSide(second, toPort) * ahead <= 0;
    if (first.row === second.row && fits && !blocked(first.row, first.column, second.column, [a, b])) {
      const step = second.column >= first.column ? HALF : -HALF;
      return [[first.column + step, first.row], [second.column - step, second.row]];
    }
    const [upper, lower] = first.row <= second.row ? [first, second] : [second, first];
    let x = upper.column + drop(upper.part);
    const points: [number, number][] = [[x, upper.row + 0.3]];
    for (let level = upper.row + 1; level < lower.row; level += 1) {
      if (blocked(level, x, x, [])) {
        const aside = Math.round(x) + (lower.column > x ? 0.5 : -0.5);
        points.push([x, level - 0.48], [aside, level - 0.48]);
        x = aside;
      }
    }
    let side = x >= lower.column ? HALF : -HALF;
    if (Math.abs(x - lower.column) < 0.45 && upper.row !== lower.row) {
      // Straight below: the side where the flow enters or leaves.
      const enters = lower.part === b;
      side = enters === lower.forward ? -HALF : HALF;
    }
    const must = portSide(lower, lower.part === a ? fromPort : toPort);
    const turned = must !== 0 && must * side < 0;
    if (turned) {
      side = -side;
    }
    if (upper.row === lower.row || turned || blocked(lower.row, x, lower.column + side, [upper.part, lower.part])) {
      channel += 1;
      const y = lower.row - 0.5 + (upper.row === lower.row ? 1 : 0) + 0.05 * (channel % 3);
      const before = lower.column + side * 1.7;
      points.push([x, y], [before, y], [before, lower.row]);
    } else if (Math.abs(x - lower.column) < 0.45) {
      const before = lower.column + side * 1.7;
      const y = lower.row - 0.5;
      points.push([x, y], [before, y], [before, lower.row]);
    } else {
      points.push([x, lower.row]);
    }
    points.push([lower.column + side, lower.row]);
    return upper.part === a ? points : points.reverse();
  };
  const pump = parts.find((part) => part.kind === 'injection pump');
  const all: (Joint | { from: number; to: number })[] = [...joints];
  if (pump && injectors && !joints.some((joint) => joint.from === pump.index && joint.to === injectors.index)) {
    all.unshift({ from: pump.index, to: injectors.index });
  }
  // The main line first, so that what leaves it downwards is counted in order.
  for (const joint of all) {
    const points = 'from_port' in joint ? route(joint.from, joint.to, joint.from_port, joint.to_port) : route(joint.from, joint.to);
    if (points) {
      const straight = places.get(joint.from)?.row === 0 && places.get(joint.to)?.row === 0 && points.length === 2;
      wires.push({ joint: 'from_port' in joint ? joint : null, from: joint.from, to: joint.to, points, straight });
    }
  }
  return { main, places, columns, rows, wires, warms };
}
