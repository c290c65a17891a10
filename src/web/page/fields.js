// SPDX-License-Identifier: GPL-3.0-or-later
// Labelled fields that edit one value of the job in place.

import { h, field, choice } from './dom.js';
import { Grid, cell, shown } from './grid.js';
import { columns, memberOf, members } from './members.js';

const at = (place, key) => (place ? `${place}.${key}` : key);

// What a view shares with its fields: reader and change.
export class Fields {
  constructor(reader, change) {
    Object.assign(this, { reader, change });
  }

  set(map, key, value) {
    if (typeof value === 'string' && !value.trim()) delete map[key];
    else map[key] = value;
    this.change();
  }

  // options: {kind, hint, list}. A list is typed as "a, b".
  text(map, place, key, label, options = {}) {
    const made = cell(this.reader, options.kind || 'text', shown(map[key]) ?? '', (value) => {
      const parts = options.list ? value.split(/;|,\s/).map((part) => part.trim()).filter(Boolean) : [];
      this.set(map, key, parts.length > 1 || (options.list === 'always' && parts.length) ? parts : value);
    }, { 'data-place': at(place, key), placeholder: options.hint || null });
    const box = field(label, made.input);
    box.replaceChild(made.says, box.lastChild);
    made.input.setAttribute('aria-describedby', made.says.id);
    return box;
  }

  // values: [[value, text]]; the value '' leaves the key out.
  pick(map, place, key, label, values, then) {
    const now = shown(map[key]) ?? '';
    const known = values.some(([value]) => value === now) ? values : [...values, [now, now]];
    return field(label, choice(known, now, {
      'data-place': at(place, key),
      onchange: (event) => {
        this.set(map, key, event.target.value);
        if (then) then();
      },
    }));
  }

  // The field of one member of a record; `again` draws the form anew.
  member(record, map, place, key, again) {
    const one = memberOf(record, key);
    if (one.values) return this.pick(map, place, key, one.title, one.values);
    if (one.inner === 'worth') return this.worth(map, place, key, again);
    return one.inner ? null : this.text(map, place, key, one.title, one);
  }

  // The fields of all members but some. own: {key: () => field} of those that need one of their own.
  rest(record, map, place, { but = [], own = {}, again } = {}) {
    return members(record).filter(({ key }) => !but.includes(key))
      .map(({ key }) => (own[key] ? own[key]() : this.member(record, map, place, key, again)));
  }

  // A small table of its own.
  rows(map, place, key, title, one, heads, more) {
    if (!Array.isArray(map[key])) map[key] = map[key] && typeof map[key] === 'object' ? [map[key]] : [];
    return h('div', { class: 'small-table' }, h('p', { class: 'small-head', 'aria-hidden': 'true' }, title),
      new Grid({ name: title, one, columns: heads, rows: map[key], reader: this.reader, change: this.change, place: at(place, key), more }).element);
  }

  // Worth of a kept offcut: one text, or money by length classes.
  worth(map, place, key, again) {
    const classes = Array.isArray(map[key]);
    const kind = field('Worth of a kept offcut', choice([['text', 'by one rule'], ['classes', 'by its length']], classes ? 'classes' : 'text', {
      onchange: (event) => {
        if (event.target.value === 'classes') map[key] = [{}];
        else delete map[key];
        this.change();
        again();
      },
    }));
    return [kind, classes
      ? this.rows(map, place, key, 'Worth by length', 'a class', columns('worth'))
      : this.text(map, place, key, 'The rule', { hint: '50 %, 0.20 per ft, none' })];
  }
}
