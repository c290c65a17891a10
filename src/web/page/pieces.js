// SPDX-License-Identifier: GPL-3.0-or-later
// What the views of the shelf share: the way between them, tables of pieces, what is done with
// those that are marked.

import { get, post } from './api.js';
import { h, button, plural, when } from './dom.js';
import { Form } from './form.js';

const VIEWS = [['shelf', 'Pieces'], ['shelf-count', 'Count'], ['shelf-table', 'Table in'], ['shelf-surplus', 'To scrap'],
  ['posts', 'Posts'], ['shelf-history', 'History'], ['shelf-keep', 'Rules and copies']];

export function around(here) {
  return h('nav', { class: 'steps wide', 'aria-label': 'The shelf' }, h('ol', {}, VIEWS.map(([name, text]) =>
    h('li', {}, h('a', { href: `#/${name}`, 'aria-current': name === here ? 'page' : null }, text)))));
}

export const linkTo = (number) => h('a', { href: `#/shelf/${encodeURIComponent(number)}` }, number);

// Arguments of a request; empty ones left out.
export function query(values) {
  const text = new URLSearchParams(Object.entries(values).filter(([, value]) => value));
  return text.size ? `?${text}` : '';
}

// Is the shelf kept in inches? Known once its tubes are read. An example of a length in either.
let inches = false;
export const example = (metric, inch) => (inches ? inch : metric);

export async function tubes() {
  const answer = await get('/api/materials');
  inches = ['in', 'ft'].includes(answer.unit);
  return answer.materials;
}

export const tubeChoices = (materials, none) => [['', none], ...materials.map((one) => [one.id, one.name && one.name !== one.id ? `${one.id}, ${one.name}` : one.id])];

export function stateOf(piece) {
  if (piece.state === 'held') return `held, plan ${piece.plan}`;
  if (piece.state !== 'shelf') return piece.state;
  return piece.kind === 'bar' ? 'bar' : '';
}

// Rows of pieces. `marks`, a set of numbers, gives each a box to mark it; `more` adds a column.
export function table(pieces, { marks, change, caption, more } = {}) {
  const mark = (piece) => {
    if (!['shelf', 'held'].includes(piece.state)) return h('td', {});
    return h('td', { class: 'mark' }, h('input', {
      type: 'checkbox', checked: marks.has(piece.number), 'aria-label': `Mark ${piece.number}`,
      onchange: (event) => {
        marks[event.target.checked ? 'add' : 'delete'](piece.number);
        change();
      },
    }));
  };
  const head = (title) => h('th', { scope: 'col' }, title);
  const hidden = (title) => h('th', { scope: 'col' }, h('span', { class: 'hidden' }, title));
  return h('table', { class: 'stock' }, h('caption', { class: 'hidden' }, caption || 'Pieces'),
    h('thead', {}, h('tr', {}, marks ? hidden('Mark') : null, ['Number', 'Length', 'Tube', 'Place'].map(head), more ? head(more[0]) : hidden('State'))),
    h('tbody', {}, pieces.map((piece, i) => h('tr', {},
      marks ? mark(piece) : null,
      h('th', { scope: 'row' }, marks ? linkTo(piece.number) : piece.number),
      h('td', { class: 'number' }, piece.length.text), h('td', {}, piece.material), h('td', {}, piece.place || ''),
      h('td', {}, more ? more[1](piece, i) : stateOf(piece))))));
}

// Takes a step back and says what it was: "Taken back: bar 2 of plan 3 cut, by Ada, 14:05."
export async function takeBack(step) {
  const undone = await post('/api/undo', { step });
  return `Taken back: ${deed(undone)}.`;
}

export const deed = ({ what, who, when: at }) => `${what}, ${who ? `by ${who}` : 'no name given'}, ${when(at)}`;

// Says what was done, with the step to undo it. `after` shows the view as it then is.
export function told(box, text, step, after) {
  const back = step ? button('Undo', async () => {
    try {
      box.replaceChildren(h('p', {}, await takeBack(step)));
      await after();
    } catch (error) { box.replaceChildren(h('p', { class: 'wrong', role: 'alert' }, error.message)); }
  }, 'plain') : null;
  box.replaceChildren(h('p', { class: 'done' }, text, ' ', back));
  if (back) back.focus();
}

// What can be done with the marked pieces. `seen()`: the last step that was shown with them.
export function actions({ marks, seen, after }) {
  const form = new Form();
  const box = h('div', { 'aria-live': 'polite' });
  const count = h('span', { class: 'count', role: 'status' });
  const act = (path, text) => async () => {
    await form.send(async ({ place }) => {
      const numbers = [...marks];
      try {
        const { step } = await post(`/api/${path}`, { numbers, place, seen: seen() });
        marks.clear();
        await after();
        told(box, text(plural(numbers.length, 'piece', 'pieces'), place), step, after);
      } catch (error) {
        if (error.code === 'state' || error.code === 'held') {
          await after(); // the rows as they are by now
          error.message += '. Nothing was booked; the list is up to date now.';
        }
        throw error;
      }
      redraw();
    });
  };
  const move = button('Move there', act('move', (n, place) => `${n} moved to ${place}.`));
  const scrap = button('Throw away', act('scrap', (n) => `${n} booked as scrap.`));
  const bar = h('section', { class: 'marked', 'aria-label': 'With the marked pieces' }, count,
    h('div', { class: 'row find' }, form.text('place', 'New place', 'rack 2'), move, scrap), form.alert);
  const redraw = () => {
    count.textContent = marks.size ? `${plural(marks.size, 'piece', 'pieces')} marked` : 'Mark pieces to move them or throw them away.';
    move.disabled = scrap.disabled = marks.size === 0;
  };
  redraw();
  return { element: h('div', {}, bar, box), redraw, hide: (none) => { bar.hidden = none; } };
}
