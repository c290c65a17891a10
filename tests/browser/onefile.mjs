// SPDX-License-Identifier: GPL-3.0-or-later
// What only the page in one file does: without a network, printed by the browser, with its shelf in the browser's
// own store, through killed browsers.  usage: node onefile.mjs DROPWISE_HTML SAMPLES PROGRAM KILLS

import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { serve, browse, visitor, accessible, shot, pasteList, until, check, equal, failures, program, DESKTOP } from './shop.mjs';

const KILLS = Number(process.argv[5] || 5);
const folder = mkdtempSync(join(tmpdir(), 'onefile-'));
const LIST = 'Part\tLength (mm)\tQty\nrail\t1180\t4\ntie\t640\t3\n';

// --- the main job with the network off ----------------------------------------------------------------

async function ask(page, method, path, body) {
  return page.evaluate(async (asked) => {
    const { token } = await (await fetch('/api/session')).json();
    const answer = await fetch(asked.path, { method: asked.method, headers: { 'X-Dropwise-Token': token }, body: asked.body && JSON.stringify(asked.body) });
    return { status: answer.status, json: await answer.json() };
  }, { method, path, body });
}

async function planned(page) {
  const text = readFileSync(join(process.argv[3], 'trio-rack.yaml'), 'utf8');
  const { json } = await ask(page, 'POST', '/api/plans', { text, time_ms: 1000 });
  for (;;) {
    const { json: task } = await ask(page, 'GET', `/api/tasks/${json.task}`);
    if (task.state === 'done') return task.result.plan;
    check(task.state !== 'failed', `the plan is made: ${task.error}`);
    if (task.state === 'failed') return null;
    await new Promise((next) => { setTimeout(next, 50); });
  }
}

// The sheet as the browser prints it: a page of paper each, true to size, with the figures.
async function printed(page, key) {
  await page.evaluate(() => { window.print = () => {}; });
  await page.goto(`${page.url().split('#')[0]}#/plan/${key}`);
  await page.waitForSelector('.headline');
  await page.locator('#papers').click();
  await page.getByLabel('Cut sheet as PDF').click();
  await page.waitForSelector('dialog.pages svg');
  // Its letters are measured in millimetres, as on paper (tests/unit/draw).
  await shot(page, 'onefile-paper');
  const pages = await page.locator('dialog.pages > svg').count();
  const pdf = join(folder, 'sheet.pdf');
  writeFileSync(pdf, await page.pdf({ preferCSSPageSize: true }));
  const info = execFileSync('pdfinfo', [pdf], { encoding: 'utf8' });
  equal(Number(info.match(/Pages: +(\d+)/)[1]), pages, 'a sheet of paper for each page');
  check(/Page size: +59[45]\.\S* x 84[12]\.\S* pts \(A4\)/.test(info), `true to size: ${info.match(/Page size.*/)}`);
  const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' });
  for (const says of ['Cut sheet', 'Bar 1', 'bridge rail', 'Clamp the tube', '100 mm if printed at full size'])
    check(text.includes(says), `the printed sheet says ${says}`);
  await page.getByRole('button', { name: 'Close', exact: true }).click();
  await until(page, () => !document.querySelector('dialog'));
}

async function offline(browser, address) {
  const page = await visitor(browser, address, DESKTOP, { acceptDownloads: true });
  await page.context().setOffline(true);
  await page.goto(`${address}#/`);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await pasteList(page, '.paste textarea', LIST);
  await page.waitForSelector('[data-place="parts.1.label"]');
  await printed(page, await planned(page));
  await page.goto(`${address}#/shelf-keep`);
  const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'Copy of the shelf\u2019s file' }).click()]);
  const copy = join(folder, 'copy.db');
  await download.saveAs(copy);
  check(/sound/.test(execFileSync(program, ['shelf', 'check', '--shelf', copy], { encoding: 'utf8' })), 'the program finds the copy sound');
  execFileSync(program, ['shelf', 'material', 'pole', '--shelf', copy]);
  execFileSync(program, ['shelf', 'add', 'pole', '1234 mm', '--number', 'P-77', '--shelf', copy]);
  page.on('dialog', (dialog) => dialog.accept());
  await page.setInputFiles('#shelf-file', copy);
  await page.waitForSelector('a:has-text("P-77")');
  await page.goto(`${address}#/shelf-keep`);
  await page.setInputFiles('#shelf-file', { name: 'other.db', mimeType: 'application/octet-stream', buffer: Buffer.from('not a shelf at all, but long enough to be read') });
  await page.waitForSelector('[role="alert"]:has-text("nothing is changed")');
  await accessible(page, 'copies in the file');
  await page.goto(`${address}#/settings`);
  await page.waitForSelector('h2:has-text("Several people")');
  await accessible(page, 'settings in the file');
  const second = await page.context().newPage();
  await second.goto(`${address}#/shelf`);
  await second.waitForSelector('h1:has-text("Open already")');
  await accessible(second, 'a second tab');
  await second.close();
  await page.reload();
  await page.goto(`${address}#/shelf`);
  await page.waitForSelector('a:has-text("P-77")');
  await page.context().close();
}

// --- killed -------------------------------------------------------------------------------------------

// One browser with a profile of its own that books pieces until it is killed: the numbers that were confirmed.
async function killed(profile, address, round, wait) {
  const browser = spawn(process.env.CHROMIUM || '/usr/bin/chromium', ['--headless', '--no-sandbox', '--disable-gpu', '--no-first-run',
    '--disable-background-networking', '--remote-debugging-port=0', `--user-data-dir=${profile}`, 'about:blank'], { stdio: ['ignore', 'ignore', 'pipe'] });
  const port = await new Promise((found) => {
    let said = '';
    browser.stderr.on('data', (bytes) => {
      said += bytes;
      const line = said.match(/DevTools listening on (ws:\S+)/);
      if (line) found(line[1]);
    });
  });
  const link = await chromium.connectOverCDP(port);
  const page = await link.contexts()[0].newPage();
  const confirmed = [];
  await page.exposeFunction('confirmed', (number) => confirmed.push(number));
  await page.goto(`${address}#/`);
  await until(page, () => document.documentElement.dataset.ready);
  await page.evaluate(async (first) => {
    const { fetch } = globalThis.dropwiseAlone;
    const { token } = await (await fetch('/api/session')).json();
    const post = (path, body) => fetch(path, { method: 'POST', headers: { 'X-Dropwise-Token': token }, body: JSON.stringify(body) });
    await post('/api/materials', { id: 'al38' });
    (async () => {
      for (let k = 0; ; k += 1) {
        const number = `R${first}-${k}`;
        if ((await post('/api/shelf', { material: 'al38', length: '900 mm', number })).ok) window.confirmed(number);
      }
    })();
  }, round);
  await new Promise((next) => { setTimeout(next, wait); });
  const gone = new Promise((done) => { browser.on('exit', done); });
  browser.kill('SIGKILL');
  await gone;
  await link.close().catch(() => {});
  return confirmed;
}

async function kills(address) {
  const profile = join(folder, 'profile');
  const all = [];
  for (let round = 0; round < KILLS; round += 1) all.push(...await killed(profile, address, round, 100 + ((round * 7919) % 400)));
  const context = await chromium.launchPersistentContext(profile, { executablePath: process.env.CHROMIUM || '/usr/bin/chromium', args: ['--headless', '--no-sandbox', '--disable-gpu'] });
  const page = await context.newPage();
  await context.addInitScript(() => { window.fetch = (...asked) => globalThis.dropwiseAlone.fetch(...asked); });
  await page.goto(`${address}#/`);
  await until(page, () => document.documentElement.dataset.ready);
  const { json: found } = await ask(page, 'GET', '/api/shelf-check');
  check(found.good, `the shelf is sound after ${KILLS} kills: ${JSON.stringify(found.remarks)}`);
  const { json: shelf } = await ask(page, 'GET', '/api/shelf');
  const there = new Set(shelf.pieces.map((piece) => piece.number));
  const lost = all.filter((number) => !there.has(number));
  equal(lost.length, 0, `of ${all.length} confirmed pieces some are lost: ${lost.slice(0, 5)}`);
  check(all.length > KILLS, `enough was booked to tell: ${all.length}`);
  await context.close();
}

const { address } = await serve(process.argv[2]);
const browser = await browse();
try {
  await offline(browser, address);
  await kills(address);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
}
console.log(failures() ? `${failures()} failed` : `one file, no network, ${KILLS} killed browsers: good`);
process.exit(failures() ? 1 : 0);
