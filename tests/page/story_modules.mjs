// SPDX-License-Identifier: GPL-3.0-or-later
// The pure pieces of the yard's views without a browser: where a batch stands, steps of the waterfall, names that count on,
// days as people say them, values found in a yard file.
import assert from 'node:assert/strict';
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { check, end, sourceRoot, tool } from './support.mjs';

const { build } = await tool('esbuild');
const out = mkdtempSync(join(tmpdir(), 'ow-yard-modules-'));
await build({ entryPoints: ['view_yard', 'view_yard_plan', 'view_yard_vessel', 'view_cost_waterfall', 'view_log_form', 'view_log_life', 'sheet', 'book'].map((name) => join(sourceRoot, 'page/web/src', `${name}.ts`)), outdir: out, format: 'esm', bundle: true, splitting: true, outExtension: { '.js': '.mjs' }, loader: { '.css': 'empty' }, logLevel: 'error' });
globalThis.window = { innerWidth: 390, localStorage: null, setInterval: () => 0, addEventListener: () => undefined };
globalThis.matchMedia = () => ({ matches: false }); // the chart library asks for it when it is loaded
globalThis.document = { addEventListener: () => undefined };
const load = (name) => import(pathToFileURL(join(out, `${name}.mjs`)).href);
const { columnOf } = await load('view_yard');
const { valueIn, span } = await load('view_yard_plan');
const { fullness } = await load('view_yard_vessel');
const { steps } = await load('view_cost_waterfall');
const { faultWords, plainNumbers } = await load('sheet');
const { filterOf } = await load('view_log_life');
const { fitness, nextName } = await load('view_log_form');
const { ageWords, dayWords } = await load('book');

await check('a batch stands under what was done last; decisions count more; empty ones are used', () => {
  const batch = { volume_m3: 0.1, in_m3: 0.1, decision: null, step: null };
  assert.equal(columnOf(batch), 'settling');
  for (const [step, column] of [['settle', 'settling'], ['heat', 'drying'], ['dry', 'drying'], ['filter', 'filtering'], ['centrifuge', 'filtering'], ['blend', 'filtering'], ['other', 'settling']]) {
    assert.equal(columnOf({ ...batch, step }), column, step);
  }
  assert.equal(columnOf({ ...batch, step: 'settle', decision: 'keep' }), 'ready');
  assert.equal(columnOf({ ...batch, step: 'filter', decision: 'rework' }), 'filtering');
  assert.equal(columnOf({ ...batch, decision: 'reject' }), 'used');
  assert.equal(columnOf({ ...batch, volume_m3: 0, decision: 'keep' }), 'used');
  assert.equal(columnOf({ ...batch, volume_m3: 0, in_m3: 0 }), 'settling', 'begun, nothing in it yet');
});

await check('raw oil is offered the raw tank first, a vehicle the clean one; what is used up stands last', () => {
  const vessel = (use, isSpent = false) => ({ kind: 'vessel', id: 1, name: '', last_s: 0, note: '', use, isSpent });
  const order = (field, ...list) => list.map((one) => fitness(...field.split('.'), one)).every((rank, at, ranks) => at === 0 || ranks[at - 1] < rank);
  const batch = { kind: 'batch', id: 2, name: '', last_s: 0, note: '', isSpent: false };
  assert.ok(order('pickup.into', vessel('raw'), vessel(null), vessel('work'), batch, vessel('clean')));
  assert.ok(order('fill.from', vessel('clean'), batch, vessel(null), vessel('work'), vessel('raw')));
  assert.ok(order('fill.from', vessel('raw'), { ...batch, isSpent: true }));
  assert.ok(order('batch.vessel', vessel('work'), vessel('raw'), vessel('waste')));
  assert.equal(fitness('pickup', 'source', { kind: 'source', isSpent: false }), 0);
});

await check('each step of the waterfall begins where the one before ended, the last ends at the sum', () => {
  const lines = [0.1, 0.25, -0.05, 0.3].map((value) => ({ label: '', value, isWork: false }));
  const places = steps(lines);
  assert.equal(places[0].from, 0);
  places.slice(1).forEach((place, order) => assert.equal(place.from, places[order].to));
  assert.ok(Math.abs(places.at(-1).to - 0.6) < 1e-12);
  assert.deepEqual(steps([]), []);
});

await check('a level without a size has no share; below nothing is told as it is', () => {
  assert.equal(fullness({ level_m3: 0.05, capacity_m3: null }), null);
  assert.equal(fullness({ level_m3: 0.05, capacity_m3: 0.2 }), 0.25);
  assert.ok(fullness({ level_m3: -0.01, capacity_m3: 0.2 }) < 0);
});

await check('a filter of the log is that of its name in the rig, or the only one on both sides', () => {
  const two = new Map([['Oil filter', 1], ['final filter', 2]]);
  assert.equal(filterOf(two, 'oil FILTER', false), 1);
  assert.equal(filterOf(two, 'fuel filter', true), undefined);
  const one = new Map([['final filter', 2]]);
  assert.equal(filterOf(one, 'fuel filter', true), 2);
  assert.equal(filterOf(one, 'fuel filter', false), undefined, 'the log has another one');
});

await check('a fault of a file tells the file; a comma of a phone is a decimal point or parts thousands', () => {
  assert.equal(faultWords('costs.yaml', { line: 2, message: 'unknown key "diesl use"', remedy: 'did you mean "diesel use"?' }), 'costs.yaml, line 2: unknown key "diesl use"; did you mean "diesel use"?');
  assert.equal(faultWords('yard.yaml', { line: null, message: 'no step', remedy: '' }), 'yard.yaml: no step');
  assert.equal(plainNumbers('1,70'), '1.70');
  assert.equal(plainNumbers('1,5 to 1,75 per L'), '1.5 to 1.75 per L');
  assert.equal(plainNumbers('15,000 km'), '15000 km');
  assert.equal(plainNumbers('120'), '120');
});

await check('names count on', () => {
  assert.equal(nextName(['B11', 'B10']), 'B12');
  assert.equal(nextName(['spring oil', 'batch 09']), 'batch 10');
  assert.equal(nextName(['b99']), 'b100');
  assert.equal(nextName(['rest', 'odd']), '');
  assert.equal(nextName([]), '');
});

await check('days as people say them, by the clock of the place', () => {
  const at = (...date) => new Date(...date).getTime() / 1000;
  const now = at(2026, 2, 10, 9, 0); // 10 March 2026, a Tuesday
  assert.equal(dayWords(at(2026, 2, 10, 8, 5), now), 'today 08:05');
  assert.equal(dayWords(at(2026, 2, 9, 23, 59), now), 'yesterday');
  assert.equal(dayWords(at(2026, 2, 8, 12, 0), now), 'Sun 8 Mar');
  assert.equal(dayWords(at(2025, 11, 24, 12, 0), now), '24 Dec 2025');
  assert.equal(ageWords(at(2026, 2, 10, 1, 0), now), 'today');
  assert.equal(ageWords(at(2026, 2, 8, 9, 0), now), '2 days');
  assert.equal(ageWords(at(2025, 11, 10, 9, 0), now), '3 months');
  assert.equal(span(5 * 86400), '5 days');
  assert.equal(span(3600), '1 h');
});

await check('values are found in the yard file of the examples, flow and block style', () => {
  const text = readFileSync(join(sourceRoot, 'examples/orchard-yard.yaml'), 'utf8');
  assert.equal(valueIn(text, 'week', 'batch'), /\bbatch: ([^,}]+)/.exec(/^week:.*$/m.exec(text)[0])[1]);
  assert.equal(valueIn(text, 'climate', 'shed'), '16 degC');
  assert.equal(valueIn('week:\n  # much\n  batch: 80 L # a lot\n  days: 4\nclimate:\n  shed: 5 degC\n', 'week', 'batch'), '80 L');
  assert.equal(valueIn('week:\n  days: 4\nclimate:\n  batch: 5 degC\n', 'week', 'batch'), '', 'not from the next section');
  assert.equal(valueIn('', 'week', 'batch'), '');
});
end();
