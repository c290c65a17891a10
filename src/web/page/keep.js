// SPDX-License-Identifier: GPL-3.0-or-later
// What should go from the shelf; the shop's rules, its tubes, copies of the shelf, its check.

import { get, post, put } from './api.js';
import { h, show, say, button, plural } from './dom.js';
import { alone } from './alone.js';
import { place, shop, setShop } from './app.js';
import { Form } from './form.js';
import { around, tubes, table, actions, example } from './pieces.js';

// --- surplus ------------------------------------------------------------------------------------------

export async function surplus() {
  place('To scrap');
  const marks = new Set();
  const box = h('div', { 'aria-live': 'polite' });
  const sum = h('p', { class: 'sum', role: 'status' });
  let seen = 0;
  const look = async () => {
    const [answer, { rules }] = await Promise.all([get('/api/surplus'), get('/api/rules')]);
    const value = (name) => rules.find((rule) => rule.name === name).value;
    seen = answer.seen;
    marks.clear();
    answer.pieces.forEach((piece) => marks.add(piece.number));
    const none = value('max-offcuts') === 'none' && value('max-age-days') === 'none';
    sum.textContent = answer.n ? `${plural(answer.n, 'offcut', 'offcuts')} should go, ${answer.sum.text} in all.`
      : none ? 'No rule says what must go.' : 'Nothing has to go.';
    const why = (piece, i) => (i < answer.too_old ? `older than ${plural(Number(value('max-age-days')), 'day', 'days')}` : `more than ${plural(Number(value('max-offcuts')), 'offcut', 'offcuts')}`);
    box.replaceChildren(answer.n ? table(answer.pieces, { marks, change: () => marked.redraw(), caption: 'Offcuts that should go', more: ['Why', why] }) : '');
    marked.hide(!answer.n);
    marked.redraw();
  };
  const marked = actions({ marks, seen: () => seen, after: look });
  show(around('shelf-surplus'), h('h1', {}, 'What should go'),
    h('p', {}, 'The shop\u2019s own offcuts that are over the age limit and, while there are more than the shop wants to keep, those of least value. Take the mark off what stays; give a place to what is given away or sold.'),
    h('p', {}, h('a', { href: '#/shelf-keep' }, 'The rules')), sum, box, marked.element);
  await look();
}

// --- rules --------------------------------------------------------------------------------------------

const ASKS = {
  'max-offcuts': ['Keep at most so many offcuts', 'none: no ceiling'],
  'max-age-days': ['Scrap offcuts older than so many days', 'none: however old'],
  'favour-old': ['A piece counts so much less for each 30 days it has lain', 'money; helps old pieces to be used'],
  'book-share': ['Share of the book value that a plan counts', 'per cent'],
  unit: ['Lengths are in', ''],
  currency: ['Book values are in', 'XXX: not said yet'],
};

function rulesForm(seen) {
  const form = new Form();
  const control = (rule) => {
    const [label, hint] = ASKS[rule.name] || [rule.name, rule.help];
    if (rule.form === 'unit') return form.pick(rule.name, label, [['mm', 'mm'], ['cm', 'cm'], ['m', 'm'], ['in', 'inches'], ['ft', 'feet']], rule.value);
    return form.add(rule.name, label, h('input', { type: 'text', autocomplete: 'off', value: rule.value }), hint);
  };
  const box = h('div', { 'aria-live': 'polite' });
  const values = (rules) => Object.fromEntries(rules.map((rule) => [rule.name, rule.value]));
  let known = values(seen);
  // Another one was first: theirs stand beside what was typed here, which stays to be saved again.
  const theirs = async () => {
    const now = values((await get('/api/rules')).rules);
    const changed = Object.keys(now).filter((name) => now[name] !== known[name]);
    known = now;
    box.replaceChildren(h('section', { class: 'short', tabindex: '-1' }, h('h3', {}, 'Somebody changed the rules in the meantime'),
      h('ul', {}, changed.map((name) => h('li', {}, `${ASKS[name]?.[0] || name}: now ${now[name]}; here you have ${form.value(name)}`))),
      h('p', {}, 'Nothing was saved. Save once more to put yours on top, or load theirs.'),
      button('Load theirs', () => keep())));
    box.firstChild.focus();
  };
  const save = () => form.send(async () => {
    const mine = Object.fromEntries(Object.keys(known).map((name) => [name, form.value(name)]));
    const changed = Object.fromEntries(Object.entries(mine).filter(([name, value]) => value !== known[name]));
    box.replaceChildren();
    try {
      const saved = await put('/api/rules', { rules: changed, seen: known });
      known = values(saved.rules);
      if (changed.unit) await setShop({ ...shop(), unit: known.unit }); // new jobs are in it too
      say('The rules are saved.');
      box.replaceChildren(h('p', { class: 'done' }, 'Saved for the whole shop.'));
    } catch (error) {
      if (error.code !== 'state' || !/in the meantime/.test(error.message)) throw error;
      await theirs();
    }
  });
  return h('form', { id: 'rules', onsubmit: (event) => { event.preventDefault(); save(); } },
    h('div', { class: 'fields' }, seen.map(control)), form.alert, h('button', { type: 'submit', class: 'main' }, 'Save the rules'), box);
}

// --- tubes --------------------------------------------------------------------------------------------

const known = (length) => (length.nm ? length.text : '');

function tubeForm(materials) {
  const form = new Form();
  const box = h('div', {});
  const draw = (list) => box.replaceChildren(list.length ? h('table', { class: 'stock' }, h('caption', { class: 'hidden' }, 'Tubes that the shelf knows'),
    h('thead', {}, h('tr', {}, ['Tube', 'In full', 'Alloy', 'Outside', 'Wall'].map((title) => h('th', { scope: 'col' }, title)))),
    h('tbody', {}, list.map((one) => h('tr', {}, h('th', { scope: 'row' }, one.id), h('td', {}, one.name || ''), h('td', {}, [one.alloy, one.finish].filter(Boolean).join(', ')),
      h('td', {}, known(one.outside), one.radius.nm ? h('small', {}, ` rolled, radius ${one.radius.text}`) : null), h('td', {}, known(one.wall)))))) : h('p', {}, 'None yet.'));
  draw(materials);
  return [box, h('details', { class: 'more', id: 'tube-form', open: !materials.length }, h('summary', {}, 'Enter a tube, or fill in what is not known of one'),
    h('form', {
      onsubmit: (event) => {
        event.preventDefault();
        form.send(async (body) => {
          const { materials: now } = await post('/api/materials', body);
          draw(now);
          say(`The shelf knows the tube ${body.id}.`);
        });
      },
    }, h('div', { class: 'fields' }, form.text('id', 'Short name', 'al38'), form.text('name', 'In full', 'aluminium 38 x 2.5'), form.text('alloy', 'Alloy', '6061-T6'),
      form.text('finish', 'Surface'), form.text('outside', 'Outside', example('38 mm', '1 1/2 in')), form.text('wall', 'Wall', example('2.5 mm', '0.065 in')), form.text('radius', 'Radius, if it is rolled')),
    form.alert, h('button', { type: 'submit', class: 'main' }, 'Enter it')))];
}

// --- copies and check -----------------------------------------------------------------------------------

function checking() {
  const box = h('div', { 'aria-live': 'polite' });
  const go = async () => {
    try {
      const found = await get('/api/shelf-check');
      box.replaceChildren(found.good ? h('p', { class: 'done' }, 'In order: the file is sound, history and state agree, every length is accounted for.')
        : h('ul', { class: 'remarks' }, found.remarks.map((remark) => h('li', { class: 'wrong' }, remark.text))),
      h('table', { class: 'figures' }, h('caption', {}, 'Where the tube is'), h('tbody', {}, found.balance.map((row) =>
        h('tr', {}, h('th', { scope: 'row' }, row.name), h('td', {}, row.length.text))))));
    } catch (error) { box.replaceChildren(h('p', { class: 'wrong', role: 'alert' }, error.message)); }
  };
  return [h('p', {}, button('Check the shelf', go)), box];
}

export async function keep() {
  place('Rules and copies');
  const [{ rules }, materials] = await Promise.all([get('/api/rules'), tubes()]);
  show(around('shelf-keep'), h('h1', {}, 'How this shop keeps its shelf'),
    h('h2', {}, 'Rules'), rulesForm(rules),
    h('h2', {}, 'Tubes'), tubeForm(materials),
    h('h2', {}, 'Copies'),
    h('p', { class: 'row' },
      h('a', { class: 'button', href: '/api/shelf-table', download: '' }, 'Table of the shelf (CSV)'),
      h('a', { class: 'button', href: '/api/shelf-table?all=1', download: '' }, 'All there ever was (CSV)'),
      h('a', { class: 'button', href: '/api/shelf-labels', target: '_blank', rel: 'noopener' }, 'Labels of all offcuts (PDF)'),
      h('a', { class: 'button', href: '/api/shelf-file', download: '' }, 'Copy of the shelf\u2019s file')),
    alone ? alone.keep() : h('p', { class: 'quiet' }, 'The copy holds everything, jobs and plans too. To go back to one, also while this page runs, on the computer that has the shelf: ', h('code', {}, 'dropwise shelf restore FILE'), '. It checks the copy first and keeps the shelf as it was beside it.'),
    h('h2', {}, 'Check'), checking());
}
