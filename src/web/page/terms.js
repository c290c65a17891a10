// SPDX-License-Identifier: GPL-3.0-or-later
// What suppliers charge, and how clients are charged.

import { h, field, choice } from './dom.js';
import { Grid } from './grid.js';

export function supplierTable(tree, fields) {
  const day = { hint: '2026-03-31' };
  return new Grid({
    name: 'Suppliers', one: 'a supplier', rows: tree.suppliers ||= [], reader: fields.reader, change: fields.change, place: 'suppliers',
    columns: [
      { key: 'name', title: 'Supplier', kind: 'text', hint: 'Quay Metals' },
      { key: 'freight', title: 'Freight', kind: 'money', hint: '30' },
      { key: 'free freight from', title: 'Free from', kind: 'money', hint: '300' },
      { key: 'valid until', title: 'Prices until', kind: 'text', hint: '2026-03-31' },
    ],
    more: (row, place) => h('div', { class: 'fields' },
      fields.text(row, place, 'prices of', 'Prices of', day),
      fields.text(row, place, 'least order', 'Least order', { kind: 'money' }),
      fields.text(row, place, 'small order under', 'Small order, under', { kind: 'money' }),
      fields.text(row, place, 'small order charge', 'Charge for it', { kind: 'money' }),
      fields.text(row, place, 'cut charge', 'Charge of a cut', { kind: 'money' }),
      fields.text(row, place, 'cuts a pack', 'Cuts in a pack', { kind: 'count' }),
      fields.text(row, place, 'free cuts', 'Free cuts', { kind: 'count' }),
      fields.text(row, place, 'least cut charge', 'Least charge for cuts', { kind: 'money' })),
  }).element;
}

const TAXED = [['tube', 'on tube'], ['waste', 'on waste'], ['cuts', 'on cuts'], ['fittings', 'on fittings'], ['delivery', 'on delivery'], ['labour', 'on labour']];

function taxFields(quote, fields, again) {
  const parts = quote.tax !== null && typeof quote.tax === 'object';
  return [
    field('Tax', choice([['one', 'the same on all'], ['parts', 'by what it is on']], parts ? 'parts' : 'one', {
      onchange: (event) => {
        const old = quote.tax;
        if (event.target.value === 'parts') quote.tax = typeof old === 'string' ? Object.fromEntries(TAXED.map(([key]) => [key, old])) : {};
        else if (old) quote.tax = old.tube || '';
        fields.change();
        again();
      },
    })),
    ...(parts ? TAXED.map(([key, label]) => fields.text(quote.tax, 'quote.tax', key, `Tax ${label}`, { hint: 'none' }))
      : [fields.text(quote, 'quote', 'tax', 'Tax on all', { hint: '21 %' })]),
    fields.text(quote, 'quote', 'tax name', 'Its name', { hint: 'VAT' }),
  ];
}

// What the way of charging means where the job leaves it open.
const USUAL_WASTE = { 'whole bars': 'bar by bar', 'length used': 'over the batch', 'length plus percentage': 'by the shop' };

// The whole of `quote`; `again` draws it anew.
export function quoteFields(tree, fields, again) {
  const quote = tree.quote ||= {};
  const put = (key, label, options) => fields.text(quote, 'quote', key, label, options);
  const ways = [['', 'no quote'], ['whole bars', 'whole bars'], ['length used', 'the length used'], ['length plus percentage', 'the length plus a percentage']];
  const charge = fields.pick(quote, 'quote', 'charge', 'Clients pay', ways, () => {
    if (!quote.charge) for (const key of Object.keys(quote)) delete quote[key];
    again();
  });
  if (!quote.charge) return h('div', { class: 'fields' }, charge);
  return h('div', {}, h('div', { class: 'fields' }, charge,
    quote.charge === 'length plus percentage' ? put('percentage', 'Percentage', { hint: '15 %' }) : null,
    fields.pick(quote, 'quote', 'offcuts', 'Offcuts belong to', [['', `${quote.charge === 'whole bars' ? 'the client' : 'the shop'} (usual)`], ['client', 'the client'], ['shop', 'the shop']]),
    fields.pick(quote, 'quote', 'waste', 'Waste is shared', [['', `${USUAL_WASTE[quote.charge]} (usual)`], ['by bar', 'bar by bar'], ['by batch', 'over the batch'], ['shop', 'not: the shop bears it']]),
    put('markup', 'Markup on cost', { hint: '35 %' }),
    put('margin', 'or margin on price'),
    put('round to', 'Prices rounded to', { kind: 'money', hint: '0.50' }),
    put('valid days', 'Valid for days', { kind: 'count', hint: '30' }),
    taxFields(quote, fields, again)),
  fields.rows(quote, 'quote', 'labour', 'Labour', 'work', [
    { key: 'work', title: 'Work', kind: 'text', hint: 'sawing and deburring' },
    { key: 'hours', title: 'Hours', kind: 'text', hint: '2.5' },
    { key: 'rate', title: 'Rate', kind: 'money', hint: '45' },
    { key: 'no markup', title: 'Markup', options: () => [['', 'with'], ['yes', 'without']] },
    ...(tree.jobs ? [{ key: 'job', title: 'Client\'s job', kind: 'text' }] : []),
  ]));
}
