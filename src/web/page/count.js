// SPDX-License-Identifier: GPL-3.0-or-later
// Stock-taking: what is really there against the book; the differences are seen before they are
// booked.

import { get, post } from './api.js';
import { h, id, show, button, field, plural } from './dom.js';
import { place } from './app.js';
import { Form } from './form.js';
import { Reader, cell } from './grid.js';
import { tableBox, mistakes } from './bring.js';
import { around, query, tubes, tubeChoices, told, stateOf, linkTo } from './pieces.js';

// A cell of a CSV table (RFC 4180).
const csv = (text) => (/[",;\n\t']/.test(text) || /^[=+\-@]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);

// The table that the server takes, of what was ticked and measured.
function tableOf(rows, where) {
  const lines = rows.filter((row) => row.there).map((row) => [row.number, row.length || '', where].map(csv).join(','));
  return `number,length${where ? ',place' : ''}\n${lines.map((line) => (where ? line : line.replace(/,$/, ''))).join('\n')}\n`;
}

// --- what was found to differ ---------------------------------------------------------------------------

function said({ booked, counted }) {
  const parts = [];
  if (booked.state !== counted.state) parts.push([stateOf({ ...booked, kind: '' }) || 'on the shelf', counted.state === 'lost' ? 'gone' : 'on the shelf']);
  if (booked.length.nm !== counted.length.nm) parts.push([booked.length.text, counted.length.text]);
  if ((booked.place || '') !== (counted.place || '')) parts.push([booked.place || 'no place', counted.place || 'no place']);
  return parts;
}

// Looks first; what is shown is what is booked, or it is refused with what changed in between.
async function compare(body, form, box, after) {
  const found = await post('/api/count', { ...body, dry: true });
  const title = h('h2', { tabindex: '-1' }, found.n ? `${plural(found.n, 'piece is', 'pieces are')} not as booked` : 'All as booked');
  const alert = h('p', { class: 'wrong', role: 'alert' });
  const book = async () => {
    try {
      const done = await post('/api/count', { ...body, seen: found.seen });
      await after();
      told(box, `Booked: ${plural(done.n, 'difference', 'differences')}.`, done.step, after);
    } catch (error) {
      alert.textContent = error.code === 'state' ? `${error.message}. Nothing was booked: compare once more.` : error.message;
    }
  };
  const rows = found.differences.flatMap((one) => said(one).map(([was, is], i) => h('tr', {},
    i === 0 ? h('th', { scope: 'row' }, linkTo(one.counted.number)) : h('td', {}), h('td', {}, was), h('td', {}, is))));
  const doubtful = found.remarks.filter((one) => one.severity === 'doubt');
  const doubts = doubtful.length ? h('ul', { class: 'remarks' }, doubtful.map((one) => h('li', { class: 'doubt' }, one.text))) : null;
  box.replaceChildren(h('section', { class: 'preview' }, title, doubts, found.n ? [h('table', { class: 'stock' }, h('caption', { class: 'hidden' }, 'Differences'),
    h('thead', {}, h('tr', {}, ['Number', 'In the book', 'Seen'].map((text) => h('th', { scope: 'col' }, text)))), h('tbody', {}, rows)),
  alert, h('div', { class: 'row' }, button('Book the differences', book, 'main'), button('Not yet', () => box.replaceChildren()))]
    : h('p', {}, doubts ? 'Nothing is booked. A piece that lies there is brought back in its own view.' : 'Nothing has to be booked.')));
  form.clear();
  title.focus();
}

// --- the list to walk along the shelf with --------------------------------------------------------------

let unit = 'mm';
const reader = new Reader(() => ({ unit, fractions: '64', currency: 'XXX' }));

function line(row, index) {
  const tick = h('input', { type: 'checkbox', id: id('there'), checked: row.there, onchange: (event) => { row.there = event.target.checked; } });
  const made = cell(reader, 'length', row.length, (value) => {
    row.length = value.trim();
    if (row.length) row.there = tick.checked = true;
  }, { 'aria-label': `${row.number} measures`, placeholder: row.booked || 'length', id: `measures-${index}` });
  return h('tr', {}, h('td', { class: 'mark' }, tick, h('label', { class: 'hidden', for: tick.id }, `${row.number} is there`)),
    h('th', { scope: 'row' }, row.number), h('td', { class: 'number' }, row.booked || '', h('small', {}, row.note)), h('td', { class: 'measures' }, made.input, made.says));
}

async function walk(where, material, box, result) {
  const answer = await get(`/api/shelf${query({ place: where, material })}`);
  unit = answer.unit;
  const rows = answer.pieces.map((piece) => ({ number: piece.number, booked: piece.length.text,
    note: [where ? '' : piece.place, stateOf(piece)].filter(Boolean).join(', '), there: false, length: '' }));
  const form = new Form();
  const body = h('tbody', {}, rows.map(line));
  const other = h('input', { type: 'text', autocomplete: 'off', placeholder: 'K-07' });
  const again = () => walk(where, material, box, result);
  const add = () => {
    const number = other.value.trim();
    if (!number) return;
    if (!rows.some((row) => row.number === number)) rows.push({ number, booked: '', note: 'not in the book here', there: true, length: '' });
    body.replaceChildren(...rows.map(line));
    other.value = '';
    other.focus();
  };
  box.replaceChildren(
    answer.n > rows.length ? h('p', { class: 'wrong' }, `The book has ${answer.n} pieces here; the first ${rows.length} are shown. Count by place, or with a table.`) : '',
    h('p', { class: 'sum' }, rows.length ? `The book has ${plural(answer.n, 'piece', 'pieces')} here. Tick what you see; write its length where it differs.` : 'The book has nothing here.'),
    h('table', { class: 'stock count' }, h('caption', { class: 'hidden' }, 'Pieces to be counted'),
      h('thead', {}, h('tr', {}, ['There', 'Number', 'In the book', 'It measures'].map((text) => h('th', { scope: 'col' }, text)))), body),
    h('form', { class: 'row find', onsubmit: (event) => { event.preventDefault(); add(); } },
      field('Another piece lies here: its number', other), h('button', { type: 'submit' }, 'Add to the count')),
    form.tick('complete', 'I have seen everything here: what is not ticked is gone'),
    h('div', { class: 'row' },
      button('All of them are there', () => { rows.forEach((row) => { row.there = true; }); body.replaceChildren(...rows.map(line)); }, 'plain'),
      button('Compare with the book', () => form.send((values) => compare({ text: tableOf(rows, where), complete: Boolean(values.complete) && answer.n <= rows.length, place: where, material }, form, result, again)), 'main')),
    form.alert);
}

// --- the view ---------------------------------------------------------------------------------------------

export async function count() {
  place('Stock-taking');
  const materials = await tubes();
  const form = new Form();
  const box = h('div', {});
  const found = h('div', { 'aria-live': 'polite' });
  const result = h('div', { 'aria-live': 'polite' });
  const walkAgain = async (where, material) => {
    found.replaceChildren();
    await walk(where, material, box, found);
  };
  const table = tableBox(form, 'number,length,place');
  show(around('shelf-count'), h('h1', {}, 'Stock-taking'),
    h('p', {}, 'What is really there, against what the book says. Nothing is booked before you have seen the differences.'),
    h('form', { class: 'row find', onsubmit: (event) => { event.preventDefault(); form.send(({ place: where, material }) => walkAgain(where, material)); } },
      form.text('place', 'Which place', 'all'), form.pick('material', 'Tube', tubeChoices(materials, 'any')), h('button', { type: 'submit', class: 'main' }, 'List what should be there')),
    form.alert, box, found,
    h('details', { class: 'more', id: 'count-table' }, h('summary', {}, 'Count with a table'),
      h('p', { class: 'quiet' }, 'Columns number, length, place, in any order. ', h('a', { href: '/api/shelf-table', download: '' }, 'Start from the table of what is booked.')),
      table.element, form.tick('complete', 'The table has everything: what it leaves out is gone'),
      button('Compare with the book', () => form.send(async ({ text, complete, place: where, material }) => {
        try {
          await compare({ text, complete, place: where, material }, form, result, async () => {});
        } catch (error) {
          if (!error.remarks.length) throw error;
          result.replaceChildren(mistakes(error, table.area));
        }
      }), 'main'), result));
}
