// SPDX-License-Identifier: GPL-3.0-or-later
// Which stock lengths are worth carrying, judged by jobs of the shop.

import { get, post } from './api.js';
import { h, show, button, choice, field, plural, when, money } from './dom.js';
import { steps } from './edit.js';
import { entryOf, jobOf } from './job.js';
import { isBlank, write } from './tree.js';
import { watch } from './progress.js';
import { place } from './app.js';

const partsOf = (tree) => [
  ...(tree.parts || []).filter((row) => !isBlank(row)).map((row) => ({ row, order: row.job })),
  ...(Array.isArray(tree.jobs) ? tree.jobs : []).flatMap((order) => (order.parts || []).filter((row) => !isBlank(row)).map((row) => ({ row, order: order.name })))];

const LENGTHS = ['length', 'centres', 'outside', 'clear', 'allowance', 'wall', 'keep', 'rolled radius', 'take out', 'insert', 'overhang'];

// A row of a job in another unit, its bare lengths with their unit.
function inUnit(row, from, unit) {
  const result = { ...row };
  for (const key of LENGTHS)
    if (from !== unit && typeof result[key] === 'string' && /[\d.,]\s*$/.test(result[key])) result[key] = `${result[key].trim()} ${from}`;
  return result;
}

function carried(tree, row, unit) {
  const { job, ...result } = inUnit(row, tree.unit || 'mm', unit);
  if (!result.material && (tree.materials || []).length === 1) result.material = tree.materials[0].id;
  return result;
}

// One job whose clients' jobs are those of all the trees; bars, saw and rules are the first one's.
function together(trees) {
  const [own] = trees;
  const unit = own.unit || 'mm';
  // Of what two jobs call the same, this job's is taken.
  const byId = (key) => Object.values(Object.fromEntries(trees.flatMap((tree) => (tree[key] || []).filter((row) => !isBlank(row)).map((row) => inUnit(row, tree.unit || 'mm', unit))).reverse().map((one) => [one.id, one])));
  const jobs = trees.flatMap((tree, i) => {
    const lists = new Map();
    for (const { row, order } of partsOf(tree)) {
      const name = `${i + 1}. ${[tree.name, order].filter(Boolean).join(', ')}`;
      if (!lists.has(name)) lists.set(name, []);
      lists.get(name).push(carried(tree, row, unit));
    }
    return [...lists].map(([name, parts]) => ({ name, parts }));
  });
  const { dropwise, name, fractions, currency, saw, rules, bars } = own;
  return { dropwise, name, unit, ...(fractions ? { fractions } : {}), ...(currency ? { currency } : {}), saw, rules: rules || {},
    materials: byId('materials'), bars, fittings: byId('fittings').map(({ supplier, ...fitting }) => fitting), jobs };
}

function answer(result, one) {
  const head = h('h3', {}, one.name || one.material, h('small', {}, `${plural(one.carry.length, 'length', 'lengths')} of ${one.catalogue} in the catalogue`));
  if (one.status === 'infeasible') return h('section', {}, head, h('p', { class: 'wrong' }, 'No set of lengths serves all jobs.'));
  const gap = (Number(one.value) - Number(one.bound)).toFixed(2);
  return h('section', {}, head,
    h('table', { class: 'figures' }, h('caption', {}, 'Carry'),
      h('thead', {}, h('tr', {}, ['bar', 'length', 'bars', 'jobs', 'bars cost'].map((text) => h('th', { scope: 'col' }, text)))),
      h('tbody', {}, one.carry.map((use) => h('tr', {}, h('th', { scope: 'row' }, use.supply.id), h('td', {}, use.length.text), h('td', {}, use.bars), h('td', {}, use.jobs), h('td', {}, use.money))))),
    h('p', {}, `${money(result, one.value)} for ${plural(one.jobs, 'job', 'jobs')}, cuts included; ${((100 * one.needed.nm) / (one.bought.nm || 1)).toFixed(1)} % of what is bought is in parts.`),
    h('ul', { class: 'proof' }, h('li', { class: one.status }, one.status === 'optimal'
      ? `Cheapest: no other set of at most ${result.most} costs less.`
      : `At most ${money(result, gap)} above the cheapest there can be${one.status === 'stopped' ? '; the time was up' : ''}.`)));
}

export async function lengths(key) {
  const job = await jobOf(key);
  const { documents } = await get('/api/documents/job');
  place(`Lengths to carry: ${job.tree.name || 'job'}`);
  const others = documents.filter((one) => one.key !== key);
  const picked = new Set();
  const most = choice(Array.from({ length: 8 }, (_, i) => [String(i + 1), String(i + 1)]), '2');
  const tubes = choice([['', 'all'], ...(job.tree.materials || []).filter((one) => one.id).map((one) => [one.id, one.name || one.id])], '');
  const time = choice([['10', 'at most 10 seconds a tube'], ['60', 'at most a minute a tube'], ['600', 'at most ten minutes a tube']], '10');
  const box = h('div', { 'aria-live': 'polite' });
  const go = button('Choose the lengths', async () => {
    go.disabled = true;
    try {
      const more = await Promise.all([...picked].map((one) => get(`/api/documents/job/${one}`)));
      const { text } = write(together([job.tree, ...more.map((one) => JSON.parse(one.body))]));
      const { task } = await post('/api/lengths', { text, most: Number(most.value), material: tubes.value || null, time_ms: Number(time.value) * 1000 });
      const result = await watch(task, box, 'Stop: take the best so far');
      box.replaceChildren(...result.materials.map((one) => answer(result, one)),
        h('p', { class: 'quiet' }, 'Each job is cut by itself, bars at their lowest price, leftovers as waste.'));
    } catch (error) {
      const wrong = (error.remarks || []).filter((remark) => remark.severity === 'wrong');
      box.replaceChildren(h('ul', { class: 'remarks' }, (wrong.length ? wrong : [{ text: error.message }]).slice(0, 20).map((remark) => h('li', { class: 'wrong' }, remark.text))));
    }
    go.disabled = false;
  }, 'main', { id: 'choose-lengths' });
  show(steps(key, ''), h('h1', {}, 'Which lengths to carry'),
    h('p', {}, 'Out of the bars that this job lists as can be bought: those few from which the jobs below, each cut by itself, would have cost least.'),
    h('div', { class: 'fields' }, field('How many lengths at most', most), field('Tube', tubes), field('Search for', time)),
    others.length ? [h('h2', {}, 'Judged by this job and'), h('ul', { class: 'plain' }, others.map((one) => h('li', {},
      h('label', {}, h('input', { type: 'checkbox', onchange: (event) => (event.target.checked ? picked.add(one.key) : picked.delete(one.key)) }), ` ${entryOf(one).name}`,
        h('span', { class: 'quiet' }, ` ${when(one.when)}`)))))] : h('p', { class: 'quiet' }, 'There is no other job yet: it is judged by this one alone.'),
    h('p', {}, go), box);
}
