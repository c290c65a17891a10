// SPDX-License-Identifier: GPL-3.0-or-later
// At the saw one bar fills the screen: what to do is said before the cut, the network may drop, two phones
// see the same, a wrong cut is reported by pressing its piece.  usage: node onebar.test.mjs PROGRAM

import { serve, browse, visitor, accessible, shot, until, check, equal, failures, PHONE, DESKTOP } from './shop.mjs';

const program = process.argv[2];

// Worked out by hand: a bar of 3 m is squared at both ends, 3 mm each, and gives three legs of 800 mm with cuts of 2 mm:
// 2994 - 2406 = 588 mm stay. A kerf of the last cut is in it.
const JOB = ['dropwise: 1', 'name: Marimba stand', 'unit: mm', 'currency: EUR', 'saw: {kerf: 2, squaring: 3}', 'rules: {keep: 300}', 'materials: [{id: al38, outside: 38, wall: 2.5}]',
  'bars: [{id: three, length: 3 m, price: 15}]', 'parts: [{label: leg, length: 800, count: 12, remark: plug both ends}]', ''].join('\n');

async function ask(page, method, path, body) {
  return page.evaluate(async ([how, where, what]) => {
    const { token } = await (await fetch('/api/session')).json();
    const answer = await fetch(where, { method: how, headers: { 'X-Dropwise-Token': token, 'Content-Type': 'application/json' }, body: what ? JSON.stringify(what) : undefined });
    return answer.json();
  }, [method, path, body]);
}

async function holdPlan(page) {
  const { task } = await ask(page, 'POST', '/api/plans', { text: JOB, time_ms: 2000 });
  let state = {};
  while (!['done', 'failed'].includes(state.state)) state = await ask(page, 'GET', `/api/tasks/${task}`);
  return (await ask(page, 'POST', `/api/plans/${state.result.plan}/hold`, {})).held;
}

const title = (page) => page.locator('.one-bar h2').textContent();
const sum = (page) => page.locator('.saw-head .sum').textContent();
const kept = async (page) => (await page.locator('.before .keep-note b').textContent());

async function visit(page, address, held) {
  await page.goto('about:blank');
  await page.goto(`${address}#/saw/${held}`);
  await page.waitForSelector('.one-bar');
}

// Targets of 60 pixels, text of 16, in the part that is used at each bar.
async function large(page, what) {
  const small = await page.evaluate(() => {
    const found = [];
    for (const one of document.querySelectorAll('.one-bar button, .saw-keys button, .undo-cut')) {
      const box = one.getBoundingClientRect();
      if (box.height && (box.height < 60 || box.width < 60)) found.push(`${one.textContent} ${box.width}x${box.height}`);
    }
    for (const one of document.querySelectorAll('.one-bar *, .last-done *')) {
      const own = [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
      if (own && !one.closest('svg, .letter') && one.getBoundingClientRect().height && parseFloat(getComputedStyle(one).fontSize) < 16) found.push(`${one.textContent} ${getComputedStyle(one).fontSize}`);
    }
    return found;
  });
  equal(small.join('; '), '', `${what}: nothing is too small for gloves or a metre away`);
}

// Asked at one moment: what others tell has the view drawn anew at any time.
const whereDone = (page) => page.evaluate(() => document.querySelector('.tick-off').getBoundingClientRect().toJSON());

async function oneByOne(page, address, held, name) {
  await visit(page, address, held);
  equal(await title(page), 'Bar 1 of 4', 'the first bar is shown, alone');
  equal(await page.locator('.one-bar').count(), 1, 'one bar fills the screen');
  const text = (await page.locator('.one-bar').textContent()).replace(/\u00a0/g, ' ');
  for (const said of ['new bar three', '3000 mm', 'still to come', 'quare both ends first', '588 mm stay an offcut', '800 mm', '\u00d7 3', 'marks 800 mm, 1602 mm, 2404 mm', 'Remark: plug both ends'])
    check(text.includes(said), `${name}: the bar says ${said}: ${text}`);
  await large(page, name);
  await accessible(page, `${name} bar`);
  await shot(page, `${name}-one-bar`);
  const number = await kept(page);
  check(/^C\d+$/.test(number), `the number of the offcut is there before the cut: ${number}`);
  const keys = await whereDone(page);
  await page.locator('.tick-off').click();
  await until(page, () => document.querySelector('.one-bar h2').textContent.startsWith('Bar 2'));
  await until(page, () => document.querySelector('.last-done .keep-note'));
  check((await page.locator('.last-done').textContent()).includes(`${number} is on the offcut of 588 mm`), 'the offcut has the number that was written on it');
  const there = (await ask(page, 'GET', `/api/held/${held}`)).bars[0].left[0].number;
  equal(there, number, 'and so it is on the shelf');
  const next = await whereDone(page);
  check(Math.abs(keys.y - next.y) < 2 && Math.abs(keys.x - next.x) < 2, `the next bar stands in the same place: ${keys.y} and ${next.y}`);
  await large(page, `${name}, next bar`);
  await page.locator('.undo-cut').click();
  await until(page, () => document.querySelector('.one-bar h2').textContent.startsWith('Bar 1'));
  equal(await kept(page), number, 'undo: the bar is to be cut again, and the number is the same');
}

async function twoPhones(page, other, address, held) {
  await visit(other, address, held);
  await page.locator('.tick-off').click();
  await until(other, () => document.querySelector('.saw-head .sum').textContent.startsWith('1 of 4'));
  equal(await title(other), 'Bar 2 of 4', 'a bar that one ticked is ticked for the other, who goes on with the next');
  await until(page, () => document.querySelector('.before .keep-note b'));
  equal(await kept(page), await kept(other), 'both are told the same number');
}

// The network drops: bars are ticked all the same, and booked when it is back, with the numbers that were promised.
async function away(server, page, held) {
  const number = await kept(page);
  await server.stop();
  await page.locator('.tick-off').click();
  await until(page, () => document.querySelector('.saw-head .sum').textContent.includes('1 cut waits for the server'));
  equal(await title(page), 'Bar 3 of 4', 'the next bar comes without the network');
  const second = await kept(page);
  check(second !== number, 'and has a number of its own');
  await page.locator('.tick-off').click();
  await until(page, () => document.querySelector('.saw-head .sum').textContent.includes('2 cuts wait for the server'));
  await page.locator('.undo-cut').click();
  await until(page, () => document.querySelector('.one-bar h2').textContent.startsWith('Bar 3'));
  await accessible(page, 'saw without network');
  await shot(page, 'saw-away');
  await page.locator('.tick-off').click();
  const again = await serve(program, [], server);
  await until(page, () => document.querySelector('.saw-head .sum').textContent === '3 of 4 bars cut');
  const { bars } = await ask(page, 'GET', `/api/held/${held}`);
  equal(bars.map((item) => item.cut).join(), 'true,true,true,false', 'what was cut meanwhile is booked, once');
  equal(bars[1].left[0].number, number, 'with the number that was written on it');
  equal(bars[2].left[0].number, second, 'and the next one too');
  return again;
}

// The number was given to another piece meanwhile: that is said, with the one to write instead.
async function numberTaken(page) {
  const number = await kept(page);
  await page.route('**/api/held/*/cut', async (route) => {
    await ask(page, 'POST', '/api/shelf', { number, material: 'al38', length: '900 mm' });
    await page.unroute('**/api/held/*/cut');
    await route.continue();
  });
  await page.locator('.tick-off').click();
  await page.waitForSelector(`[role="alert"]:has-text("${number} was given to another piece meanwhile")`);
  check((await page.locator('.one-bar').textContent()).includes('All bars are cut.'), 'the bar is booked');
  await accessible(page, 'number taken');
}

async function wrongCut(page, address) {
  const held = await holdPlan(page);
  await visit(page, address, held);
  const fresh = (await title(page));
  await page.getByRole('button', { name: 'It went wrong' }).click();
  await page.locator('.cut-row').first().click();
  await page.locator('.cut-row').first().click();
  equal(await page.getByLabel(/Which piece of the bar/).inputValue(), '2', 'pressing a row again means the next piece of its kind');
  await page.getByLabel('How long it came out').fill('780');
  await accessible(page, 'wrong piece');
  await shot(page, 'saw-wrong-piece');
  await page.locator('.wrong-cut').getByRole('button', { name: /Book it/ }).click();
  await page.waitForSelector('.outcome h2:has-text("This is the new plan, number")');
  const text = await page.locator('.outcome').textContent();
  check(/The mistake costs/.test(text), `what it costs: ${text}`);
  check(/Write C\d+ on the offcut of/.test(text), `what to do now: ${text}`);
  check(/cut as before|Otherwise than before/.test(text), `what changed: ${text}`);
  check(fresh !== await title(page), 'the next bar is shown');
  await accessible(page, 'after a wrong cut');
  await shot(page, 'saw-after-wrong');
  await page.locator('.undo-cut').click();
  await until(page, () => document.querySelector('.last-done').textContent.startsWith('Taken back'));
}

let server = await serve(program);
const browser = await browse();
try {
  const page = await visitor(browser, server.address, PHONE, { hasTouch: true, isMobile: true, away: true });
  const other = await visitor(browser, server.address, DESKTOP, { away: true });
  for (const one of [page, other]) {
    await one.goto(server.address);
    await one.waitForSelector('h1');
  }
  const held = await holdPlan(page);
  await oneByOne(page, server.address, held, 'phone');
  await twoPhones(page, other, server.address, held);
  await accessible(other, 'desktop bar');
  await shot(other, 'desktop-one-bar');
  await other.goto('about:blank');
  server = await away(server, page, held);
  await numberTaken(page);
  await wrongCut(page, server.address);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await server.end();
}
console.log(failures() ? `${failures()} failed` : 'one bar at the saw: good');
process.exit(failures() ? 1 : 0);
