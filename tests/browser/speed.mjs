// SPDX-License-Identifier: GPL-3.0-or-later
// How fast the page is, measured by the browser's own clock; nothing is asserted.
// usage: node speed.mjs PROGRAM [RUNS]
//
//   first view   from the navigation's start to the first paint with text, and to the list of jobs;
//                an empty cache each time, and once more with what the browser has kept
//   200 parts    from the paste event to the frame in which the bars of its plan are drawn

import { loadavg } from 'node:os';
import { serve, browse, visitor, paste, until, PHONE, DESKTOP } from './shop.mjs';

const [program, times] = process.argv.slice(2);
const runs = Number(times) || 15;

const sorted = (values) => [...values].sort((a, b) => a - b);
const median = (values) => sorted(values)[Math.floor(values.length / 2)];
function row(name, values) {
  console.log(`${name.padEnd(34)} median ${String(Math.round(median(values))).padStart(5)} ms   worst ${String(Math.round(Math.max(...values))).padStart(5)} ms`);
}

// Notes when the page says that what was asked for is there.
const note = () => {
  window.readyAt = 0;
  new MutationObserver(() => {
    if (!window.readyAt && document.documentElement.dataset.ready) window.readyAt = performance.now();
  }).observe(document, { subtree: true, attributes: true, attributeFilter: ['data-ready'] });
};

async function look(page, address) {
  await page.goto(address);
  await until(page, () => window.readyAt > 0);
  return page.evaluate(() => ({
    ready: window.readyAt,
    paint: performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? window.readyAt,
    requests: performance.getEntriesByType('resource').length + 1,
  }));
}

async function firstView(browser, address) {
  const seen = { cold: [], paint: [], warm: [] };
  let requests = 0;
  for (let i = 0; i < runs; i += 1) {
    const page = await visitor(browser, address, PHONE);
    await page.addInitScript(note);
    const cold = await look(page, address);
    seen.cold.push(cold.ready);
    seen.paint.push(cold.paint);
    requests = cold.requests;
    seen.warm.push((await look(page, address)).ready);
    await page.context().close();
  }
  console.log(`first view: ${requests} requests, ${runs} runs`);
  row('  first paint with text', seen.paint);
  row('  jobs are listed', seen.cold);
  row('  jobs are listed, second visit', seen.warm);
}

// Lengths 300 to 2290 mm, worked out by a rule, cut from six metre bars.
const LIST = `Part\tLength (mm)\tQty\n${Array.from({ length: 200 }, (_, i) => `part ${i + 1}\t${300 + ((i * 37) % 200) * 10}\t1`).join('\n')}\n`;

async function pasteAndPlan(page, address) {
  await page.goto(address);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
  await page.getByRole('link', { name: '2 Tube' }).click();
  await page.locator('[data-place="bars.0.length"]').fill('6 m');
  await page.locator('[data-place="bars.0.price"]').fill('36.90');
  await until(page, () => document.getElementById('saved')?.textContent === 'Saved');
  await page.getByRole('link', { name: '1 Parts' }).click();
  await page.waitForSelector('.paste textarea');
  // What a quick user does, without the time that hands take.
  await page.evaluate(() => {
    window.took = 0;
    let began = 0;
    let tableAt = 0;
    const steps = [
      () => document.getElementById('take-rows') && (document.getElementById('take-rows').click(), true),
      () => document.querySelector('[data-place="parts.199.label"]') && ((tableAt = performance.now()), location.hash = location.hash.replace('parts', 'plan')),
      () => { const select = [...document.querySelectorAll('select')].find((one) => one.querySelector('option[value="0"]')); if (!select || !document.getElementById('make-plan')) return false; select.value = '0'; document.getElementById('make-plan').click(); return true; },
      () => document.querySelector('.piece') && (requestAnimationFrame(() => setTimeout(() => { window.took = performance.now() - began; window.table = tableAt - began; }, 0)), true),
    ];
    new MutationObserver(() => { while (steps.length && steps[0]()) steps.shift(); }).observe(document.body, { subtree: true, childList: true });
    document.addEventListener('paste', () => { began = performance.now(); }, { capture: true });
  });
  await paste(page, '.paste textarea', LIST);
  await until(page, () => window.took > 0);
  return page.evaluate(() => ({ all: window.took, table: window.table, planned: Number(document.documentElement.dataset.planned) }));
}

async function largeJob(browser, address) {
  const seen = [];
  for (let i = 0; i < Math.min(runs, 9); i += 1) {
    const page = await visitor(browser, address, DESKTOP);
    seen.push(await pasteAndPlan(page, address));
    await page.context().close();
  }
  console.log(`200 parts pasted, ${seen.length} runs`);
  row('  the table is there', seen.map((one) => one.table));
  row('  planned', seen.map((one) => one.planned));
  row('  from the paste to drawn bars', seen.map((one) => one.all));
}

const { address, end } = await serve(program);
const browser = await browse();
try {
  console.log(`load average ${loadavg().map((one) => one.toFixed(1)).join(' ')}`);
  await firstView(browser, address);
  await largeJob(browser, address);
  console.log(`load average ${loadavg().map((one) => one.toFixed(1)).join(' ')}`);
} finally {
  await browser.close();
  await end();
}
