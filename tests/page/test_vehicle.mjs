// SPDX-License-Identifier: GPL-3.0-or-later
// The vehicle's half under hard use: lists edited in rows, mends that are buttons, slow and dead networks, taps on a phone.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { browse, change, check, end, openPage, openView, serve, settled, shot, sourceRoot } from './support.mjs';

const server = await serve();
const { context, page, log } = await browse();
const van = readFileSync(join(sourceRoot, 'examples/orchard-van.yaml'), 'utf8');
const headline = () => page.textContent('#verdict .headline');
const field = (path) => page.locator(`#editor [data-path="${path}"]`);
const pick = async (name) => {
  await page.click(`.picture [data-name="${name}"]`);
  await page.waitForFunction((wanted) => document.querySelector('#editor h2')?.textContent === wanted, name);
};
const text = async () => {
  await page.click('.menu > summary');
  await page.click('#text');
  const value = await page.inputValue('dialog textarea');
  await page.click('dialog .dialog-head button');
  return value;
};
const use = async (value) => {
  await page.click('.menu > summary');
  await page.click('#text');
  await page.fill('dialog textarea', value);
  await page.click('dialog >> text=Use this text');
  await settled(page);
};
const open = async (name) => {
  page.once('dialog', (box) => void box.accept());
  await page.click('#open');
  await page.click(`dialog [data-file="${name}"]`);
  await settled(page);
  page.removeAllListeners('dialog');
};
const enter = (locator, value) => change(page, async () => {
  await locator.fill(value);
  await locator.press('Enter');
});
const undo = async () => {
  await page.click('#undo');
  await settled(page);
};
const comments = (value) => value.split('\n').filter((line) => line.trim().startsWith('#')).join('\n');

await openPage(page, server.address);
await page.click('text=Got it');
await open('orchard-van.yaml');

await check('a pump\'s curve in rows: begun, a point added, changed with its unit, an error at its field, taken out', async () => {
  await pick('rear pump');
  await change(page, () => page.click('#editor >> text=Add a point'));
  assert.equal(await page.locator('#editor .entry-row').count(), 2);
  await change(page, () => page.click('#editor >> text=Add a point'));
  assert.ok(await page.evaluate(() => document.activeElement.getAttribute('data-path') === 'curve/2/flow'), 'the cursor is in the new row');
  await enter(field('curve/2/flow'), '150 L/h');
  await enter(field('curve/1/pressure'), '10');
  assert.match(await text(), /curve:[^]*pressure: 10 kPa[^]*flow: 150 L\/h/);
  assert.doesNotMatch(await headline(), /cannot be used/);
  await enter(field('curve/1/pressure'), '900 kPa'); // pressure has to fall
  assert.match(await headline(), /cannot be used/);
  await enter(field('curve/1/pressure'), 'banana');
  assert.equal(await field('curve/1/pressure').getAttribute('aria-invalid'), 'true');
  const told = await page.textContent(`#${(await field('curve/1/pressure').getAttribute('aria-describedby')).split(' ')[0]}`);
  assert.match(told, /banana/);
  assert.equal(await page.locator('#editor .field-fault', { hasText: 'banana' }).count(), 1, 'told once');
  for (let left = 2; left > 0; left -= 1) {
    await change(page, () => page.click('#editor .entry-row .danger >> nth=1'));
    assert.equal(await page.locator('#editor .entry-row').count(), left);
  }
  assert.equal(comments(await text()), comments(van), 'every comment stands');
});

await check('a valve\'s positions and the rules that move it in rows', async () => {
  await open('orchard-van.yaml');
  await pick('loop valve');
  assert.equal(await field('positions/0/name').inputValue(), 'loop');
  await change(page, () => page.click('#editor >> text=Add a position'));
  assert.equal(await page.locator('#editor [data-path^="positions/"][data-path$="/name"]').count(), 3);
  await change(page, () => field('positions/shut').selectOption('a+b'));
  assert.match(await text(), /shut: a\+b/);
  const when = page.locator('#editor [data-path$="/when"]').last();
  await enter(when, '5 s after start');
  assert.match(await text(), /when: 5 s after start/);
  await enter(when, 'at full moon');
  assert.equal(await when.getAttribute('aria-invalid'), 'true', 'a condition that cannot be read is told at its field');
  await undo();
  const rules = await page.locator('#editor [data-path$="/when"]').count();
  await change(page, () => page.click('#editor >> text=Add a rule'));
  assert.equal(await page.locator('#editor [data-path$="/when"]').count(), rules + 1);
  await change(page, () => page.locator('#editor [aria-label^="Take out rule"]').last().click());
  assert.equal(await page.locator('#editor [data-path$="/when"]').count(), rules);
  assert.equal(comments(await text()), comments(van));
  await page.click('#editor >> text=Close');
});

await check('the electrics in rows: a circuit\'s wire, its error led to from the verdict; gears; measured fuel', async () => {
  await open('orchard-van.yaml');
  await page.click('[data-section="electrics"] > summary');
  await page.click('[data-rows="circuits/0"] > summary');
  await page.click('[data-rows="circuits/0"] .more > summary');
  const wire = page.locator('[data-path="circuits/0/wire"]');
  await enter(wire, '0.5');
  assert.match(await text(), /load: iron sump\/sump plug 1,.*wire: 0\.5 mm2/);
  await enter(wire, '3 kg');
  assert.equal(await wire.getAttribute('aria-invalid'), 'true');
  await page.click('[data-section="electrics"] > summary');
  await page.click('#verdict >> text=Show electrics');
  await page.waitForFunction(() => document.activeElement.getAttribute('data-path') === 'circuits/0/wire');
  await enter(wire, '0.5');
  await page.click('[data-section="vehicle"] > summary');
  await enter(page.locator('[data-path="gears/1"]'), '14');
  assert.match(await text(), /gears: \[7 km\/h, 14 km\/h/);
  await page.click('[data-section="oil"] > summary');
  await change(page, () => page.click('text=Add readings'));
  await enter(page.locator('[data-path="viscosity/0/is"]'), '36');
  assert.match(await text(), /kind: rapeseed[^]*is: 36 mm2\/s/);
  assert.doesNotMatch(await headline(), /cannot be used/);
  await undo();
  await undo();
});

await check('wiring: what one value mends is a button, the answer before stays until the new one comes', async () => {
  await openView(page, 'wire');
  await page.waitForSelector('.job-body .mend');
  const before = await page.locator('.job-body .answer').count();
  assert.match(await page.textContent('.job-body .mend'), /sump plug 1, wire: \d/);
  await change(page, () => page.click('.job-body .mend >> nth=0'));
  await page.waitForFunction((count) => document.querySelectorAll('.job-body .answer').length < count && !document.querySelector('.job-body.old'), before);
  assert.equal(await page.locator('.job-body .mend').count(), 0);
  assert.doesNotMatch(await page.textContent('.job-body'), /mm2|degC|_/, 'no raw words');
  await shot(page, 'desk-wire-mended', true);
});

await check('a rig with an error: Wiring and Faults say what is wrong, not a table of keys', async () => {
  const good = await text();
  await use(good.replace('bore: 12 mm', 'bore: 12 kg'));
  for (const view of ['wire', 'faults']) {
    await openView(page, view);
    await page.waitForFunction(() => /cannot be worked out/.test(document.querySelector('.job-status')?.textContent ?? ''));
    assert.match(await page.textContent('.job-status'), /supply hose: bore.*kg/);
  }
  await use(good);
  await page.waitForFunction(() => document.querySelector('.job-body .headline') && document.querySelector('.job-status')?.childElementCount === 0, undefined, { timeout: 30000 });
});

await check('too cold for any heat: the blend that does is a button, and does it', async () => {
  await openView(page, 'path');
  await use(van);
  await enter(page.locator('.conditions [data-path="ambient"]'), '-30');
  assert.match(await headline(), /not start/);
  assert.match(await page.textContent('.mend'), /^Do it: fuel: \d+ % diesel, \d+ % rapeseed$/);
  await change(page, () => page.click('.mend'));
  assert.doesNotMatch(await headline(), /not start/);
  assert.match(await text(), /^oil:.*blend/m);
  assert.equal(comments(await text()), comments(van));
});

await check('cold start: an answer that is mended by a value has its button', async () => {
  await use(van.replace('bore: 12 mm', 'bore: 4 mm'));
  await openView(page, 'start');
  const buttons = page.locator('.answers button', { hasText: 'Do it: supply hose, bore' });
  assert.ok((await buttons.count()) > 0);
  await change(page, () => buttons.first().click());
  assert.match(await text(), /supply hose\n *bore: (?!4 mm)/);
  await openView(page, 'path');
});

await check('other units leave the run before as the ghost it is', async () => {
  await open('orchard-van.yaml');
  await pick('supply hose');
  await enter(field('bore'), '5');
  const ghost = await page.getAttribute('.bands .ghost >> nth=0', 'd');
  const line = await page.getAttribute('.bands .trace >> nth=0', 'd');
  await page.click('.menu > summary');
  await page.click('#settings');
  await page.selectOption('#set-units', 'us');
  await settled(page);
  await page.selectOption('#set-units', 'metric');
  await settled(page);
  await page.keyboard.press('Escape');
  assert.equal(await page.getAttribute('.bands .trace >> nth=0', 'd'), line);
  assert.equal(await page.getAttribute('.bands .ghost >> nth=0', 'd'), ghost);
});

/** Holds every answer of an address back until it is let go. */
async function hold(pattern) {
  const held = [];
  let isOpen = false;
  await page.route(pattern, async (route) => {
    if (!isOpen) {
      await new Promise((go) => held.push(go));
    }
    await route.continue().catch(() => undefined);
  });
  return {
    count: () => held.length,
    waiting: async (count) => {
      for (let left = 400; held.length < count && left > 0; left -= 1) {
        await page.waitForTimeout(25);
      }
      assert.ok(held.length >= count, `${held.length} of ${count} were asked`);
    },
    next: () => held.shift()?.(),
    free: async () => {
      isOpen = true;
      held.splice(0).forEach((go) => go());
      await page.unroute(pattern);
    },
  };
}

await check('slow network: what is typed while an answer is on its way is neither lost nor mixed', async () => {
  await open('orchard-van.yaml');
  await pick('supply hose');
  const gate = await hold('**/api/edit');
  await field('bore').fill('1');
  await gate.waiting(1);
  await field('bore').press('End');
  await field('bore').pressSequentially('1.5');
  await gate.free();
  await page.waitForFunction(() => /supply hose/.test(document.querySelector('#editor h2')?.textContent ?? ''));
  await settled(page);
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => !document.querySelector('#editor input[data-pending]'));
  await settled(page);
  assert.equal(await field('bore').inputValue(), '11.5');
  assert.match(await text(), /supply hose\n *bore: 11\.5 mm/);
});

await check('slow network: undo waits for the edit before it; another file is not overwritten by the last one\'s edit', async () => {
  await open('orchard-van.yaml');
  await pick('supply hose');
  let gate = await hold('**/api/edit');
  await field('bore').fill('7');
  await field('bore').press('Enter');
  await gate.waiting(1);
  await page.evaluate(() => document.querySelector('#undo').removeAttribute('disabled'));
  await page.click('#undo');
  await gate.free();
  await page.waitForFunction(() => !document.querySelector('#redo').disabled);
  await settled(page);
  assert.equal(await text(), van, 'undone, to the letter');
  gate = await hold('**/api/edit');
  await field('bore').fill('8');
  await field('bore').press('Enter');
  await gate.waiting(1);
  await page.click('#open');
  await page.click('dialog [data-file="pickup-two-tanks.yaml"]');
  await page.waitForFunction(() => /two tanks/.test(document.querySelector('.file-title').textContent));
  await gate.free();
  await settled(page);
  await page.waitForTimeout(150);
  assert.equal(await text(), readFileSync(join(sourceRoot, 'examples/pickup-two-tanks.yaml'), 'utf8'));
});

await check('a late answer of an older text is not shown: Faults', async () => {
  await openView(page, 'path');
  await open('orchard-van.yaml');
  const gate = await hold('**/api/job/*');
  await openView(page, 'faults');
  await gate.waiting(1);
  await use(van.replaceAll('large filter', 'big filter'));
  await gate.free();
  await page.waitForFunction(() => document.querySelector('.job-status')?.childElementCount === 0 && /big filter/.test(document.querySelector('.job-body')?.textContent ?? ''), undefined, { timeout: 30000 });
  assert.doesNotMatch(await page.textContent('.job-body'), /large filter/i);
});

await check('work is called off by Cancel and begun again', async () => {
  const gate = await hold('**/api/job/*');
  await use(van.replaceAll('large filter', 'third filter'));
  await gate.waiting(1);
  await page.click('.job-status >> text=Cancel');
  assert.match(await page.textContent('.job-status'), /Cancelled/);
  await gate.free();
  await page.click('text=Work out faults');
  await page.waitForFunction(() => document.querySelector('.job-status')?.childElementCount === 0 && /third filter/.test(document.querySelector('.job-body')?.textContent ?? ''), undefined, { timeout: 30000 });
});

await check('a dead network: the picture says that it is of an older text; asking again mends it', async () => {
  await openView(page, 'path');
  await use(van);
  await pick('supply hose');
  await page.route('**/api/morning', (route) => void route.abort());
  await change(page, async () => {
    await field('bore').fill('9');
    await field('bore').press('Enter');
  });
  assert.match(await headline(), /No answer/);
  assert.ok(await page.isVisible('.picture-box.stale'));
  await page.unroute('**/api/morning');
  await page.click('text=Ask again');
  await page.waitForFunction(() => !/No answer/.test(document.querySelector('#verdict .headline').textContent));
  assert.match(await text(), /supply hose\n *bore: 9 mm/);
});
await check('numbers as people type them: a decimal comma, and after a wrong unit the next number has a right one', async () => {
  await use(van);
  await pick('supply hose');
  await enter(field('bore'), '9,5');
  assert.match(await text(), /supply hose\n *bore: 9\.5 mm/);
  await enter(field('bore'), '9 kg');
  assert.equal(await field('bore').getAttribute('aria-invalid'), 'true');
  assert.equal(await page.locator('#editor .field.wrong .field-fault').count(), 1);
  assert.doesNotMatch(await page.textContent('#editor .field.wrong .field-fault'), /bore:/, 'the field\'s name is not said again');
  await enter(field('bore'), '9');
  assert.match(await text(), /supply hose\n *bore: 9 mm/);
  await page.click('#editor >> text=Close');
});

await check('the oil view begins with what is in the tank', async () => {
  await open('van-blend.yaml');
  await openView(page, 'oil');
  await page.waitForSelector('.oil-result .pairs');
  const [oil, with_] = await page.locator('.conditions select').evaluateAll((all) => all.map((one) => one.value));
  assert.equal(with_, 'diesel');
  assert.match(await text(), new RegExp(`blend: \\{.*${oil}`));
  await open('orchard-van.yaml');
  await page.waitForFunction(() => document.querySelectorAll('.conditions select')[1].value === '');
  await openView(page, 'path');
});

await check('compare: what is wrong with the night for both is told once, at its field; a bare number is degrees', async () => {
  await openView(page, 'compare');
  await page.waitForSelector('.view table');
  const soak = page.locator('.conditions input');
  await soak.fill('banana');
  await soak.press('Enter');
  await page.waitForSelector('.conditions .field-fault');
  assert.equal(await page.locator('.field-fault').count(), 1);
  assert.equal(await soak.getAttribute('aria-invalid'), 'true');
  assert.equal(await page.locator('table.cards').count(), 0, 'no empty table');
  await soak.fill('-12');
  await soak.press('Enter');
  await page.waitForSelector('table.cards td.better');
  assert.equal(await page.locator('.field-fault').count(), 0);
  assert.match(await page.textContent('table.cards'), /%/, 'shares are told as per cent');
  await openView(page, 'path');
});

await check('a file that was saved, here or by another, can be opened and compared at once', async () => {
  await use(`# mine\n${van}`);
  await page.click('.menu > summary');
  await page.click('text=Save as');
  await page.fill('dialog input', 'saved-now');
  await page.click('dialog .main');
  await page.waitForFunction(() => !document.querySelector('.file-title').textContent.includes('(changed)'));
  writeFileSync(join(server.folder, 'of-another.yaml'), van);
  await page.click('#open');
  await page.waitForSelector('dialog [data-file="saved-now.yaml"]');
  assert.equal(await page.locator('dialog [data-file="of-another.yaml"]').count(), 1);
  await page.click('dialog .dialog-head button');
});

await check('an edit that the network lost is asked again with Enter', async () => {
  await pick('supply hose');
  await page.route('**/api/edit', (route) => void route.abort());
  await field('bore').fill('10.5');
  await field('bore').press('Enter');
  await page.waitForSelector('.notice.error');
  assert.equal(await field('bore').inputValue(), '10.5', 'what was typed stays');
  await page.unroute('**/api/edit');
  await change(page, () => field('bore').press('Enter'));
  assert.match(await text(), /supply hose\n *bore: 10\.5 mm/);
  await page.click('#editor .editor-head button');
});

await check('on paper: the picture and its axis shrink alike, dark becomes light, what was folded is open and folds again', async () => {
  await page.click('.menu > summary');
  await page.click('#settings');
  await page.selectOption('#set-theme', 'dark');
  await page.keyboard.press('Escape');
  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: 718, height: 1000 });
  await page.evaluate(() => window.dispatchEvent(new Event('beforeprint')));
  const paper = await page.evaluate(() => ({
    heights: ['.picture-axis', '.picture'].map((name) => document.querySelector(name).getBoundingClientRect().height),
    tops: ['.picture-axis', '.picture'].map((name) => document.querySelector(name).getBoundingClientRect().top),
    right: document.querySelector('.picture').getBoundingClientRect().right, room: document.querySelector('.picture-box').getBoundingClientRect().right,
    theme: document.documentElement.getAttribute('data-theme'), rows: document.querySelectorAll('.view table tbody tr').length,
  }));
  assert.ok(Math.abs(paper.heights[0] - paper.heights[1]) < 1 && Math.abs(paper.tops[0] - paper.tops[1]) < 1, JSON.stringify(paper));
  assert.ok(paper.right <= paper.room + 1, JSON.stringify(paper));
  assert.equal(paper.theme, 'light');
  assert.ok(paper.rows > 10, 'the values are on the paper');
  await page.evaluate(() => window.dispatchEvent(new Event('afterprint')));
  await page.emulateMedia({ media: 'screen' });
  await page.setViewportSize({ width: 1400, height: 900 });
  assert.equal(await page.evaluate(() => document.documentElement.getAttribute('data-theme')), 'dark');
  assert.equal(await page.locator('.view > details.panel[open]').count(), 0);
});
const desk = log.errors.filter((message) => !/ERR_FAILED|Failed to load/.test(message));
await check('no error was logged', () => assert.deepEqual(desk, []));
await context.close();

{
  const phone = await browse({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
  await openPage(phone.page, server.address);
  for (const view of ['path', 'oil', 'start', 'wire', 'faults', 'compare']) {
    await check(`phone: every button of ${view} can be tapped, nothing is wider than the screen`, async () => {
      await openView(phone.page, view);
      await settled(phone.page);
      if (view === 'wire' || view === 'faults') {
        await phone.page.waitForSelector('.job-body .headline', { timeout: 30000 });
      }
      if (view === 'compare') {
        await phone.page.waitForSelector('table.cards');
        assert.ok((await phone.page.locator('table.cards caption').boundingBox()).width > 250, 'the caption has its line');
      }
      const odd = await phone.page.evaluate(async () => {
        const found = [];
        for (const element of document.querySelectorAll('button, select, input:not([type="file"]), summary')) {
          if (!element.checkVisibility() || element.disabled || element.classList.contains('sr') || element.closest('.tabs')) {
            continue;
          }
          element.scrollIntoView({ block: 'center', inline: 'nearest' });
          const box = element.getBoundingClientRect();
          const on = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
          if (!on || !(element.contains(on) || on.contains(element))) {
            found.push(`${element.textContent || element.getAttribute('aria-label')} lies under ${on?.className ?? 'nothing'}`);
          }
        }
        const wide = [...document.querySelectorAll('.view .table-scroll')].filter((box) => box.checkVisibility() && !box.querySelector('img') && box.scrollWidth > box.clientWidth + 1).map((box) => `${box.getAttribute('aria-label')} scrolls sideways`);
        return [...found, ...wide, ...(document.documentElement.scrollWidth > document.documentElement.clientWidth ? ['the page scrolls sideways'] : [])];
      });
      assert.deepEqual(odd, []);
      await shot(phone.page, `phone-vehicle-${view}`, true);
    });
  }
  await phone.context.close();
}
await server.stop();
end();
