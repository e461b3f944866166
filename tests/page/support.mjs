// SPDX-License-Identifier: GPL-3.0-or-later
// For the tests and the bench of the page: a server on a copy of the examples, a browser, checks with names.
// Ends 77 (skipped) when the browser or node_modules is not there; nothing else skips.
import { execFileSync, spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const SKIP = 77;
const [binary, root] = process.argv.slice(2);
if (!binary || !root) {
  console.error('usage: node <test>.mjs OILWRIGHT SOURCE_ROOT');
  process.exit(2);
}
export const sourceRoot = root;
const chromiumPath = process.env.OW_CHROMIUM ?? '/usr/bin/chromium';
const scratch = mkdtempSync(join(tmpdir(), 'ow-page-'));
process.on('exit', () => rmSync(scratch, { recursive: true, force: true }));

export async function tool(name) {
  try {
    return await import(name);
  } catch (error) {
    if (error.code === 'ERR_MODULE_NOT_FOUND') {
      console.log(`skipped: ${name} is not installed; npm ci`);
      process.exit(SKIP);
    }
    throw error;
  }
}

let assets = null;
/** The page built from its sources as they stand, whatever is built into the program. */
export async function builtPage() {
  await tool('esbuild');
  if (assets === null) {
    assets = join(scratch, 'assets');
    execFileSync(process.execPath, [join(root, 'page/web/build.mjs'), '--check', '--out', assets], { stdio: ['ignore', 'ignore', 'inherit'] });
  }
  return assets;
}

/** Starts the server on a fresh copy of the examples; the address is read from what it prints. */
export async function serve(extra = [], prepare = () => undefined) {
  const page = await builtPage();
  const folder = mkdtempSync(join(scratch, 'rigs-'));
  cpSync(join(root, 'examples'), folder, { recursive: true });
  prepare(folder, binary);
  const child = spawn(binary, ['page', '--no-browser', '--port', '0', '--assets', page, '--folder', folder, '--book', join(folder, 'oilwright.book'), ...extra], { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '';
  let url = '';
  const address = await new Promise((done, fail) => {
    const timer = setTimeout(() => fail(new Error(`the server did not say its address within 20 s: ${said}`)), 20000);
    const hear = (data) => {
      said += data;
      const found = /http:\/\/[\d.]+:\d+/.exec(said);
      if (found) {
        clearTimeout(timer);
        url = /http:\/\/\S+/.exec(said)?.[0] ?? '';
        done(found[0]);
      }
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.on('exit', (code) => fail(new Error(`the server ended with ${code}: ${said}`)));
  });
  const stop = () => new Promise((done) => {
    child.removeAllListeners('exit');
    child.on('exit', (code, signal) => done({ code, signal }));
    child.kill('SIGTERM');
    setTimeout(() => child.kill('SIGKILL'), 5000).unref();
  });
  process.on('exit', () => child.kill('SIGKILL'));
  return { address, url: () => url, folder, stop };
}

export async function browse(options = {}) {
  const { chromium } = await tool('playwright-core');
  if (!existsSync(chromiumPath)) {
    console.log(`skipped: there is no ${chromiumPath}`);
    process.exit(SKIP);
  }
  const context = await chromium.launchPersistentContext(mkdtempSync(join(scratch, 'profile-')), {
    executablePath: chromiumPath, headless: true, viewport: { width: 1400, height: 900 }, acceptDownloads: true,
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
    ...options,
  });
  const page = context.pages()[0];
  const log = { errors: [], foreign: [] };
  page.on('pageerror', (error) => log.errors.push(error.message));
  page.on('console', (message) => message.type() === 'error' && log.errors.push(message.text()));
  page.on('request', (request) => /^(https?|wss?):/.test(request.url()) && !request.url().startsWith(options.home ?? 'http://127.0.0.1') && log.foreign.push(request.url()));
  page.setDefaultTimeout(15000);
  return { context, page, log };
}

export async function openPage(page, address) {
  await page.goto(address);
  await page.waitForSelector('body.ready');
  await settled(page);
}

/** The logbook of an invented year beside the rigs, for `serve`. */
export const withYear = (folder, program) => execFileSync(program, ['log', '--book', join(folder, 'oilwright.book'), 'demo'], { stdio: 'ignore' });

/** Goes to a view; on a phone the half of the work it belongs to may have to be opened first. */
export async function openView(page, view) {
  const tab = page.locator(`[data-view="${view}"]`);
  if (!(await tab.isVisible())) {
    await page.click(`[data-area="${['log', 'yard', 'life', 'cost'].includes(view) ? 'yard' : 'vehicle'}"]`);
  }
  await tab.click();
  await page.waitForSelector(`[data-view="${view}"][aria-current]`);
}

/** Until nothing is being read or simulated. */
export async function settled(page) {
  await page.waitForFunction(() => document.body.classList.contains('ready') && !document.body.classList.contains('busy'));
  await page.waitForTimeout(30);
}

/** Does something that changes the rig, and waits until it is drawn. */
export async function change(page, act) {
  const before = await page.evaluate(() => performance.getEntriesByName('edit-to-drawn').length);
  await act();
  await page.waitForFunction((count) => performance.getEntriesByName('edit-to-drawn').length > count, before);
  await settled(page);
}

/** Screenshots are for people: only when OW_SHOTS names a folder. */
export async function shot(page, name, full = false) {
  if (process.env.OW_SHOTS) {
    mkdirSync(process.env.OW_SHOTS, { recursive: true });
    await page.screenshot({ path: join(process.env.OW_SHOTS, `${name}.png`), fullPage: full });
  }
}

let failed = 0;
let passed = 0;
export async function check(name, run) {
  try {
    await run();
    passed += 1;
    console.log(`ok   ${name}`);
  } catch (error) {
    failed += 1;
    console.log(`FAIL ${name}\n     ${String(error.stack ?? error).split('\n').slice(0, 6).join('\n     ')}`);
  }
}
export function end() {
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed === 0 && passed > 0 ? 0 : 1);
}
