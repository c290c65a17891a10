// SPDX-License-Identifier: GPL-3.0-or-later
// The two pages on which a job is written: its parts, and the tube they are cut from.

import { get, post, Refused } from './api.js';
import { h, show, say, button, choice, field, later, plural } from './dom.js';
import { Fields } from './fields.js';
import { Grid, Reader, shown } from './grid.js';
import { columns, loadMembers } from './members.js';
import { check } from './check.js';
import { download, jobFile, whereIn } from './files.js';
import { jobOf, differences, rebase, changeUnit, isBlank, prune } from './job.js';
import { takeList } from './paste.js';
import { place } from './app.js';
import { fittingTables, isDrawn, partFields, sectionTable, shapeOf, shapeText, showCuts, withJob } from './drawn.js';
import { quoteFields, supplierTable } from './terms.js';

const CURRENCIES = ['EUR', 'USD', 'GBP', 'CHF', 'CAD', 'AUD', 'SEK', 'NOK', 'DKK', 'PLN', 'CZK', 'JPY'];

// --- saving, and when another one was first -------------------------------------------------------

function text_(value) {
  return value === undefined ? 'nothing' : typeof value === 'string' ? value : JSON.stringify(value).slice(0, 60);
}

// What was changed while an earlier change was on its way is not saved yet.
function markSaved(job) {
  if (!job.changed) document.getElementById('saved')?.replaceChildren('Saved');
}

async function settle(job, redraw) {
  const theirs = await get(`/api/documents/job/${job.key}`);
  const tree = prune(JSON.parse(theirs.body));
  const own = prune(job.tree);
  if (!differences(tree, own).length) { // saved, but the answer was lost on its way
    job.take(theirs);
    markSaved(job);
    return;
  }
  const changed = differences(job.base, tree);
  const take = (mine) => {
    const merged = mine ? rebase(job.base, own, tree) : tree;
    job.take(theirs);
    job.tree = merged;
    dialog.close();
    dialog.remove();
    redraw();
    if (mine) job.save().then(() => markSaved(job), (error) => say(`Not saved: ${error.message}`, 'wrong'));
  };
  const dialog = h('dialog', { 'aria-labelledby': 'settle-title' },
    h('h2', { id: 'settle-title' }, `${theirs.who || 'Somebody else'} changed this job`),
    h('p', {}, 'Your change was not saved over it. What changed there:'),
    h('ul', { class: 'changes' }, changed.slice(0, 20).map((change) =>
      h('li', {}, h('b', {}, change.where), `: ${text_(change.from)} \u2192 ${text_(change.to)}`))),
    changed.length > 20 ? h('p', {}, `and ${changed.length - 20} more`) : null,
    h('div', { class: 'row' },
      button('Keep both: put mine on top', () => take(true), 'main'),
      button('Take theirs, drop mine', () => take(false))));
  document.body.append(dialog);
  dialog.showModal();
}

function saver(job, box, redraw) {
  const recheck = later(250, () => check(job, box).catch((error) => say(error.message, 'wrong')));
  const save = later(600, async () => {
    try {
      await job.save();
      markSaved(job);
    } catch (error) {
      if (error instanceof Refused && error.code === 'state') settle(job, redraw);
      else say(`Not saved: ${error.message}`, 'wrong');
    }
  });
  recheck();
  return () => {
    document.getElementById('saved')?.replaceChildren('\u2026');
    recheck();
    save();
  };
}

export function steps(key, here) {
  const list = [['parts', '1 Parts'], ['tube', '2 Tube'], ['plan', '3 Plan']];
  return h('nav', { class: 'steps', 'aria-label': 'Steps of the job' }, h('ol', {}, list.map(([name, text]) =>
    h('li', {}, h('a', { href: `#/job/${key}/${name}`, 'aria-current': name === here ? 'step' : null }, text)))));
}

function style(job) {
  return () => ({ unit: job.tree.unit || 'mm', fractions: job.tree.fractions || '0', currency: job.tree.currency || 'XXX' });
}

// --- parts --------------------------------------------------------------------------------------

// The lists of parts: the job's own, and those of the clients' jobs of a batch.
function lists(job) {
  const { tree } = job;
  const batch = Array.isArray(tree.jobs);
  const own = { title: batch ? 'Parts that name their client\'s job' : null, map: tree, place: '' };
  if (!batch) return [own];
  const orders = tree.jobs.map((order, i) => ({ title: order.name || `Client's job ${i + 1}`, map: order, place: `jobs.${i}.`, order, i }));
  const loose = [...(tree.parts || []), ...(tree.posts || [])].some((row) => !isBlank(row));
  return loose ? [...orders, own] : orders;
}

const blankRow = (row) => Object.values(row).every((value) => isBlank(value));

// What was pasted is looked at first; the rows that are accepted stand in place of a blank row, or below the last.
function takeTable(job, list, source, at, redraw, change) {
  const put = (rows) => {
    if (at < list.length) list.splice(at, blankRow(list[at]) ? 1 : 0, ...rows);
    else {
      while (list.length && blankRow(list[list.length - 1])) list.pop();
      list.push(...rows);
    }
    change();
    redraw();
    say(`${plural(rows.length, 'row', 'rows')} taken.`);
  };
  takeList(source, style(job)().unit, put).catch((error) => say(error.message, 'wrong'));
}

const names = (tree) => (tree.materials || []).map((material) => material.id).filter(Boolean);

// A column to choose the tube by; none where there is but one.
function tubeColumn(tree, rows) {
  const known = names(tree);
  if (known.length < 2 && !rows.some((row) => row.material)) return [];
  return [{
    key: 'material', title: 'Tube', kind: 'text', between: ' or ',
    options: (now) => [['', 'choose'], ...[...new Set([...known, ...(now ? [now] : [])])].map((name) => [name, name])],
  }];
}

function partColumns(tree, rows) {
  const [label, length, count, section] = columns('part', ['label', 'length', 'count', 'section']);
  const shape = { hint: tree.unit === 'in' ? '24 3/8' : '619.5', keyOf: shapeOf, said: shapeText, inside: (row) => shapeText(shapeOf(row)) };
  return [label, { ...length, ...shape }, count, ...tubeColumn(tree, rows), section];
}

const POST = ['label', 'length', 'at most', 'worth'];

function postColumns(tree, rows) {
  return [...columns('post', POST), ...tubeColumn(tree, rows)];
}

function partGrid(view, list) {
  const { job, fields, redraw } = view;
  const rows = list.map.parts ||= [];
  const at = `${list.place}parts`;
  const take = (text, i) => takeTable(job, rows, { text }, i, redraw, fields.change);
  const big = h('textarea', {
    rows: 4, id: `paste-${at}`, placeholder: 'Part\tLength (mm)\tQty', spellcheck: 'false',
    onpaste: (event) => {
      const text = event.clipboardData.getData('text/plain');
      if (!text.trim()) return;
      event.preventDefault();
      take(text, rows.length);
    },
  });
  return [
    h('details', { class: 'paste', open: rows.length < 2 },
      h('summary', {}, 'Paste from a spreadsheet'),
      h('label', { for: big.id }, 'Copy the rows there, with their heading if they have one, and paste them here'),
      big, button('Look at it', () => take(big.value, rows.length))),
    new Grid({
      name: list.title ? `Parts of ${list.title}` : 'Parts', one: 'a part', columns: partColumns(job.tree, rows), rows, reader: fields.reader,
      change: fields.change, place: at, paste: take, more: partFields(job.tree, fields),
    }).element];
}

function postGrid({ job, fields }, list) {
  const rows = list.map.posts ||= [];
  return h('details', { class: 'more', open: rows.some((row) => !isBlank(row)) },
    h('summary', {}, 'Posts: pieces that would be useful if an offcut can give them'),
    new Grid({
      name: list.title ? `Posts of ${list.title}` : 'Posts', one: 'a post', columns: postColumns(job.tree, rows), rows, reader: fields.reader,
      change: fields.change, place: `${list.place}posts`,
      more: (row, place_) => h('div', { class: 'fields' },
        fields.rest('post', row, place_, { but: POST, own: withJob('post', job.tree, fields, row, place_) })),
    }).element);
}

function orderFields({ job, fields, redraw }, { order, i }) {
  const at = `jobs.${i}`;
  return h('div', { class: 'fields' },
    fields.rest('job', order, at, { but: ['parts', 'posts'] }),
    job.tree.jobs.length > 1 ? h('p', {}, button('Remove this client\'s job', () => {
      // eslint-disable-next-line no-alert
      if (!window.confirm(`Remove ${order.name || 'this client\'s job'} with its parts?`)) return;
      job.tree.jobs.splice(i, 1);
      fields.change();
      redraw();
    }, 'plain')) : null);
}

// A job of one client becomes the first of a batch.
function addOrder({ job, fields, redraw }) {
  const { tree } = job;
  if (!Array.isArray(tree.jobs)) {
    tree.jobs = [{ name: tree.name || 'first', ...(tree.client ? { client: tree.client } : {}), ...(tree.due ? { due: tree.due } : {}), parts: tree.parts || [], posts: tree.posts || [] }];
    for (const key of ['client', 'due', 'parts', 'posts']) delete tree[key];
  }
  tree.jobs.push({ name: `job ${tree.jobs.length + 1}`, parts: [] });
  fields.change();
  redraw();
}

function headFields({ job, fields, redraw }) {
  const { tree } = job;
  const batch = Array.isArray(tree.jobs);
  return h('div', { class: 'fields' },
    (batch ? ['name', 'date'] : ['name', 'client', 'due', 'date']).map((key) => fields.member('', tree, '', key)),
    field('Bare numbers are in', choice([['mm', 'mm'], ['cm', 'cm'], ['m', 'm'], ['in', 'inches'], ['ft', 'feet']], tree.unit || 'mm', {
      'data-place': 'unit',
      onchange: (event) => {
        changeUnit(tree, event.target.value);
        fields.change();
        redraw();
      },
    })),
    ['in', 'ft'].includes(tree.unit) ? fields.pick(tree, '', 'fractions', 'Fractions down to', [['', '1/64'], ['64', '1/64, said so'], ['32', '1/32'], ['16', '1/16'], ['8', '1/8'], ['none', 'none: decimals']]) : null);
}

const any = (list) => (Array.isArray(list) ? list.some((row) => !isBlank(row)) : false);

function drawnParts({ job, fields }) {
  const { tree } = job;
  const drawn = lists(job).some((list) => (list.map.parts || []).some(isDrawn));
  const cuts = h('div', { 'aria-live': 'polite' });
  return [
    h('details', { class: 'more', id: 'fittings', open: any(tree.fittings) || drawn },
      h('summary', {}, 'Fittings, for parts that are drawn centre to centre'),
      fittingTables(tree, fields)),
    h('details', { class: 'more', id: 'sections', open: any(tree.sections) }, h('summary', {}, 'Sections: how long and heavy they may be'), sectionTable(tree, fields)),
    h('p', { class: 'row' }, button('Show cut lengths and sections', async () => {
      try { await showCuts(job, cuts); } catch (error) { say(whereIn(error), 'wrong'); }
    }, '', { id: 'show-cuts' })), cuts];
}

// What a page of the job works with.
async function viewOf(key, again) {
  const [job] = await Promise.all([jobOf(key), loadMembers()]);
  const box = h('div', { class: 'check', 'aria-live': 'polite' });
  const redraw = () => again(key);
  const change = saver(job, box, redraw);
  return { job, box, redraw, fields: new Fields(new Reader(style(job)), change) };
}

const savedMark = (job) => h('span', { id: 'saved', class: 'quiet' }, job.changed ? '\u2026' : 'Saved');

export async function parts(key) {
  const view = await viewOf(key, parts);
  const { job } = view;
  place(`Parts: ${job.tree.name || 'job'}`);
  show(steps(key, 'parts'),
    h('h1', {}, 'What is needed'),
    headFields(view),
    lists(job).map((list) => [
      list.title ? h('h2', {}, list.title) : null, list.order ? orderFields(view, list) : null,
      partGrid(view, list), postGrid(view, list)]),
    h('p', {}, button('Add another client\'s job', () => addOrder(view), 'plain')),
    drawnParts(view),
    view.box,
    h('p', { class: 'row' }, h('a', { class: 'button main', href: `#/job/${key}/tube` }, 'Tube'), savedMark(job),
      button('Save as a file', () => download(`${job.tree.name || 'job'}.yaml`, jobFile(job.tree), 'application/yaml'), 'plain', { id: 'save-file' })));
}

// --- tube -----------------------------------------------------------------------------------------

const MATERIAL = ['id', 'name', 'outside', 'wall', 'keep'];

function materialGrid({ job, fields }) {
  return new Grid({
    name: 'Tube', one: 'a tube', rows: job.tree.materials ||= [], reader: fields.reader, place: 'materials', change: fields.change,
    columns: columns('material', MATERIAL),
    more: (row, at, again) => h('div', { class: 'fields' }, fields.rest('material', row, at, { but: MATERIAL, again })),
  }).element;
}

const BAR = ['length', 'price', 'pack', 'count', 'supplier'];
const OFFCUT = ['length', 'book value', 'count'];

function barGrid({ job, fields }) {
  const { tree } = job;
  const rows = tree.bars ||= [];
  return new Grid({
    name: 'Bars', one: 'a bar', rows, reader: fields.reader, change: fields.change, place: 'bars',
    columns: [...columns('bar', ['id']), ...tubeColumn(tree, rows), ...columns('bar', BAR)],
    more: (row, at) => h('div', {},
      h('div', { class: 'fields' }, fields.rest('bar', row, at, { but: ['id', 'material', 'price breaks', ...BAR] })),
      fields.rows(row, at, 'price breaks', 'Price breaks', 'a price break', columns('bar.price breaks'))),
  }).element;
}

function offcutGrid({ job, fields }) {
  const rows = job.tree.offcuts ||= [];
  return h('details', { class: 'more', open: any(rows) },
    h('summary', {}, 'Offcuts of this job alone, beside those on the shelf'),
    new Grid({
      name: 'Offcuts', one: 'an offcut', rows, reader: fields.reader, change: fields.change, place: 'offcuts',
      columns: [...columns('offcut', ['id']), ...tubeColumn(job.tree, rows), ...columns('offcut', OFFCUT)],
      more: (row, at) => h('div', { class: 'fields' }, fields.rest('offcut', row, at, { but: ['id', 'material', ...OFFCUT] })),
    }).element);
}

function sawFields({ job, fields, redraw }) {
  const { tree } = job;
  const saw = tree.saw ||= {};
  const rules = tree.rules ||= {};
  const currencies = [...new Set([tree.currency || 'EUR', ...CURRENCIES])];
  return h('div', { class: 'fields' },
    fields.rest('saw', saw, 'saw'), fields.rest('rules', rules, 'rules', { again: redraw }),
    field('Money in', choice(currencies.map((code) => [code, code]), shown(tree.currency) || 'EUR', {
      'data-place': 'currency', onchange: (event) => { tree.currency = event.target.value; fields.change(); redraw(); },
    })));
}

export async function tube(key) {
  const view = await viewOf(key, tube);
  const { job, fields, redraw } = view;
  place(`Tube: ${job.tree.name || 'job'}`);
  show(steps(key, 'tube'),
    h('h1', {}, 'What it is cut from'),
    h('h2', {}, 'Tube'), materialGrid(view),
    h('h2', {}, 'Bars that can be bought'), barGrid(view),
    h('p', {}, h('a', { href: `#/job/${key}/lengths` }, 'Which lengths are worth carrying?')),
    offcutGrid(view),
    h('h2', {}, 'Saw and rules'), sawFields(view),
    h('details', { class: 'more', id: 'suppliers', open: any(job.tree.suppliers) }, h('summary', {}, 'Suppliers and what they charge'), supplierTable(job.tree, fields)),
    h('h2', {}, 'Quote'), quoteFields(job.tree, fields, redraw),
    view.box,
    h('p', { class: 'row' }, h('a', { class: 'button main', href: `#/job/${key}/plan` }, 'Plan'), savedMark(job)));
}
