// SPDX-License-Identifier: GPL-3.0-or-later
// The first view's size, a large job, two people on one job, not enough tube, a job file, printing.
// usage: node shop.test.mjs PROGRAM

import { readFileSync } from 'node:fs';
import { serve, browse, visitor, accessible, shot, pasteList, until, check, equal, failures, PHONE, DESKTOP } from './shop.mjs';

const fill = (page, place, text) => page.locator(`[data-place="${place}"]`).fill(text);
const saved = (page) => until(page, () => document.getElementById('saved')?.textContent === 'Saved');

// 100 KB are the promise; speed.mjs measures the time.
async function firstView(browser, address) {
  const page = await visitor(browser, address, PHONE);
  const client = await page.context().newCDPSession(page);
  let bytes = 0;
  await client.send('Network.enable');
  client.on('Network.loadingFinished', (event) => { bytes += event.encodedDataLength; });
  await page.goto(address);
  await page.waitForSelector('h1');
  check(bytes > 1000 && bytes < 40 * 1024, `the first view has ${bytes} bytes`);
  await page.context().close();
}

// 200 rows of a spreadsheet: lengths 300 to 2290 mm, worked out by a rule, six metre bars.
async function largeJob(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  await page.goto(address);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
  await page.getByRole('link', { name: '2 Tube' }).click();
  await fill(page, 'bars.0.length', '6 m');
  await fill(page, 'bars.0.price', '36.90');
  await saved(page);
  await page.getByRole('link', { name: '1 Parts' }).click();
  await page.waitForSelector('.paste textarea');
  const rows = Array.from({ length: 200 }, (_, i) => `part ${i + 1}\t${300 + ((i * 37) % 200) * 10}\t1`);
  await pasteList(page, '.paste textarea', `Part\tLength (mm)\tQty\n${rows.join('\n')}\n`);
  await page.waitForSelector('[data-place="parts.199.label"]');
  await page.evaluate(() => { location.hash = location.hash.replace('parts', 'plan'); });
  await page.waitForSelector('#make-plan');
  await page.getByLabel('Search for').selectOption('0');
  await page.locator('#make-plan').click();
  await page.waitForSelector('.piece');
  equal(await page.locator('.piece').count() > 100, true, 'the bars of 200 parts are drawn');
  await page.context().close();
}

async function notEnough(browser, address) {
  const page = await visitor(browser, address, PHONE, { hasTouch: true, isMobile: true });
  await page.goto(address);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
  await pasteList(page, '.paste textarea', 'leg\t600\t4\n');
  await page.waitForSelector('[data-place="parts.0.label"]');
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.locator('#make-plan').click();
  await page.waitForSelector('.short');
  check(/no bar is long enough/.test(await page.locator('.short').textContent()), 'without any bar, that is said');
  await page.getByRole('link', { name: '2 Tube' }).click();
  await fill(page, 'bars.0.length', '1000');
  await fill(page, 'bars.0.price', '9');
  await fill(page, 'bars.0.count', '1');
  await saved(page);
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.locator('#make-plan').click();
  await page.waitForSelector('.short');
  const text = await page.locator('.short').textContent();
  check(/3 pieces are missing/.test(text) && /3 more bars/.test(text), `what is missing is said: ${text}`);
  await accessible(page, 'not enough tube');
  await shot(page, 'not-enough');
  await page.context().close();
}

// A job file with fittings, a batch and a quote keeps what the page does not edit.
async function jobFile(browser, address, samples) {
  const page = await visitor(browser, address, DESKTOP);
  await page.goto(address);
  await page.waitForSelector('h1');
  await page.setInputFiles('#job-file', `${samples}/trio-rack.yaml`);
  await page.waitForSelector('h1:has-text("What is needed")');
  await until(page, () => document.querySelector('.sum')?.textContent.includes('47 pieces'));
  equal(await page.locator('[data-place="parts.3.length"]').inputValue(), '2\' 6-1/2"', 'a length of the file is as it was written');
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.getByLabel('Search for').selectOption('0');
  await page.locator('#make-plan').click();
  await page.waitForSelector('.piece');
  await page.emulateMedia({ media: 'print' });
  equal(await page.locator('.top').isVisible(), false, 'no menu on paper');
  await page.emulateMedia({ media: null });
  await page.goto(`${address}#/`);
  await page.waitForSelector('h1:has-text("Jobs")');
  await page.setInputFiles('#job-file', `${samples}/priced-batch.yaml`);
  await page.waitForSelector('h1:has-text("What is needed")');
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.getByLabel('Search for').selectOption('0');
  await page.locator('#make-plan').click();
  await page.waitForSelector('.piece');
  await page.getByRole('button', { name: 'Quote', exact: true }).click();
  await page.waitForSelector('caption:has-text("Corner Market Co-op")');
  await page.context().close();
}

// A phone of the local network: the link of the code on the screen lets it in, a guess does not.
async function localNetwork(browser, program_) {
  let lan;
  try {
    lan = await serve(program_, ['--lan']);
  } catch {
    console.log('skipped: this computer is in no network');
    return;
  }
  await soon(() => /Passphrase: /.test(lan.said()));
  const word = lan.said().match(/Passphrase: (\S+)/)[1];
  let page = await visitor(browser, lan.address, PHONE, { hasTouch: true, isMobile: true });
  await page.goto(`${lan.address}#key=${word}`);
  await page.waitForSelector('h1:has-text("Jobs")');
  equal(new URL(page.url()).hash, '', 'the passphrase does not stay in the address');
  await page.getByRole('link', { name: 'Settings' }).click();
  await page.waitForSelector('img.code');
  await accessible(page, 'settings in the local network');
  await page.getByRole('button', { name: 'Sign out' }).click();
  await page.waitForSelector('h1:has-text("Passphrase")');
  await page.context().close();
  page = await visitor(browser, lan.address, PHONE);
  await page.goto(lan.address);
  await page.waitForSelector('h1:has-text("Passphrase")');
  await accessible(page, 'passphrase');
  await page.locator('input[type=password]').fill('a guess of mine');
  await page.getByRole('button', { name: 'Enter' }).click();
  await until(page, () => document.getElementById('said').textContent === 'this is not the passphrase');
  equal((await page.request.get(`${lan.address}api/plans`)).status(), 401, 'nothing is told before');
  await page.locator('input[type=password]').fill(word);
  await page.getByRole('button', { name: 'Enter' }).click();
  await page.waitForSelector('h1:has-text("Jobs")');
  await page.context().close();
  await lan.end();
}

async function soon(test) {
  for (let i = 0; i < 100 && !test(); i += 1) await new Promise((next) => { setTimeout(next, 20); });
}

const [program, samples] = process.argv.slice(2);
check(readFileSync(`${samples}/trio-rack.yaml`, 'utf8').length > 100, 'the samples are there');
const { address, end } = await serve(program);
const browser = await browse();
try {
  await firstView(browser, address);
  await largeJob(browser, address);
  await notEnough(browser, address);
  await jobFile(browser, address, samples);
  await localNetwork(browser, program);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await end();
}
console.log(failures() ? `${failures()} failed` : 'a shop: good');
process.exit(failures() ? 1 : 0);
