// SPDX-License-Identifier: GPL-3.0-or-later
// Tables that are typed into: each cell is read by the server as it is typed, and what it was
// understood as stands below it.

import { post } from './api.js';
import { h, id, later, button, choice } from './dom.js';
import { ROW, newId } from './tree.js';

const known = new Map();

// Rows of which all is shown, by their identity: they stay so when a view is drawn anew.
const unfolded = new Set();

// Reads cells in one request; remembers what it has read.
export class Reader {
  constructor(style) {
    this.style = style; // () => ({unit, fractions, currency})
    this.waiting = [];
    this.flush = later(90, () => this.send());
  }

  key(kind, text) {
    const { unit, fractions, currency } = this.style();
    return [unit, fractions, currency, kind, text].join('\u0001');
  }

  ask(kind, text, tell) {
    const found = known.get(this.key(kind, text));
    if (found) {
      tell(found);
      return;
    }
    this.waiting.push({ kind, text, tell, key: this.key(kind, text) });
    this.flush();
  }

  async send() {
    const cells = this.waiting.splice(0, 2000);
    if (!cells.length) return;
    const { unit, fractions, currency } = this.style();
    try {
      const answer = await post('/api/read', {
        unit, fractions: Number(fractions) || 0, currency, cells: cells.map((c) => [c.kind, c.text]),
      });
      answer.cells.forEach((result, i) => {
        known.set(cells[i].key, result);
        cells[i].tell(result);
      });
      if (known.size > 20000) known.clear();
    } catch {
      // the next key stroke asks again; the job's own check tells what is wrong
    }
    if (this.waiting.length) this.flush();
  }
}

// An input whose meaning is shown below it. `says` is the element for it.
export function cell(reader, kind, text, change, attributes) {
  const says = h('span', { class: 'says', id: id('says') });
  const input = h('input', {
    type: 'text', value: text || '', autocomplete: 'off', spellcheck: 'false',
    inputmode: kind === 'count' ? 'numeric' : null, 'aria-describedby': says.id, ...attributes,
  });
  let wanted = '';
  const tell = (asked, result) => {
    if (asked !== wanted) return;
    says.textContent = result.good ? `= ${result.says}` : result.says;
    says.classList.toggle('wrong', !result.good);
    input.setAttribute('aria-invalid', String(!result.good));
  };
  const look = () => {
    const now = input.value.trim();
    wanted = now;
    says.textContent = '';
    says.classList.remove('wrong');
    input.removeAttribute('aria-invalid');
    if (!now || !['length', 'range', 'money'].includes(kind)) return;
    reader.ask(kind, now, (result) => tell(now, result));
  };
  input.addEventListener('input', () => {
    change(input.value);
    look();
  });
  look();
  return { input, says, look };
}

// What stands in a cell for a value of the job: a text, several texts, or something with parts of
// its own, which is edited elsewhere.
export function shown(value, between = ', ') {
  if (value === undefined || value === null) return '';
  if (typeof value === 'string') return value;
  if (Array.isArray(value) && value.every((item) => typeof item === 'string')) return value.join(between);
  return null;
}

// columns: [{key, title, kind, options, hint, keyOf, between}], rows: the array that is edited in
// place. keyOf(row): the key where it is another one in this row. more(row, place, again): fields of a row that
// have no column, behind a button.
export class Grid {
  constructor({ name, columns, rows, reader, change, place, one, paste, preset, more }) {
    Object.assign(this, { name, columns, rows, reader, change, place, one, paste, preset, more });
    this.body = h('tbody');
    this.element = h('div', { class: 'grid-frame' },
      h('table', { class: `grid ${place}` },
        h('caption', { class: 'hidden' }, name),
        h('thead', {}, h('tr', {},
          columns.map((column) => h('th', { scope: 'col', class: column.key.replace(/ /g, '-') }, column.title)),
          h('th', { scope: 'col', class: 'tools' }, h('span', { class: 'hidden' }, 'Remove')))),
        this.body),
      button(`Add ${one}`, () => this.add(true), 'plain'));
    this.draw();
  }

  draw() {
    if (!this.rows.length) this.rows.push(this.preset ? this.preset() : {});
    this.body.replaceChildren(...this.rows.flatMap((row, i) => this.lines(row, i)));
  }

  cell(row, i, column) {
    const key = column.keyOf ? column.keyOf(row) : column.key;
    const value = shown(row[key], column.between);
    const attributes = {
      'aria-label': `${column.title}, row ${i + 1}`,
      'data-place': `${this.place}.${i}.${key}`,
      'data-column': column.key,
      placeholder: column.hint || null,
    };
    const td = h('td', { class: column.key.replace(/ /g, '-'), 'data-title': column.title });
    if (value === null) {
      td.append(h('span', { class: 'inside', 'data-place': `${this.place}.${i}.${key}` }, column.inside ? column.inside(row) : 'see below'));
    } else if (column.options) {
      td.append(choice(column.options(value), value, {
        ...attributes, onchange: (event) => this.set(row, key, event.target.value),
      }));
    } else {
      const made = cell(this.reader, column.kind, value, (text) => this.set(row, key, text), attributes);
      made.input.addEventListener('keydown', (event) => this.key(event, i, column));
      if (this.paste) made.input.addEventListener('paste', (event) => this.pasted(event, i));
      td.append(made.input, made.says);
      if (key !== column.key) td.append(h('span', { class: 'says' }, column.said ? column.said(key) : ''));
    }
    return td;
  }

  // The row, and below it what it has besides its columns, where that is open.
  lines(row, i) {
    const cells = this.columns.map((column) => this.cell(row, i, column));
    const tools = h('td', { class: 'tools' });
    const line = h('tr', { 'data-place': `${this.place}.${i}` }, cells, tools);
    const result = [line];
    if (this.more) {
      row[ROW] ||= newId();
      const open = unfolded.has(row[ROW]);
      tools.append(button('\u22ef', () => {
        unfolded[open ? 'delete' : 'add'](row[ROW]);
        this.redraw(i);
        this.body.querySelector(`tr[data-place="${this.place}.${i}"] .unfold`)?.focus();
      }, 'plain small unfold', { 'aria-label': `More of row ${i + 1}`, 'aria-expanded': String(open), title: 'More' }));
      if (open) {
        result.push(h('tr', { class: 'more-of' }, h('td', { colspan: this.columns.length + 1 },
          this.more(row, `${this.place}.${i}`, () => this.redraw(i)))));
      }
    }
    tools.append(button('\u00d7', () => this.remove(i), 'plain small',
      { 'aria-label': `Remove row ${i + 1}`, title: 'Remove this row' }));
    return result;
  }

  redraw(i) {
    const line = this.body.querySelector(`tr[data-place="${CSS.escape(`${this.place}.${i}`)}"]`);
    const below = line.nextElementSibling;
    if (below && below.matches('.more-of')) below.remove();
    line.replaceWith(...this.lines(this.rows[i], i));
  }

  set(row, key, value) {
    if (value.trim() === '') delete row[key];
    else row[key] = value;
    this.change();
  }

  focus(i, column) {
    const row = this.rows[i];
    const key = row && column.keyOf ? column.keyOf(row) : column.key;
    const input = this.body.querySelector(`[data-place="${CSS.escape(`${this.place}.${i}.${key}`)}"]`);
    if (input) input.focus();
  }

  // Enter goes down a column and, below the last row, adds one.
  key(event, i, column) {
    if (event.key === 'Enter' || (event.key === 'ArrowDown' && !event.altKey)) {
      event.preventDefault();
      if (i === this.rows.length - 1 && event.key === 'Enter') {
        this.add(false);
        this.focus(i + 1, this.columns[0]);
      } else {
        this.focus(i + 1, column);
      }
    } else if (event.key === 'ArrowUp' && i > 0) {
      event.preventDefault();
      this.focus(i - 1, column);
    }
  }

  add(focus) {
    this.rows.push(this.preset ? this.preset() : {});
    this.body.append(...this.lines(this.rows[this.rows.length - 1], this.rows.length - 1));
    if (focus) this.focus(this.rows.length - 1, this.columns[0]);
  }

  remove(i) {
    this.rows.splice(i, 1);
    this.draw();
    this.change();
    this.focus(Math.min(i, this.rows.length - 1), this.columns[0]);
  }

  pasted(event, i) {
    const text = event.clipboardData.getData('text/plain');
    if (!/[\t\n]/.test(text.trim())) return;
    event.preventDefault();
    this.paste(text, i);
  }
}
