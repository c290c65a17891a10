// SPDX-License-Identifier: GPL-3.0-or-later
// What changes a plan at the saw: a bar that went wrong, a part that is measured now, tube for what is missing.

import { get, post } from './api.js';
import { h, say, button, field, choice, plural } from './dom.js';
import { nameOf } from './bars.js';
import { readJob, whereIn } from './files.js';
import { entryOf } from './job.js';
import { write } from './tree.js';
import { watch } from './progress.js';

// A plan that was held elsewhere, or stored by an earlier version, does not tell its job: it is named, unchanged, once for all bars.
let ofElsewhere = { held: null, text: null, name: '' };

export function whichJob(held, jobs) {
  if (ofElsewhere.held !== held) ofElsewhere = { held, text: null, name: '' };
  const said = h('p', { class: 'quiet', role: 'status' }, ofElsewhere.text ? `The rest is planned from ${ofElsewhere.name}.` : '');
  const take = (tree, name) => {
    ofElsewhere = { held, text: write(tree).text, name };
    said.textContent = `The rest is planned from ${name}.`;
  };
  const attempt = (work) => async (event) => {
    try { await work(event.target); } catch (error) { say(whereIn(error), 'wrong'); }
  };
  const file = h('input', { type: 'file', id: 'made-from', multiple: true, accept: '.yaml,.yml,.json,.csv,.tsv,.txt,.xlsx,.ods', class: 'hidden',
    onchange: attempt(async (input) => input.files[0] && take(await readJob(input.files), input.files[0].name)) });
  return h('section', { class: 'elsewhere' },
    h('p', {}, 'The page does not have the job of this plan. To report a wrong cut or a true length, or to plan what is missing, name the job that it was made from, unchanged.'),
    h('div', { class: 'row' }, h('label', { class: 'button', for: 'made-from' }, 'Open its job file'), file,
      jobs.length ? field('or a job of this page', choice([['', 'choose'], ...jobs.map((one) => [one.key, entryOf(one).name])], '', {
        onchange: attempt(async (select) => select.value && take(JSON.parse((await get(`/api/documents/job/${select.value}`)).body), select.selectedOptions[0].textContent)),
      })) : null), said);
}

// The button that sends what happened and plans the rest again.
function booking(held, route, body, after, text = 'Book it and plan the rest again') {
  const box = h('div', { 'aria-live': 'polite' });
  const go = button(text, async () => {
    go.disabled = true;
    try {
      const { task } = await post(`/api/held/${held}/${route}`, ofElsewhere.held === held ? { ...body(), text: ofElsewhere.text } : body());
      await after(await watch(task, box, 'Stop: take the best plan so far'));
    } catch (error) {
      box.textContent = error.message;
      say(error.message, 'wrong');
    }
    go.disabled = false;
  }, 'main');
  return { box, go };
}

export function wrong(held, item, unit, after) {
  const fields = h('div', { class: 'fields' });
  const body = { bar: item.bar, kind: 'short' };
  const total = item.pieces.reduce((sum, piece) => sum + piece.count, 0);
  const text = (key, label, hint) => field(label, h('input', {
    type: 'text', autocomplete: 'off', placeholder: hint || '', oninput: (event) => { body[key] = event.target.value; },
  }));
  const number = (key, label, most) => field(label, h('input', {
    type: 'number', min: 1, max: most, inputmode: 'numeric', oninput: (event) => { body[key] = Number(event.target.value); },
  }));
  const draw = () => {
    const kinds = {
      short: [number('piece', `Which piece of the bar, 1 to ${total}`, total), text('length', 'How long it came out', unit)],
      'wrong bar': [text('number', 'Number of the piece that was cut instead'), number('done', 'Good pieces it gave', total)],
      'bar length': [text('length', 'How long the bar really is', unit)],
    };
    fields.replaceChildren(
      field('What happened', choice([['short', 'a piece came out too short'], ['wrong bar', 'it was cut from another piece'],
        ['bar length', 'the bar is not as long as planned']], body.kind, {
        onchange: (event) => {
          body.kind = event.target.value;
          delete body.length;
          draw();
        },
      })), ...kinds[body.kind], text('place', 'Where what is left was put'));
  };
  draw();
  const { box, go } = booking(held, 'miscut', () => body, (result) => after(result, { dearer: 'The mistake costs', cheaper: 'Yet it gets cheaper than planned by' }));
  return h('details', { class: 'wrong-cut' }, h('summary', {}, 'It went wrong'), fields, go, box);
}

// The pieces of a bar that are to be measured first, each with its place on the bar, from 1.
function toMeasure(item) {
  let at = 0;
  return item.pieces.flatMap((piece) => Array.from({ length: piece.count }, () => ({ ...piece, at: (at += 1) }))).filter((piece) => piece['measure first']);
}

// `null` where nothing of the bar is to be measured.
export function measured(held, item, unit, after) {
  const pieces = toMeasure(item);
  if (!pieces.length) return null;
  const lengths = new Map();
  let done = null;
  const before = pieces[0].at - 1;
  const body = () => ({ bar: item.bar, done, place: localStorage.getItem('place') || null,
    lengths: pieces.filter((piece) => lengths.get(piece.at)).map((piece) => ({ piece: piece.at, length: lengths.get(piece.at) })) });
  const { box, go } = booking(held, 'true', body, (result) => after(result, { dearer: 'The true length costs', cheaper: 'It gets cheaper than planned by' }));
  return h('details', { class: 'true-length' }, h('summary', {}, 'It is measured now'),
    h('div', { class: 'fields' },
      pieces.map((piece) => field(`Piece ${piece.at}, ${nameOf(piece)}: measured`, h('input', {
        type: 'text', autocomplete: 'off', placeholder: unit, oninput: (event) => { lengths.set(piece.at, event.target.value.trim()); },
      }))),
      before ? field('Pieces of this bar that are cut already', h('input', {
        type: 'number', min: 0, max: before, inputmode: 'numeric', placeholder: '0', oninput: (event) => { done = event.target.value ? Number(event.target.value) : null; },
      })) : null), go, box);
}

// Pieces that did not come out, planned with the tube that there is now. `null` where none is missing.
export function missing(held, plan, after) {
  if (!plan.open || !plan.missing) return null;
  const { box, go } = booking(held, 'rest', () => ({}), (result) => after(result, { dearer: 'What was missing costs', cheaper: 'It gets cheaper than planned by', rest: true }), 'Plan what is left');
  return h('section', { class: 'coming missing' },
    h('p', {}, `${plural(plan.missing, 'piece', 'pieces')} of bars that are cut did not come out. When there is tube for it, what is left of the job is planned again.`),
    h('div', { class: 'row' }, go), box);
}

// What came of it: what it costs, what else the new plan counts otherwise, what went back.
export const shortOf = (result) => `${result.step ? 'Booked, but there' : 'Nothing is booked: there'} is not enough tube for the rest`;

export function outcome(result, words) {
  const sum = (amount) => `${amount.replace(/^-/, '')} ${result.currency === 'XXX' ? '' : result.currency}`.trim();
  const less = (amount) => amount.startsWith('-');
  const nothing = Number(result.difference) === 0;
  const cost = nothing ? `${words.dearer} nothing` : `${less(result.difference) ? words.cheaper : words.dearer} ${sum(result.difference)}`;
  const locked = result.locked === 0 ? 'nothing is cut yet' : result.locked === 1 ? '1 bar is cut and stays as it is' : `${result.locked} bars are cut and stay as they are`;
  return [
    h('h2', {}, result.short ? shortOf(result) : result.finished ? 'Booked. Every part is cut.' : `Booked. This is the new plan, number ${result.held}`),
    h('p', {}, result.short ? `The old plan stays open. ${result.step || words.rest ? 'When there is tube for it, what is left is planned here.' : 'When there is tube for it, say it once more.'}` : `${cost}; ${locked}.`),
    !result.short && Number(result.revalued) !== 0 ? h('p', {}, `Besides, the new plan counts pieces of the shelf that came to it since at ${sum(result.revalued)} ${less(result.revalued) ? 'less' : 'more'}: its own money is ${sum(result.counted)}.`) : null,
    result.back.length ? h('p', {}, `Back on the shelf${result.finished ? '' : ', since the new plan does without'}: ${result.back.join(', ')}.`) : null,
  ];
}
