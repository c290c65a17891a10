// SPDX-License-Identifier: GPL-3.0-or-later
// The shelf: find an offcut, by length or by its label; put one there.

import { get, post } from './api.js';
import { h, show, say, button, field, later, plural, when } from './dom.js';
import { place, shop } from './app.js';

const ask = { at_least: '', material: '', number: '' };

function table(pieces) {
  return h('table', { class: 'stock' }, h('caption', { class: 'hidden' }, 'Pieces on the shelf'),
    h('thead', {}, h('tr', {}, ['Number', 'Length', 'Tube', 'Place', ''].map((title) => h('th', { scope: 'col' }, title || h('span', { class: 'hidden' }, 'State'))))),
    h('tbody', {}, pieces.map((piece) => h('tr', {},
      h('th', { scope: 'row' }, h('a', { href: `#/shelf/${encodeURIComponent(piece.number)}` }, piece.number)),
      h('td', { class: 'number' }, piece.length.text), h('td', {}, piece.material), h('td', {}, piece.place || ''),
      h('td', {}, piece.state === 'held' ? `held, plan ${piece.plan}` : piece.kind === 'bar' ? 'bar' : '')))));
}

// The label's number by the camera, where the browser can read codes and the page may use it.
async function scan(found) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
  const video = h('video', { autoplay: true, playsinline: true, muted: true });
  video.srcObject = stream;
  let looking = true;
  const dialog = h('dialog', { 'aria-label': 'Scan a label' }, video, button('Close', () => dialog.close()));
  dialog.addEventListener('close', () => {
    looking = false;
    stream.getTracks().forEach((track) => track.stop());
    dialog.remove();
  });
  document.body.append(dialog);
  dialog.showModal();
  const detector = new window.BarcodeDetector({ formats: ['qr_code'] });
  while (looking) {
    const codes = await detector.detect(video).catch(() => []);
    if (codes.length) {
      dialog.close();
      found(codes[0].rawValue);
    }
    await new Promise((next) => { setTimeout(next, 200); });
  }
}

// A label's code holds the number, alone or as the first of several lines or words.
const numberOf = (text) => (text.trim().split(/[\s;|]/)[0] || '').replace(/^.*[/#]/, '');

function adding(materials, redraw) {
  const body = {};
  const text = (key, label, hint, extra) => field(label, h('input', {
    type: 'text', autocomplete: 'off', placeholder: hint || '', ...extra, oninput: (event) => { body[key] = event.target.value; },
  }));
  const names = h('datalist', { id: 'tubes' }, materials.map((material) => h('option', { value: material.id }, material.name || '')));
  const whole = h('input', { type: 'checkbox', id: 'whole-bar', onchange: (event) => { body.bar = event.target.checked; } });
  return h('details', { class: 'more', id: 'add-piece' }, h('summary', {}, 'Put a piece on the shelf'), names,
    h('div', { class: 'fields' },
      text('length', 'Length', '1200 mm'), text('material', 'Tube', '', { list: 'tubes' }), text('place', 'Place', 'rack 2'),
      text('number', 'Number', 'the next one'), text('outside', 'Outside, if the tube is new here', '38 mm'), text('value', 'Book value', '0.00'),
      h('div', { class: 'field tick' }, whole, h('label', { for: 'whole-bar' }, 'A whole bar with mill ends'))),
    button('Put it there', async () => {
      try {
        await post('/api/shelf', { ...body, unit: shop().unit });
        say('It is on the shelf.');
        redraw();
      } catch (error) { say(error.message, 'wrong'); }
    }, 'main'));
}

export async function list() {
  place('Shelf');
  const box = h('div', { 'aria-live': 'polite' });
  const look = async () => {
    const query = new URLSearchParams(Object.entries({ ...ask, unit: shop().unit }).filter(([, value]) => value));
    try {
      const answer = await get(`/api/shelf?${query}`);
      box.replaceChildren(h('p', { class: 'sum' }, answer.n ? `${plural(answer.n, 'piece', 'pieces')}, shortest first.` : 'Nothing on the shelf is like that.'),
        answer.n ? table(answer.pieces) : '');
    } catch (error) { box.replaceChildren(h('p', { class: 'wrong' }, error.message)); }
  };
  const soon = later(200, look);
  const text = (key, label, hint) => field(label, h('input', {
    type: 'search', value: ask[key], placeholder: hint, autocomplete: 'off', oninput: (event) => { ask[key] = event.target.value.trim(); soon(); },
  }));
  const { materials } = await get('/api/materials');
  const canScan = 'BarcodeDetector' in window && navigator.mediaDevices;
  const typed = h('input', { type: 'text', autocomplete: 'off', placeholder: 'K-07' });
  const go = (number) => { if (number) location.hash = `#/shelf/${encodeURIComponent(number)}`; };
  show(h('h1', {}, 'Shelf'),
    h('div', { class: 'fields' }, text('at_least', 'At least this long', '600 mm'), text('material', 'Tube', 'any')),
    h('form', { class: 'row find', onsubmit: (event) => { event.preventDefault(); go(typed.value.trim()); } },
      field('Number on its label', typed), h('button', { type: 'submit' }, 'Show it'),
      canScan ? button('Scan the label', () => scan((code) => go(numberOf(code))).catch(() => say('The camera can\'t be used here: type the number.', 'wrong'))) : null),
    box, adding(materials, list));
  look();
}

export async function piece(number) {
  place(`Piece ${number}`);
  const answer = await get(`/api/shelf/${encodeURIComponent(number)}${shop().unit ? `?unit=${shop().unit}` : ''}`);
  const item = answer.pieces[0];
  const spot = h('input', { type: 'text', value: item.place || '', autocomplete: 'off' });
  const act = async (path, body, text) => {
    try {
      await post(`/api/${path}`, { numbers: [number], seen: answer.seen, ...body });
      await piece(number);
      say(text);
    } catch (error) { say(error.message, 'wrong'); }
  };
  show(h('p', {}, h('a', { href: '#/shelf' }, 'Shelf')), h('h1', {}, item.number, h('small', {}, ` ${item.kind} of ${item.material}`)),
    h('dl', { class: 'headline' },
      [['length', item.length.text], ['place', item.place || 'not said'], ['state', item.state === 'held' ? `held for plan ${item.plan}` : item.state],
        ['owner', item.owner || 'the shop'], ['book value', item.value]].map(([name, value]) => h('div', { class: 'figure' }, h('dt', {}, name), h('dd', {}, value)))),
    ['shelf', 'held'].includes(item.state) ? h('div', { class: 'row find' }, field('Put it elsewhere', spot), button('Move', () => act('move', { place: spot.value }, 'Moved.')),
      item.state === 'shelf' ? button('Throw away', () => act('scrap', {}, 'Booked as scrap.')) : null) : null,
    h('h2', {}, 'History'),
    h('ul', { class: 'plain' }, answer.history.map((event) => h('li', { class: event.undone ? 'undone' : '' },
      `${when(event.when)}: ${event.number} ${event.what}${event.place ? `, ${event.place}` : ''}, ${event.state}`, event.who ? ` (${event.who})` : ''))));
}
