// SPDX-License-Identifier: GPL-3.0-or-later
// The shelf: find an offcut, by length or by its label; put one there; one piece and its history.

import { get, post } from './api.js';
import { h, show, button, field, later, plural, when } from './dom.js';
import { place } from './app.js';
import { loadMembers, members } from './members.js';
import { Form } from './form.js';
import { around, query, tubes, tubeChoices, table, told, actions, linkTo, stateOf, example } from './pieces.js';
import { change as changeOf } from './log.js';
import { scanner } from './scan.js';

// --- what is looked for -----------------------------------------------------------------------------

let asked = {};

function search(materials, look) {
  const form = new Form();
  const now = (name) => ({ value: asked[name] || '', type: 'search' });
  const fields = h('div', { class: 'fields two' },
    form.text('at_least', 'At least this long', example('600 mm', '24 in'), now('at_least')),
    form.pick('material', 'Tube', tubeChoices(materials, 'any'), asked.material),
    form.text('place', 'Place', 'any', now('place')),
    form.pick('show', 'Show', [['', 'on the shelf and held'], ['free', 'only what is free'], ['all', 'all there ever was']], asked.show));
  const more = h('details', { class: 'more', open: ['allow', 'owner', 'kind', 'before'].some((name) => asked[name]) },
    h('summary', {}, 'More to look for'), h('div', { class: 'fields' },
      form.text('allow', 'More, for squaring and the cut', example('5 mm', '1/4 in'), now('allow')),
      form.text('owner', 'Belongs to', 'anyone', now('owner')),
      form.pick('kind', 'What', [['', 'bars and offcuts'], ['offcut', 'offcuts'], ['bar', 'whole bars']], asked.kind),
      form.text('before', 'There since before', '', { type: 'date', value: asked.before || '' }),
      form.tick('shop', 'Only what the shop owns', asked.shop)));
  const soon = later(200, () => form.send(async (values) => {
    asked = values;
    await look();
  }));
  const element = h('form', { role: 'search', 'aria-label': 'Pieces', oninput: soon, onsubmit: (event) => { event.preventDefault(); soon(); } }, fields, more);
  return { element, start: () => form.send(look) };
}

// --- putting a piece there --------------------------------------------------------------------------

const BOTH_ENDS = [['', 'as usual'], ['sawn', 'both sawn'], ['mill', 'both from the mill'], ['mill,sawn', 'datum end from the mill'], ['sawn,mill', 'far end from the mill']];
const HINTS = { length: ['1200 mm', '47 1/4 in'], outside: ['38 mm', '1 1/2 in'], wall: ['2.5 mm', '0.065 in'] };

// The control of one member of a piece, by its kind; `told` is as the server has it.
function control(form, { key, title, hint, told }) {
  if (told.kind === 'yes') return form.tick(key, title);
  if (told.kind === 'ends') return form.pick(key, title, BOTH_ENDS);
  const more = { material: { list: 'tubes' }, count: { inputmode: 'numeric' }, date: { type: 'date' } };
  return form.text(key, title, HINTS[key] ? example(...HINTS[key]) : hint || '', more[told.kind]);
}

function adding(materials, after) {
  const form = new Form();
  const all = members('piece').map((one) => control(form, one));
  const box = h('div', { 'aria-live': 'polite' });
  const names = h('datalist', { id: 'tubes' }, materials.map((material) => h('option', { value: material.id }, material.name || '')));
  return h('details', { class: 'more', id: 'add-piece' }, h('summary', {}, 'Put a piece on the shelf'), names,
    h('form', {
      onsubmit: (event) => {
        event.preventDefault();
        form.send(async (body) => {
          if (body.count) body.count = Number(body.count);
          const done = await post('/api/shelf', body);
          const numbers = done.shelf.map((piece) => piece.number).join(', ');
          await after();
          const doubts = done.remarks.map((one) => ` Doubtful: ${one.text}.`).join('');
          told(box, `On the shelf: ${numbers}. Write the number on it.${doubts}`, done.step, after);
        });
      },
    },
    h('div', { class: 'fields' }, all.slice(0, 7)),
    h('details', { class: 'more' }, h('summary', {}, 'More about it'), h('div', { class: 'fields' }, all.slice(7))),
    form.alert, h('button', { class: 'main', type: 'submit' }, 'Put it there'), box));
}

// --- the list ---------------------------------------------------------------------------------------

export async function list() {
  place('Shelf');
  const [materials] = await Promise.all([tubes(), loadMembers()]);
  const marks = new Set();
  const box = h('div', { 'aria-live': 'polite' });
  const sum = h('p', { class: 'sum', role: 'status' });
  let seen = 0;
  const look = async () => {
    const { show: which, shop: own, ...values } = asked;
    const answer = await get(`/api/shelf${query({ ...values, shop: own ? 1 : '', free: which === 'free' ? 1 : '', all: which === 'all' ? 1 : '' })}`);
    seen = answer.seen;
    const there = new Set(answer.pieces.map((piece) => piece.number));
    [...marks].filter((number) => !there.has(number)).forEach((number) => marks.delete(number));
    const gone = answer.n - answer.there;
    sum.textContent = answer.n ? `${plural(answer.there, 'piece', 'pieces')}, ${answer.sum.text} in all${gone ? `; ${plural(gone, 'more is', 'more are')} used, thrown away or lost` : ''}, shortest first.${answer.n > answer.pieces.length ? ` The first ${answer.pieces.length} are shown.` : ''}` : 'Nothing on the shelf is like that.';
    box.replaceChildren(answer.n ? table(answer.pieces, { marks, change: () => marked.redraw(), caption: 'Pieces on the shelf' }) : '');
    marked.hide(!answer.n);
    marked.redraw();
  };
  const marked = actions({ marks, seen: () => seen, after: look });
  const found = search(materials, look);
  const typed = h('input', { type: 'text', autocomplete: 'off', placeholder: 'K-07' });
  const go = (number) => { if (number) location.hash = `#/shelf/${encodeURIComponent(number)}`; };
  show(around('shelf'), h('h1', {}, 'Shelf'),
    h('form', { class: 'row find', onsubmit: (event) => { event.preventDefault(); go(typed.value.trim()); } },
      field('Number on its label', typed), h('button', { type: 'submit' }, 'Show it')),
    scanner(go),
    h('h2', {}, 'Look for'), found.element, sum, box, marked.element, adding(materials, look));
  await found.start();
}

// --- one piece --------------------------------------------------------------------------------------

function measuring(number, seen, after, gone) {
  const form = new Form();
  return h('details', { class: 'more' }, h('summary', {}, gone ? 'It lies here all the same' : 'It is not as long as booked'),
    h('form', {
      class: 'row find', onsubmit: (event) => {
        event.preventDefault();
        form.send(async ({ length }) => {
          const done = await post('/api/count', { number, length, seen });
          const doubts = done.remarks.map((one) => one.text).join(' ');
          await after(doubts || (done.n ? 'Its true length is booked.' : 'It is as long as booked.'), done.n ? done.step : 0);
        });
      },
    }, form.text('length', 'It measures', example('619.5 mm', '24 3/8 in')), h('button', { type: 'submit' }, 'Book it')), form.alert);
}

function moving(number, item, seen, after) {
  const form = new Form();
  const act = (path, text) => form.send(async ({ place: to }) => {
    const { step } = await post(`/api/${path}`, { numbers: [number], place: to, seen });
    await after(text, step);
  });
  return [h('form', { class: 'row find', onsubmit: (event) => { event.preventDefault(); act('move', 'Moved.'); } },
    form.text('place', 'Put it elsewhere', 'rack 2', { value: item.place || '' }), h('button', { type: 'submit' }, 'Move'),
    item.state === 'shelf' ? button('Throw away', () => act('scrap', 'Booked as scrap.')) : null), form.alert];
}

function figures(item, answer) {
  return [['length', item.length.text], item.nominal.nm !== item.length.nm ? ['nominal', item.nominal.text] : null,
    ['place', item.place || 'not said'], ['state', stateOf({ ...item, kind: '' }) || 'on the shelf'],
    ['ends', item.ends[0] === item.ends[1] ? item.ends[0] : `${item.ends[0]}, ${item.ends[1]}`],
    ['owner', item.owner || 'the shop'], ['book value', answer.currency === 'XXX' ? item.value : `${item.value} ${answer.currency}`], item.date ? ['there since', item.date] : null,
    item.mark ? ['mark', item.mark] : null, item.job ? ['from the job', item.job] : null, item.from ? ['cut from', linkTo(item.from)] : null,
    item.remark ? ['remark', item.remark] : null].filter(Boolean);
}

export async function piece(number, note) {
  place(`Piece ${number}`);
  let answer;
  try {
    answer = await get(`/api/shelf/${encodeURIComponent(number)}`);
  } catch (error) {
    if (error.status !== 404) throw error;
    show(around('shelf'), h('h1', {}, 'Not on the shelf'), h('p', {}, `No piece has the number ${number}.`), h('p', {}, h('a', { href: '#/shelf' }, 'Look for it')));
    return;
  }
  const item = answer.pieces[0];
  const box = h('div', { 'aria-live': 'polite' });
  const after = (text, step) => piece(number, { text, step });
  const here = ['shelf', 'held'].includes(item.state);
  show(around('shelf'), h('h1', {}, item.number, h('small', {}, ` ${item.kind} of ${item.material}`)), box,
    h('dl', { class: 'headline' }, figures(item, answer).map(([name, value]) => h('div', { class: 'figure' }, h('dt', {}, name), h('dd', {}, value)))),
    here ? moving(number, item, answer.seen, after) : null,
    here || item.state === 'lost' ? measuring(number, answer.seen, after) : null,
    ['used', 'scrapped'].includes(item.state) ? measuring(number, answer.seen, after, true) : null,
    h('p', { class: 'row' }, h('a', { class: 'button', href: `/api/shelf-labels${query({ number })}`, target: '_blank', rel: 'noopener' }, 'Label (PDF)'),
      item.plan ? h('a', { class: 'button', href: `#/saw/${item.plan}` }, `Plan ${item.plan} at the saw`) : null),
    h('h2', {}, 'History'),
    h('ul', { class: 'plain' }, answer.history.map((event) => h('li', { class: event.undone ? 'undone' : '' },
      `${when(event.when)}${event.who ? `, ${event.who}` : ''}: `, event.number === number ? '' : [linkTo(event.number), ' '], `${event.what}: ${changeOf(event)}`))));
  if (note) told(box, note.text, note.step, () => piece(number));
}
