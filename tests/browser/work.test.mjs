// SPDX-License-Identifier: GPL-3.0-or-later
// What surrounds a plan: nothing of a job file is lost on its way through the page, drawn parts,
// lengths to carry, plan files, a wrong cut of a plan that the command line held, keys alone.
// usage: node work.test.mjs PROGRAM SAMPLES

import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { serve, browse, visitor, accessible, shot, until, check, equal, failures, inFile, program, PHONE, DESKTOP } from './shop.mjs';

const [tested, samples] = process.argv.slice(2);
const scratch = mkdtempSync(join(tmpdir(), 'work-'));
const fill = (page, place, text) => page.locator(`[data-place="${place}"]`).fill(text);
const saved = (page) => until(page, () => document.getElementById('saved')?.textContent === 'Saved');

function run(...args) {
  const done = spawnSync(program, args, { encoding: 'utf8', maxBuffer: 64 << 20 });
  check(done.status === 0, `dropwise ${args.join(' ')}: ${done.status} ${done.stderr}`);
  return done.stdout;
}

async function openJob(page, address, files) {
  await page.goto(`${address}#/`);
  await page.waitForSelector('h1:has-text("Jobs")');
  await page.setInputFiles('#job-file', files);
  await page.waitForSelector('h1:has-text("What is needed")');
}

// --- a field for all that can be given ----------------------------------------------------------------

// A job that has each record, and each way to write one.
const PART = { label: 'rail', length: '600', count: '1' };
const ALL = {
  dropwise: '1', name: 'All', unit: 'in', currency: 'EUR', saw: { kerf: '1/8' }, rules: { 'leftover worth': [{ from: '20', worth: '1' }] },
  materials: [{ id: 'a' }, { id: 'b' }], bars: [{ id: 'one', material: 'a', length: '240', 'price breaks': [{ from: '8', price: '30' }] }],
  offcuts: [{ id: 'K1', material: 'a', length: '40' }], fittings: [{ id: 'tee' }], 'loose fittings': [{ fitting: 'tee', count: '1' }],
  joints: [{ meeting: 'T', end: 'tee' }], drawings: [{ name: 'side.dxf', text: readFileSync(join(samples, 'desk-side.dxf'), 'utf8').trim(), label: 'D', material: 'a' }],
  sections: [{ name: 'left' }], suppliers: [{ name: 'Quay' }],
  quote: { charge: 'length plus percentage', tax: { tube: '20 %' }, labour: [{ work: 'sawing', hours: '1', rate: '40' }] },
  parts: [PART, ...['centres', 'outside', 'clear'].map((key) => ({ label: key, [key]: '30', count: '1' })),
    { label: 'set', offset: { set: '10', angle: '45' }, count: '1' }, { label: 'hoop', bent: { bends: [{ radius: '5', angle: '90' }], straights: ['9', '9'] }, count: '1' },
    { ...PART, 'end 1': { mitre: '45' }, 'end 2': 'tee' }, { ...PART, 'end 1': 'notch', 'end 2': 'free' }, { ...PART, 'both ends': 'tee' }],
  posts: [{ label: 'arm', length: '10', worth: '2' }],
};
const { parts: PARTS, posts: POSTS, ...REST } = ALL;
const BATCH = { ...REST, jobs: [{ name: 'one', parts: PARTS, posts: POSTS }, { name: 'two', parts: [PART] }], parts: [{ ...PART, job: 'one' }], posts: [{ ...POSTS[0], job: 'two' }] };

// Where the members of a record are edited.
const PLACES = {
  '': '', saw: 'saw.', rules: 'rules.', worth: 'rules.leftover worth.0.', material: 'materials.0.', bar: 'bars.0.', 'bar.price breaks': 'bars.0.price breaks.0.',
  offcut: 'offcuts.0.', part: '(jobs.0.)?parts.\\d.', post: '(jobs.0.)?posts.0.', end: '.*parts.\\d.(end 1|end 2|both ends).', bend: '.*.bent.bends.0.', bent: '.*.bent.',
  'part.offset': '.*.offset.', job: 'jobs.0.', fitting: 'fittings.0.', loose_fitting: 'loose fittings.0.', section: 'sections.0.', supplier: 'suppliers.0.',
  drawing: 'drawings.0.', joint: 'joints.0.', quote: 'quote.', 'quote.tax': 'quote.tax.', 'quote.labour': 'quote.labour.0.',
};
const WITHOUT = ['dropwise', 'end.notch', 'shop']; // the version; a notch is chosen where a fitting is; the shelf's shop

async function placesOf(page, address, job) {
  const file = join(scratch, 'all.yaml');
  writeFileSync(file, JSON.stringify(job));
  await openJob(page, address, [file]);
  const found = [];
  for (const [step, title] of [[null, 'What is needed'], ['2 Tube', 'What it is cut from']]) {
    if (step) await page.getByRole('link', { name: step }).click();
    await page.waitForSelector(`h1:has-text("${title}")`);
    await unfoldAll(page);
    found.push(...await page.locator('[data-place]').evaluateAll((all) => all.map((one) => one.dataset.place)));
  }
  return found;
}

async function everyMember(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  const places = [...await placesOf(page, address, ALL), ...await placesOf(page, address, BATCH)];
  const { records } = await page.evaluate(async () => (await fetch('/api/members')).json());
  for (const [record, members] of Object.entries(records)) {
    if (PLACES[record] === undefined) check(false, `no place is known for the record ${record}`);
    for (const { name } of members) {
      const at = new RegExp(`^${PLACES[record]}${name}(\\.|$)`);
      const known = record ? `${record}.${name}` : name;
      check(WITHOUT.includes(known) || places.some((place) => at.test(place)), `a form has no field for ${known}`);
    }
  }
  await page.context().close();
}

// --- round trip ---------------------------------------------------------------------------------------

async function unfoldAll(page) {
  await page.evaluate(() => {
    document.querySelectorAll('details').forEach((one) => { one.open = true; });
    document.querySelectorAll('.unfold[aria-expanded="false"]').forEach((one) => one.click());
  });
}

// Every field is opened, one is changed and changed back; the file that the page then saves is the
// same job: what `check` understands and what `plan` makes of it are the same to the byte.
async function roundTrip(page, address, name, tables) {
  const file = join(samples, name);
  await openJob(page, address, [file, ...tables.map((one) => join(samples, one))]);
  await until(page, () => document.querySelector('.sum'));
  const title = await page.locator('[data-place="name"]').inputValue();
  await unfoldAll(page);
  if (name.startsWith('priced')) await accessible(page, 'every field of the parts');
  await fill(page, 'name', `${title} 2`);
  await page.getByRole('link', { name: '2 Tube' }).click();
  await page.waitForSelector('h1:has-text("What it is cut from")');
  await unfoldAll(page);
  if (name.startsWith('priced')) await accessible(page, 'every field of the tube');
  await page.getByRole('link', { name: '1 Parts' }).click();
  await page.waitForSelector('h1:has-text("What is needed")');
  await fill(page, 'name', title);
  await saved(page);
  await page.reload();
  await page.waitForSelector('#save-file');
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#save-file').click()]);
  const back = join(scratch, name);
  await download.saveAs(back);
  for (const args of [['check', '--json'], ['takeoff', '--json'], ['plan', '--greedy', '--json']]) {
    const [was, is] = [file, back].map((one) => JSON.parse(run(...args, one)));
    delete was.remarks; // they tell lines
    delete is.remarks;
    equal(JSON.stringify(is), JSON.stringify(was), `${name}: ${args[0]} of the file that was saved`);
  }
}

async function roundTrips(browser, address) {
  const page = await visitor(browser, address, DESKTOP, { acceptDownloads: true });
  await roundTrip(page, address, 'trio-rack.yaml', []);
  await roundTrip(page, address, 'priced-batch.yaml', []);
  await shot(page, 'desktop-batch');
  await roundTrip(page, address, 'shop-batch.yaml', ['shop-offcuts.csv', 'stall-parts.csv']);
  await roundTrip(page, address, 'large.yaml', ['large-parts.csv']);
  // What is no job is refused in words.
  for (const [name, text, why] of [['empty.yaml', ' \n', /empty.yaml is empty/], ['note.yaml', 'just a line', /is no job file/], ['torn.yaml', 'parts: [', /Line \d+: /]]) {
    await page.goto(`${address}#/`);
    await page.waitForSelector('#job-file', { state: 'attached' });
    await page.setInputFiles('#job-file', { name, mimeType: 'text/plain', buffer: Buffer.from(text) });
    await page.waitForTimeout(50);
    for (let i = 0; i < 60 && !why.test(await page.locator('#said').textContent()); i += 1) await page.waitForTimeout(50);
    check(why.test(await page.locator('#said').textContent()), `${name}: ${await page.locator('#said').textContent()}`);
  }
  // Without its tables a job is refused, and says which one is missing.
  await page.goto(`${address}#/`);
  await page.waitForSelector('h1:has-text("Jobs")');
  await page.setInputFiles('#job-file', join(samples, 'large.yaml'));
  await until(page, () => document.getElementById('said').textContent.includes('large-parts.csv'));
  await page.context().close();
}

// A list alone begins a job: its rows are looked at first, and a job is made when they are taken.
async function listAlone(browser, address) {
  const page = await visitor(browser, address, PHONE, { hasTouch: true, isMobile: true });
  const list = { name: 'desk legs.csv', mimeType: 'text/csv', buffer: Buffer.from('label,length,count\nleg,640,4\nrail,1180,2\n') };
  const jobs = () => page.evaluate(async () => (await (await fetch('/api/documents/job')).json()).documents.filter((one) => one.name === 'desk legs').length);
  await page.goto(`${address}#/`);
  await page.waitForSelector('#job-file', { state: 'attached' });
  await page.setInputFiles('#job-file', list);
  await page.waitForSelector('#take-rows');
  equal(await page.locator('#taking-title').textContent(), '2 rows are understood', 'the rows of a list alone are shown');
  await accessible(page, 'phone a list alone');
  await shot(page, 'phone-list-alone');
  await page.getByRole('button', { name: 'Leave it' }).click();
  equal(await jobs(), 0, 'a list that was left makes no job');
  await page.setInputFiles('#job-file', list);
  await page.locator('#take-rows').click();
  await page.waitForSelector('[data-place="parts.1.label"]');
  equal(await page.locator('[data-place="name"]').inputValue(), 'desk legs', 'the job is called as its list');
  equal(await page.locator('[data-place="parts.1.length"]').inputValue(), '1180', 'and has its rows');
  equal(await jobs(), 1, 'it is among the jobs');
  // Two lists without a job: which job they belong to can't be known.
  await page.goto(`${address}#/`);
  await page.waitForSelector('#job-file', { state: 'attached' });
  await page.setInputFiles('#job-file', [list, { ...list, name: 'more.csv' }]);
  await until(page, () => document.getElementById('said').textContent.includes('choose its job with it'));
  await page.context().close();
}

// --- drawn parts --------------------------------------------------------------------------------------

const DRAWN = `dropwise: 1
name: Frame
unit: mm
saw: {kerf: 2}
materials: [{id: t, outside: 42 mm}]
bars: [{length: 6 m, price: 20}]
fittings: [{id: tee, stops short: 1/2 OD}]
parts: [{label: rail, centres: 1000, both ends: tee, count: 2}]
`;

async function drawnParts(browser, address) {
  const page = await visitor(browser, address, PHONE, { hasTouch: true, isMobile: true });
  await openJob(page, address, { name: 'frame.yaml', mimeType: 'application/yaml', buffer: Buffer.from(DRAWN) });
  equal(await page.locator('[data-place="parts.0.centres"]').inputValue(), '1000', 'a drawn dimension stands in its cell');
  await fill(page, 'parts.0.centres', '1200');
  await page.getByRole('button', { name: 'More of row 1' }).first().click();
  await accessible(page, 'phone a drawn part');
  await shot(page, 'phone-drawn');
  // 1200 - 2 x 21 mm, half the 42 mm that each end meets.
  await page.locator('#show-cuts').click();
  await page.waitForSelector('.cut-steps:has-text("1158 mm")');
  // Its far end free: 1200 - 21 mm.
  await page.locator('[data-place="parts.0.both ends.fitting"]').nth(1).selectOption('');
  await page.locator('#show-cuts').click();
  await page.waitForSelector('.cut-steps:has-text("1179 mm")');
  // What the fitting takes off is changed: 1200 - 30 mm.
  await fill(page, 'fittings.0.stops short', '');
  await fill(page, 'fittings.0.take out', '30');
  await page.locator('#show-cuts').click();
  await page.waitForSelector('.cut-steps:has-text("1170 mm")');
  await saved(page);
  await page.context().close();
}

// --- lengths to carry -----------------------------------------------------------------------------------

// Worked out by hand: 1000 mm alone costs 10 + 2 x 10, 1500 mm alone 14 + 14, both 10 + 14.
const past = (name, label, length) => ({ name: `${name}.yaml`, mimeType: 'application/yaml', buffer: Buffer.from(`dropwise: 1
name: ${name}
unit: mm
currency: EUR
saw: {kerf: 0}
rules: {keep: 300}
materials: [{id: t}]
bars: [{id: one, length: 1000, price: 10}, {id: three halves, length: 1500, price: 14}]
parts: [{label: ${label}, length: ${length}, count: 2}]
`) });

// A drawing that is brought: its tubes are parts, cut by the joints that are chosen, and shown with
// their labels.
async function drawing(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  await openJob(page, address, { name: 'side.yaml', mimeType: 'application/yaml', buffer: Buffer.from(JSON.stringify({
    dropwise: '1', name: 'Side', unit: 'mm', saw: { kerf: '2' }, materials: [{ id: 'al38', outside: '38 mm' }], bars: [{ length: '6 m', price: '37' }],
    fittings: [{ id: 'tee', 'stops short': '1/2 OD' }], joints: [{ meeting: 'T', end: 'tee' }] })) });
  await page.locator('#drawings').evaluate((one) => { one.open = true; });
  await page.setInputFiles('input[accept=".dxf"]', join(samples, 'desk-side.dxf'));
  await page.waitForSelector('legend:has-text("desk-side.dxf")');
  await page.locator('#show-cuts').click();
  // The shelf rail of 600 mm ends in a tee at both ends: 600 - 2 x 19 mm. The posts are cut as drawn.
  await page.waitForSelector('.cut-steps:has-text("562 mm")');
  check(/2 \u00d7 P1: cut 720 mm/.test(await page.locator('.cut-steps').textContent()), 'equal tubes of a drawing are counted');
  check(await page.locator('figure.drawing img').evaluate((one) => one.complete && one.naturalWidth > 100), 'the drawing is shown');
  await page.waitForSelector('.remarks:has-text("desk-side.dxf: LINE on layer `al38`, at 0, 720: corner with al38")');
  await page.evaluate(() => window.scrollTo(0, 0));
  await accessible(page, 'a drawing');
  await shot(page, 'drawing');
  await saved(page);
  await page.reload();
  await page.waitForSelector('legend:has-text("desk-side.dxf")');
  await page.getByRole('button', { name: 'Remove this drawing' }).click();
  await until(page, () => !document.querySelector('#drawings legend'));
  await page.context().close();
}

async function lengths(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  await openJob(page, address, past('Past rail', 'rail', 750));
  await openJob(page, address, past('Past leg', 'leg', 500));
  await page.getByRole('link', { name: '2 Tube' }).click();
  await page.getByRole('link', { name: 'Which lengths are worth carrying?' }).click();
  await page.waitForSelector('#choose-lengths');
  await page.getByLabel('Past rail').check();
  await page.getByLabel('How many lengths at most').selectOption('1');
  await page.locator('#choose-lengths').click();
  await page.waitForSelector('p:has-text("28.00 EUR for 2 jobs")');
  check(/three halves/.test(await page.locator('.figures').textContent()), 'the length to carry is named');
  await page.getByLabel('How many lengths at most').selectOption('2');
  await page.locator('#choose-lengths').click();
  await page.waitForSelector('p:has-text("24.00 EUR for 2 jobs")');
  await accessible(page, 'desktop lengths to carry');
  await shot(page, 'desktop-lengths');
  await page.setViewportSize(PHONE);
  await accessible(page, 'phone lengths to carry');
  await page.context().close();
}

// --- files and plans from elsewhere ---------------------------------------------------------------------

const RAIL = 'dropwise: 1\nname: Rail\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2, squaring: 4}\nrules: {keep: 300}\nmaterials: [{id: t}]\n'
  + 'bars: [{id: b, length: 1000, price: 9, ends: "sawn, mill"}]\nparts: [{label: rail, length: 600}]\n';

async function planFile(page, address) {
  const job = join(scratch, 'rail.yaml');
  const plan = join(scratch, 'rail.json');
  writeFileSync(job, RAIL);
  run('plan', job, '-o', plan);
  await openJob(page, address, job);
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.locator('summary:has-text("More")').click();
  await page.setInputFiles('#plan-file', { name: 'none.json', mimeType: 'application/json', buffer: Buffer.from('') });
  await page.waitForSelector('.wrong:has-text("none.json is empty")');
  await page.setInputFiles('#plan-file', { name: 'other.json', mimeType: 'application/json', buffer: Buffer.from('{"format": "x"}') });
  await until(page, () => document.querySelectorAll('.remarks .wrong').length && !document.querySelector('.remarks').textContent.includes('is empty'));
  await page.setInputFiles('#plan-file', { name: 'spoiled.json', mimeType: 'application/json', buffer: Buffer.from(readFileSync(plan, 'utf8').replaceAll('9.00', '8.00')) });
  await page.waitForSelector('p:has-text("It does not hold")');
  await accessible(page, 'desktop a plan file that does not hold');
  const claimed = JSON.parse(readFileSync(plan, 'utf8'));
  Object.assign(claimed.groups[0], { proof: 'search', certificate: { scale: 1, bound: '0.00', duals: [] } });
  await page.setInputFiles('#plan-file', { name: 'claimed.json', mimeType: 'application/json', buffer: Buffer.from(JSON.stringify(claimed)) });
  await page.waitForSelector('.proof:has-text("that is not proved here")');
  check(/is not proved\. Its maker claims that the search/.test(await page.locator('.proof').textContent()), 'a search is told as a claim');
  equal(await page.locator('.proof .optimal').count(), 0, 'and has no tick');
  await accessible(page, 'desktop a plan file that claims a search');
  await page.setInputFiles('#plan-file', plan);
  await page.waitForSelector('.proof:has-text("proved: no cheaper plan exists")');
  await page.getByRole('link', { name: /It is plan \d+ now/ }).click();
  await page.waitForSelector('.headline');
  equal(await page.locator('.bar .squared').count(), 1, 'only the mill end is squared');
  check(/square the far end first/.test(await page.locator('.pieces').textContent()), 'which end is squared is said');
}

async function heldElsewhere(page, address, shelf) {
  run('plan', join(scratch, 'rail.yaml'), '--hold', '--shelf', shelf);
  await page.goto(`${address}#/saw`);
  await page.getByRole('link', { name: /Rail/ }).first().click();
  await page.waitForSelector('.elsewhere');
  equal(await page.locator('.bar .squared').count(), 1, 'at the saw too only the mill end is squared');
  await accessible(page, 'desktop a plan held elsewhere');
  await page.getByRole('button', { name: 'It went wrong' }).click();
  await page.getByLabel(/Which piece of the bar/).fill('1');
  await page.getByLabel('How long it came out').fill('500');
  await page.getByRole('button', { name: /Book it/ }).click();
  await until(page, () => document.getElementById('said').textContent.includes('bring the one'));
  await page.setInputFiles('#made-from', { name: 'other.yaml', mimeType: 'application/yaml', buffer: Buffer.from(RAIL.replace('600', '601')) });
  await page.waitForSelector('p:has-text("planned from other.yaml")');
  await page.getByRole('button', { name: /Book it/ }).click();
  await until(page, () => document.getElementById('said').textContent.includes('this is not the job'));
  await page.setInputFiles('#made-from', join(scratch, 'rail.yaml'));
  await page.waitForSelector('p:has-text("planned from rail.yaml")');
  await page.getByRole('button', { name: /Book it/ }).click();
  await page.waitForSelector('.outcome h2:has-text("new plan")');
}

// --- keys alone -----------------------------------------------------------------------------------------

// Tab until what has the focus answers to `name`.
async function tabTo(page, name, most = 60) {
  for (let i = 0; i < most; i += 1) {
    await page.keyboard.press('Tab');
    const is = await page.evaluate(() => {
      const on = document.activeElement;
      return on.getAttribute('aria-label') || (on.labels && on.labels[0]?.textContent) || on.textContent.trim();
    });
    if (name.test(is)) return;
  }
  throw new Error(`no key leads to ${name}`);
}

async function keysAlone(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  await page.goto(address);
  await page.waitForSelector('h1:has-text("Jobs")');
  await tabTo(page, /^Go to the page$/, 1);
  await page.keyboard.press('Enter');
  await tabTo(page, /^New job$/);
  await page.keyboard.press('Enter');
  await page.waitForSelector('h1:has-text("What is needed")');
  for (const [name, text] of [[/^Part, row 1$/, 'rail'], [/^Length, row 1$/, '600'], [/^Count, row 1$/, '3']]) {
    await tabTo(page, name);
    await page.keyboard.type(text);
  }
  await tabTo(page, /^Tube$/);
  await page.keyboard.press('Enter');
  await page.waitForSelector('h1:has-text("What it is cut from")');
  for (const [name, text] of [[/^Length, row 1$/, '2 m'], [/^Price each, row 1$/, '12']]) {
    await tabTo(page, name);
    await page.keyboard.type(text);
  }
  await tabTo(page, /^Plan$/);
  await page.keyboard.press('Enter');
  await page.waitForSelector('#make-plan');
  await tabTo(page, /^Make a plan$/);
  await page.keyboard.press('Enter');
  await page.waitForSelector('.headline');
  await tabTo(page, /far end at/);
  await page.keyboard.press('Enter');
  check(/rail: 600 mm/.test(await page.locator('.detail').first().textContent()), 'a piece is reached by keys');
  await tabTo(page, /^Change a rule/);
  await page.keyboard.press('Enter');
  await page.keyboard.press('Shift+Tab');
  await page.context().close();
}

const { address, end, shelf } = await serve(tested);
const browser = await browse();
try {
  await everyMember(browser, address);
  await roundTrips(browser, address);
  await listAlone(browser, address);
  await drawnParts(browser, address);
  await drawing(browser, address);
  await lengths(browser, address);
  const page = await visitor(browser, address, DESKTOP);
  await planFile(page, address);
  if (!inFile) await heldElsewhere(page, address, shelf); // no other program has the file's shelf
  await page.context().close();
  await keysAlone(browser, address);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await end();
  rmSync(scratch, { recursive: true, force: true });
}
console.log(failures() ? `${failures()} failed` : 'what surrounds a plan: good');
process.exit(failures() ? 1 : 0);
