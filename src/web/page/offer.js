// SPDX-License-Identifier: GPL-3.0-or-later
// The shelf may know a tube of this job under another name: it is told by its measures, and offered.

import { get, post } from './api.js';
import { h, button, plural } from './dom.js';
import { isBlank } from './tree.js';

// Measures as they are read, so that 38 mm and 3.8 cm are one: {text: what it was read as}.
async function readAs(tree, texts) {
  const wanted = [...new Set(texts.filter(Boolean))];
  if (!wanted.length) return new Map();
  const { cells } = await post('/api/read', { unit: tree.unit || 'mm', fractions: 64, currency: tree.currency || 'XXX', cells: wanted.map((text) => ['length', text]) });
  return new Map(wanted.map((text, i) => [text, cells[i].good ? cells[i].says : '']));
}

const lengthOf = (length) => (length?.nm ? length.text : '');

// Names of a tube wherever the job names it.
function rename(value, old, now) {
  if (Array.isArray(value)) value.forEach((item) => rename(item, old, now));
  else if (value && typeof value === 'object') {
    for (const key of ['material', 'tail material', 'fits', 'meets']) {
      if (value[key] === old) value[key] = now;
      else if (Array.isArray(value[key])) value[key] = value[key].map((one) => (one === old ? now : one));
      else if (key === 'material' && typeof value[key] === 'string') value[key] = value[key].split(/\s+or\s+/).map((one) => (one === old ? now : one)).join(' or ');
    }
    Object.values(value).forEach((item) => rename(item, old, now));
  }
}

// Tubes of the shelf with the measures of a tube of the job, under another name. [[row, tube, how many pieces]]
async function found(tree) {
  const rows = (tree.materials || []).filter((row) => !isBlank(row) && row.outside && row.wall);
  if (!rows.length) return [];
  const [{ materials }, { pieces }] = await Promise.all([get('/api/materials'), get('/api/shelf')]);
  const known = new Set(materials.map((one) => one.id));
  const free = rows.filter((row) => !known.has(row.id));
  if (!free.length) return [];
  const says = await readAs(tree, [...free.flatMap((row) => [row.outside, row.wall, row['rolled radius']]), ...materials.flatMap((one) => [one.outside, one.wall, one.radius].map(lengthOf))]);
  const measures = (outside, wall, radius) => [outside, wall, radius].map((text) => (text ? says.get(text) : '')).join('; ');
  const taken = new Set((tree.materials || []).map((row) => row.id));
  return free.flatMap((row) => materials.filter((one) => !taken.has(one.id) && one.outside.nm && one.wall.nm
    && measures(row.outside, row.wall, row['rolled radius']) === measures(lengthOf(one.outside), lengthOf(one.wall), lengthOf(one.radius))
    && (!row.alloy || !one.alloy || row.alloy === one.alloy))
    .map((one) => [row, one, pieces.filter((piece) => piece.material === one.id && piece.state === 'shelf').length]));
}

// Fills `box` with what is offered; `done` after a name was taken over.
export async function offerTubes(job, box, done) {
  const offers = await found(job.tree);
  box.replaceChildren(...offers.map(([row, one, n]) => h('section', { class: 'outcome offer' },
    h('p', {}, 'The shelf knows a tube of these measures as ', h('b', {}, one.id), one.name && one.name !== one.id ? ` (${one.name})` : '', n ? `: ${plural(n, 'piece lies', 'pieces lie')} there.` : '.',
      ` Under the name ${row.id || 'it has here'} its pieces are not used.`),
    button(`Call it ${one.id} here too`, () => {
      const old = row.id;
      row.id = one.id;
      if (old) rename(job.tree, old, one.id);
      box.replaceChildren();
      done();
    }))));
}
