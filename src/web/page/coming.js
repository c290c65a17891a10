// SPDX-License-Identifier: GPL-3.0-or-later
// What a plan buys and is still to come: booked as come, all of it, or a part, at what was paid.

import { post } from './api.js';
import { h, say, button, field, plural, money } from './dom.js';

// "2 of the 4 bars six from Quay Metals"
const due = (buy) => `${buy.came ? `${buy.bought - buy.came} of the ` : ''}${plural(buy.bought, 'bar', 'bars')} ${buy.supply}${buy.supplier ? ` from ${buy.supplier}` : ''}`;

async function send(held, body, text, after) {
  try {
    const done = await post(`/api/held/${held}/deliver`, body);
    await after(held, done, text);
  } catch (error) { say(error.message, 'wrong'); }
}

// How many bars of a supply came, and what was paid for each; empty is what the plan counted.
function row(plan, buy, given) {
  const left = buy.bought - buy.came;
  const came = given[buy.supply] = { bars: String(left), paid: '' };
  const read = (key) => (event) => { came[key] = event.target.value.trim(); };
  return h('fieldset', {}, h('legend', {}, `${buy.supply}, ${buy.length.text}${buy.supplier ? `, from ${buy.supplier}` : ''}`),
    h('div', { class: 'fields' },
      field(`Bars of ${buy.supply} that came`, h('input', { type: 'number', min: 0, max: left, inputmode: 'numeric', value: came.bars, oninput: read('bars') }), `${left} still to come`),
      field(`Paid a bar of ${buy.supply}`, h('input', { type: 'text', inputmode: 'decimal', autocomplete: 'off', oninput: read('paid') }), `the plan counted ${money(plan, buy.each)}`)));
}

// "3 of 4 bars of six"
const sum = (buy, bars) => (bars === buy.bought - buy.came ? `${plural(bars, 'bar', 'bars')} of ${buy.supply}` : `${bars} of ${plural(buy.bought - buy.came, 'bar', 'bars')} of ${buy.supply}`);

function part(held, plan, buys, after) {
  const given = {};
  const also = {};
  const text = (key, label, hint) => field(label, h('input', { type: 'text', autocomplete: 'off', placeholder: hint, oninput: (event) => { also[key] = event.target.value.trim(); } }));
  const book = async (event) => {
    const wrong = buys.find((buy) => !/^\d+$/.test(given[buy.supply].bars));
    const came = buys.filter((buy) => Number(given[buy.supply].bars) > 0);
    if (wrong) { say(`How many bars of ${wrong.supply} came? Write a whole number, 0 for none.`, 'wrong'); return; }
    if (!came.length) { say('Nothing came by these numbers: nothing is booked.', 'wrong'); return; }
    event.target.disabled = true;
    const rows = came.map((buy) => ({ supply: buy.supply, bars: Number(given[buy.supply].bars), paid: given[buy.supply].paid || null }));
    await send(held, { rows, place: also.place || null, mark: also.mark || null }, `Booked as here: ${came.map((buy) => sum(buy, Number(given[buy.supply].bars))).join(', ')}.`, after);
    event.target.disabled = false;
  };
  return h('details', { class: 'more part-came' }, h('summary', {}, 'A part of it came, or at another price'),
    buys.map((buy) => row(plan, buy, given)),
    h('div', { class: 'fields' }, text('place', 'Where the bars are put', 'rack 2'), text('mark', 'Heat or lot mark', '')),
    h('div', { class: 'row' }, button('Book what came', book, 'main')));
}

// `null` where nothing is to come. `after(held, done, text)` shows what was booked.
export function coming(held, plan, after) {
  const buys = plan.buys.filter((buy) => buy.came < buy.bought);
  if (!plan.open || !buys.length) return null;
  return h('section', { class: 'coming' },
    h('p', {}, 'Still to come: ', buys.map(due).join('; '), '.'),
    h('div', { class: 'row' }, button('All of it is here', () => send(held, {}, 'All that was to come is here.', after))),
    part(held, plan, buys, after));
}
