// SPDX-License-Identifier: GPL-3.0-or-later
// The page's pure modules without a browser: layout of the path, scales, numbers and units.
import assert from 'node:assert/strict';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { check, end, sourceRoot, tool } from './support.mjs';

const { build } = await tool('esbuild');
const out = mkdtempSync(join(tmpdir(), 'ow-modules-'));
await build({ entryPoints: ['layout', 'scale', 'units'].map((name) => join(sourceRoot, 'page/web/src', `${name}.ts`)), outdir: out, format: 'esm', bundle: true, outExtension: { '.js': '.mjs' }, logLevel: 'error' });
const load = (name) => import(pathToFileURL(join(out, `${name}.mjs`)).href);
const { layoutPath, wayBack } = await load('layout');
const { timeScale, toShare, fromShare, ticks, logTicks, thickness, ratioText, timeTicks } = await load('scale');
const { digits, clock, splitQuantity, nextStep, prettyUnit } = await load('units');

const part = (index, kind, extra = {}) => ({ index, kind, name: `${kind} ${index}`, line: 1, column: 1, place: '', fields: [], ...extra });
const joint = (from, to, from_port = 'out', to_port = 'in') => ({ from, to, from_port, to_port });

function sound(layout, parts) {
  assert.equal(layout.places.size, parts.length, 'every part has a place');
  assert.equal(new Set([...layout.places.values()].map((place) => `${place.row}/${place.column}`)).size, parts.length, 'no two in one place');
  for (const wire of layout.wires) {
    for (const [end, [x, y]] of [[wire.from, wire.points[0]], [wire.to, wire.points[wire.points.length - 1]]]) {
      const place = layout.places.get(end);
      assert.ok(Math.abs(x - place.column) <= 0.5 && Math.abs(y - place.row) <= 0.5, 'a line ends at its part');
    }
    for (let k = 1; k < wire.points.length; k += 1) {
      const [[x0, y0], [x1, y1]] = [wire.points[k - 1], wire.points[k]];
      assert.ok(Math.abs(x0 - x1) < 1e-9 || Math.abs(y0 - y1) < 1e-9, 'lines run straight or square');
      for (const place of layout.places.values()) {
        if (place.part !== wire.from && place.part !== wire.to) {
          const hit = Math.min(x0, x1) < place.column + 0.2 && Math.max(x0, x1) > place.column - 0.2 && Math.min(y0, y1) < place.row + 0.2 && Math.max(y0, y1) > place.row - 0.2;
          assert.ok(!hit, `the line ${wire.from}-${wire.to} runs through part ${place.part}`);
        }
      }
    }
  }
}

await check('layout: single tank with loop and return', () => {
  const kinds = ['tank', 'electric pump', 'hose or tube', 'filter', 'tee', 'chamber', 'injection pump', 'injectors', 'hose or tube', 'valve', 'hose or tube', 'hose or tube', 'coolant coil'];
  const parts = kinds.map((kind, index) => part(index, kind, kind === 'coolant coil' ? { special: [{ path: 'warms', text: 'filter 3', line: 1, column: 1 }] } : {}));
  const joints = [joint(0, 1, 'pickup'), joint(1, 2), joint(2, 3), joint(3, 4), joint(4, 5), joint(5, 6), joint(6, 8, 'return'), joint(8, 9, 'out', 'common'), joint(7, 8, 'return'), joint(9, 10, 'a'), joint(10, 4, 'out', 'side'), joint(9, 11, 'b'), joint(11, 0, 'out', 'return')];
  for (const way of [[8, 9, 11], [8, 9, 10]]) {
    const layout = layoutPath(parts, joints, [0, 1, 2, 3, 4, 5, 6], way);
    sound(layout, parts);
    assert.deepEqual(layout.main, [0, 1, 2, 3, 4, 5, 6, 7], 'in flow order, injectors at the right');
    assert.ok(Math.abs(layout.places.get(12).column - layout.places.get(3).column) <= 1, 'the coil stands under what it warms, or beside');
  }
});

await check('way back: where it flows; where nothing flows, the usual one', () => {
  // 0 pump, 1 hose, 2 valve, 3 and 4 the two ways, 5 tank on the main way
  const joints = [joint(0, 1, 'return'), joint(1, 2), joint(2, 3, 'a'), joint(2, 4, 'b'), joint(3, 5), joint(4, 5)];
  const flows = (values) => (index) => (index === 2 ? null : values[index] ?? 0);
  assert.deepEqual(wayBack(0, joints, [5, 0], [1, 2, 3], flows({ 1: 1e-5, 3: 0, 4: 1e-5 })), [1, 2, 4]);
  assert.deepEqual(wayBack(0, joints, [5, 0], [1, 2, 3], flows({ 1: 1e-5, 3: 1e-5, 4: 0 })), [1, 2, 3]);
  assert.deepEqual(wayBack(0, joints, [5, 0], [1, 2, 4], flows({})), [1, 2, 4]);
  assert.deepEqual(wayBack(0, [joint(0, 1), joint(1, 0)], [0], [], flows({})), [1], 'a ring ends');
});

await check('layout: a tee that the way leaves out still stands in the main row', () => {
  const parts = ['tank', 'filter', 'tee', 'chamber', 'injection pump', 'injectors'].map((kind, index) => part(index, kind));
  const joints = [joint(0, 1), joint(1, 2), joint(2, 3), joint(3, 4), joint(4, 0, 'return', 'return')];
  const layout = layoutPath(parts, joints, [0, 1, 3, 4], []);
  sound(layout, parts);
  assert.deepEqual(layout.main, [0, 1, 2, 3, 4, 5]);
});

await check('layout: any graph, no line through a part (5000 random rigs)', () => {
  let state = 12345;
  const random = (limit) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * limit);
  };
  for (let round = 0; round < 5000; round += 1) {
    const length = 3 + random(9);
    const kinds = ['tank', ...Array.from({ length }, () => ['hose or tube', 'filter', 'tee', 'valve', 'chamber'][random(5)]), 'injection pump', 'injectors'];
    const parts = kinds.map((kind, index) => part(index, kind));
    const path = parts.slice(0, length + 2).map((one) => one.index);
    const joints = path.slice(1).map((to, k) => joint(path[k], to));
    const back = Array.from({ length: random(5) }, () => {
      parts.push(part(parts.length, 'hose or tube'));
      return parts.length - 1;
    });
    let last = length + 1;
    for (const one of back) {
      joints.push(joint(last, one));
      last = one;
    }
    joints.push(joint(last, 0, 'out', 'return'));
    for (let extra = random(4); extra > 0; extra -= 1) {
      const from = random(length + 1);
      const to = random(length + 1);
      parts.push(part(parts.length, 'hose or tube'));
      joints.push(joint(from, parts.length - 1, 'b'), joint(parts.length - 1, to, 'out', 'side'));
    }
    sound(layoutPath(parts, joints, path, back), parts);
  }
});

await check('layout: odd input ends in a picture, not in a loop', () => {
  sound(layoutPath([part(0, 'tank')], [], [0], []), [0]);
  sound(layoutPath([part(0, 'tank'), part(1, 'filter')], [joint(0, 1), joint(1, 0)], [], []), [0, 1]);
  assert.equal(layoutPath([], [], [], []).places.size, 0);
  layoutPath([part(0, 'tank'), part(1, 'filter')], [joint(0, 1), joint(0, 7)], [0, 1, 0], [1, 1]);
});

await check('time scale: straight or in two speeds, always its own inverse and rising', () => {
  for (const [end_s, start, ready] of [[60, 20, 10], [1700, 86, 81], [1e5, null, null], [0, null, null], [900, 850, null]]) {
    const scale = timeScale(end_s, start, ready);
    let before = -1;
    for (let k = 0; k <= 100; k += 1) {
      const time = fromShare(scale, k / 100);
      assert.ok(Math.abs(toShare(scale, time) - k / 100) < 1e-9);
      assert.ok(time > before);
      before = time;
    }
    assert.ok(timeTicks(scale, 800).length < 40);
  }
  assert.ok(toShare(timeScale(1700, 86, 81), 86) > 0.2, 'the start has room');
});

await check('ticks, digits, clock', () => {
  assert.deepEqual(ticks(0, 10, 5), [0, 2, 4, 6, 8, 10]);
  assert.deepEqual(ticks(-5, 5, 2), [-5, 0, 5]);
  assert.deepEqual(ticks(3, 3, 4), [3]);
  assert.deepEqual(logTicks(5, 60), [5, 10, 20, 50]);
  assert.equal(digits(331.27), '331');
  assert.equal(digits(12.04), '12');
  assert.equal(digits(-0.001), '−0.001');
  assert.equal(digits(-0.04, 1), '0');
  assert.equal(digits(NaN), '–');
  assert.equal(clock(86.4), '1 min 26 s');
  assert.equal(clock(3600), '1 h');
  assert.equal(clock(119.7), '2 min');
  assert.equal(clock(null), '–');
});

await check('viscosity classes: colour, width and number change at the limit itself', () => {
  assert.equal(thickness(0.99), 1);
  assert.equal(thickness(1), 1);
  assert.equal(thickness(1.0001), 2);
  assert.equal(thickness(null), null);
  assert.equal(ratioText(1), '✓');
  assert.equal(ratioText(3.24), '×3.2');
  assert.equal(ratioText(16.6), '×17');
});

await check('quantities as people type them; handy steps up and down', () => {
  assert.deepEqual(splitQuantity('12 mm'), { number: '12', unit: 'mm' });
  assert.deepEqual(splitQuantity('5/16 in'), { number: '5/16', unit: 'in' });
  assert.deepEqual(splitQuantity('-5 degC'), { number: '-5', unit: 'degC' });
  assert.deepEqual(splitQuantity('4 W/(m K)'), { number: '4', unit: 'W/(m K)' });
  assert.equal(splitQuantity('none'), null);
  assert.equal(prettyUnit('degC'), '°C');
  assert.equal(prettyUnit('mm2/s'), 'mm²/s');
  assert.equal(prettyUnit('W/m2/K'), 'W/m²/K');
  for (const value of [0.3, 3.2, 8, 12, 75, 120, 1500, -5, -20]) {
    assert.ok(nextStep(value, 1) > value, `${value} up`);
    assert.ok(nextStep(value, -1) < value, `${value} down`);
  }
  assert.equal(nextStep(12, 1), 13);
  assert.equal(nextStep(8, 1), 9);
  assert.equal(nextStep(120, -1), 110);
});
end();
