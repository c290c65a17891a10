// SPDX-License-Identifier: GPL-3.0-or-later
// The two pages on which a job is written: its parts, and the tube they are cut from.

import { get, post, Refused } from './api.js';
import { h, show, say, button, choice, field, later, plural } from './dom.js';
import { Grid, Reader, cell } from './grid.js';
import { check } from './check.js';
import { open, differences, rebase, changeUnit, isBlank } from './job.js';
import { place } from './app.js';

let current = null;

export async function jobOf(key) {
  if (!current || current.key !== key) current = await open(key);
  return current;
}
export const forget = () => { current = null; };

const CURRENCIES = ['EUR', 'USD', 'GBP', 'CHF', 'CAD', 'AUD', 'SEK', 'NOK', 'DKK', 'PLN', 'CZK', 'JPY'];

// --- saving, and when another one was first -------------------------------------------------------

function text_(value) {
  return value === undefined ? 'nothing' : typeof value === 'string' ? value : JSON.stringify(value).slice(0, 60);
}

const markSaved = () => document.getElementById('saved')?.replaceChildren('Saved');

async function settle(job, redraw) {
  const theirs = await get(`/api/documents/job/${job.key}`);
  const tree = JSON.parse(theirs.body);
  if (!differences(tree, job.tree).length) { // saved, but the answer was lost on its way
    job.take(theirs);
    markSaved();
    return;
  }
  const changed = differences(job.base, tree);
  const take = (mine) => {
    const merged = mine ? rebase(job.base, job.tree, tree) : tree;
    job.take(theirs);
    job.tree = merged;
    dialog.close();
    dialog.remove();
    redraw();
    if (mine) job.save().then(markSaved, (error) => say(`Not saved: ${error.message}`, 'wrong'));
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
      markSaved();
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

function download(name, text) {
  const link = h('a', { href: URL.createObjectURL(new Blob([text], { type: 'application/yaml' })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

// --- parts --------------------------------------------------------------------------------------

// The client's jobs of a batch, or the job itself.
function lists(job) {
  if (!Array.isArray(job.tree.jobs)) return [{ title: null, rows: job.tree.parts ||= [], place: 'parts' }];
  return job.tree.jobs.map((order, i) => ({
    title: [order.name, order.client].filter(Boolean).join(', '), rows: order.parts ||= [], place: `jobs.${i}.parts`,
  }));
}

const asText = (value) => (typeof value === 'string' ? value : value === undefined ? '' : JSON.stringify(value));

async function takeTable(job, list, text, at, redraw, change) {
  const { unit } = style(job)();
  try {
    const { table } = await post('/api/table', { unit, text });
    const rows = table.rows.map((values) => Object.fromEntries(
      table.columns.map((column, i) => [column, values[i]]).filter(([, value]) => value !== '')));
    const blank = (row) => Object.values(row).every((value) => asText(value).trim() === '');
    if (at < list.rows.length) list.rows.splice(at, blank(list.rows[at]) ? 1 : 0, ...rows);
    else {
      while (list.rows.length && blank(list.rows[list.rows.length - 1])) list.rows.pop();
      list.rows.push(...rows);
    }
    change();
    redraw();
    say(`${plural(rows.length, 'row', 'rows')} taken over.`);
  } catch (error) {
    say(error.line ? `Line ${error.line}: ${error.message}` : error.message, 'wrong');
  }
}

function partColumns(job, list) {
  const materials = (job.tree.materials || []).map((material) => material.id).filter(Boolean);
  const columns = [
    { key: 'label', title: 'Part', kind: 'text', hint: 'upright' },
    { key: 'length', title: 'Length', kind: 'range', hint: job.tree.unit === 'in' ? '24 3/8' : '619.5' },
    { key: 'count', title: 'Count', kind: 'count', hint: '1' },
  ];
  if (materials.length > 1 || list.rows.some((row) => row.material)) {
    columns.push({
      key: 'material', title: 'Tube', kind: 'text', options: (now) =>
        [['', 'choose'], ...[...new Set([...materials, ...(now ? [asText(now)] : [])])].map((name) => [name, name])],
    });
  }
  columns.push({ key: 'section', title: 'Section', kind: 'text', hint: 'left' });
  if (list.rows.some((row) => row.remark)) columns.push({ key: 'remark', title: 'Remark', kind: 'text' });
  return columns;
}

// Parts that are drawn with fittings or bends are shown, not edited.
const isDrawn = (row) => ['centres', 'outside', 'clear', 'offset', 'bent'].some((key) => row[key] !== undefined);

function drawPartList(job, list, reader, change, redraw) {
  const drawn = list.rows.filter(isDrawn);
  if (drawn.length) {
    return [list.title ? h('h2', {}, list.title) : null,
      h('p', { class: 'quiet' }, `${plural(drawn.length, 'part is', 'parts are')} drawn with fittings or bends: change them in the job file.`),
      h('ul', {}, list.rows.map((row) => h('li', {}, `${asText(row.count) || 1} \u00d7 ${asText(row.label)} ${asText(row.length)}`)))];
  }
  const grid = new Grid({
    name: 'Parts', one: 'a part', columns: partColumns(job, list), rows: list.rows, reader, change, place: list.place,
    paste: (text, at) => takeTable(job, list, text, at, redraw, change),
  });
  const big = h('textarea', {
    rows: 4, id: `paste-${list.place}`, placeholder: 'Part\tLength (mm)\tQty', spellcheck: 'false',
    onpaste: (event) => {
      const text = event.clipboardData.getData('text/plain');
      if (!text.trim()) return;
      event.preventDefault();
      takeTable(job, list, text, list.rows.length, redraw, change);
    },
  });
  return [
    list.title ? h('h2', {}, list.title) : null,
    h('details', { class: 'paste', open: list.rows.length < 2 },
      h('summary', {}, 'Paste from a spreadsheet'),
      h('label', { for: big.id }, 'Copy the rows there, with their heading if they have one, and paste them here'),
      big,
      button('Take over', () => takeTable(job, list, big.value, list.rows.length, redraw, change))),
    grid.element,
  ];
}

function postColumns() {
  return [
    { key: 'label', title: 'Post', kind: 'text', hint: 'microphone arm' },
    { key: 'length', title: 'Length, from \u2026 to', kind: 'range', hint: '350 to 500' },
    { key: 'at most', title: 'At most', kind: 'count', hint: '2' },
    { key: 'worth', title: 'Worth each', kind: 'money', hint: '4.00' },
  ];
}

function headFields(job, reader, change, redraw) {
  const tree = job.tree;
  const text = (key, label) => field(label, h('input', {
    type: 'text', value: tree[key] || '', 'data-place': key, autocomplete: 'off',
    oninput: (event) => { if (event.target.value.trim()) tree[key] = event.target.value; else delete tree[key]; change(); },
  }));
  return h('div', { class: 'fields' },
    text('name', 'Job'),
    Array.isArray(tree.jobs) ? null : text('client', 'Client'),
    field('Bare numbers are in', choice([['mm', 'mm'], ['cm', 'cm'], ['m', 'm'], ['in', 'inches'], ['ft', 'feet']], tree.unit || 'mm', {
      'data-place': 'unit',
      onchange: (event) => {
        changeUnit(tree, event.target.value);
        change();
        redraw();
      },
    })));
}

export async function parts(key) {
  const job = await jobOf(key);
  const box = h('div', { class: 'check', 'aria-live': 'polite' });
  const redraw = () => parts(key);
  const change = saver(job, box, redraw);
  const reader = new Reader(style(job));
  place(`Parts: ${job.tree.name || 'job'}`);
  show(steps(key, 'parts'),
    h('h1', {}, 'What is needed'),
    headFields(job, reader, change, redraw),
    lists(job).map((list) => drawPartList(job, list, reader, change, redraw)),
    h('details', { class: 'more', open: !isBlank(job.tree.posts || []) && !(job.tree.posts || []).every(isBlank) },
      h('summary', {}, 'Posts: pieces that would be useful if an offcut can give them'),
      new Grid({ name: 'Posts', one: 'a post', columns: postColumns(), rows: job.tree.posts ||= [], reader, change, place: 'posts' }).element),
    box,
    h('p', { class: 'row' }, h('a', { class: 'button main', href: `#/job/${key}/tube` }, 'Tube'),
      h('span', { id: 'saved', class: 'quiet' }, job.changed ? '\u2026' : 'Saved'),
      button('Save as a file', () => download(`${job.tree.name || 'job'}.yaml`, job.text().text), 'plain')));
}

// --- tube -----------------------------------------------------------------------------------------

function valueField(map, key, placeOf_, label, kind, hint, reader, change) {
  const made = cell(reader, kind, asText(map[key]), (value) => {
    if (value.trim()) map[key] = value;
    else delete map[key];
    change();
  }, { 'data-place': `${placeOf_}.${key}`, placeholder: hint || null });
  const box = field(label, made.input);
  box.replaceChild(made.says, box.lastChild);
  made.input.setAttribute('aria-describedby', made.says.id);
  return box;
}

function quoteFields(job, reader, change) {
  const quote = job.tree.quote;
  if (quote && (quote.labour || (quote.tax && typeof quote.tax !== 'string')))
    return h('p', { class: 'quiet' }, 'How the clients are charged stands in the job file.');
  const now = quote || {};
  const set = () => {
    if (now.charge) job.tree.quote = now;
    else delete job.tree.quote;
    change();
  };
  const put = (key, label, kind, hint) => valueField(now, key, 'quote', label, kind, hint, reader, set);
  return h('div', { class: 'fields' },
    field('Clients pay', choice([['', 'no quote'], ['whole bars', 'whole bars'], ['length used', 'the length used'],
      ['length plus percentage', 'the length plus a percentage']], now.charge || '', {
      'data-place': 'quote.charge', onchange: (event) => { now.charge = event.target.value; if (!now.charge) delete now.charge; set(); },
    })),
    put('percentage', 'Percentage', 'text', '15 %'),
    field('Offcuts belong to', choice([['client', 'the client'], ['shop', 'the shop']], now.offcuts || 'client', {
      'data-place': 'quote.offcuts', onchange: (event) => { now.offcuts = event.target.value; set(); },
    })),
    put('markup', 'Markup on cost', 'text', '35 %'),
    put('valid days', 'Valid for days', 'count', '30'));
}

export async function tube(key) {
  const job = await jobOf(key);
  const tree = job.tree;
  const box = h('div', { class: 'check', 'aria-live': 'polite' });
  const redraw = () => tube(key);
  const change = saver(job, box, redraw);
  const reader = new Reader(style(job));
  const saw = tree.saw ||= {};
  const rules = tree.rules ||= {};
  const materials = () => (tree.materials || []).map((material) => material.id).filter(Boolean);
  const barColumns = [
    { key: 'id', title: 'Bar', kind: 'text', hint: 'its name' },
    ...(materials().length > 1 ? [{ key: 'material', title: 'Tube', options: (now) =>
      [['', 'choose'], ...[...new Set([...materials(), ...(now ? [asText(now)] : [])])].map((name) => [name, name])] }] : []),
    { key: 'length', title: 'Length', kind: 'length', hint: '6 m' },
    { key: 'price', title: 'Price each', kind: 'money', hint: '36.90' },
    { key: 'pack', title: 'Pack of', kind: 'count', hint: '1' },
    { key: 'count', title: 'At most', kind: 'count', hint: 'any' },
    { key: 'supplier', title: 'Supplier', kind: 'text' },
  ];
  const offcuts = Array.isArray(tree.offcuts) ? tree.offcuts : [];
  place(`Tube: ${tree.name || 'job'}`);
  const currencies = [...new Set([tree.currency || 'EUR', ...CURRENCIES])];
  show(steps(key, 'tube'),
    h('h1', {}, 'What it is cut from'),
    h('h2', {}, 'Tube'),
    new Grid({
      name: 'Tube', one: 'a tube', rows: tree.materials ||= [], reader, place: 'materials',
      change: () => change(), columns: [
        { key: 'id', title: 'Short name', kind: 'text', hint: 'tube' },
        { key: 'name', title: 'In full', kind: 'text', hint: 'aluminium 38 x 2.5' },
        { key: 'outside', title: 'Outside', kind: 'length', hint: '38 mm' },
        { key: 'wall', title: 'Wall', kind: 'length', hint: '2.5 mm' },
        { key: 'keep', title: 'Keep from', kind: 'length', hint: 'as below' },
      ],
    }).element,
    h('h2', {}, 'Bars that can be bought'),
    new Grid({ name: 'Bars', one: 'a bar', columns: barColumns, rows: tree.bars ||= [], reader, change, place: 'bars' }).element,
    offcuts.length ? h('p', { class: 'quiet' }, `The job file lists ${plural(offcuts.length, 'offcut', 'offcuts')} of its own; they are used too.`) : null,
    h('h2', {}, 'Saw and rules'),
    h('div', { class: 'fields' },
      valueField(saw, 'kerf', 'saw', 'Kerf, the width of a cut', 'length', '2.5', reader, change),
      valueField(saw, 'squaring', 'saw', 'Squared off each mill end', 'length', '4', reader, change),
      valueField(saw, 'grip', 'saw', 'Tail that the vise must hold', 'length', 'none', reader, change),
      valueField(saw, 'cost per cut', 'saw', 'Cost of a cut', 'money', '0.30', reader, change),
      valueField(rules, 'keep', 'rules', 'Keep offcuts from', 'length', '350', reader, change),
      valueField(rules, 'leftover worth', 'rules', 'Worth of a kept offcut', 'text', '50 %', reader, change),
      valueField(rules, 'most new offcuts', 'rules', 'New offcuts at most', 'text', 'unlimited', reader, change),
      field('Money in', choice(currencies.map((code) => [code, code]), tree.currency || 'EUR', {
        'data-place': 'currency', onchange: (event) => { tree.currency = event.target.value; change(); redraw(); },
      }))),
    h('h2', {}, 'Quote'),
    quoteFields(job, reader, change),
    box,
    h('p', { class: 'row' }, h('a', { class: 'button main', href: `#/job/${key}/plan` }, 'Plan'),
      h('span', { id: 'saved', class: 'quiet' }, job.changed ? '\u2026' : 'Saved')));
}
