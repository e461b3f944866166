// SPDX-License-Identifier: GPL-3.0-or-later
// Can everyone use it: axe-core on every view, light and dark, desk and phone; sizes of targets; keyboard alone.
import assert from 'node:assert/strict';
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { browse, change, check, end, openPage, openView, serve, settled, shot, sourceRoot, tool, withYear } from './support.mjs';

await tool('axe-core');
const axe = readFileSync(createRequire(join(sourceRoot, 'package.json')).resolve('axe-core/axe.min.js'), 'utf8');
const server = await serve([], withYear);
/** Whatever says that a view has its answer. */
const arrived = { log: '.log-list .entry', yard: '.plan-step', life: '.life-curve', cost: '.waterfall' };

async function serious(page) {
  // By the debugger, not as a script of the page: its policy forbids foreign scripts, and shall.
  await page.evaluate(axe);
  const result = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'], resultTypes: ['violations'] }));
  return result.violations.filter((one) => ['serious', 'critical'].includes(one.impact)).map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => `${node.target} ${(node.failureSummary ?? '').split('\n').slice(1, 2)}`).join(' | ')}`);
}

for (const [device, colors, options] of [
  ['desk', 'light', { viewport: { width: 1400, height: 900 } }],
  ['desk', 'dark', { viewport: { width: 1400, height: 900 } }],
  ['phone', 'light', { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true }],
  ['phone', 'dark', { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true }],
]) {
  const { context, page } = await browse({ ...options, colorScheme: colors });
  await openPage(page, server.address);
  for (const view of ['path', 'oil', 'start', 'wire', 'faults', 'compare', 'log', 'yard', 'life', 'cost']) {
    await check(`axe: ${view}, ${device}, ${colors}`, async () => {
      await openView(page, view);
      await settled(page);
      if (arrived[view]) {
        await page.waitForSelector(arrived[view]);
      }
      await page.waitForTimeout(view === 'faults' || view === 'wire' ? 1500 : 400);
      assert.deepEqual(await serious(page), []);
      await shot(page, `${device}-${colors}-${view}`);
    });
  }
  await check(`axe: an entry's form, a batch, every fold open, ${device}, ${colors}`, async () => {
    for (const kind of ['pickup', 'fill', 'test']) {
      await openView(page, 'log');
      await page.click(`[data-add="${kind}"]`);
      await page.click('.entry-form .more summary');
      assert.deepEqual(await serious(page), [], kind);
      await shot(page, `${device}-${colors}-form-${kind}`, true);
      await page.click('.entry-form .entry-head button');
    }
    await page.click('.log-list .entry summary >> nth=0');
    assert.deepEqual(await serious(page), [], 'an open entry');
    await openView(page, 'yard');
    await page.click('[data-batch] >> nth=0');
    await page.waitForSelector('dialog .shares');
    assert.deepEqual(await serious(page), [], 'a batch');
    await shot(page, `${device}-${colors}-batch`);
    await page.keyboard.press('Escape');
    for (const view of ['yard', 'life', 'cost']) {
      await openView(page, view);
      await page.waitForSelector(arrived[view]);
      await page.evaluate(() => document.querySelectorAll('.view details').forEach((details) => { details.open = true; }));
      assert.deepEqual(await serious(page), [], view);
    }
  });
  await check(`axe: part open, ${device}, ${colors}`, async () => {
    await openView(page, 'path');
    await page.locator('.picture [data-part]').nth(1).click();
    await page.waitForSelector('#editor:not([hidden])');
    assert.deepEqual(await serious(page), []);
    await shot(page, `${device}-${colors}-part`);
    await page.keyboard.press('Escape');
  });
  await check(`axe and targets: rows of fields, ${device}, ${colors}`, async () => {
    await openView(page, 'path');
    await page.evaluate(() => document.querySelectorAll('[data-section] > summary').forEach((summary) => summary.click()));
    await page.waitForSelector('[data-rows="circuits/0"]');
    await page.evaluate(() => document.querySelectorAll('.section-panels details').forEach((details) => { details.open = true; }));
    await page.locator('.picture [data-name="loop valve"]').click();
    await page.waitForSelector('#editor .entry-row');
    assert.deepEqual(await serious(page), []);
    const small = await page.evaluate(() => [...document.querySelectorAll('.rows button, .rows select, .rows input, .rows summary')].filter((element) => element.checkVisibility())
      .map((element) => [element.getAttribute('aria-label') || element.textContent || element.getAttribute('data-path'), element.getBoundingClientRect()])
      .filter(([, box]) => box.width < 43.5 || box.height < 43.5).map(([name, box]) => `${name}: ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`));
    assert.deepEqual(small, []);
    const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
    assert.ok(wide <= room, `${wide} > ${room}`);
    await shot(page, `${device}-${colors}-rows`, true);
    await page.click('#editor >> text=Close');
    await page.evaluate(() => document.querySelectorAll('[data-section]').forEach((details) => { details.open = false; }));
  });
  await check(`axe: dialogs, ${device}, ${colors}`, async () => {
    await page.click('#open');
    assert.deepEqual(await serious(page), []);
    await page.keyboard.press('Escape');
  });
  await check(`nothing hangs over the edge, ${device}, ${colors}`, async () => {
    for (const view of ['path', 'start', 'oil', 'compare', 'log', 'yard', 'life', 'cost']) {
      await openView(page, view);
      await page.waitForTimeout(300);
      const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
      assert.ok(wide <= room, `${view}: ${wide} > ${room}`);
    }
    await openView(page, 'path');
  });
  await check(`targets are 44 px, ${device}, ${colors}`, async () => {
    await page.locator('.picture [data-part]').nth(1).click();
    const small = await page.evaluate(() => [...document.querySelectorAll('button, select, input, summary, .picture [data-part], [role="slider"]')]
      .filter((element) => element.checkVisibility() && !element.classList.contains('sr'))
      .map((element) => [element.textContent || element.getAttribute('aria-label') || element.id, element.getBoundingClientRect()])
      .filter(([, box]) => box.width > 0 && (box.width < 43.5 || box.height < 43.5)).map(([name, box]) => `${name}: ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`));
    assert.deepEqual(small, []);
    await page.keyboard.press('Escape');
    for (const view of ['log', 'form', 'yard', 'life', 'cost']) {
      await openView(page, view === 'form' ? 'log' : view);
      if (view === 'form') {
        await page.click('[data-add="pickup"]');
        await page.click('.entry-form .more summary');
      } else {
        await page.waitForSelector(arrived[view]);
      }
      await page.evaluate(() => document.querySelectorAll('.view details').forEach((details) => { details.open = true; }));
      const few = await page.evaluate(() => [...document.querySelectorAll('button, select, input:not([type="checkbox"], [type="radio"]), summary, label.chip, label.tick-label')]
        .filter((element) => element.checkVisibility() && !element.classList.contains('sr'))
        .map((element) => [element.textContent || element.getAttribute('aria-label') || element.id, element.getBoundingClientRect()])
        .filter(([, box]) => box.width > 0 && (box.width < 43.5 || box.height < 43.5)).map(([name, box]) => `${name}: ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`));
      assert.deepEqual(few, [], view);
      if (view === 'form') {
        await page.click('.entry-form .entry-head button');
      }
    }
  });
  await context.close();
}

{
  const { context, page } = await browse();
  await openPage(page, server.address);
  await check('the keyboard alone opens a part, changes it and comes back', async () => {
    await page.focus('.picture [data-part][tabindex="0"]');
    for (let count = 0; count < 30; count += 1) {
      const label = await page.evaluate(() => document.activeElement.getAttribute('aria-label') ?? '');
      if (/, hose\b/.test(label)) {
        break;
      }
      await page.keyboard.press('ArrowRight');
    }
    await page.keyboard.press('Enter');
    await page.waitForSelector('#editor:not([hidden])');
    assert.ok(await page.evaluate(() => document.querySelector('#editor').contains(document.activeElement)), 'the panel has the focus');
    for (let count = 0; count < 12; count += 1) {
      await page.keyboard.press('Tab');
      if ((await page.evaluate(() => document.activeElement.getAttribute('data-path'))) === 'bore') {
        break;
      }
    }
    assert.equal(await page.evaluate(() => document.activeElement.getAttribute('data-path')), 'bore');
    await change(page, async () => {
      await page.keyboard.press('Control+A');
      await page.keyboard.type('7');
      await page.keyboard.press('Enter');
    });
    assert.equal(await page.evaluate(() => document.activeElement.getAttribute('data-path')), 'bore', 'the focus stays in the field');
    await page.keyboard.press('Escape');
    assert.ok(await page.evaluate(() => document.activeElement.hasAttribute('data-part')), 'the focus is back at the part');
  });
  await check('the keyboard alone adds an entry, and the focus is led along', async () => {
    await openView(page, 'log');
    await page.focus('[data-add="pickup"]');
    await page.keyboard.press('Enter');
    assert.equal(await page.evaluate(() => document.activeElement.closest('[data-field]')?.getAttribute('data-field')), 'volume');
    await page.keyboard.type('12');
    await page.keyboard.press('Tab'); // the unit
    await page.keyboard.press('Tab');
    assert.equal(await page.evaluate(() => document.activeElement.closest('[data-field]')?.getAttribute('data-field')), 'source');
    await page.keyboard.press('Space'); // the first, used last
    await page.keyboard.press('Tab');
    for (let count = 0; count < 3 && (await page.evaluate(() => document.activeElement.closest('[data-field]')?.getAttribute('data-field'))) !== 'into'; count += 1) {
      await page.keyboard.press('Tab');
    }
    await page.keyboard.press('Space');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.saved:not([hidden]) .said');
    assert.ok(await page.evaluate(() => document.activeElement.matches('.saved')), 'what was understood has the focus');
    assert.match(await page.textContent('.saved'), /12 L/);
    await openView(page, 'path');
  });
  await check('typing is not disturbed by the answers that come in meanwhile', async () => {
    await page.locator('.picture [aria-label*=", hose"]').first().click();
    const bore = page.locator('#editor [data-path="bore"]');
    await bore.fill('');
    await bore.pressSequentially('11.75', { delay: 220 });
    await page.waitForTimeout(900);
    await settled(page);
    assert.equal(await bore.inputValue(), '11.75');
  });
  await context.close();
}
await server.stop();
end();
