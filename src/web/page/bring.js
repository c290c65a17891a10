// SPDX-License-Identifier: GPL-3.0-or-later
// A table of pieces taken in: pasted or from a file, looked at, then added, all or none.

import { post } from './api.js';
import { h, id, show, button, plural } from './dom.js';
import { place } from './app.js';
import { Form } from './form.js';
import { around, table, told } from './pieces.js';

// A field for a table, and a file to fill it from.
export function tableBox(form, hint) {
  const area = h('textarea', { rows: 8, spellcheck: 'false', placeholder: hint });
  const key = id('table-file');
  const file = h('input', {
    type: 'file', id: key, accept: '.csv,.tsv,.txt,text/csv', class: 'hidden',
    onchange: async () => {
      if (file.files[0]) area.value = await file.files[0].text();
      file.value = '';
      area.focus();
    },
  });
  const element = h('div', { class: 'paste' }, form.add('text', 'The table: paste it here, with its heading', area),
    h('div', { class: 'row' }, h('label', { class: 'button', for: key }, 'Choose a file'), file));
  return { area, element };
}

// Where the cell around a line and a column (characters, from 1) stands in a field: {start, end},
// the whole line without a column.
function cellAt(area, row, column) {
  const lines = area.value.split('\n');
  const start = lines.slice(0, row - 1).reduce((sum, text) => sum + text.length + 1, 0);
  const text = lines[row - 1] || '';
  if (!column) return { start, end: start + text.length };
  const before = text.slice(0, column - 1).search(/[^,;\t]*$/);
  const after = text.slice(column - 1).search(/[,;\t]/);
  return { start: start + before, end: start + (after < 0 ? text.length : column - 1 + after) };
}

function select(area, row, column) {
  const { start, end } = cellAt(area, row, column);
  area.focus();
  area.setSelectionRange(start, end);
}

function nameOf(area, row, column) {
  const { start, end } = cellAt(area, row, column);
  return column && end > start ? `Line ${row}, \u201c${area.value.slice(start, end).slice(0, 30)}\u201d` : `Line ${row}`;
}

// What is wrong with a table, each at its cell.
export function mistakes(error, area) {
  const rows = error.remarks.filter((remark) => remark.severity === 'wrong');
  const title = h('h2', { tabindex: '-1' }, `${plural(rows.length, 'mistake', 'mistakes')} in the table: nothing was added`);
  setTimeout(() => title.focus());
  return h('section', {}, title, h('ul', { class: 'remarks' }, rows.slice(0, 50).map((remark) => h('li', { class: 'wrong' },
    h('span', {}, remark.line ? h('b', {}, `${nameOf(area, remark.line, remark.column)}: `) : null, remark.text),
    remark.line ? button('show', () => select(area, remark.line, remark.column), 'plain goto', { 'aria-label': `Show line ${remark.line}` }) : null))),
  rows.length > 50 ? h('p', {}, `and ${rows.length - 50} more`) : null);
}

export async function bring() {
  place('Table in');
  const form = new Form();
  const box = h('div', { 'aria-live': 'polite' });
  const { area, element } = tableBox(form, 'number,material,length (mm),place,value');
  const add = async (text) => {
    const done = await post('/api/import', { text });
    area.value = '';
    told(box, `${plural(done.shelf.length, 'piece is', 'pieces are')} on the shelf.`, done.step, async () => {});
  };
  const look = () => form.send(async ({ text }) => {
    let found;
    box.replaceChildren();
    try {
      found = await post('/api/import', { text, dry: true });
    } catch (error) {
      if (!error.remarks.length) throw error;
      box.replaceChildren(mistakes(error, area));
      return;
    }
    const title = h('h2', { tabindex: '-1' }, `${plural(found.n, 'piece', 'pieces')} would be added, ${found.sum.text} in all`);
    box.replaceChildren(h('section', { class: 'preview' }, title,
      found.remarks.map((remark) => h('p', { class: 'quiet' }, `${remark.line ? `Line ${remark.line}: ` : ''}${remark.text}`)),
      table(found.pieces, { caption: 'Pieces of the table', more: ['Value', (piece) => piece.value] }),
      found.n > found.pieces.length ? h('p', { class: 'quiet' }, `The first ${found.pieces.length} are shown.`) : null,
      h('div', { class: 'row' }, button(`Add ${plural(found.n, 'piece', 'pieces')}`, () => form.send(() => add(text)), 'main', { disabled: found.n === 0 }),
        button('Not yet', () => { box.replaceChildren(); area.focus(); }))));
    title.focus();
  });
  show(around('shelf-table'), h('h1', {}, 'Take in a table'),
    h('p', {}, 'Offcuts and bars from a spreadsheet, in any order of columns: number, material, kind (bar or offcut), length, measured, ends, value, count, place, owner, mark, date, job, remark. All are added, or none.'),
    h('p', { class: 'quiet' }, 'The tubes must be known: ', h('a', { href: '#/shelf-keep' }, 'enter them first'), '. Bare lengths are in the unit that the heading names, or in the shop\u2019s.'),
    element, form.alert, button('Look at it', look, 'main'), box);
}
