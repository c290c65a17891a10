// SPDX-License-Identifier: GPL-3.0-or-later
// What follows from a plan: hold it, order, quote, papers and files.

import { get, post } from './api.js';
import { h, say, button, choice, field, money } from './dom.js';
import { proved } from './proof.js';
import { paper } from './app.js';
import { alone } from './alone.js';

// --- order and quote --------------------------------------------------------------------------------

function orderLine(line) {
  const counted = ['bars', 'fitting', 'cuts'].includes(line.kind);
  const packs = line.pack > 1 ? `in packs of ${line.pack}${line.spare ? `, ${line.spare} more than needed` : ''}` : '';
  return h('tr', {},
    h('td', {}, counted ? `${line.quantity} \u00d7` : ''),
    h('th', { scope: 'row' }, line.item || '', h('small', {}, [line.text, packs].filter(Boolean).join(', '))),
    h('td', {}, counted ? line.price_each : ''), h('td', {}, line.amount));
}

// "K1 2.00 (put on the shelf, 2026-03-01; the plan counts 3.98: worth as a leftover)"
const paid = (lead, list) => (list.length ? h('p', { class: 'paid' }, `${lead}: ${list.map((one) => `${one.piece} ${one.paid} (${one.from}${one.reason ? `; the plan counts ${one.counted}: ${one.reason}` : ''})`).join(', ')}.`) : null);

async function order(plan) {
  const doc = await get(`/api/plans/${plan.key}/order`);
  return [h('h3', {}, 'Order'),
    doc.suppliers.length ? null : h('p', {}, 'Nothing has to be bought.'),
    ...doc.suppliers.map((supplier) => h('table', { class: 'figures' },
      h('caption', {}, supplier.name || 'No supplier named', supplier.expired ? ' (its prices have lapsed)' : '',
        h('small', {}, [supplier.prices_of ? `prices of ${supplier.prices_of}` : '', supplier.valid_until ? `valid until ${supplier.valid_until}` : ''].filter(Boolean).join(', '))),
      h('thead', {}, h('tr', {}, h('td', {}), h('th', { scope: 'col' }, 'item'), h('th', { scope: 'col' }, 'each'), h('th', { scope: 'col' }, 'money'))),
      h('tbody', {}, supplier.lines.map(orderLine)),
      h('tfoot', {}, h('tr', {}, h('td', {}), h('th', { scope: 'row' }, 'sum'), h('td', {}), h('td', {}, money(plan, supplier.total)))))),
    doc.suppliers.length > 1 ? h('p', {}, h('b', {}, `Total ${money(plan, doc.total)}`)) : null,
    doc.suppliers.length ? h('p', { class: 'quiet' }, 'These are prices to be paid, as the job file gives them.') : null,
    paid('From the shelf, paid already', doc.paid),
    ...doc.notes.map((note) => h('p', { class: 'quiet' }, note))].filter(Boolean);
}

function quoteTable(plan, doc, one) {
  const inside = one.cost !== undefined;
  const taxed = Number(one.tax) !== 0;
  return h('table', { class: 'figures' },
    h('caption', {}, [one.job, one.client].filter(Boolean).join(', ') || 'Client'),
    inside ? h('thead', {}, h('tr', {}, h('th', { scope: 'col' }, 'for'), h('th', { scope: 'col' }, 'cost'), h('th', { scope: 'col' }, 'price'))) : null,
    h('tbody', {}, one.lines.map((line) => h('tr', {}, h('th', { scope: 'row' }, line.text, h('small', {}, line.quantity || '')),
      inside ? h('td', {}, line.cost) : null, h('td', {}, line.price)))),
    h('tfoot', {},
      taxed || inside ? h('tr', {}, h('th', { scope: 'row' }, 'sum'), inside ? h('td', {}, one.cost) : null, h('td', {}, one.price)) : null,
      taxed ? h('tr', {}, h('th', { scope: 'row' }, doc.tax_name || 'tax'), inside ? h('td', {}) : null, h('td', {}, one.tax)) : null,
      h('tr', {}, h('th', { scope: 'row' }, 'total'), inside ? h('td', {}) : null, h('td', {}, money(plan, one.total)))));
}

async function quote(plan, inside) {
  const doc = await get(`/api/plans/${plan.key}/quote${inside ? '?private=1' : ''}`);
  return [h('h3', {}, inside ? 'Quote, with cost: not for the client' : 'Quote'),
    h('p', { class: 'quiet' }, `Tube is charged by ${doc.way}.${doc.valid_until ? ` Valid until ${doc.valid_until}.` : ''}`),
    ...doc.jobs.map((one) => quoteTable(plan, doc, one)),
    ...(inside ? [
      h('p', {}, 'Cost is what is paid: new bars at the prices of the job file, shelf bars and offcuts at book value. Price is what the client is charged. What a plan counts for a piece is in neither.'),
      paid('Paid for the shelf bars and offcuts', doc.paid),
      h('p', {}, `Spent ${money(plan, doc.spent)}, charged to the jobs at cost ${money(plan, doc.charged)}, borne by the shop ${money(plan, doc.shop_bears)}.`),
      h('p', { class: 'quiet' }, `Prices: ${doc.uplift}. Rule: ${doc.rule}.`),
      ...doc.notes.map((note) => h('p', { class: 'quiet' }, note))] : [])].filter(Boolean);
}

// --- papers and files --------------------------------------------------------------------------------

const query = (values) => {
  const given = Object.entries(values).filter(([, value]) => value !== '' && value !== undefined);
  return given.length ? `?${new URLSearchParams(given)}` : '';
};

// A link for each form; a picture may have several pages, which are told when it is asked for.
function forms(plan, what, kinds, options) {
  const pages = h('span', { class: 'row', 'aria-live': 'polite' });
  const address = (kind, more) => `/api/plans/${plan.key}/papers/${what}.${kind}${query({ ...options(), ...more })}`;
  const called = { sheet: 'Cut sheet', plan: 'Plan', bars: 'Bars', pieces: 'Pieces and marks', takeoff: 'Take-off', parts: 'Cut lengths' };
  const name = (kind) => `${called[what] || what.charAt(0).toUpperCase() + what.slice(1)} as ${kind.toUpperCase()}`;
  const direct = (kind, saved) => {
    const link = h('a', { class: 'button', href: address(kind), target: saved ? null : '_blank', rel: 'noopener', download: saved ? `plan-${plan.key}-${what}.${kind}` : null, 'aria-label': name(kind) }, kind.toUpperCase());
    link.addEventListener('click', () => { link.href = address(kind); });
    return link;
  };
  const picture = (kind) => button(kind.toUpperCase(), async () => {
    try {
      const { pages: n } = await get(address(kind, { count: 1 }));
      pages.replaceChildren(...Array.from({ length: n }, (_, i) => h('a', {
        class: 'button', href: address(kind, { page: i + 1 }), target: '_blank', rel: 'noopener',
      }, n > 1 ? `page ${i + 1}` : `open ${kind.toUpperCase()}`)));
    } catch (error) { say(error.message, 'wrong'); }
  }, '', { 'aria-label': name(kind) });
  return h('div', { class: 'row' },
    kinds.filter((kind) => !alone || alone.draws(kind)).map((kind) => (['svg', 'png'].includes(kind) ? picture(kind) : direct(kind, kind !== 'pdf'))), pages);
}

// Tables of one thing: a workbook of all, and single ones as text.
const tables = (plan, title, list, options) => h('div', {}, h('p', {}, title),
  list.map(([what, kinds]) => h('div', { class: 'row' }, kinds.includes('csv') ? h('span', {}, what) : null, forms(plan, what, kinds, options))));

async function files(plan) {
  const { stocks } = await get('/api/stocks');
  const clients = plan.clients.map((one, i) => [String(i), [one.name, one.client].filter(Boolean).join(', ') || `client ${i + 1}`]);
  const size = choice([['a4', 'A4'], ['letter', 'Letter']], paper());
  const number = h('input', { type: 'text', autocomplete: 'off', placeholder: plan.held ? String(plan.held) : 'made from the plan' });
  const date = h('input', { type: 'text', autocomplete: 'off', placeholder: 'today' });
  const dpi = h('input', { type: 'text', inputmode: 'numeric', autocomplete: 'off', placeholder: '150' });
  const sequence = choice([['', 'longest piece first'], ['plan', 'as planned'], ['section', 'by section']], '');
  const stock = choice(stocks.map((one) => [one.id, one.text]), stocks[0].id);
  const which = choice([['', 'parts and offcuts'], ['parts', 'parts'], ['offcuts', 'offcuts']], '');
  const skip = h('input', { type: 'text', inputmode: 'numeric', autocomplete: 'off', placeholder: '0' });
  const client = choice([...(clients.length ? clients : [['0', 'the client']]), ['private', 'all, with cost: for the shop']], '0');
  const common = () => ({ paper: size.value, number: number.value, date: date.value, dpi: dpi.value });
  const group = (title, ...inner) => h('section', { class: 'paper' }, h('h4', {}, title), ...inner);
  return [h('h3', {}, 'Papers and files'),
    h('div', { class: 'fields' }, field('Paper', size), field('Plan number to print', number), field('Date to print', date), field('Dots an inch of a PNG', dpi)),
    group('Cut sheet', h('div', { class: 'fields' }, field('Bars in order', sequence)),
      forms(plan, 'sheet', ['pdf', 'svg', 'png'], () => ({ ...common(), order: sequence.value }))),
    group('Labels', h('div', { class: 'fields' }, field('On', stock), field('For', which), field('Labels that are used up', skip)),
      forms(plan, 'labels', ['pdf', 'svg', 'png'], () => ({ ...common(), stock: stock.value, which: which.value, skip: skip.value }))),
    group('Order', forms(plan, 'order', ['pdf', 'svg', 'png', 'csv', 'xlsx'], common)),
    group('Quote', h('div', { class: 'fields' }, field('For', client)),
      forms(plan, 'quote', ['pdf', 'svg', 'png', 'csv', 'xlsx'], () => ({ ...common(), ...(client.value === 'private' ? { private: 1 } : { client: client.value }) }))),
    group('For a spreadsheet',
      h('div', { class: 'fields tables' },
        tables(plan, 'The plan', [['plan', ['xlsx']], ['bars', ['csv']], ['pieces', ['csv']]], common),
        tables(plan, 'Its take-off', [['takeoff', ['xlsx']], ['parts', ['csv']]], common))),
    group('To keep, or for the command line', h('div', { class: 'row' },
      h('a', { class: 'button', href: `/api/plans/${plan.key}/papers/plan.json`, download: `plan-${plan.key}.json` }, 'The plan (JSON)'),
      h('a', { class: 'button', href: `/api/plans/${plan.key}/papers/job.yaml`, download: `plan-${plan.key}-job.yaml` }, 'Its job (YAML)')))];
}

// --- all of it ----------------------------------------------------------------------------------------

async function verdict(plan) {
  const found = await get(`/api/plans/${plan.key}/check`);
  return [found.good
    ? h('div', {}, h('p', {}, 'Checked by other code than made it: every piece fits, every part is there, lengths and money are right.'), proved(found))
    : h('ul', { class: 'remarks' }, found.remarks.map((remark) => h('li', { class: 'wrong' }, remark.text)))];
}

export function holding(plan, old) {
  if (plan.held) return h('a', { class: 'button main', href: `#/saw/${plan.held}` }, 'To the saw');
  if (plan.replaces || old) return null;
  let again = false; // the user was told why not, and asks once more
  return button('Hold it: to the saw', async (event) => {
    const asked = event.target;
    asked.disabled = true;
    try {
      const { held } = await post(`/api/plans/${plan.key}/hold`, { ...(note() ? { note: note() } : {}), again });
      location.hash = `#/saw/${held}`;
      say(`Held as number ${held}: nobody else gets its pieces.`);
    } catch (error) {
      say(error.message, 'wrong');
      if (error.code === 'exists') {
        again = true;
        asked.textContent = 'Hold it all the same';
      }
      asked.disabled = false;
    }
  }, 'main', { id: 'hold' });
}

const note = () => document.getElementById('hold-note')?.value.trim();

export function papers(plan) {
  const box = h('div', { 'aria-live': 'polite' });
  const open = (work) => async () => {
    try { box.replaceChildren(...await work(plan)); } catch (error) { say(error.message, 'wrong'); }
  };
  return h('section', { class: 'follow' }, h('h2', {}, 'Go on with it'),
    h('div', { class: 'row' }, button('Order', open(order)), button('Quote', open((one) => quote(one, false))),
      button('Quote with cost', open((one) => quote(one, true))), button('Papers and files', open(files), '', { id: 'papers' }),
      h('a', { class: 'button', href: `#/posts/${plan.key}` }, 'Posts of what is left'), button('Check it once more', open(verdict))),
    plan.held || plan.replaces ? null : h('details', { class: 'more' }, h('summary', {}, 'A note for the history, when it is held'), h('div', { class: 'fields' }, field('Note', h('input', { type: 'text', id: 'hold-note', autocomplete: 'off' })))),
    box);
}

