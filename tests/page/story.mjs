// SPDX-License-Identifier: GPL-3.0-or-later
// One story as it happens in a yard, on a phone, with a thumb: pick-up, batch, tests, fill, drive, filter change, and the cost
// of a mile moves. Names and figures are invented.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { browse, check, end, serve, settled, shot, withYear } from './support.mjs';

const { context, page, log } = await browse({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
const server = await serve();
const book = join(server.folder, 'oilwright.book');
const command = (...words) => execFileSync(process.argv[2], words, { encoding: 'utf8' });

let taps = 0;
const tap = async (selector) => {
  taps += 1;
  await page.tap(selector);
};
const view = async (name) => {
  await tap(`[data-view="${name}"]`);
  await page.waitForSelector(`[data-view="${name}"][aria-current]`);
};
/** The chip of a field with these words. */
const chip = (field, words) => tap(`[data-field="${field}"] label.chip:has-text("${words}")`);
const type = (field, text) => page.fill(`[data-field="${field}"] input[type="text"]`, text);
const newThing = async (field, name, kind) => {
  await chip(field, 'New');
  await page.fill(`[data-field="${field}"] .new-thing input`, name);
  if (kind) {
    await page.selectOption(`[data-field="${field}"] .new-thing select`, kind);
  }
};
const add = async (kind) => {
  if (!(await page.isVisible(`[data-add="${kind}"]`))) {
    await tap('.adds summary');
  }
  await tap(`[data-add="${kind}"]`);
  await page.waitForSelector(`form[data-kind="${kind}"]`);
};
/** The day it happened, so many days ago. */
const ago = async (days) => {
  await tap('.entry-form fieldset.chips:last-of-type label.chip:has-text("Another day")');
  const day = new Date(Date.now() - days * 86400e3);
  await page.fill('.entry-form input[type="date"]', `${day.getFullYear()}-${String(day.getMonth() + 1).padStart(2, '0')}-${String(day.getDate()).padStart(2, '0')}`);
};
const save = async () => {
  await tap('.save');
  await page.waitForFunction(() => document.querySelector('.saved:not([hidden]) .said') || document.querySelector('.entry-form .field-fault'));
  assert.deepEqual(await page.locator('.entry-form .field-fault').allTextContents(), []);
  return page.textContent('.saved');
};

await check('a bookmark opens the log at once, and a shop without a logbook may begin', async () => {
  await page.goto(`${server.address}/#view=log`);
  await page.waitForSelector('[data-add="pickup"]');
  await settled(page);
  assert.ok(!existsSync(book));
  assert.match(await page.textContent('.log-list'), /book is empty/i);
  await shot(page, 'story-empty');
});

await check('the first pick-up makes the kitchen, the drum and the book in one go', async () => {
  await add('pickup');
  assert.ok(await page.evaluate(() => document.activeElement.matches('[data-field="volume"] input[inputmode="decimal"]')), 'typing begins at the litres, on a number pad');
  await type('volume', '120');
  await newThing('source', 'Hill Cafe');
  await newThing('into', 'drum 1', 'vessel');
  await shot(page, 'story-pickup');
  await ago(75);
  assert.match(await save(), /120 L.*Hill Cafe.*drum 1/);
  assert.ok(existsSync(book));
});

await check('the next pick-up takes few taps: what was picked last is picked again', async () => {
  taps = 0;
  const began = Date.now();
  await add('pickup');
  await page.keyboard.type('55');
  const said = await save();
  assert.match(said, /55 L.*Hill Cafe.*drum 1/);
  assert.ok(taps <= 3, `${taps} taps`);
  assert.ok(Date.now() - began < 20000);
  console.log(`     ${taps} taps, 2 digits`);
});

await check('gallons may be typed once it is clear which, and a slip is taken back without being lost', async () => {
  await add('pickup');
  await type('volume', '16 gal');
  await tap('.save');
  assert.match(await page.textContent('[data-field="volume"] .field-fault'), /US gal/);
  await type('volume', '16 US gal');
  assert.match(await save(), /60\.\d* L.*Hill Cafe/);
  await tap('#take-back');
  await page.waitForSelector('.saved:has-text("Taken back")');
  await page.waitForFunction(() => document.querySelectorAll('.log-list .entry').length > 0 && ![...document.querySelectorAll('.log-list .entry')].some((entry) => /60\.\d/.test(entry.textContent)));
  await tap('.log-list .tick-label');
  await page.waitForSelector('.log-list .entry.undone');
  await tap('.log-list .tick-label');
});

await check('words do the same as the command line', async () => {
  const line = page.locator('.quick input');
  await line.fill('pickup hill cafe 20 L drum 1');
  await page.waitForFunction(() => /20 L/.test(document.querySelector('.quick-said').textContent));
  await tap('.quick button[type="submit"]');
  await page.waitForSelector('.saved .said:has-text("20 L")');
  await line.fill('pickup hill caff 20 L drum 1');
  await page.waitForFunction(() => document.querySelector('.quick-said').classList.contains('asks'));
  await tap('.quick button[type="submit"]');
  await page.waitForFunction(() => document.querySelector('.quick-said').textContent.length > 5);
  assert.equal(await line.inputValue(), 'pickup hill caff 20 L drum 1', 'what was not understood stays');
  await line.fill('');
});

await check('a batch is drawn from the drum into a settling vessel', async () => {
  await add('batch');
  await type('name', 'B1');
  await chip('from', 'drum 1');
  await type('volume', '110');
  await newThing('vessel', 'cone', undefined);
  await ago(60);
  assert.match(await save(), /B1/);
  await view('yard');
  await page.waitForSelector('[data-column="settling"] [data-batch="B1"]');
  assert.match(await page.textContent('[data-vessel="drum 1"]'), /85 L/);
  assert.match(await page.textContent('[data-batch="B1"]'), /110 L/);
  await shot(page, 'story-yard', true);
});

await check('settling, filtering and the tests move it along the board', async () => {
  await view('log');
  await add('step');
  await chip('batch', 'B1');
  await chip('what', 'settle');
  await type('loss', '6');
  await chip('waste', 'sludge');
  await ago(55);
  await save();
  await add('step');
  await chip('what', 'filter');
  await ago(50);
  await save();
  await view('yard');
  await page.waitForSelector('[data-column="filtering"] [data-batch="B1"]');
  await view('log');
  await add('test');
  await chip('of', 'B1');
  await chip('decision', 'keep');
  await type('acid', '1.8');
  await type('water', '420');
  await ago(49);
  assert.match(await save(), /keep/);
  await view('yard');
  await page.waitForSelector('[data-column="ready"] [data-batch="B1"]');
  assert.match(await page.textContent('[data-batch="B1"]'), /104 L.*acid 1\.8.*water 420/s);
  await tap('[data-batch="B1"]');
  await page.waitForSelector('dialog .shares');
  assert.match(await page.textContent('dialog .shares'), /Hill Cafe/);
  assert.match(await page.textContent('dialog'), /Where it went/);
  await shot(page, 'story-batch');
  await tap('dialog .dialog-head button');
});

const fill = async (litres, odometer, days, first) => {
  await view('log');
  await add('fill');
  if (first) {
    await newThing('vehicle', 'van');
    await chip('from', 'B1');
  }
  await type('oil', String(litres));
  await type('odometer', String(odometer));
  await chip('full', 'yes');
  await ago(days);
  return save();
};

await check('the van is filled from it, a filter is fitted, and it drives', async () => {
  assert.match(await fill(30, 182000, 45, true), /30 L.*van/);
  await add('filter');
  await chip('vehicle', 'van');
  await type('filter', 'oil filter');
  await chip('reason', 'fitted');
  await type('odometer', '182000');
  await ago(45);
  await save();
  await fill(24, 182300, 20, false);
  // On from the kitchen: the pick-up's oil is found in the van.
  await page.selectOption('.list-tools select', 'pickup');
  await page.waitForFunction(() => document.querySelectorAll('.log-list .entry').length > 0 && [...document.querySelectorAll('.log-list .entry')].every((entry) => /Pick-up/.test(entry.textContent)));
  await tap('.log-list .entry:last-child summary');
  await tap('.log-list .entry:last-child [data-forward]');
  await page.waitForSelector('.log-list .shares:has-text("van")');
  await page.selectOption('.list-tools select', '');
  await add('odometer');
  await type('odometer', '182560');
  assert.match(await save(), /van.*182 ?560/);
  await view('life');
  await page.waitForSelector('[data-filter="van oil filter"] .life-curve');
  assert.match(await page.textContent('[data-filter="van oil filter"]'), /560 km/);
});

/** What a mile costs by the page, own hours left out, in hundredths. */
const costOfMile = async () => {
  await view('cost');
  const version = await page.evaluate(async () => (await (await fetch('/api/log/kinds')).json()).version);
  await page.waitForSelector(`.cost-result[data-book="${version}"][aria-busy="false"] .waterfall`);
  return page.evaluate(() => document.querySelector('[data-cost="way"] dd').firstChild.textContent);
};
let before = '';
await check('costs with the logbook: a mile', async () => {
  await tap('.menu > summary');
  await tap('#settings');
  await page.selectOption('#set-units', 'us');
  await tap('dialog .dialog-head button');
  before = await costOfMile();
  assert.match(before, /\d\.\d\d.*\/mile/);
  assert.match(await page.textContent('.cost-view'), /Logbook: \d+ figures/);
  await shot(page, 'story-cost-before', true);
});

await check('a filter that plugs after 560 km moves the cost of a mile', async () => {
  await view('log');
  await add('filter');
  await chip('reason', 'plugged');
  assert.equal(await page.inputValue('[data-field="filter"] input'), 'oil filter', 'the filter is known from last time');
  await type('odometer', '182560 km');
  await page.tap('.entry-form .more summary');
  await type('price', '14');
  await save();
  await view('life');
  await page.waitForFunction(() => /Filters so far/.test(document.querySelector('[data-filter="van oil filter"]')?.textContent ?? ''));
  await shot(page, 'story-life', true);
  const after = await costOfMile();
  assert.notEqual(after, before, `a mile stays at ${before}`);
  console.log(`     a mile: ${before} -> ${after}`);
  await shot(page, 'story-cost-after', true);
});

await check('a figure is changed where it stands, undone, and saved', async () => {
  const was = await page.textContent('[data-cost="diesel"] dd');
  await page.tap('.cost-view details.panel[data-section="fuel"] summary');
  await page.fill('[data-input="fuel.diesel price"]', '2.40 per L');
  await page.press('[data-input="fuel.diesel price"]', 'Enter');
  await page.waitForFunction((old) => document.querySelector('[data-cost="diesel"] dd').textContent !== old, was);
  await page.tap('#cost-save');
  await page.waitForSelector('.notice:has-text("Saved as costs.yaml")');
  assert.ok(existsSync(join(server.folder, 'costs.yaml')));
  await page.tap('#cost-undo');
  await page.waitForFunction((old) => document.querySelector('[data-cost="diesel"] dd').textContent === old, was);
});

await check('a figure that the logbook knows can be tried out, and let go', async () => {
  const shown = () => page.evaluate(() => document.querySelector('[data-cost="way"] dd').firstChild.textContent);
  const was = await shown();
  await page.tap('.cost-view details.panel[data-section="vehicle"] summary');
  await page.fill('[data-input="vehicle.filter life on oil"]', '9000 mi');
  await page.press('[data-input="vehicle.filter life on oil"]', 'Enter');
  await page.waitForSelector('.cost-result[aria-busy="false"]');
  await page.waitForFunction((old) => document.querySelector('[data-cost="way"] dd').firstChild.textContent !== old, was);
  await page.tap('button[aria-label^="as it was"]');
  await page.waitForFunction((old) => document.querySelector('[data-cost="way"] dd').firstChild.textContent === old, was);
});

await check('what is written elsewhere shows here, and what is written here is read elsewhere', async () => {
  command('log', '--book', book, 'pickup', 'hill', 'cafe', '33', 'L', 'drum', '1');
  await view('log');
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
  await page.fill('.list-tools input[type="search"]', 'cafe'); // in US units by now: 33 L are 8.72 US gal
  await page.waitForSelector('.log-list .entry:has-text("8.7")');
});

await check('without the shop\'s network nothing is lost: the words stay, and one press saves them once', async () => {
  await page.fill('.list-tools input[type="search"]', '');
  await add('expense');
  await chip('what', 'electricity');
  await type('amount', '12.50');
  await context.setOffline(true);
  await tap('.save');
  await page.waitForSelector('.form-notes .field-fault');
  assert.match(await page.textContent('.form-notes'), /Not saved.*kept/s);
  assert.equal(await page.inputValue('[data-field="amount"] input'), '12.50');
  await context.setOffline(false);
  // The answer is lost after it was written: the second press must not write again.
  let lost = false;
  await page.route('**/api/log', async (route) => {
    if (!lost && route.request().method() === 'POST') {
      lost = true;
      await route.fetch();
      await route.abort();
    } else {
      await route.continue();
    }
  });
  await tap('.save');
  await page.waitForSelector('.form-notes .field-fault');
  await page.unroute('**/api/log');
  await save();
  await page.waitForSelector('.log-list .entry:has-text("12.50")');
  assert.equal(await page.locator('.log-list .entry:has-text("12.50")').count(), 1);
});

await check('what the book learns while a form is open can be picked in it, and what was picked stays picked', async () => {
  let release = () => undefined;
  const held = new Promise((go) => { release = go; });
  let asked = 0;
  await page.route('**/api/log/things*', async (route) => {
    asked += 1;
    const response = await route.fetch();
    await held; // the answer is older than what is written meanwhile
    await route.fulfill({ response });
  });
  command('log', '--book', book, 'pickup', 'hill', 'cafe', '1', 'L', 'drum', '1');
  const answered = page.waitForRequest('**/api/log/things*');
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
  await answered;
  await add('vessel');
  await type('name', 'low tank');
  await save();
  await add('move');
  await chip('from', 'drum 1');
  assert.equal(await page.locator('[data-field="to"] label.chip:has-text("low tank")').count(), 0, 'the form was open first');
  release();
  await page.waitForSelector('[data-field="to"] label.chip:has-text("low tank")');
  assert.ok(asked >= 2, 'asked again, because the book was written after the first question');
  assert.ok(await page.locator('[data-field="from"] label.chip:has-text("drum 1")').evaluate((label) => document.getElementById(label.htmlFor).checked));
  await page.unroute('**/api/log/things*');
  await tap('.entry-form .entry-head button');
});

await check('a message never stands between the thumb and a button', async () => {
  await page.waitForSelector('.log-list .entry summary');
  await tap('.log-list .entry summary');
  await context.setOffline(true);
  await tap('.log-list .entry[data-entry] details[open] .button.danger');
  await page.waitForSelector('.notice.error');
  await context.setOffline(false);
  await add('expense');
  const covered = await page.evaluate(() => [...document.querySelectorAll('.entry-form button, .entry-form label.chip, .entry-form input[type="text"]')].filter((one) => one.checkVisibility()).filter((one) => {
    one.scrollIntoView({ block: 'center', behavior: 'instant' });
    const box = one.getBoundingClientRect();
    const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    return !(top === one || one.contains(top));
  }).map((one) => one.textContent || one.id));
  await shot(page, 'story-message');
  assert.deepEqual(covered, []);
  await tap('.notice.error button');
  await tap('.entry-form .entry-head button');
});

await check('a reload keeps what was typed and not saved', async () => {
  await add('waste');
  await type('volume', '7');
  await page.reload();
  await page.waitForSelector('[data-add="waste"]');
  await add('waste');
  assert.equal(await page.inputValue('[data-field="volume"] input'), '7');
  await tap('.entry-form .entry-head button');
});

await check('nothing was asked of the internet, nothing failed that was not meant to', () => {
  assert.deepEqual(log.foreign, []);
  assert.deepEqual(log.errors.filter((text) => !/ERR_INTERNET_DISCONNECTED|ERR_FAILED|Failed to load resource: net::/.test(text)), []);
});

await check('a page that may only look says so and offers nothing to write', async () => {
  const other = await serve(['--share', '--address', '127.0.0.1'], withYear);
  await page.goto(other.url());
  await page.waitForSelector('body.ready');
  await page.goto(`${other.address}/#view=log`);
  await page.reload();
  await page.waitForSelector('.log-list .entry');
  assert.match(await page.textContent('.log-view'), /only shows the logbook/);
  assert.ok(await page.isHidden('.quick'));
  assert.equal(await page.locator('[data-add]:visible').count(), 0);
  await page.tap('.log-list .entry summary');
  assert.equal(await page.locator('.log-list .entry .button.danger').count(), 0);
  await check('costs of one vehicle or of all, and it is said whose they are', async () => {
    await view('cost');
    await page.waitForSelector('.cost-result[aria-busy="false"] :text("all 2 vehicles together")');
    await tap('.cost-view label.chip:has-text("orchard van")');
    await page.waitForSelector('.cost-result[aria-busy="false"] :text("orchard van alone")');
    assert.ok(await page.isChecked('.cost-view input[value="orchard van"]'));
  });
  await check('what is due stands open, what is not due is folded away', async () => {
    await view('life');
    await page.waitForSelector('.life-curve');
    assert.equal(await page.locator('.due-list li:not(.now, .soon):visible').count(), 0);
    assert.ok(await page.locator('.due-list li.now:visible').count() > 0);
    await tap('.life-view section[aria-label="Due"] details.more > summary');
    await page.waitForSelector('.due-list li:has-text("water drain"):visible');
  });
  await other.stop();
});

await context.close();
await server.stop();
end();
