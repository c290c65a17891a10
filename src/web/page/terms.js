// SPDX-License-Identifier: GPL-3.0-or-later
// What suppliers charge, and how clients are charged.

import { h, field, choice } from './dom.js';
import { Grid } from './grid.js';
import { columns, memberOf, members } from './members.js';

const SUPPLIER = ['name', 'freight', 'free freight from', 'valid until'];

export function supplierTable(tree, fields) {
  return new Grid({
    name: 'Suppliers', one: 'a supplier', rows: tree.suppliers ||= [], reader: fields.reader, change: fields.change, place: 'suppliers',
    columns: columns('supplier', SUPPLIER),
    more: (row, place) => h('div', { class: 'fields' }, fields.rest('supplier', row, place, { but: SUPPLIER })),
  }).element;
}

function taxFields(quote, fields, again) {
  const parts = quote.tax !== null && typeof quote.tax === 'object';
  const all = members('quote.tax').map(({ key }) => key);
  return [
    field('Tax', choice([['one', 'the same on all'], ['parts', 'by what it is on']], parts ? 'parts' : 'one', {
      onchange: (event) => {
        const old = quote.tax;
        if (event.target.value === 'parts') quote.tax = typeof old === 'string' ? Object.fromEntries(all.map((key) => [key, old])) : {};
        else if (old) quote.tax = old.tube || '';
        fields.change();
        again();
      },
    })),
    ...(parts ? fields.rest('quote.tax', quote.tax, 'quote.tax') : [fields.member('quote', quote, 'quote', 'tax')])];
}

// What the way of charging means where the job leaves it open.
const USUAL_WASTE = { 'whole bars': 'bar by bar', 'length used': 'over the batch', 'length plus percentage': 'by the shop' };

// The whole of `quote`; `again` draws it anew.
export function quoteFields(tree, fields, again) {
  const quote = tree.quote ||= {};
  const picked = (key, usual, then) => {
    const { title, values } = memberOf('quote', key);
    return fields.pick(quote, 'quote', key, title, [['', usual], ...values.slice(1)], then);
  };
  const charge = picked('charge', 'no quote', () => {
    if (!quote.charge) for (const key of Object.keys(quote)) delete quote[key];
    again();
  });
  if (!quote.charge) return h('div', { class: 'fields' }, charge);
  const own = {
    charge: () => charge,
    percentage: () => (quote.charge === 'length plus percentage' ? fields.member('quote', quote, 'quote', 'percentage') : null),
    offcuts: () => picked('offcuts', `${quote.charge === 'whole bars' ? 'the client' : 'the shop'} (usual)`),
    waste: () => picked('waste', `${USUAL_WASTE[quote.charge]} (usual)`),
    tax: () => taxFields(quote, fields, again),
  };
  return h('div', {}, h('div', { class: 'fields' }, fields.rest('quote', quote, 'quote', { but: ['labour'], own })),
    fields.rows(quote, 'quote', 'labour', 'Labour', 'work', columns('quote.labour').filter(({ key }) => key !== 'job' || tree.jobs)));
}
