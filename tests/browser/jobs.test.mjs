// SPDX-License-Identifier: GPL-3.0-or-later
// The list of jobs: a sample for the first visit, how far each is, found, copied; two plans compared in a
// sentence; what is done with a plan stays in sight.  usage: node jobs.test.mjs PROGRAM

import { serve, browse, visitor, accessible, shot, paste, pasteList, until, check, equal, failures, PHONE, DESKTOP } from './shop.mjs';

const state = (page, name) => page.locator(`.jobs li:has(a:text-is("${name}")) .state`).textContent();
const home = async (page, address) => {
  await page.goto(`${address}#/`);
  await page.waitForSelector('h1:has-text("Jobs")');
};
const settled = (page, name, should) => until(page, ([one, is]) => [...document.querySelectorAll('.jobs li')].some((row) => row.querySelector('a').textContent === one && row.querySelector('.state').textContent === is), [name, should]);

const SAMPLE = 'Sample: steelpan trio rack';

async function firstVisit(page, address) {
  await home(page, address);
  await accessible(page, 'first visit');
  await shot(page, 'jobs-first');
  await page.locator('#sample').click();
  await page.waitForSelector('[data-place="parts.5.label"]');
  await until(page, () => document.querySelector('.sum')?.textContent.includes('29 pieces')); // 6 + 4 + 6 + 4 + 6 + 3
  equal(await page.locator('.remarks .wrong').count(), 0, 'the sample job has no mistake');
  await page.locator('[data-place="client"]').fill('Harbour Radio | north');
  await page.locator('[data-place="due"]').fill('2027-05-01');
  await until(page, () => document.getElementById('saved').textContent === 'Saved');
  await home(page, address);
  await settled(page, SAMPLE, 'draft');
  check(/for Harbour Radio \/ north; due 2027-05-01/.test(await page.locator('.jobs li').first().textContent()), 'client and day are told');
}

async function plans(page, address) {
  await page.getByRole('link', { name: SAMPLE }).click();
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.locator('#make-plan').click();
  await page.waitForSelector('.plan-keys');
  const seen = await page.evaluate(() => {
    const box = document.querySelector('.plan-keys').getBoundingClientRect();
    return box.bottom <= window.innerHeight + 1 && window.scrollY === 0;
  });
  check(seen, 'what is done with the plan is in sight without a scroll');
  const text = await page.locator('.plan-keys').textContent();
  check(/29 pieces from \d+ bars/.test(text) && /EUR/.test(text) && /no cheaper plan exists|could still be saved/.test(text), `pieces, money, proof: ${text}`);
  const sheet = await page.request.get(await page.locator('#print').evaluate((link) => link.href));
  equal((await sheet.body()).subarray(0, 5).toString('latin1'), '%PDF-', 'the sheet is one click away');
  await accessible(page, 'plan with its actions');
  await shot(page, 'plan-actions');
  await page.locator('#change-rule summary').click();
  await page.getByLabel('Cost of a cut').waitFor({ state: 'detached', timeout: 500 }).catch(() => {});
  await page.getByLabel('Keep offcuts from').fill('5 m');
  await page.getByRole('button', { name: 'Plan again and compare' }).click();
  await page.waitForSelector('.compare');
  // The figures of the sentence are those of the table below it.
  const [says, rows] = await page.evaluate(() => [document.querySelector('main .lead').textContent,
    Object.fromEntries([...document.querySelectorAll('.compare tbody tr')].map((row) => [row.querySelector('th').textContent, [...row.querySelectorAll('td')].map((cell) => Number.parseFloat(cell.textContent))]))]);
  const difference = Math.abs(rows.costs[1] - rows.costs[0]).toFixed(2);
  check(rows.costs[0] === rows.costs[1] ? says.includes('costs the same as') : says.includes(`costs ${difference} EUR ${rows.costs[1] > rows.costs[0] ? 'more' : 'less'} than`), `what the other costs: ${says}`);
  for (const [name, one, many] of [['bars', 'bar', 'bars'], ['layouts', 'layout', 'layouts'], ['cuts', 'cut', 'cuts']]) {
    const n = rows[name][1] - rows[name][0];
    const should = `${Math.abs(n)} ${Math.abs(n) === 1 ? one : many} ${n < 0 ? 'fewer' : 'more'}`;
    equal(says.includes(should), n !== 0, `${name} in the sentence: ${says}`);
  }
  await accessible(page, 'two plans in a sentence');
  await home(page, address);
  await settled(page, SAMPLE, 'planned');
}

async function copied(page, address) {
  await page.getByRole('button', { name: `Copy job ${SAMPLE}` }).click();
  await page.waitForSelector('[data-place="parts.5.label"]');
  equal(await page.locator('[data-place="name"]').inputValue(), `${SAMPLE}, copy`, 'a copy says that it is one');
  await page.locator('[data-place="parts.0.label"]').fill('post');
  await until(page, () => document.getElementById('saved').textContent === 'Saved');
  await home(page, address);
  await page.getByRole('link', { name: SAMPLE, exact: true }).click();
  await page.waitForSelector('[data-place="parts.0.label"]');
  equal(await page.locator('[data-place="parts.0.label"]').inputValue(), 'upright', 'what it was made from stays as it is');
}

async function heldAndCut(page, address) {
  await page.getByRole('link', { name: '3 Plan' }).click();
  await page.waitForSelector('h2:has-text("Plans of this job")');
  await page.getByRole('link', { name: /^Plan 1:/ }).click();
  await page.locator('#hold').click();
  await page.waitForSelector('.one-bar');
  await home(page, address);
  await settled(page, SAMPLE, 'held');
  equal(await state(page, `${SAMPLE}, copy`), 'draft', 'its copy is a draft');
  const ask = (path, body) => page.evaluate(async ([where, what]) => {
    const { token } = await (await fetch('/api/session')).json();
    return (await fetch(where, { method: 'POST', headers: { 'X-Dropwise-Token': token, 'Content-Type': 'application/json' }, body: JSON.stringify(what) })).status;
  }, [path, body]);
  equal(await ask('/api/held/1/cut', { bar: 1 }), 200, 'a bar is cut');
  await settled(page, SAMPLE, 'being cut'); // told at once, without a reload
  equal(await ask('/api/held/1/cut', { all: true }), 200, 'all are cut');
  await settled(page, SAMPLE, 'cut');
  await accessible(page, 'jobs and how far they are');
  await shot(page, 'jobs-states');
}

// From a list on the clipboard to the printed sheet in four clicks, once the shop has said what it cuts from.
async function fourClicks(page, address) {
  await home(page, address);
  await page.getByRole('link', { name: SAMPLE, exact: true }).click();
  await page.getByRole('link', { name: '2 Tube' }).click();
  await page.locator('#keep-usual').click();
  await until(page, () => document.getElementById('said').textContent.startsWith('New jobs begin'));
  await home(page, address);
  let clicks = 0;
  const click = async (what) => {
    clicks += 1;
    await what.click();
  };
  await click(page.getByRole('button', { name: 'New job', exact: true }));
  await page.waitForSelector('.paste textarea');
  await paste(page, '.paste textarea', 'Part\tLength (mm)\tQty\nstall post\t1980\t4\nshelf rail\t1240\t6\n');
  await click(page.locator('#take-rows'));
  await click(page.locator('#plan-now'));
  await page.waitForSelector('.plan-keys');
  const [sheet] = await Promise.all([page.context().waitForEvent('page'), click(page.locator('#print'))]);
  check(/papers\/sheet\.pdf/.test(sheet.url() || 'papers/sheet.pdf'), 'the sheet opens');
  await sheet.close();
  equal(clicks, 4, 'clicks from the list to the sheet');
  check(/10 pieces/.test(await page.locator('.plan-keys').textContent()), 'of the list that was pasted');
}

// The shelf's name of a tube is offered where the measures are the same, however they are written.
async function tubeByMeasures(page, address) {
  const post = (path, body) => page.evaluate(async ([where, what]) => {
    const { token } = await (await fetch('/api/session')).json();
    return (await fetch(where, { method: 'POST', headers: { 'X-Dropwise-Token': token, 'Content-Type': 'application/json' }, body: JSON.stringify(what) })).status;
  }, [path, body]);
  equal(await post('/api/materials', { id: 'shop42', outside: '42 mm', wall: '2 mm' }), 200, 'a tube of the shelf');
  equal(await post('/api/materials', { id: 'shop48', outside: '48 mm', wall: '2 mm' }), 200, 'and another');
  equal(await post('/api/shelf', { material: 'shop42', length: '2 m' }), 200, 'with a piece');
  await home(page, address);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
  await pasteList(page, '.paste textarea', 'Part\tLength (mm)\tQty\tTube\nleg\t600\t4\tround 42\n');
  await page.getByRole('link', { name: '2 Tube' }).click();
  await page.locator('[data-place="materials.0.id"]').fill('round 42');
  await page.locator('[data-place="bars.0.material"]').waitFor({ state: 'attached', timeout: 300 }).catch(() => {});
  await page.locator('[data-place="materials.0.outside"]').fill('4.2 cm');
  await page.locator('[data-place="materials.0.wall"]').fill('2');
  await page.waitForSelector('.offer:has-text("as shop42")');
  equal(await page.locator('.offer').count(), 1, 'only the tube with both measures');
  check(/1 piece lies there/.test(await page.locator('.offer').textContent()), 'what lies there is said');
  await accessible(page, 'tube offered');
  await shot(page, 'tube-offer');
  await page.getByRole('button', { name: 'Call it shop42 here too' }).click();
  await until(page, () => document.querySelector('[data-place="materials.0.id"]').value === 'shop42' && !document.querySelector('.offer'));
  await page.getByRole('link', { name: '1 Parts' }).click();
  await page.waitForSelector('[data-place="parts.0.label"]');
  const tree = await page.evaluate(async () => JSON.parse((await (await fetch(`/api/documents/job/${location.hash.match(/job.([^/]+)/)[1]}`)).json()).body));
  for (let i = 0; i < 20 && tree.parts?.[0]?.material !== 'shop42'; i += 1) {
    await page.waitForTimeout(100);
    Object.assign(tree, await page.evaluate(async () => JSON.parse((await (await fetch(`/api/documents/job/${location.hash.match(/job.([^/]+)/)[1]}`)).json()).body)));
  }
  equal(tree.parts[0].material, 'shop42', 'the parts name it so too');
}

// Names of 200 letters without a space fit a phone, from the list to the saw.
async function longNames(browser, address) {
  const page = await visitor(browser, address, PHONE, { hasTouch: true, isMobile: true });
  const long = 'w'.repeat(200);
  await home(page, address);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
  await page.locator('[data-place="name"]').fill(long);
  await page.locator('[data-place="client"]').fill(long);
  await paste(page, '.paste textarea', `Part\tLength (mm)\tQty\tRemark\n${long}\t1980\t4\t${long}\n`);
  await page.waitForSelector('#take-rows');
  await accessible(page, 'long names, list');
  await page.locator('#take-rows').click();
  await until(page, () => document.getElementById('saved').textContent === 'Saved');
  await accessible(page, 'long names, parts');
  await page.locator('#plan-now').click();
  await page.waitForSelector('.plan-keys');
  await accessible(page, 'long names, plan');
  await page.locator('#hold').click();
  await page.waitForSelector('.one-bar');
  await accessible(page, 'long names, saw');
  await shot(page, 'long-saw');
  await home(page, address);
  await accessible(page, 'long names, jobs');
  await page.goto(`${address}#/saw`);
  await page.waitForSelector('h1:has-text("At the saw")');
  await accessible(page, 'long names, plans at the saw');
  await page.context().close();
}

async function found(page, address) {
  await home(page, address);
  for (let i = 0; i < 5; i += 1) {
    await page.evaluate(async (n) => {
      const { token } = await (await fetch('/api/session')).json();
      await fetch('/api/documents/job', { method: 'POST', headers: { 'X-Dropwise-Token': token, 'Content-Type': 'application/json' }, body: JSON.stringify({ name: `Market stall ${n}${n === 3 ? ' | Quay Market' : ''}`, body: '{}' }) });
    }, i);
  }
  await page.waitForSelector('input[type=search]');
  await page.locator('input[type=search]').fill('quay');
  equal((await page.locator('.jobs li:visible a').allTextContents()).join(), 'Market stall 3', 'found by its client');
  await page.locator('input[type=search]').fill('nobody');
  await page.waitForSelector('p:has-text("No job is called so, nor a client.")');
  await accessible(page, 'nothing found');
  await page.locator('input[type=search]').fill('');
  await page.setViewportSize(PHONE);
  await accessible(page, 'phone jobs');
  await shot(page, 'jobs-phone');
}

const { address, end } = await serve(process.argv[2]);
const browser = await browse();
try {
  const page = await visitor(browser, address, DESKTOP);
  await firstVisit(page, address);
  await plans(page, address);
  await copied(page, address);
  await heldAndCut(page, address);
  await fourClicks(page, address);
  await tubeByMeasures(page, address);
  await found(page, address);
  await longNames(browser, address);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await end();
}
console.log(failures() ? `${failures()} failed` : 'the list of jobs: good');
process.exit(failures() ? 1 : 0);
