// SPDX-License-Identifier: GPL-3.0-or-later
// The application of dropwise.html beside the program: random jobs with the same limit of work, a shelf
// carried to and fro.  usage: node BUNDLE PROGRAM FIRST LAST

import { EventEmitter } from 'node:events';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { begin, Store } from './node.mjs';

const [program, jobs, first, last] = [process.argv[2], process.env.DROPWISE_JOBS, Number(process.argv[3]), Number(process.argv[4])];
const WORK = 200000;
const folder = mkdtempSync(join(tmpdir(), 'same-'));
EventEmitter.defaultMaxListeners = 0; // each copy of the application hears of the end of the process
let failed = 0;
function equal(is, right, what) {
  if (JSON.stringify(is) === JSON.stringify(right)) return;
  failed += 1;
  console.log(`FAILED ${what}: ${JSON.stringify(is)} instead of ${JSON.stringify(right)}`);
}

// Exit status 1 says that tube is short: it has an answer too.
function run(...words) {
  try {
    return execFileSync(program, words, { encoding: 'utf8', maxBuffer: 64 << 20, stdio: ['ignore', 'pipe', 'pipe'] });
  } catch (error) {
    if (error.status !== 1) throw error;
    return error.stdout;
  }
}

const figures = (plan) => [plan.status, Number(plan.totals.value), Number(plan.bound)];

async function sameJob(seed) {
  const file = join(jobs, `${seed}.yaml`);
  const right = JSON.parse(run('plan', file, '--time', '0', '--work', String(WORK), '--json'));
  const one = await begin();
  const { json } = await one.ask('POST', '/api/plans', { text: readFileSync(file, 'utf8'), time_ms: 3600000, work: WORK });
  if (json.error) throw new Error(`${seed}: ${json.error.text}`);
  const done = await one.follow(json.task);
  if (!done.result) throw new Error(`${seed}: ${done.error}`);
  const { json: plan } = await one.ask('GET', `/api/plans/${done.result.plan}`);
  equal(figures(plan), figures(right), `job ${seed}: status, value, bound`);
  const document = await one.ask('GET', `/api/plans/${done.result.plan}/papers/plan.json`);
  if (plan.status === 'infeasible') return;
  const brought = join(folder, 'plan.json');
  writeFileSync(brought, document.bytes);
  run('verify', file, brought); // throws where the program does not take it
}

// What one side puts on the shelf the other one takes from it, and the file stays sound.
async function toAndFro(seed) {
  const db = join(folder, `shelf-${seed}.db`);
  rmSync(db, { force: true });
  run('shelf', 'material', 'al38', '--shelf', db);
  run('shelf', 'add', 'al38', '1200 mm', '--shelf', db);
  const store = new Store();
  store.bytes = new Uint8Array(readFileSync(db));
  const one = await begin(store);
  const { status, text } = await one.ask('POST', '/api/shelf', { material: 'al38', length: `${900 + seed} mm` });
  equal(status, 200, `shelf ${seed}: a piece is added, ${text}`);
  equal((await one.ask('GET', '/api/shelf')).json.n, 2, `shelf ${seed}: both pieces are there`);
  writeFileSync(db, store.bytes);
  run('shelf', 'add', 'al38', '700 mm', '--shelf', db);
  if (!/in order|sound/i.test(run('shelf', 'check', '--shelf', db))) equal('not sound', 'sound', `shelf ${seed}`);
  store.bytes = new Uint8Array(readFileSync(db));
  const two = await begin(store);
  equal((await two.ask('GET', '/api/shelf')).json.n, 3, `shelf ${seed}: all three are there`);
  equal((await two.ask('GET', '/api/shelf-check')).json.good, true, `shelf ${seed}: sound`);
}

// What the store does not take was not done; what came before stays.
async function full() {
  const one = await begin();
  await one.ask('POST', '/api/materials', { id: 'al38' });
  await one.ask('POST', '/api/shelf', { material: 'al38', length: '900 mm' });
  const kept = one.store.bytes.slice();
  one.store.full = true;
  const { status, json } = await one.ask('POST', '/api/shelf', { material: 'al38', length: '800 mm' });
  equal([status, json.error.code], [507, 'full'], 'a full disk is told');
  equal((await one.ask('GET', '/api/shelf')).json.n, 1, 'and nothing was added');
  equal(Buffer.compare(Buffer.from(kept), Buffer.from(one.store.bytes)), 0, 'what was kept is as it was');
  one.store.full = false;
  equal((await one.ask('POST', '/api/shelf', { material: 'al38', length: '700 mm' })).status, 200, 'with room again it goes on');
  equal((await one.ask('GET', '/api/shelf')).json.n, 2, 'from there');
}

// While a task runs, what may write waits; what only looks does not.
async function inOrder() {
  const one = await begin();
  const text = 'dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nmaterials: [{id: t}]\nbars: [{id: b, length: 6000, price: 9}]\nparts: [{label: a, length: 700, count: 8}]\n';
  const order = [];
  await one.ask('POST', '/api/materials', { id: 'al38' });
  const { json } = await one.ask('POST', '/api/plans', { text, time_ms: 1000 });
  const planned = async () => (await one.ask('GET', `/api/tasks/${json.task}`)).json.state;
  const added = one.ask('POST', '/api/shelf', { material: 'al38', length: '900 mm' }).then(async () => order.push('added', await planned()));
  await one.ask('GET', '/api/shelf').then(async () => order.push('seen', await planned()));
  await added;
  equal(order, ['seen', 'runs', 'added', 'done'], 'in which order');
  equal((await one.ask('GET', '/api/plans')).json.plans.length, 1, 'the plan is there');
  equal((await one.ask('GET', '/api/shelf')).json.n, 1, 'and the piece');
}

// The same where it is asked before the plan was begun: nothing that was confirmed is lost when the plan comes.
async function askedAtOnce() {
  const one = await begin();
  await one.ask('POST', '/api/materials', { id: 'al38' });
  const text = 'dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nmaterials: [{id: t}]\nbars: [{id: b, length: 6000, price: 9}]\nparts: [{label: a, length: 700, count: 8}]\n';
  const [begun, added] = await Promise.all([one.ask('POST', '/api/plans', { text, time_ms: 1000 }), one.ask('POST', '/api/shelf', { material: 'al38', length: '900 mm' })]);
  await one.follow(begun.json.task);
  equal([added.status, (await one.ask('GET', '/api/shelf')).json.n], [200, 1], 'a piece that was confirmed is there');
  equal((await one.ask('GET', '/api/plans')).json.plans.length, 1, 'and the plan');
}

// Memory of the application after many plans is what it was after some.
async function flat() {
  const one = await begin();
  const text = readFileSync(join(jobs, `${first}.yaml`), 'utf8');
  const sizes = [];
  for (let k = 0; k < 40; k += 1) {
    const { json } = await one.ask('POST', '/api/plans', { text, quick: true });
    await one.follow(json.task);
    if (k === 19 || k === 39) sizes.push(one.keeper.app.wasm.HEAPU8.length);
  }
  equal(sizes[1], sizes[0], 'bytes of memory after 40 plans, and after 20');
}

try {
  await full();
  await inOrder();
  await askedAtOnce();
  await flat();
  for (let seed = first; seed <= last; seed += 1) await sameJob(seed);
  for (let seed = first; seed <= Math.min(last, first + 29); seed += 1) await toAndFro(seed);
} catch (error) {
  failed += 1;
  console.log(`FAILED ${error.stack}`);
} finally { rmSync(folder, { recursive: true, force: true }); }
console.log(failed ? `${failed} failed` : `${last - first + 1} jobs: the same here and there`);
process.exit(failed ? 1 : 0);
