// SPDX-License-Identifier: GPL-3.0-or-later
// Two people on one job, a server that is away, windows that are closed: nothing is lost.
// usage: node people.test.mjs PROGRAM

import { serve, browse, visitor, accessible, shot, pasteList, until, check, equal, failures, PHONE, DESKTOP } from './shop.mjs';

const program = process.argv[2];
const cell = (page, place) => page.locator(`[data-place="${place}"]`);
const fill = (page, place, text) => cell(page, place).fill(text);
const value = (page, place) => cell(page, place).inputValue();
const mark = (page, text) => until(page, (should) => document.getElementById('saved').textContent.startsWith(should), text);
const saved = (page) => mark(page, 'Saved');
const column = (page, key) => page.locator(`.grid.parts [data-column="${key}"]`).evaluateAll((all) => all.map((one) => one.value).join());

async function person(browser, address, name, viewport = DESKTOP) {
  const page = await visitor(browser, address, viewport, { away: true });
  await page.goto(address);
  await page.waitForSelector('h1:has-text("Jobs")');
  await page.evaluate((who) => localStorage.setItem('who', who), name);
  return page;
}

async function newJob(page, list) {
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
  await pasteList(page, '.paste textarea', list);
  await page.waitForSelector('[data-place="parts.1.label"]');
  await saved(page);
  return page.evaluate(() => location.hash);
}

async function visit(page, address, hash) {
  await page.goto('about:blank');
  await page.goto(`${address}${hash}`);
  await page.waitForSelector('[data-place="parts.0.label"]');
}

// Rows are known by their identity: what stands at a number may be another row by now.
async function together(ada, ben, address) {
  await ben.route('**/api/events', (route) => route.abort()); // hears nothing meanwhile
  const hash = await newJob(ada, 'leg\t600\t4\nrail\t900\t2\nfoot\t80\t4\n');
  await visit(ben, address, hash);
  await ada.getByRole('button', { name: 'Remove row 1' }).click();
  await fill(ada, 'parts.0.label', 'top rail');
  await saved(ada);
  await fill(ben, 'parts.1.length', '950');
  await fill(ben, 'parts.2.count', '6');
  await saved(ben);
  equal(await column(ben, 'label'), 'top rail,foot', 'a row that was removed is gone, the other is renamed');
  equal(await column(ben, 'length'), '950,80', 'a length stays with its row');
  equal(await column(ben, 'count'), '2,6', 'and a count with its own');
  await ben.unroute('**/api/events');
  equal(await ben.locator('dialog').count(), 0, 'nobody is asked where nothing clashes');
  await ada.reload();
  await ada.waitForSelector('[data-place="parts.1.label"]');
  equal(await column(ada, 'length'), '950,80', 'the other one sees the same');
  return hash;
}

async function clash(ada, ben, address, hash) {
  await visit(ben, address, hash);
  await ben.route('**/api/documents/**', (route) => (route.request().method() === 'PUT' ? route.abort() : route.continue()));
  await fill(ben, 'parts.0.length', '930');
  await fill(ben, 'parts.1.length', '85');
  await mark(ben, 'Kept on this device');
  await fill(ada, 'parts.0.length', '940');
  await saved(ada);
  await ben.unroute('**/api/documents/**');
  await ben.waitForSelector('dialog.clashes');
  equal(await ben.locator('dialog.clashes fieldset').count(), 1, 'only what both changed is asked');
  const text = await ben.locator('dialog.clashes').textContent();
  check(/Ada changed 1 thing that you changed too/.test(text) && /Part top rail length/.test(text) && /Yours: 930/.test(text) && /Ada: 940/.test(text), `what clashes is said: ${text}`);
  await accessible(ben, 'clash');
  await shot(ben, 'clash');
  await ben.reload();
  await ben.waitForSelector('dialog.clashes');
  equal(await ben.locator('dialog.clashes fieldset').count(), 1, 'after a reload it is asked again');
  await ben.getByLabel('Ada: 940').check();
  await ben.locator('#settle').click();
  await saved(ben);
  equal(await column(ben, 'length'), '940,85', 'what was chosen, and what did not clash');
}

// Every key is kept before the server has it.
async function away(server, ada, hash) {
  await server.stop();
  await fill(ada, 'parts.1.label', 'rubber foot');
  await mark(ada, 'Kept on this device');
  await accessible(ada, 'server away');
  await shot(ada, 'server-away');
  const again = await serve(program, [], server);
  await saved(ada);
  equal(await ada.locator('dialog').count(), 0, 'nothing to ask when the server is back');
  await again.stop();
  await fill(ada, 'parts.1.count', '8');
  await ada.goto('about:blank'); // the window is closed while the server is away
  const last = await serve(program, [], server);
  await ada.goto(`${server.address}#/`);
  await ada.waitForSelector('h1:has-text("Jobs")');
  await until(ada, () => ![...Array(localStorage.length).keys()].some((i) => localStorage.key(i).startsWith('unsent/')));
  await ada.goto(`${server.address}${hash}`);
  await ada.waitForSelector('[data-place="parts.1.label"]');
  equal(await value(ada, 'parts.1.label'), 'rubber foot', 'typed while the server was away');
  equal(await value(ada, 'parts.1.count'), '8', 'and what was typed last, though the window was closed');
  return last;
}

async function reloads(ada) {
  await cell(ada, 'parts.1.label').focus();
  await ada.keyboard.type(' pad');
  await ada.reload(); // at once: nothing was sent yet
  await ada.waitForSelector('[data-place="parts.1.label"]');
  equal(await value(ada, 'parts.1.label'), 'rubber foot pad', 'a reload right after a key loses nothing');
  await saved(ada);
}

async function backAndForth(ada) {
  await fill(ada, 'parts.0.length', '941');
  await ada.getByRole('button', { name: 'Remove row 2' }).click();
  await until(ada, () => document.querySelectorAll('.grid.parts [data-column="label"]').length === 1);
  await ada.keyboard.press('Control+z');
  await ada.waitForSelector('[data-place="parts.1.label"]');
  equal(await column(ada, 'label'), 'top rail,rubber foot pad', 'undo brings a removed row back');
  await ada.getByRole('button', { name: 'Undo', exact: true }).click();
  await until(ada, () => document.querySelector('[data-place="parts.0.length"]').value === '940');
  equal(await ada.locator('#undo').isDisabled(), true, 'no further than this window went');
  await ada.keyboard.press('Control+Shift+z');
  await until(ada, () => document.querySelector('[data-place="parts.0.length"]').value === '941');
  await saved(ada);
  await ada.reload();
  await ada.waitForSelector('[data-place="parts.1.label"]');
  equal(await column(ada, 'length'), '941,85', 'what was done again is saved');
}

// What one saves stands on the other's screen at once; the cursor stays with its row.
async function atOnce(ada, ben, address, hash) {
  await visit(ada, address, hash);
  await visit(ben, address, hash);
  await cell(ben, 'parts.1.length').focus();
  await ben.keyboard.press('End');
  await ada.locator('[data-place="parts.0.label"]').focus();
  await fill(ada, 'parts.0.count', '12');
  await until(ben, () => document.querySelector('[data-place="parts.0.count"]').value === '12');
  await ada.getByRole('button', { name: 'Remove row 1' }).click();
  await until(ben, () => document.querySelectorAll('.grid.parts [data-column="label"]').length === 1);
  await ben.keyboard.type('5');
  equal(await value(ben, 'parts.0.length'), '855', 'the cursor stays in its row, though that has another place now');
  await until(ada, () => document.querySelector('[data-place="parts.0.length"]').value === '855');
  await ada.keyboard.press('Control+z');
  await until(ben, () => document.querySelectorAll('.grid.parts [data-column="label"]').length === 2);
  equal(await column(ada, 'length'), '941,855', 'undo leaves what another one wrote since');
  await saved(ada);
}

// A plan of the job as it was is no plan of the job as it is.
async function outdated(ada, ben, address, hash) {
  await ada.getByRole('link', { name: '2 Tube' }).click();
  await fill(ada, 'bars.0.length', '6 m');
  await fill(ada, 'bars.0.price', '30');
  await saved(ada);
  await ada.getByRole('link', { name: '3 Plan' }).click();
  await ada.locator('#make-plan').click();
  await ada.waitForSelector('.headline');
  const plan = await ada.evaluate(() => location.hash);
  equal(await ada.locator('.outdated').count(), 0, 'a plan of the job as it is');
  await ada.locator('#hold').waitFor();
  await visit(ben, address, hash);
  await fill(ben, 'parts.0.count', '3');
  await saved(ben);
  await ada.waitForSelector('.outdated');
  equal(await ada.locator('#hold').count(), 0, 'it can’t be held');
  await accessible(ada, 'outdated plan');
  await shot(ada, 'outdated');
  const status = await ada.evaluate(async (key) => {
    const { token } = await (await fetch('/api/session')).json();
    return (await fetch(`/api/plans/${key}/hold`, { method: 'POST', headers: { 'X-Dropwise-Token': token, 'Content-Type': 'application/json' }, body: '{"again": true}' })).status;
  }, plan.split('/').pop());
  equal(status, 409, 'nor by asking the server for it');
  await ada.locator('#plan-again').click();
  await until(ada, (old) => location.hash !== old && document.querySelector('#hold') && !document.querySelector('.outdated'), plan);
}

// Planning goes on when one leaves; coming back shows it.
async function leaving(ada, ben, hash) {
  const key = hash.match(/job\/([^/]+)/)[1];
  const planPage = `#/job/${key}/plan`;
  await ada.evaluate((to) => { location.hash = to; }, planPage);
  await ada.waitForSelector('#make-plan');
  await ada.waitForSelector('h2:has-text("Plans of this job")');
  const before = await ada.locator('main ul.plain li').count();
  await ada.route('**/api/tasks/**', (route) => setTimeout(() => route.continue().catch(() => {}), 1500)); // as if it took long
  await ada.locator('#make-plan').click();
  await ada.waitForSelector('.progress');
  await ada.evaluate(() => { location.hash = '#/shelf'; });
  await ada.waitForSelector('#add-piece');
  await ada.waitForTimeout(2500);
  equal(await ada.evaluate(() => location.hash), '#/shelf', 'who went elsewhere stays there');
  await ada.unroute('**/api/tasks/**');
  await ada.evaluate((to) => { location.hash = to; }, planPage);
  await until(ada, (n) => document.querySelectorAll('main ul.plain li').length === n + 1, before);
  await ben.evaluate((to) => { location.hash = to; }, planPage);
  await ben.waitForSelector('h2:has-text("Plans of this job")');
  equal(await ben.locator('main ul.plain li').count(), before + 1, 'the other one has the plan too');
}

// Removed by another one while it was open: what was typed goes into a new job.
async function removed(ada, ben, address) {
  await ada.goto(`${address}#/`);
  await ada.waitForSelector('h1:has-text("Jobs")');
  const hash = await newJob(ada, 'arm\t300\t2\nbase\t500\t1\n');
  ben.once('dialog', (dialog) => dialog.accept());
  await ben.goto(`${address}#/`);
  await ben.getByRole('button', { name: /^Remove job/ }).first().click();
  await until(ben, () => document.querySelectorAll('.big li').length === 1);
  await fill(ada, 'parts.0.count', '3');
  await mark(ada, 'Not saved: somebody removed this job');
  await accessible(ada, 'job removed');
  await ada.getByRole('button', { name: 'Save it as a new job' }).click();
  await until(ada, (old) => location.hash !== old && document.querySelector('[data-place="parts.0.count"]')?.value === '3', hash);
  await saved(ada);
}

let server = await serve(program);
const browser = await browse();
try {
  const ada = await person(browser, server.address, 'Ada');
  const ben = await person(browser, server.address, 'Ben', PHONE);
  const hash = await together(ada, ben, server.address);
  await clash(ada, ben, server.address, hash);
  await ben.goto('about:blank');
  server = await away(server, ada, hash);
  await reloads(ada);
  await backAndForth(ada);
  await atOnce(ada, ben, server.address, hash);
  await outdated(ada, ben, server.address, hash);
  await leaving(ada, ben, hash);
  await removed(ada, ben, server.address);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await server.end();
}
console.log(failures() ? `${failures()} failed` : 'two people on one job: good');
process.exit(failures() ? 1 : 0);
