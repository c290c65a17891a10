// SPDX-License-Identifier: GPL-3.0-or-later
// The saw view says of each bar what the printed cut sheet says: number, what to take, squaring,
// pieces, stop settings, running marks, what is left; and the number of an offcut once it is cut.
// usage: node saw.test.mjs DROPWISE

import { execFileSync } from 'node:child_process';
import { serve, browse, visitor, accessible, shot, check, equal, failures, PHONE } from './shop.mjs';

const JOB = `dropwise: 1
name: Desk and stall
unit: mm
currency: EUR
saw: {kerf: 2.5, squaring: 4}
rules: {keep: 300}
materials:
  - {id: al38, name: aluminium 38 x 2.5}
bars:
  - {id: al38-3, material: al38, length: 3 m, price: 19.20}
jobs:
  - name: desk
    client: Harbour Radio
    due: 2027-05-01
    parts:
      - {label: desk leg, material: al38, length: 712.5, count: 5, section: left wing, remark: drill after cutting}
      - {label: desk rail, material: al38, length: 1180, count: 2, measure first: yes, allowance: 25}
  - name: stall
    parts:
      - {label: eaves, material: al38, length: 964, count: 3, section: bay 2, both ends: mitre 45 long point, long points: same side}
`;

async function ask(page, method, path, body) {
  return page.evaluate(async ([how, where, what]) => {
    const { token } = await (await fetch('/api/session')).json();
    const answer = await fetch(where, { method: how, headers: { 'Content-Type': 'application/json', 'X-Dropwise-Token': token }, ...(what ? { body: JSON.stringify(what) } : {}) });
    const json = await answer.json();
    if (!answer.ok) throw new Error(`${where}: ${JSON.stringify(json)}`);
    return json;
  }, [method, path, body]);
}

async function heldPlan(page) {
  await ask(page, 'POST', '/api/materials', { id: 'al38' });
  await ask(page, 'POST', '/api/shelf', { number: 'C40', material: 'al38', length: '2 m', value: '1.00', place: 'rack 2', mark: 'H 77', ends: 'sawn' });
  const { task } = await ask(page, 'POST', '/api/plans', { text: JOB, shelf: true, time_ms: 3000 });
  let state = { state: 'waits' };
  while (!['done', 'failed'].includes(state.state)) state = await ask(page, 'GET', `/api/tasks/${task}`);
  const { held } = await ask(page, 'POST', `/api/plans/${state.result.plan}/hold`, {});
  return { plan: state.result.plan, held };
}

const one = (text) => text.replace(/[\s\u00a0]+/g, ' ').trim();

// The sheet's text, cut where a bar begins: {"1": "Bar 1 ...", ...}.
async function sheetOf(page, plan) {
  const pdf = await (await page.request.get(`/api/plans/${plan}/papers/sheet.pdf`)).body();
  const text = one(execFileSync('pdftotext', ['-raw', '-', '-'], { input: pdf }).toString());
  const blocks = {};
  for (const block of text.split(/(?=\bBars? \d+(?: to \d+)? \d+ × )/)) {
    const found = block.match(/^Bars? (\d+)(?: to (\d+))? /);
    for (let bar = Number(found?.[1]); found && bar <= Number(found[2] || found[1]); bar += 1) blocks[bar] = block;
  }
  return blocks;
}

const textsOf = (bar, selector) => bar.locator(selector).allTextContents();

async function compareBar(bar, sheet) {
  const title = await bar.locator('h2').textContent();
  const number = title.match(/Bar (\d+)/)[1];
  const block = sheet[number];
  check(block, `bar ${number} is on the sheet`);
  if (!block) return 0;
  const says = (figure, what) => check(block.includes(one(figure)), `bar ${number}: the sheet does not say ${what} ${figure}: ${block}`);
  const [take, ...more] = one((await bar.locator('h2 small').textContent())).split(', ');
  says(take, 'what to take');
  more.forEach((figure) => says(figure, 'of the bar'));
  const rows = await bar.locator('.cuts > li:has(.stop)').all();
  let next = 1;
  let total = 0;
  for (const row of rows) {
    const which = one(await row.locator('.which').textContent()).match(/^Pieces? (\d+)(?: to (\d+))? of (\d+)$/);
    const last = Number(which[2] || which[1]);
    equal(Number(which[1]), next, `bar ${number}: pieces are counted on`);
    total = Number(which[3]);
    const stop = one(await row.locator('.stop').textContent());
    says(`${last - next + 1} × ${stop}`, 'count and stop');
    const marks = one(await row.locator('.marks').textContent()).replace('marks from the datum end: ', '').split(', ').map((mark) => mark.replace(/ mm$/, ''));
    equal(marks.length, last - next + 1, `bar ${number}: a mark for each piece`);
    says(marks.join(' '), 'marks');
    next = last + 1;
  }
  equal(next - 1, total, `bar ${number}: every piece is shown`);
  for (const text of await textsOf(bar, '.first')) says(text, 'squaring');
  says(await bar.locator('.rest b').first().textContent(), 'what is left');
  for (const text of await textsOf(bar, '.known')) if (!text.startsWith('measure on site')) says(text, 'of a piece');
  return total;
}

const { address, end } = await serve(process.argv[2]);
const browser = await browse();
try {
  const page = await visitor(browser, address, PHONE, { hasTouch: true, isMobile: true, baseURL: address });
  await page.goto(address);
  await page.waitForSelector('h1');
  const { plan, held } = await heldPlan(page);
  const sheet = await sheetOf(page, plan);
  await page.goto(new URL(`#/saw/${held}`, address).href);
  await page.waitForSelector('.tick-off');
  let pieces = 0;
  for (const bar of await page.locator('.at-saw').all()) pieces += await compareBar(bar, sheet);
  equal(pieces, 10, 'every piece of the job is on a bar');
  equal(await page.locator('.at-saw').count(), Object.keys(sheet).length, 'as many bars as on the sheet');
  const all = one(await page.locator('main').textContent());
  for (const text of ['Remark: drill after cutting', 'desk, for Harbour Radio, due 2027-05-01', 'measure on site first, cut last: planned as 1180 mm + 25 mm', 'Cut square', 'left wing', 'bay 2', 'C40', 'at rack 2', 'mark H 77'])
    check(all.includes(text), `the saw view says ${text}`);
  await accessible(page, 'saw view');
  await shot(page, 'saw-view');
  // The bar from rack 2 leaves an offcut or not; one that keeps something tells the number to write on it.
  const keeps = page.locator('.at-saw:has-text("Keep: mark it before the cut")').first();
  const number = (await keeps.locator('h2').textContent()).match(/Bar (\d+)/)[1];
  await keeps.locator('.tick-off').click();
  await page.waitForSelector(`#bar-${number}.is-cut`);
  const left = (await ask(page, 'GET', `/api/held/${held}`)).bars[number - 1].left;
  check(left.length === 1 && one(await page.locator(`#bar-${number} .cuts`).textContent()).includes(`Its number is ${left[0].number}`), 'the number of the offcut stays to be read');
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await end();
}
console.log(failures() ? `${failures()} failed` : 'the saw view says what the sheet says: good');
process.exit(failures() ? 1 : 0);
