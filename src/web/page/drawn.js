// SPDX-License-Identifier: GPL-3.0-or-later
// Parts as they are drawn: dimensions, fittings, bends; the fittings themselves; what sections may
// weigh; and the cut lengths that follow.

import { post } from './api.js';
import { h, id, button, say, field, choice, plural } from './dom.js';
import { Grid } from './grid.js';
import { columns, memberOf } from './members.js';

const SHAPES = [
  ['length', 'the length to cut'], ['centres', 'centre to centre'], ['outside', 'outside to outside'],
  ['clear', 'clear width between'], ['offset', 'an offset'], ['bent', 'bends and straights']];

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
  if (isMap(value)) return { fitting: 'notch', meets: value.meets || '', 'centre line at': value['centre line at'] || '' };
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
  if (end.fitting === 'notch' && end['centre line at']?.trim()) {
    return { notch: 'yes', ...(end.meets?.trim() ? { meets: end.meets } : {}), 'centre line at': end['centre line at'] };
  }
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
  const input = (name) => field(memberOf('end', name).title, h('input', {
    type: 'text', value: end[name] || '', autocomplete: 'off', placeholder: memberOf('end', name).hint, 'data-place': `${at}.${name}`,
    oninput: (event) => put(name, event.target.value),
  }));
  const to = memberOf('end', 'to');
  const known = [...new Set([...fittings, ...(end.fitting ? [end.fitting] : [])])].filter((id) => id !== 'notch');
  return h('fieldset', { class: 'fields', 'data-place': at }, h('legend', {}, `End ${i}`),
    field('Fitting', choice([['', 'none, a free end'], ['notch', 'notched to the side of a tube'], ...known.map((id) => [id, id])], end.fitting || '', {
      'data-place': `${at}.fitting`, onchange: (event) => { put('fitting', event.target.value); again(); },
    })),
    end.fitting === 'notch' ? input('centre line at') : null,
    end.fitting ? input('meets') : [
      input('mitre'),
      field(to.title, choice(to.values, end.to || '', { 'data-place': `${at}.to`, onchange: (event) => put('to', event.target.value) }))]);
}

// --- a part ------------------------------------------------------------------------------------------

function shapeFields(row, place, fields) {
  if (isMap(row.offset)) {
    return fields.rest('part.offset', row.offset, `${place}.offset`);
  }
  if (isMap(row.bent)) {
    const at = `${place}.bent`;
    return [fields.rest('bent', row.bent, at, { but: ['bends'] }),
      fields.rows(row.bent, at, 'bends', 'Bends', 'a bend', columns('bend'))];
  }
  return [];
}

// The client's job is named by rows that stand beside those of several.
export const withJob = (record, tree, fields, row, place) => ({
  job: () => (tree.jobs && !place.startsWith('jobs.') ? fields.member(record, row, place, 'job') : null),
});

// What has a column in the table of parts, or is edited as the shape or the ends of one.
const ELSEWHERE = ['label', 'count', 'section', ...SHAPES.map(([key]) => key), 'end 1', 'end 2', 'both ends'];

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
      fields.rest('part', row, place, { but: ELSEWHERE, own: withJob('part', tree, fields, row, place) })),
    h('div', { class: 'ends' }, [1, 2].map((i) => endFields(row, place, i, fittings(), fields.change, again))));
}

// --- drawings --------------------------------------------------------------------------------------

const LARGEST = 1.5e6; // bytes of a drawing that a job holds

// Older files are in the code page of Windows.
async function textOf(file) {
  const bytes = await file.arrayBuffer();
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

async function takeDrawing(tree, fields, file, redraw) {
  if (file.size > LARGEST) throw new Error(`${file.name} has more than 1.5 MB; name it in a job file instead`);
  (tree.drawings ||= []).push({ name: file.name, text: await textOf(file) });
  fields.change();
  redraw();
}

// Drawings of centre lines whose tubes are parts, and what is made where lines meet.
export function drawingTables(tree, fields, redraw) {
  const rows = tree.drawings ||= [];
  const key = id('drawing-file');
  const input = h('input', {
    type: 'file', id: key, accept: '.dxf', class: 'hidden',
    onchange: () => {
      const [file] = input.files;
      input.value = '';
      if (file) takeDrawing(tree, fields, file, redraw).catch((error) => say(error.message, 'wrong'));
    },
  });
  return [
    h('p', { class: 'quiet' }, 'Lines, polylines and arcs of an ASCII DXF are tubes; a layer is a tube by its name, or else a section.'),
    rows.map((row, i) => h('fieldset', { class: 'fields' }, h('legend', { 'data-place': `drawings.${i}.name` }, row.name || 'Drawing'),
      h('span', { class: 'hidden', 'data-place': `drawings.${i}.text` }),
      fields.rest('drawing', row, `drawings.${i}`, { but: ['name', 'text'] }),
      button('Remove this drawing', () => {
        rows.splice(i, 1);
        fields.change();
        redraw();
      }, 'plain'))),
    h('div', { class: 'row' }, h('label', { class: 'button', for: key }, 'Bring a drawing (DXF)'), input),
    grid(tree, 'joints', fields, 'Joints: what is made where lines meet', 'a joint', columns('joint')),
  ];
}

async function showPictures(job) {
  if (!(job.tree.drawings || []).length) return [];
  const { pictures } = await post('/api/pictures', { text: job.text().text });
  return pictures.map(({ name, svg }) => h('figure', { class: 'drawing' },
    h('img', { src: `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`, alt: `${name} with the labels of its parts` }), h('figcaption', {}, name)));
}

// --- fittings and sections -----------------------------------------------------------------------------

const grid = (tree, key, fields, name, one, heads, more) => new Grid({
  name, one, columns: heads, rows: tree[key] ||= [], reader: fields.reader, change: fields.change, place: key, more,
}).element;

const FITTING = ['id', 'take out', 'insert', 'stops short', 'price'];
const SECTION = ['name', 'longest', 'weight', 'carries'];

export function fittingTables(tree, fields) {
  return [
    h('p', { class: 'quiet' }, 'What each fitting takes off the drawn length, or adds to it.'),
    grid(tree, 'fittings', fields, 'Fittings', 'a fitting', columns('fitting', FITTING),
      (row, place) => h('div', { class: 'fields' }, fields.rest('fitting', row, place, { but: FITTING }))),
    h('p', { class: 'small-head', 'aria-hidden': 'true' }, 'Fittings that no part names'),
    grid(tree, 'loose fittings', fields, 'Fittings that no part names', 'a loose fitting',
      columns('loose_fitting').filter(({ key }) => key !== 'job' || tree.jobs)),
  ];
}

export function sectionTable(tree, fields) {
  return [
    h('p', { class: 'quiet' }, 'What a section may not pass, so that it can be carried.'),
    grid(tree, 'sections', fields, 'Sections', 'a section', columns('section', SECTION),
      (row, place) => h('div', { class: 'fields' }, fields.rest('section', row, place, { but: SECTION }))),
  ];
}

// --- cut lengths ------------------------------------------------------------------------------------

function sectionRows(sheet) {
  return h('table', { class: 'figures' }, h('caption', {}, 'Sections'),
    h('tbody', {}, sheet.sections.map((one) => h('tr', {},
      h('th', { scope: 'row' }, one.section || 'no section', one.over.map((text) => h('small', { class: 'wrong' }, text)),
        one.unjudged.map((text) => h('small', {}, text))),
      h('td', {}, plural(one.pieces, 'piece', 'pieces')), h('td', {}, `longest ${one.longest.text}`),
      h('td', {}, one.weight || 'weight not known')))));
}

// How each drawn part came to its cut length, into `box`.
export async function showCuts(job, box) {
  const [sheet, pictures] = await Promise.all([post('/api/takeoff', { text: job.text().text }), showPictures(job)]);
  box.replaceChildren(
    ...pictures,
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
