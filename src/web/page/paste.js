// SPDX-License-Identifier: GPL-3.0-or-later
// A list before it is taken: how each row was understood, which column is which, what is left out.

import { post } from './api.js';
import { h, button, choice, plural } from './dom.js';
import { memberOf, members } from './members.js';

const SHOWN = 60; // rows that are taken as they stand; all others are shown
const KEYS = ['label', 'length', 'count', 'section', 'material', 'remark', 'job', 'both ends', 'end 1', 'end 2', 'centres', 'outside', 'clear'];
const NEEDS = ['label', 'length'];

const letterOf = (column) => String.fromCharCode(64 + column);
const keysOf = () => members('part').map(({ key }) => key).filter((key) => KEYS.includes(key)).sort((a, b) => KEYS.indexOf(a) - KEYS.indexOf(b));
const titleOf = (key) => memberOf('part', key).title;

// Rows of a text that the reader could not find a list in, so that its columns can still be named.
function bare(text) {
  const lines = text.split(/\r?\n/).map((line, i) => [line, i + 1]).filter(([line]) => line.trim());
  const mark = ['\t', ';', ','].find((one) => lines.some(([line]) => line.includes(one))) || '\t';
  return lines.map(([line, number]) => ({ line: number, role: 'refused', cells: line.split(mark) }));
}

const rowOf = (columns, values) => Object.fromEntries(columns.map((column, i) => [column, (values[i] || '').trim()]).filter(([, value]) => value));

class Taking {
  constructor({ source, unit, take }) {
    Object.assign(this, { source, unit, take });
    this.also = new Set(); // lines that can't be read and are taken all the same
    this.title = h('h2', { id: 'taking-title', tabindex: '-1' });
    this.box = h('div', {});
    this.dialog = h('dialog', { class: 'taking', 'aria-labelledby': 'taking-title', onclose: () => this.dialog.remove() }, this.title, this.box);
    document.body.append(this.dialog);
  }

  async open() {
    await this.read();
    this.dialog.showModal();
    this.title.focus();
  }

  // The reader's answer, with the columns as the person named them.
  async read(columns) {
    this.also.clear();
    if (this.go) this.go.disabled = true; // what stands there is not what was asked for any more
    try {
      const answer = await post('/api/table', { unit: this.unit, ...this.source, ...(columns ? { columns } : {}) });
      this.table = answer.table;
      this.remarks = answer.remarks;
      this.refused = '';
    } catch (error) {
      if (error.status !== 422 && error.status !== 400) throw error;
      this.table = { columns: [], at: [], rows: [], lines: this.table?.lines || bare(this.source.text || '') };
      this.remarks = error.remarks;
      this.refused = error.message;
    }
    this.draw();
  }

  // The person says that a column is something else, or nothing.
  name(column, key) {
    const named = new Map(this.table.columns.map((one, i) => [one, this.table.at[i]]));
    for (const [one, at] of named) if (at === column) named.delete(one);
    if (this.wanted) for (const [one, at] of this.wanted) if (at !== column) named.set(one, at);
    if (key) named.set(key, column);
    this.wanted = named;
    if (!NEEDS.every((one) => named.has(one))) {
      this.refused = `Say which column is the ${NEEDS.filter((one) => !named.has(one)).map(titleOf).join(' and the ').toLowerCase()}.`;
      this.draw();
      return;
    }
    this.read([...named].map(([one, at]) => `${one}=${letterOf(at)}`).join(','));
  }

  // What the column of the file is taken for, as the person named it last or as it was read.
  keyAt(column) {
    if (this.wanted && this.refused) return [...this.wanted].find(([, at]) => at === column)?.[0] || '';
    const i = this.table.at.indexOf(column);
    return i < 0 ? '' : this.table.columns[i];
  }

  heading(columns) {
    return h('tr', {}, h('th', { scope: 'col' }, 'Row'), columns.map((column) => h('th', { scope: 'col' },
      choice([['', 'not taken'], ...keysOf().map((key) => [key, titleOf(key)])], this.keyAt(column), {
        'aria-label': `Column ${letterOf(column)} is`, onchange: (event) => this.name(column, event.target.value),
      }))));
  }

  why(line) {
    return this.remarks.filter((remark) => remark.line === line.line && remark.severity !== 'note').map((remark) => remark.text).join('; ');
  }

  // The row as it was written and, below it, what becomes of it where that is not plain.
  line(line, columns) {
    const taken = line.role === 'taken';
    const wrong = line.role === 'refused';
    const kind = taken ? this.why(line) ? 'doubt' : 'taken' : wrong ? 'wrong' : line.role === 'heading' ? 'head' : 'left-out';
    const why = (this.why(line) || line.role).replace(/^left out: /, '');
    const said = { wrong: ['Can\u2019t be read: ', why], doubt: ['', why], 'left-out': ['Left out: ', why] }[kind];
    const also = wrong && this.table.at.length ? h('label', { class: 'also' }, h('input', {
      type: 'checkbox', checked: this.also.has(line.line), onchange: (event) => {
        this.also[event.target.checked ? 'add' : 'delete'](line.line);
        this.count();
      },
    }), ' take it, to be mended') : null;
    return [h('tr', { class: kind, 'data-row': line.line }, h('th', { scope: 'row' }, String(line.line)), columns.map((column) => h('td', {}, line.cells[column - 1] || ''))),
      said ? h('tr', { class: `${kind} told`, 'data-row': line.line }, h('td', {}), h('td', { colspan: columns.length }, h('span', {}, h('b', {}, said[0]), said[1]), also)) : null].filter(Boolean);
  }

  count() {
    const n = this.table.rows.length + this.also.size;
    this.go.textContent = `Take ${plural(n, 'row', 'rows')}`;
    this.go.disabled = !n;
  }

  // A workbook may have several lists: which sheet is meant.
  sheet() {
    if (!this.source.bytes || !/\.(xlsx|xlsm|ods)$/i.test(this.source.name)) return '';
    const name = h('input', { type: 'text', id: 'taking-sheet', value: this.source.sheet || this.table.sheet || '', autocomplete: 'off' });
    return h('p', { class: 'row' }, h('label', { for: 'taking-sheet' }, 'Sheet'), name, button('Read this sheet', () => {
      this.source = { ...this.source, sheet: name.value.trim() };
      this.wanted = undefined;
      this.read();
    }));
  }

  draw() {
    const { lines, rows } = this.table;
    const wrong = lines.filter((line) => line.role === 'refused').length;
    const out = lines.filter((line) => !['taken', 'refused', 'heading'].includes(line.role)).length;
    const wide = Math.max(1, ...lines.map((line) => line.cells.length));
    const columns = Array.from({ length: Math.min(wide, 26) }, (_, i) => i + 1);
    let n = 0;
    const shown = lines.filter((line) => line.role !== 'taken' || this.why(line) || (n += 1) <= SHOWN);
    const focus = this.dialog.contains(document.activeElement) ? document.activeElement.getAttribute('aria-label') : null;
    this.go = button('', () => this.done(), 'main', { id: 'take-rows' });
    this.count();
    this.title.textContent = [plural(rows.length, 'row is understood', 'rows are understood'), wrong ? `${wrong} can\u2019t be read` : '', out ? `${out} left out` : ''].filter(Boolean).join(', ');
    this.box.replaceChildren(
      this.sheet(),
      this.refused ? h('p', { class: 'wrong', role: 'alert' }, this.refused) : '',
      ...this.remarks.filter((remark) => remark.severity === 'note').slice(0, 4).map((remark) => h('p', { class: 'quiet' }, remark.text)),
      h('div', { class: 'scroll', tabindex: '0', role: 'region', 'aria-label': 'The rows' }, h('table', { class: 'rows' }, h('thead', {}, this.heading(columns)), h('tbody', {}, shown.flatMap((line) => this.line(line, columns))))),
      shown.length < lines.length ? h('p', { class: 'quiet' }, `${lines.length - shown.length} more rows are taken as they stand.`) : '',
      h('div', { class: 'row' }, this.go, button('Leave it', () => this.dialog.close())));
    if (focus) this.dialog.querySelector(`[aria-label="${CSS.escape(focus)}"]`)?.focus();
  }

  // The rows in the order of the list, those to be mended among them.
  done() {
    const { columns, at, rows, lines } = this.table;
    let next = 0;
    const made = lines.flatMap((line) => {
      if (line.role === 'taken') return [rowOf(columns, rows[next++])];
      return this.also.has(line.line) ? [rowOf(columns, at.map((column) => line.cells[column - 1]))] : [];
    });
    this.dialog.close();
    this.take(made);
  }
}

// source: what the reader is given, {text} of what was pasted or {bytes, name} of a file. `take` gets the rows that were accepted.
export const takeList = (source, unit, take) => new Taking({ source, unit, take }).open();
