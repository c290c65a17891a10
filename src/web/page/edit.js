// SPDX-License-Identifier: GPL-3.0-or-later
// The two pages on which a job is written: its parts, and the tube they are cut from.

import { h, show, say, button, choice, field, later, plural } from './dom.js';
import { Fields } from './fields.js';
import { Grid, Reader, shown } from './grid.js';
import { columns, loadMembers } from './members.js';
import { check } from './check.js';
import { download, jobFile, listSource, whereIn } from './files.js';
import { jobOf } from './job.js';
import { changeUnit, isBlank, usualOf } from './tree.js';
import { redrawn } from './spot.js';
import { takeList } from './paste.js';
import { offerTubes } from './offer.js';
import { place, setShop, shop } from './app.js';
import { fittingTables, isDrawn, partFields, sectionTable, shapeOf, shapeText, showCuts, withJob } from './drawn.js';
import { quoteFields, supplierTable } from './terms.js';

const CURRENCIES = ['EUR', 'USD', 'GBP', 'CHF', 'CAD', 'AUD', 'SEK', 'NOK', 'DKK', 'PLN', 'CZK', 'JPY'];

// --- changes ------------------------------------------------------------------------------------------

// The view that is shown, drawn anew when its job became another one.
let stop = () => {};

function attend(job, redraw, recheck) {
  const here = location.hash;
  stop();
  stop = job.listen((what) => {
    if (location.hash !== here) stop();
    else if (what === 'replaced') redrawn(job.before, () => job.tree, redraw).catch((error) => say(error.message, 'wrong'));
    else if (what === 'changed') marks(job);
  });
  recheck();
}

function changer(job, box, redraw) {
  const recheck = later(250, () => check(job, box).catch((error) => error.status && say(error.message, 'wrong')));
  attend(job, redraw, recheck);
  return () => {
    job.touch();
    recheck();
  };
}

const step = (job, what) => {
  job[what]();
  marks(job);
};

function marks(job) {
  for (const [what, can] of [['undo', job.past.canUndo], ['redo', job.past.canRedo]]) {
    const mark = document.getElementById(what);
    if (mark) mark.disabled = !can;
  }
}

// Undo and redo, by button and by the usual keys; in a box of text the keys are the browser's.
function backAndForth(job) {
  const one = (what, text, sign) => button(sign, () => step(job, what), 'small', { id: what, 'aria-label': text, title: text, disabled: what === 'undo' ? !job.past.canUndo : !job.past.canRedo });
  return h('div', { class: 'back' }, one('undo', 'Undo', '\u21b6'), one('redo', 'Redo', '\u21b7'));
}

document.addEventListener('keydown', (event) => {
  const mark = (event.ctrlKey || event.metaKey) && !event.altKey && !event.target.matches('textarea') && !document.querySelector('dialog[open]')
    ? { z: event.shiftKey ? 'redo' : 'undo', y: 'redo' }[event.key.toLowerCase()] : null;
  const key = mark && document.getElementById(mark);
  if (!key) return;
  event.preventDefault();
  key.click();
});

export function steps(key, here, job) {
  const list = [['parts', '1 Parts'], ['tube', '2 Tube'], ['plan', '3 Plan']];
  return h('nav', { class: 'steps', 'aria-label': 'Steps of the job' }, h('ol', {}, list.map(([name, text]) =>
    h('li', {}, h('a', { href: `#/job/${key}/${name}`, 'aria-current': name === here ? 'step' : null }, text)))), job ? backAndForth(job) : null);
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


// What was pasted is looked at first; the rows that are accepted stand in place of a blank row, or below the last.
function takeTable(job, list, source, at, redraw, change) {
  const put = (rows) => {
    if (at < list.length) list.splice(at, isBlank(list[at]) ? 1 : 0, ...rows);
    else {
      while (list.length && isBlank(list[list.length - 1])) list.pop();
      list.push(...rows);
    }
    change();
    redraw();
    say(`${plural(rows.length, 'row', 'rows')} taken.`);
  };
  takeList(source, style(job)().unit, put).catch((error) => say(error.message, 'wrong'));
}

// A list as a file: chosen, or dropped on the box.
function fileBox(box, name, take) {
  const bring = (file) => file && listSource(file).then(take).catch((error) => say(error.message, 'wrong'));
  const input = h('input', {
    type: 'file', id: name, class: 'hidden', accept: '.xlsx,.ods,.csv,.tsv,.txt',
    onchange: () => { bring(input.files[0]); input.value = ''; },
  });
  box.addEventListener('dragover', (event) => event.preventDefault());
  box.addEventListener('drop', (event) => {
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    bring(event.dataTransfer.files[0]);
  });
  box.append(h('div', { class: 'row' }, h('label', { class: 'button', for: name }, 'Choose a workbook or CSV file'), input,
    h('span', { class: 'quiet' }, 'or drop it here')));
  return box;
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
    fileBox(h('details', { class: 'paste', open: rows.length < 2 },
      h('summary', {}, 'Paste from a spreadsheet, or choose its file'),
      h('label', { for: big.id }, 'Copy the rows there, with their heading if they have one, and paste them here'),
      big, button('Look at it', () => take(big.value, rows.length))),
    `file-${at}`, (source) => takeTable(job, rows, source, rows.length, redraw, fields.change)),
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
    const own = ['client', 'due', ...LETTER];
    tree.jobs = [{ name: tree.name || 'first', ...Object.fromEntries(own.filter((key) => tree[key]).map((key) => [key, tree[key]])), parts: tree.parts || [], posts: tree.posts || [] }];
    for (const key of [...own, 'parts', 'posts']) delete tree[key];
  }
  tree.jobs.push({ name: `job ${tree.jobs.length + 1}`, parts: [] });
  fields.change();
  redraw();
}

// What quotes and orders say to a client besides the name.
const LETTER = ['address', 'reference', 'scope', 'language'];

function headFields({ job, fields, redraw }) {
  const { tree } = job;
  const batch = Array.isArray(tree.jobs);
  return [h('div', { class: 'fields' },
    (batch ? ['name', 'date'] : ['name', 'client', 'due', 'date']).map((key) => fields.member('', tree, '', key)),
    field('Bare numbers are in', choice([['mm', 'mm'], ['cm', 'cm'], ['m', 'm'], ['in', 'inches'], ['ft', 'feet']], tree.unit || 'mm', {
      'data-place': 'unit',
      onchange: (event) => {
        changeUnit(tree, event.target.value);
        fields.change();
        redraw();
      },
    })),
    ['in', 'ft'].includes(tree.unit) ? fields.pick(tree, '', 'fractions', 'Fractions down to', [['', '1/64'], ['64', '1/64, said so'], ['32', '1/32'], ['16', '1/16'], ['8', '1/8'], ['none', 'none: decimals']]) : null),
  batch ? null : h('details', { class: 'more', id: 'letter', open: LETTER.some((key) => tree[key]) }, h('summary', {}, 'For the letter to the client'),
    h('div', { class: 'fields' }, LETTER.map((key) => fields.member('', tree, '', key))))];
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
  const change = changer(job, box, redraw);
  const view = { job, box, redraw, also: () => {} }; // also: what a page does besides at each change
  view.fields = new Fields(new Reader(style(job)), () => {
    change();
    view.also();
  });
  return view;
}

const hasBars = (job) => (job.tree.bars || []).some((row) => row.length?.trim());

export async function parts(key) {
  const view = await viewOf(key, parts);
  const { job } = view;
  place(`Parts: ${job.tree.name || 'job'}`);
  show(steps(key, 'parts', job),
    h('h1', {}, 'What is needed'),
    headFields(view),
    lists(job).map((list) => [
      list.title ? h('h2', {}, list.title) : null, list.order ? orderFields(view, list) : null,
      partGrid(view, list), postGrid(view, list)]),
    h('p', {}, button('Add another client\'s job', () => addOrder(view), 'plain')),
    drawnParts(view),
    view.box,
    h('p', { class: 'row' }, h('a', { class: `button ${hasBars(job) ? '' : 'main'}`, href: `#/job/${key}/tube` }, 'Tube'),
      hasBars(job) ? h('a', { class: 'button main', href: `#/job/${key}/plan/now`, id: 'plan-now' }, 'Plan it') : null,
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

// Tube, bars, saw and rules of this job are what new jobs begin with.
async function keepUsual(job) {
  try {
    await setShop({ ...shop(), usual: usualOf(job.tree) });
    say('New jobs begin with this tube, these bars, this saw and these rules.');
  } catch (error) { say(error.message, 'wrong'); }
}

export async function tube(key) {
  const view = await viewOf(key, tube);
  const { job, fields, redraw } = view;
  place(`Tube: ${job.tree.name || 'job'}`);
  const offers = h('div', { 'aria-live': 'polite' });
  const changed = () => {
    fields.change();
    redraw();
  };
  view.also = later(500, () => offerTubes(job, offers, changed).catch(() => {}));
  view.also();
  show(steps(key, 'tube', job),
    h('h1', {}, 'What it is cut from'),
    h('h2', {}, 'Tube'), materialGrid(view), offers,
    h('h2', {}, 'Bars that can be bought'), barGrid(view),
    h('p', {}, h('a', { href: `#/job/${key}/lengths` }, 'Which lengths are worth carrying?')),
    offcutGrid(view),
    h('h2', {}, 'Saw and rules'), sawFields(view),
    h('details', { class: 'more', id: 'suppliers', open: any(job.tree.suppliers) }, h('summary', {}, 'Suppliers and what they charge'), supplierTable(job.tree, fields)),
    h('h2', {}, 'Quote'), quoteFields(job.tree, fields, redraw),
    view.box,
    h('p', { class: 'row' }, h('a', { class: 'button main', href: `#/job/${key}/plan` }, 'Plan'), button('Begin new jobs with all this', () => keepUsual(job), 'plain', { id: 'keep-usual' })));
}
