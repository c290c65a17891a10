// SPDX-License-Identifier: GPL-3.0-or-later
// Parts as they are drawn: dimensions, fittings, bends; the fittings themselves; what sections may
// weigh; and the cut lengths that follow.

import { post } from './api.js';
import { h, field, choice, plural } from './dom.js';
import { Grid } from './grid.js';

const SHAPES = [
  ['length', 'the length to cut'], ['centres', 'centre to centre'], ['outside', 'outside to outside'],
  ['clear', 'clear width between'], ['offset', 'an offset'], ['bent', 'bends and straights']];
const POINTS = [['', 'point'], ['long point', 'long point'], ['centre line', 'centre line'], ['short point', 'short point']];

const LONG_POINTS = [['', 'not said'], ['same side', 'same side: a trapezoid'], ['opposite sides', 'opposite sides: a parallelogram']];

// The key that says how long a part is.
export const shapeOf = (row) => SHAPES.map(([key]) => key).find((key) => row[key] !== undefined) || 'length';
export const shapeText = (key) => SHAPES.find(([name]) => name === key)?.[1] || '';
export const isDrawn = (row) => shapeOf(row) !== 'length' || ['end 1', 'end 2', 'both ends'].some((key) => row[key] !== undefined);

const isMap = (value) => value !== null && typeof value === 'object' && !Array.isArray(value);

function setShape(row, now) {
  const old = shapeOf(row);
  const size = typeof row[old] === 'string' ? row[old] : row[old]?.set || '';
  delete row[old];
  if (now === 'offset') row.offset = { set: size, angle: '45' };
  else if (now === 'bent') row.bent = { bends: [{ radius: '', angle: '90' }], straights: [size, ''] };
  else row[now] = size;
}

// --- ends -----------------------------------------------------------------------------------------

// An end as parts of its own: {fitting, meets, mitre, to}; a notch stands where a fitting does.
function readEnd(value) {
  if (isMap(value) && value.notch !== 'yes') return { ...value };
  if (isMap(value)) return { fitting: 'notch', meets: value.meets || '' };
  const text = (value || '').trim();
  if (!text || text === 'free') return {};
  const notch = text.match(/^notch(?: for (.+?)(?: tube)?)?$/);
  if (notch) return { fitting: 'notch', meets: notch[1] || '' };
  const mitre = text.match(/^mitre\s+([\d.,]+)\s*(.*)$/);
  return mitre ? { mitre: mitre[1], to: mitre[2] } : { fitting: text };
}

// As short as it can be written.
function writeEnd(end) {
  const given = Object.entries(end).filter(([, value]) => value && value.trim());
  if (!given.length) return 'free';
  if (end.fitting === 'notch') return end.meets?.trim() ? `notch for ${end.meets.trim()} tube` : 'notch';
  if (given.length === 1 && end.fitting) return end.fitting;
  return Object.fromEntries(given);
}

function endFields(row, place, i, fittings, change, again) {
  const key = `end ${i}`;
  const from = row[key] !== undefined ? key : 'both ends';
  const end = readEnd(row[from]);
  const put = (name, value) => {
    if (value.trim()) end[name] = value;
    else delete end[name];
    for (const other of ['end 1', 'end 2'])
      if (row[other] === undefined && row['both ends'] !== undefined) row[other] = row['both ends'];
    delete row['both ends'];
    row[key] = writeEnd(end);
    if (['end 1', 'end 2'].every((one) => row[one] === undefined || row[one] === 'free')) {
      delete row['end 1'];
      delete row['end 2'];
    }
    change();
  };
  const at = `${place}.${from}`;
  const input = (name, label, hint) => field(label, h('input', {
    type: 'text', value: end[name] || '', autocomplete: 'off', placeholder: hint, 'data-place': `${at}.${name}`,
    oninput: (event) => put(name, event.target.value),
  }));
  const known = [...new Set([...fittings, ...(end.fitting ? [end.fitting] : [])])].filter((id) => id !== 'notch');
  return h('fieldset', { class: 'fields', 'data-place': at }, h('legend', {}, `End ${i}`),
    field('Fitting', choice([['', 'none, a free end'], ['notch', 'notched to the side of a tube'], ...known.map((id) => [id, id])], end.fitting || '', {
      'data-place': `${at}.fitting`, onchange: (event) => { put('fitting', event.target.value); again(); },
    })),
    end.fitting ? input('meets', 'Tube it meets', 'as this one') : [
      input('mitre', 'Mitre, degrees off square', '45'),
      field('The length runs to its', choice(POINTS, end.to || '', { 'data-place': `${at}.to`, onchange: (event) => put('to', event.target.value) }))]);
}

// --- a part ------------------------------------------------------------------------------------------

const BEND = [
  { key: 'radius', title: 'Radius', kind: 'length', hint: '100' },
  { key: 'radius of', title: 'of its', options: () => [['', 'centre line'], ['outside', 'outside'], ['inside', 'inside']] },
  { key: 'angle', title: 'Angle', kind: 'text', hint: '90' },
  { key: 'chord', title: 'or chord', kind: 'length' },
  { key: 'rise', title: 'and rise', kind: 'length' },
  { key: 'long way round', title: 'Long way', options: () => [['', 'no'], ['yes', 'yes']] },
];

function shapeFields(row, place, fields) {
  if (isMap(row.offset)) {
    return [fields.text(row.offset, `${place}.offset`, 'set', 'Set of the offset', { kind: 'length' }),
      fields.text(row.offset, `${place}.offset`, 'angle', 'Angle of its fittings', { hint: '45' })];
  }
  if (isMap(row.bent)) {
    const at = `${place}.bent`;
    return [
      fields.text(row.bent, at, 'straights', 'Straights, first to last', { list: 'always', hint: '180, 300, 180' }),
      fields.pick(row.bent, at, 'straights to', 'Straights are drawn to', [['', 'the bend\'s arc'], ['apex', 'the apex']]),
      fields.text(row.bent, at, 'least straight', 'Shortest straight allowed', { kind: 'length' }),
      fields.rows(row.bent, at, 'bends', 'Bends', 'a bend', BEND)];
  }
  return [];
}

// Fields of a part that have no column in the table of parts.
export function partFields(tree, fields) {
  const fittings = () => (tree.fittings || []).map((fitting) => fitting.id).filter(Boolean);
  return (row, place, again) => h('div', {},
    h('div', { class: 'fields' },
      field('It is drawn by', choice(SHAPES, shapeOf(row), {
        onchange: (event) => {
          setShape(row, event.target.value);
          fields.change();
          again();
        },
      })),
      shapeFields(row, place, fields),
      fields.text(row, place, 'material', 'Tube, or one of several', { hint: 'al38 or al48' }),
      fields.yes(row, place, 'measure first', 'Measure before cutting'),
      fields.text(row, place, 'allowance', 'Planned longer by', { kind: 'length' }),
      tree.jobs && place.startsWith('parts.') ? fields.text(row, place, 'job', 'Client\'s job') : null,
      fields.text(row, place, 'remark', 'Remark'),
      fields.pick(row, place, 'long points', 'Long points of two mitres', LONG_POINTS)),
    h('div', { class: 'ends' }, [1, 2].map((i) => endFields(row, place, i, fittings(), fields.change, again))));
}

// --- fittings and sections -----------------------------------------------------------------------------

const grid = (tree, key, fields, name, one, columns, more) => new Grid({
  name, one, columns, rows: tree[key] ||= [], reader: fields.reader, change: fields.change, place: key, more,
}).element;

export function fittingTables(tree, fields) {
  return [
    h('p', { class: 'quiet' }, 'What each fitting takes off the drawn length, or adds to it.'),
    grid(tree, 'fittings', fields, 'Fittings', 'a fitting', [
      { key: 'id', title: 'Fitting', kind: 'text', hint: 'tee' },
      { key: 'take out', title: 'Take-out', kind: 'length', hint: '60' },
      { key: 'insert', title: 'Goes in by', kind: 'length', hint: '38' },
      { key: 'stops short', title: 'Stops short', kind: 'text', hint: '1/2 OD' },
      { key: 'price', title: 'Price', kind: 'money', hint: '3.20' },
    ], (row, place) => h('div', { class: 'fields' },
      fields.text(row, place, 'name', 'In full', { hint: 'clamp tee' }),
      fields.pick(row, place, 'from', 'Take-out is from', [['', 'the centre'], ['outside', 'the outside']]),
      fields.text(row, place, 'overhang', 'Stands over by', { kind: 'length' }),
      fields.text(row, place, 'joins', 'Ends that one piece joins', { kind: 'count', hint: '1' }),
      fields.text(row, place, 'fits', 'Takes tube', { list: true, hint: 'al38, 42 mm' }),
      fields.text(row, place, 'fits with bushing', 'Takes with a bushing', { list: true }),
      fields.text(row, place, 'bushing', 'That bushing'),
      fields.text(row, place, 'supplier', 'Supplier'),
      fields.text(row, place, 'date', 'Price of', { hint: '2026-03-01' }))),
    h('p', { class: 'small-head', 'aria-hidden': 'true' }, 'Fittings that no part names'),
    grid(tree, 'loose fittings', fields, 'Fittings that no part names', 'a loose fitting', [
      { key: 'fitting', title: 'Fitting', kind: 'text', hint: 'foot' },
      { key: 'count', title: 'Count', kind: 'count', hint: '4' },
      ...(tree.jobs ? [{ key: 'job', title: 'Client\'s job', kind: 'text' }] : []),
    ]),
  ];
}

export function sectionTable(tree, fields) {
  return [
    h('p', { class: 'quiet' }, 'What a section may not pass, so that it can be carried.'),
    grid(tree, 'sections', fields, 'Sections', 'a section', [
      { key: 'name', title: 'Section', kind: 'text', hint: 'left' },
      { key: 'longest', title: 'Longest piece', kind: 'length', hint: '1.8 m' },
      { key: 'weight', title: 'Weight', kind: 'text', hint: '25 kg' },
      { key: 'carries', title: 'Carries', kind: 'text', hint: '2.5 kg' },
    ], (row, place) => h('div', { class: 'fields' },
      fields.text(row, place, 'size', 'Packed size', { hint: '1200 x 600 x 400 mm' }),
      fields.text(row, place, 'door', 'Door', { hint: '800 x 2000 mm' }),
      fields.text(row, place, 'van', 'Van', { hint: '2 x 1.2 x 1 m' }),
      fields.text(row, place, 'riser', 'Riser', { hint: '2 x 1 m' }))),
  ];
}

// --- cut lengths ------------------------------------------------------------------------------------

function sectionRows(sheet) {
  return h('table', { class: 'figures' }, h('caption', {}, 'Sections'),
    h('tbody', {}, sheet.sections.map((one) => h('tr', {},
      h('th', { scope: 'row' }, one.name || 'no section', one.over.map((text) => h('small', { class: 'wrong' }, text)),
        one.unjudged.map((text) => h('small', {}, text))),
      h('td', {}, plural(one.pieces, 'piece', 'pieces')), h('td', {}, `longest ${one.longest.text}`),
      h('td', {}, one.weight || 'weight not known')))));
}

// How each drawn part came to its cut length, into `box`.
export async function showCuts(job, box) {
  const sheet = await post('/api/takeoff', { text: job.text().text });
  box.replaceChildren(
    sheet.parts.length ? h('dl', { class: 'cut-steps' }, sheet.parts.map((part) => [
      h('dt', {}, `${part.count} \u00d7 ${part.label}: cut `, h('b', {}, part.cut.text),
        part.allowance.nm ? `, planned ${part.allowance.text} longer until it is measured` : ''),
      h('dd', {}, h('ol', {}, part.steps.map((step) => h('li', {}, h('b', {}, step.amount.text), ` ${step.text}`))))]))
      : h('p', {}, 'Every part is given by the length to cut; none is drawn.'),
    sheet.fittings.length ? h('table', { class: 'figures' }, h('caption', {}, 'Fittings'),
      h('tbody', {}, sheet.fittings.map((one) => h('tr', {}, h('td', {}, `${one.count} \u00d7`),
        h('th', { scope: 'row' }, one.name || one.fitting, h('small', {}, one.job || '')))))) : '',
    sectionRows(sheet),
    h('p', { class: 'quiet' }, 'Weights are estimates from nominal sizes, without fittings.'));
}
