// SPDX-License-Identifier: GPL-3.0-or-later
// The shelf on the page: a table taken in, stock-taking, what should go, rules, history, posts,
// labels read by camera and from a photo; two people at once.  usage: node shelf.test.mjs PROGRAM

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { serve, browse, visitor, accessible, shot, given, until, check, equal, failures, inFile, program, PHONE, DESKTOP } from './shop.mjs';

const go = async (page, view, title) => {
  await page.evaluate((hash) => { location.hash = hash; }, view);
  await page.waitForSelector(`h1:has-text("${title}")`);
};
const text = (page, selector) => page.locator(selector).first().textContent();
const focused = (page) => page.evaluate(() => document.activeElement.textContent || document.activeElement.id);

// Offcuts of a market-stall maker.
const TABLE = ['number,material,length (mm),place,value,date', 'K-01,al38,1240,rack 1,3.10,', 'K-02,al38,905.5,rack 1,2.20,',
  'K-03,al38,612,rack 2,1.40,2020-06-30', 'K-04,al38,450,rack 2,0.90,'].join('\n');

async function tubes(page, name) {
  await go(page, '#/shelf-keep', 'How this shop');
  await page.getByRole('button', { name: 'Enter it' }).click();
  await until(page, () => document.activeElement.getAttribute('aria-invalid') === 'true');
  check(/missing/.test(await page.evaluate(() => document.getElementById(document.activeElement.getAttribute('aria-describedby')).textContent)),
    `${name}: what is missing is said at its field`);
  await page.getByLabel('Short name').fill('al38');
  await page.getByLabel('Alloy').fill('6061-T6');
  await page.getByLabel('Outside').fill('38 mm');
  await page.getByLabel('Wall').fill('2.5 mm');
  await page.getByRole('button', { name: 'Enter it' }).click();
  await page.waitForSelector('th:has-text("al38")');
}

async function takeIn(page, name) {
  await go(page, '#/shelf-table', 'Take in a table');
  const area = page.getByLabel('The table: paste it here');
  await page.getByRole('button', { name: 'Look at it' }).click();
  await until(page, () => document.activeElement.tagName === 'TEXTAREA' && document.activeElement.getAttribute('aria-invalid') === 'true');
  await area.fill(TABLE.replace('612', '6I2').replace('K-04,al38', 'K-04,brass'));
  await page.getByRole('button', { name: 'Look at it' }).click();
  await page.waitForSelector('h2:has-text("2 mistakes")');
  check(/Line 4, .6I2/.test(await text(page, '.remarks')), `${name}: a mistake with its cell: ${await text(page, '.remarks')}`);
  await page.getByRole('button', { name: 'Show line 4' }).click();
  equal(await page.evaluate(() => { const a = document.activeElement; return a.value.slice(a.selectionStart, a.selectionEnd); }), '6I2', `${name}: the cell is selected`);
  await accessible(page, `${name} shelf mistakes`);
  await shot(page, `${name}-shelf-1-mistakes`);
  await area.fill(TABLE);
  await page.getByRole('button', { name: 'Look at it' }).click();
  await page.waitForSelector('h2:has-text("4 pieces would be added")');
  equal(await page.evaluate(async () => (await (await fetch('/api/shelf')).json()).n), 0, `${name}: looking adds nothing`);
  await accessible(page, `${name} shelf table in`);
  await shot(page, `${name}-shelf-2-table`);
  await page.getByRole('button', { name: 'Add 4 pieces' }).click();
  await page.waitForSelector('.done:has-text("4 pieces are on the shelf")');
  equal(await focused(page), 'Undo', `${name}: the focus is at what can be done next`);
}

async function listAndMarks(page, name) {
  await go(page, '#/shelf', 'Shelf');
  await page.waitForSelector('.stock');
  await page.getByLabel('At least this long').fill('600 mm');
  await until(page, () => document.querySelector('p.sum').textContent.startsWith('3 pieces'));
  await page.getByLabel('At least this long').fill('long');
  await until(page, () => document.querySelector('[aria-invalid="true"]'));
  await page.getByLabel('At least this long').fill('');
  await until(page, () => document.querySelector('p.sum').textContent.startsWith('4 pieces'));
  await page.getByLabel('Mark K-03').check();
  await page.getByLabel('Mark K-04').check();
  await page.getByRole('button', { name: 'Move there' }).click();
  await until(page, () => document.activeElement.getAttribute('aria-invalid') === 'true');
  equal(await page.locator('.marked .says').isVisible(), true, `${name}: what is wrong is seen`);
  await page.getByLabel('New place').fill('rack 3');
  await page.getByRole('button', { name: 'Move there' }).click();
  await page.waitForSelector('.done:has-text("2 pieces moved to rack 3")');
  await accessible(page, `${name} shelf`);
  await shot(page, `${name}-shelf-3-list`);
  await page.locator('.done button').click();
  await until(page, () => [...document.querySelectorAll('.stock td')].filter((cell) => cell.textContent === 'rack 2').length === 2);
  await page.locator('#add-piece > summary').click();
  const given = await page.evaluate(async () => (await (await fetch('/api/members')).json()).piece.length);
  equal(await page.locator('#add-piece input, #add-piece select').count(), given, `${name}: a control for each member of a piece`);
  await page.locator('#add-piece').getByRole('button', { name: 'Put it there' }).click();
  await until(page, () => document.activeElement.getAttribute('aria-invalid') === 'true');
  await page.locator('#add-piece').getByLabel('Length', { exact: true }).fill('2 ft');
  await page.locator('#add-piece').getByLabel('Tube', { exact: true }).fill('al38');
  await page.locator('#add-piece').getByLabel('Number').fill('K-01');
  await page.locator('#add-piece').getByRole('button', { name: 'Put it there' }).click();
  await until(page, () => /K-01 already/.test(document.getElementById(document.activeElement.getAttribute('aria-describedby'))?.textContent));
  await page.locator('#add-piece').getByLabel('Number').fill('K-05');
  await page.locator('#add-piece').getByRole('button', { name: 'Put it there' }).click();
  await page.waitForSelector('.done:has-text("K-05")');
  await shot(page, `${name}-shelf-4-add`);
}

async function takeStock(page, name) {
  await go(page, '#/shelf-count', 'Stock-taking');
  await page.getByLabel('Which place').fill('rack 1');
  await page.getByRole('button', { name: 'List what should be there' }).click();
  await page.waitForSelector('.count');
  await page.getByLabel('K-02 measures').fill('903');
  check(await page.getByLabel('K-02 is there').isChecked(), `${name}: what is measured is there`);
  await page.getByLabel(/I have seen everything here/).check();
  await page.getByRole('button', { name: 'Compare with the book' }).first().click();
  await page.waitForSelector('h2:has-text("2 pieces are not as booked")');
  check(/905\.5 mm.*903 mm/.test(await text(page, '.preview')) && /gone/.test(await text(page, '.preview')), `${name}: the differences are shown`);
  await accessible(page, `${name} shelf count`);
  await shot(page, `${name}-shelf-5-count`);
  // Somebody puts a piece on rack 1 in between: it must not be booked as gone.
  await page.evaluate(async () => {
    const { token } = await (await fetch('/api/session')).json();
    await fetch('/api/move', { method: 'POST', headers: { 'Content-Type': 'application/json', 'X-Dropwise-Token': token, 'X-Dropwise-Who': 'Ada' }, body: '{"numbers":["K-05"],"place":"rack 1"}' });
  });
  await page.getByRole('button', { name: 'Book the differences' }).click();
  await until(page, () => /K-05 was changed in the meantime: move by Ada/.test(document.querySelector('.preview .wrong').textContent));
  await shot(page, `${name}-shelf-6-stale`);
  await page.getByRole('button', { name: 'List what should be there' }).click();
  await page.getByLabel('K-05 is there').check();
  await page.getByLabel('K-01 is there').check();
  await page.getByLabel('K-02 measures').fill('903');
  await page.getByLabel(/I have seen everything here/).check();
  await page.getByRole('button', { name: 'Compare with the book' }).first().click();
  await page.waitForSelector('h2:has-text("1 piece is not as booked")');
  await page.getByRole('button', { name: 'Book the differences' }).click();
  await page.waitForSelector('.done:has-text("Booked: 1 difference")');
}

async function rulesAndSurplus(page, name) {
  await go(page, '#/shelf-keep', 'How this shop');
  await page.getByLabel('Keep at most so many').fill('many');
  await page.getByRole('button', { name: 'Save the rules' }).click();
  await until(page, () => /whole number/.test(document.getElementById(document.activeElement.getAttribute('aria-describedby'))?.textContent));
  await page.getByLabel('Keep at most so many').fill('4');
  await page.evaluate(async () => {
    const { token } = await (await fetch('/api/session')).json();
    await fetch('/api/rules', { method: 'PUT', headers: { 'Content-Type': 'application/json', 'X-Dropwise-Token': token }, body: '{"rules":{"max-age-days":"200","max-offcuts":"9"}}' });
  });
  await page.getByRole('button', { name: 'Save the rules' }).click();
  await page.waitForSelector('h3:has-text("Somebody changed the rules")');
  check(/now 9; here you have 4/.test(await text(page, '.short')), `${name}: what another one changed is said: ${await text(page, '.short')}`);
  await accessible(page, `${name} shelf rules`);
  await shot(page, `${name}-shelf-7-rules`);
  await page.getByRole('button', { name: 'Load theirs' }).click();
  await until(page, () => document.querySelector('#rules input').value === '9');
  await page.getByLabel('Keep at most so many').fill('4');
  await page.getByRole('button', { name: 'Save the rules' }).click();
  await page.waitForSelector('.done:has-text("Saved")');
  await page.getByRole('button', { name: 'Check the shelf' }).click();
  await page.waitForSelector('.done:has-text("In order")');
  for (const [link, begins] of [['/api/shelf-table', 'number,'], ['/api/shelf-file', 'SQLite format 3'], ['/api/shelf-labels', inFile ? '<svg' : '%PDF-']])
    equal((await given(page, link)).body.subarray(0, begins.length).toString(), begins, `${name}: ${link}`);
  await go(page, '#/shelf-surplus', 'What should go');
  await page.waitForSelector('td:has-text("older than 200 days")');
  await accessible(page, `${name} shelf surplus`);
  await shot(page, `${name}-shelf-8-surplus`);
  await page.getByRole('button', { name: 'Throw away' }).click();
  await page.waitForSelector('.done:has-text("1 piece booked as scrap")');
  await go(page, '#/shelf-history', 'What happened');
  await page.waitForSelector('.step:has-text("K-03 shelf to scrapped")');
  await accessible(page, `${name} shelf history`);
  await shot(page, `${name}-shelf-9-history`);
  await page.getByRole('button', { name: /^Undo step/ }).click();
  await page.waitForSelector('.step:has-text("K-03 scrapped to shelf")');
  equal(await focused(page), 'What happened', `${name}: the focus stays on the page`);
  await another(page, name);
}

// What another threw away: undoing it is asked first; and it can be brought back where it lies.
async function another(page, name) {
  await page.evaluate(async () => {
    const { token } = await (await fetch('/api/session')).json();
    await fetch('/api/scrap', { method: 'POST', body: '{"numbers":["K-03"]}',
      headers: { 'Content-Type': 'application/json', 'X-Dropwise-Token': token, 'X-Dropwise-Who': 'Bo' } });
  });
  await go(page, '#/shelf', 'Shelf');
  await go(page, '#/shelf-history', 'What happened');
  const asked = [];
  page.on('dialog', (dialog) => { asked.push(dialog.message()); if (asked.length === 1) dialog.dismiss(); else dialog.accept(); });
  const undo = page.getByRole('button', { name: /^Undo step/ });
  await undo.click();
  check(/another's: K-03 thrown away, by Bo, /.test(asked[0]), `${name}: whose step it is, is asked: ${asked[0]}`);
  await page.waitForSelector('.step:has-text("K-03 shelf to scrapped")');
  await go(page, '#/shelf/K-03', 'K-03');
  await page.getByText('It lies here all the same').click();
  await page.getByLabel('It measures').fill('500 mm');
  await page.getByRole('button', { name: 'Book it' }).click();
  await page.waitForSelector('.done:has-text("gone by the book")');
  await accessible(page, `${name} brought back`);
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.waitForSelector('.figure:has-text("scrapped")');
  await go(page, '#/shelf-history', 'What happened');
  await undo.click();
  await page.waitForSelector('#said:has-text("Taken back: K-03 thrown away, by Bo")');
  equal(asked.length, 2, `${name}: asked twice, and not for one's own step`);
}

async function posts(page, name) {
  await go(page, '#/posts', 'Posts');
  check(/no job yet/.test(await text(page, 'main')), `${name}: without a job, that is said`);
  await page.evaluate(async () => {
    const { token } = await (await fetch('/api/session')).json();
    const body = JSON.stringify({ dropwise: '1', name: 'Stall', unit: 'mm', currency: 'EUR', saw: { kerf: '2.5' }, rules: { keep: '400' }, materials: [{ id: 'al38', alloy: '6061-T6', outside: '38', wall: '2.5' }],
      bars: [{ length: '6 m', price: '36.90' }], parts: [{ label: 'leg', length: '900', count: '4' }], posts: [{ label: 'banner arm', length: '400 to 500', 'at most': '1', worth: '4.00' }] });
    await fetch('/api/documents/job', { method: 'POST', headers: { 'Content-Type': 'application/json', 'X-Dropwise-Token': token }, body: JSON.stringify({ name: 'Stall', body }) });
  });
  await go(page, '#/shelf', 'Shelf');
  await go(page, '#/posts', 'Posts');
  await page.locator('summary:has-text("Check a load")').click();
  await page.getByLabel('Load at the free end').fill('heavy');
  await page.getByRole('button', { name: 'Find the posts' }).click();
  await until(page, () => document.activeElement.getAttribute('aria-invalid') === 'true');
  await page.getByLabel('Load at the free end').fill('4 kg');
  await page.getByRole('button', { name: 'Find the posts' }).click();
  await page.waitForSelector('h2:has-text("1 post of 5 offcuts, worth 4.00 EUR")');
  // K-05 has no book value and the job's rules give leftovers none: 4.00; K-04 costs its 0.90
  check(/banner arm, cut to 500 mm/.test(await text(page, '.stock')) && /within/.test(await text(page, '.stock')), `${name}: the post, its cut and the load check`);
  await accessible(page, `${name} shelf posts`);
  await shot(page, `${name}-shelf-a-posts`);
}

// A label of the program's own, as a photo: read by the page itself, as this browser has no reader.
async function photo(page, name, folder) {
  const label = join(folder, 'label.png');
  await go(page, '#/shelf', 'Shelf');
  equal(await page.evaluate(() => 'BarcodeDetector' in window), false, `${name}: this browser has no reader of its own`);
  await page.setInputFiles('#label-photo', label);
  await page.waitForSelector('h1:has-text("K-02")');
  await accessible(page, `${name} shelf piece`);
  await shot(page, `${name}-shelf-b-piece`);
  await page.getByRole('button', { name: 'Move' }).waitFor();
  await page.getByLabel('Put it elsewhere').fill('rack 7');
  await page.getByRole('button', { name: 'Move' }).click();
  await page.waitForSelector('.figure:has-text("rack 7")');
  await go(page, '#/shelf', 'Shelf');
  await page.setInputFiles('#label-photo', { name: 'empty.png', mimeType: 'image/png', buffer: await page.screenshot() });
  await until(page, () => /No code is seen/.test(document.querySelector('.scan [role=alert]').textContent));
  await page.setInputFiles('#label-photo', { name: 'list.png', mimeType: 'image/png', buffer: Buffer.from('no picture') });
  await until(page, () => /no picture/.test(document.querySelector('.scan [role=alert]').textContent));
}

// The live camera, with a stand-in for the camera and for the browser's reader: the wiring alone.
async function camera(browser, address) {
  const page = await visitor(browser, address, PHONE, { hasTouch: true, isMobile: true });
  await page.addInitScript(() => {
    let looks = 0;
    window.BarcodeDetector = class {
      static async getSupportedFormats() { return ['qr_code']; }
      async detect() { looks += 1; return looks > 2 ? [{ rawValue: window.onLabel }] : []; }
    };
    navigator.mediaDevices.getUserMedia = async () => {
      if (window.noCamera) throw new Error('none');
      const canvas = document.createElement('canvas');
      canvas.getContext('2d').fillRect(0, 0, 9, 9);
      setInterval(() => canvas.getContext('2d').fillRect(0, 0, 9, 9), 40);
      return canvas.captureStream(20);
    };
  });
  await page.goto(address);
  await go(page, '#/shelf', 'Shelf');
  await page.evaluate(() => { window.onLabel = 'K-01'; });
  await page.getByRole('button', { name: 'Scan the label' }).click();
  await page.waitForSelector('dialog video');
  await accessible(page, 'phone scan shelf');
  await page.waitForSelector('h1:has-text("K-01")');
  equal(await page.locator('dialog').count(), 0, 'the camera is closed');
  await go(page, '#/shelf', 'Shelf');
  await page.evaluate(() => { window.onLabel = 'offcut 612 mm al38'; });
  await page.getByRole('button', { name: 'Scan the label' }).click();
  await until(page, () => /before the offcut had a number/.test(document.querySelector('.scan [role=alert]').textContent));
  await page.evaluate(() => { window.noCamera = true; });
  await page.getByRole('button', { name: 'Scan the label' }).click();
  await until(page, () => /camera can.t be used here/.test(document.querySelector('.scan [role=alert]').textContent));
  await page.evaluate(() => { location.hash = '#/shelf/K-99'; });
  await page.waitForSelector('h1:has-text("Not on the shelf")');
  await page.context().close();
}

// In the local network the page has no live camera; it says so, and a photo is read all the same.
async function overLan(browser, folder) {
  let lan;
  try {
    lan = await serve(program, ['--lan']);
  } catch {
    console.log('skipped: this computer is in no network');
    return;
  }
  await until({ evaluate: async () => /Passphrase: /.test(lan.said()) }, null);
  const page = await visitor(browser, lan.address, PHONE, { hasTouch: true, isMobile: true });
  await page.goto(`${lan.address}#key=${lan.said().match(/Passphrase: (\S+)/)[1]}`);
  await page.waitForSelector('h1:has-text("Jobs")');
  await go(page, '#/shelf', 'Shelf');
  if (await page.evaluate(() => !window.isSecureContext)) {
    equal(await page.getByRole('button', { name: 'Scan the label' }).count(), 0, 'no live camera is offered where there is none');
    check(/not over the local network/.test(await text(page, '.scan')), 'why is said');
    await shot(page, 'phone-shelf-c-lan');
  }
  await page.setInputFiles('#label-photo', join(folder, 'label.png'));
  await page.waitForSelector('h1:has-text("Not on the shelf")');
  check(/K-02/.test(await text(page, 'main')), 'a photo is read over the network too');
  await page.context().close();
  await lan.end();
}

async function wayThrough(browser, viewport, name, options, folder) {
  const { address, end } = await serve(process.argv[2]);
  const page = await visitor(browser, address, viewport, options);
  await page.goto(address);
  await page.waitForSelector('h1');
  await tubes(page, name);
  await takeIn(page, name);
  await listAndMarks(page, name);
  await takeStock(page, name);
  await rulesAndSurplus(page, name);
  await posts(page, name);
  await photo(page, name, folder);
  await page.context().close();
  if (name === 'phone' && !inFile) await camera(browser, address);
  await end();
}

// A label K-02 as the program draws it, 150 dots an inch.
function drawLabel(folder) {
  const run = (...args) => {
    const done = spawnSync(program, ['shelf', ...args, '--shelf', join(folder, 'other.db')], { encoding: 'utf8' });
    check(done.status === 0, `dropwise shelf ${args[0]}: ${done.stderr}`);
  };
  run('material', 'al38');
  run('add', 'al38', '905.5mm', '--number', 'K-02');
  run('labels', 'K-02', '-o', join(folder, 'label.png'), '--stock', 'roll-62x29');
}

const folder = mkdtempSync(join(tmpdir(), 'labels-'));
const browser = await browse();
try {
  drawLabel(folder);
  await wayThrough(browser, DESKTOP, 'desktop', {}, folder);
  await wayThrough(browser, PHONE, 'phone', { hasTouch: true, isMobile: true, colorScheme: 'dark' }, folder);
  if (!inFile) await overLan(browser, folder);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
}
console.log(failures() ? `${failures()} failed` : 'the shelf: good');
process.exit(failures() ? 1 : 0);
