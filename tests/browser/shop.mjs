// SPDX-License-Identifier: GPL-3.0-or-later
// What the browser tests share: a server on a fresh shelf, a browser, checks.

import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { mkdtempSync, readFileSync, rmSync, mkdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

// What is tested: a program that serves the page, or the page all in one file; `program` has the commands in both cases.
export const inFile = process.argv[2].endsWith('.html');
export const program = inFile ? process.argv[4] : process.argv[2];

export const PHONE = { width: 360, height: 740 };
export const TABLET = { width: 768, height: 1024 };
export const DESKTOP = { width: 1280, height: 860 };

// Throws when the server ends by itself. `said()` is what it has printed. `before`: one that was stopped, whose shelf and
// port are taken up. A program that is a page, all in one file, is opened from disk.
export async function serve(tested, options = [], before = null) {
  if (inFile) return { address: pathToFileURL(tested).href, end: async () => {}, said: () => '', shelf: null };
  const folder = before ? before.folder : mkdtempSync(join(tmpdir(), 'shop-'));
  const port = before ? new URL(before.address).port : '0';
  const server = spawn(tested, ['serve', '--port', port, '--shelf', join(folder, 'shelf.db'), ...options], { stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  const address = await new Promise((found, failed) => {
    server.stdout.on('data', (bytes) => {
      said += bytes;
      const line = said.match(/^(http:\S+)\n/);
      if (line) found(line[1]);
    });
    server.on('exit', (status) => failed(new Error(`the server ended with ${status}`)));
  });
  const stop = async () => {
    server.removeAllListeners('exit');
    const gone = new Promise((done) => { server.on('exit', done); });
    server.kill('SIGTERM');
    await Promise.race([gone, new Promise((done) => { setTimeout(done, 3000); })]);
  };
  const end = async () => {
    await stop();
    rmSync(folder, { recursive: true, force: true });
  };
  return { address, folder, stop, end, said: () => said, shelf: join(folder, 'shelf.db') };
}

export const browse = () => chromium.launch({
  executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
  args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
    '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});

let failed = 0;
export function check(good, what) {
  if (!good) {
    failed += 1;
    console.log(`FAILED ${what}`);
  }
}
export const equal = (is, should, what) =>
  check(is === should, `${what}: ${JSON.stringify(is)} instead of ${JSON.stringify(should)}`);
export const failures = () => failed;

// A page that complains of anything it should not do: script errors, policy violations, requests to
// any other server.
export async function visitor(browser, address, viewport, options = {}) {
  const { away, ...more } = options; // away: the server is stopped now and then
  const context = await browser.newContext({ viewport, permissions: ['clipboard-read', 'clipboard-write'], ...more });
  // What a test asks of the application itself, it asks of the one in the page where no server is behind it.
  if (address.startsWith('file:')) await context.addInitScript(() => { window.fetch = (...asked) => globalThis.dropwiseAlone.fetch(...asked); });
  const page = await context.newPage();
  page.setDefaultTimeout(8000);
  page.on('pageerror', (error) => check(false, `script error: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error' && !(options.away ? /status of (401|404|409|422)|Failed to load resource|ERR_/ : /status of (401|404|409|422)/).test(message.text())) check(false, `console: ${message.text()}`);
  });
  page.on('request', (request) => {
    const url = request.url();
    check(url.startsWith(address) || url.startsWith('data:') || url.startsWith('blob:'), `request to ${url}`);
  });
  return page;
}

// What an address of the application gives: of the server's, or of the one in the page.
export async function given(page, address) {
  const { protocol, pathname, search } = new URL(address, page.url());
  if (protocol !== 'file:') {
    const answer = await page.request.get(new URL(address, page.url()).href);
    return { status: answer.status(), body: await answer.body() };
  }
  const { status, text } = await page.evaluate(async (path) => {
    const answer = await globalThis.dropwiseAlone.fetch(path);
    const bytes = new Uint8Array(await (await answer.blob()).arrayBuffer());
    return { status: answer.status, text: Array.from(bytes, (byte) => String.fromCharCode(byte)).join('') };
  }, pathname + search);
  return { status, body: Buffer.from(text, 'latin1') };
}

const shots = process.env.SHOTS;
if (shots) mkdirSync(shots, { recursive: true });
export async function shot(page, name) {
  if (shots) await page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
}

async function fits(page, what) {
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  check(wide <= 0, `${what}: ${wide} pixels wider than the window`);
}

// Text of 14 pixels at least, and what is pressed 44 pixels high.
async function large(page, what) {
  const small = await page.evaluate(() => {
    const found = new Set();
    const shown = (one) => one.checkVisibility?.({ visibilityProperty: true }) && one.getBoundingClientRect().height > 1 && !one.closest('.hidden, .skip');
    const tell = (one, size) => found.add(`${one.tagName.toLowerCase()}.${[...one.classList].join('.')} "${one.textContent.trim().slice(0, 20)}" ${size}`);
    for (const one of document.querySelectorAll('body *')) {
      const own = [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
      const size = parseFloat(getComputedStyle(one).fontSize);
      if (own && size < 14 && shown(one)) tell(one, `${size}px`);
    }
    for (const one of document.querySelectorAll('button, .button, select, summary, input:not([type=checkbox], [type=radio], [type=file], .hidden), nav a')) {
      const { height } = one.getBoundingClientRect();
      if (shown(one) && height < 43.5) tell(one, `${height} high`);
    }
    return [...found].slice(0, 5);
  });
  check(!small.length, `${what}: too small: ${small.join('; ')}`);
}

// No finding of axe-core (WCAG 2.0 to 2.2, A and AA), and nothing wider than the window; a window of
// a desktop is made as narrow as a tablet for that too.
export async function accessible(page, what) {
  await fits(page, what);
  await large(page, what);
  const size = page.viewportSize();
  if (size.width > TABLET.width) {
    await page.setViewportSize(TABLET);
    await fits(page, `${what}, on a tablet`);
    await shot(page, `tablet-${what.replace(/ /g, '-')}`);
    await page.setViewportSize(size);
  }
  await page.evaluate(() => window.scrollTo(0, 0)); // what has scrolled below the head of the page is not small
  if (!await page.evaluate(() => Boolean(window.axe))) await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, {
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
  }));
  for (const finding of found.violations)
    check(false, `${what}: ${finding.impact} ${finding.id}: ${finding.help} at ${finding.nodes.slice(0, 3).map((node) => node.target.join(' ')).join('; ')}`);
}

// Pastes a text into the focused element, as a clipboard does.
export const paste = (page, selector, text) => page.locator(selector).first().evaluate((element, value) => {
  const data = new DataTransfer();
  data.setData('text/plain', value);
  element.focus();
  const event = new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true });
  element.dispatchEvent(event);
}, text);

// Pastes a list, and accepts the rows that are understood.
export async function pasteList(page, selector, text) {
  await paste(page, selector, text);
  await page.locator('#take-rows').click();
}

// Waits until `test`, run in the page, is true. (The page's policy forbids the evaluation that
// playwright's own waitForFunction is made of.)
export async function until(page, test, argument) {
  const end = Date.now() + 8000;
  while (Date.now() < end) {
    if (await page.evaluate(test, argument)) return;
    await new Promise((next) => { setTimeout(next, 30); });
  }
  throw new Error(`waited in vain for ${test}`);
}
