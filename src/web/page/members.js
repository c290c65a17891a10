// SPDX-License-Identifier: GPL-3.0-or-later
// What can be given of each record of a job, as the server reads it: names, kinds, choices. Here is
// only what the page calls them; what it has no name for is shown by the name that the job file has.

import { get } from './api.js';

let records = null;

export async function loadMembers() {
  if (records) return;
  const told = await get('/api/members');
  records = { ...told.records, piece: told.piece };
}

const day = '2026-03-31';

const LETTER = { address: ['Address', 'Quay 3, 1011 AB Amsterdam', { list: true }], reference: ['Your reference', 'order 118'], scope: ['What it is for', 'rack for the spring tour'], language: ['Language of its papers', 'en'] };

// record: {member: [label, hint, more]}. more: {kind, list, usual, words}; `usual` is the text for a
// choice that is left to the usual one, [text, the choice that it stands for].
const SAYS = {
  '': { name: ['Job'], client: ['Client'], due: ['Due', '2026-04-20'], date: ['Date', '2026-03-01'], ...LETTER },
  job: { name: ['Client\'s job'], client: ['Client'], due: ['Due', '2026-04-20'], ...LETTER },
  saw: {
    kerf: ['Kerf, the width of a cut', '2.5'], squaring: ['Squared off each mill end', '4'],
    grip: ['Tail that the vise must hold', 'none'], 'end allowance': ['Kept free at the end of a bar', 'none'], 'cost per cut': ['Cost of a cut', '0.30'],
    'cost per bar': ['Cost of taking up a bar', '0.00'], 'cost per offcut': ['Cost of taking up an offcut', 'as a bar'],
    'seconds per cut': ['Seconds a cut', '40'], 'minutes per bar': ['Minutes to take up a bar', '3'],
    'minutes per offcut': ['Minutes to take up an offcut', 'as a bar'], 'minutes per stop': ['Minutes to set the stop', '1'],
    rate: ['Worth of an hour at the saw', 'none'],
  },
  rules: {
    keep: ['Keep offcuts from', '350'], 'longest scrap': ['Scrap no longer than', 'any length'],
    'leftover worth': ['Worth of a kept offcut', '50 %'], 'most new offcuts': ['New offcuts at most', 'unlimited', { kind: 'text' }],
    'most pieces': ['Pieces of a bar at most', 'unlimited', { kind: 'text' }],
    'few layouts': ['May cost more for fewer layouts', '0 %'],
  },
  worth: { from: ['From', '400'], worth: ['Worth', '2.00'] },
  material: {
    id: ['Short name', 'tube'], name: ['In full', 'aluminium 38 x 2.5'], outside: ['Outside', '38 mm'], wall: ['Wall', '2.5 mm'],
    keep: ['Keep from', 'as below'], alloy: ['Alloy or grade', '6061-T6'], finish: ['Finish', 'mill'], density: ['Density', '2700 kg/m3'],
    'rolled radius': ['Rolled to a radius of'], 'end bent': ['Bent near one end'], 'leftover worth': ['Worth of a kept offcut'],
  },
  bar: {
    id: ['Bar', 'its name'], length: ['Length', '6 m'], price: ['Price each', '36.90'], pack: ['Pack of', '1'], count: ['At most', 'any'],
    supplier: ['Supplier'], source: ['It is', '', { usual: ['bought new', 'new'], words: { shelf: 'in the shop already' } }],
    bend: ['Length that its bent end takes'], 'tail material': ['Tube of its straight tail'],
    use: ['Use', '', { usual: ['as is cheapest'], words: { no: 'not this time' } }],
  },
  'bar.price breaks': { from: ['From so many', '8'], price: ['Price each', '35.00'] },
  offcut: { id: ['Number', '41'], length: ['Length', '803'], 'book value': ['Book value', 'by the rules'], count: ['Count', '1'],
    use: ['Use', '', { usual: ['as is cheapest'], words: { no: 'not this time' } }] },
  stock: { // bars and offcuts
    measured: ['Measured length'], ends: ['Ends', 'mill; sawn; sawn, mill'], squaring: ['Squared off each mill end', 'as below'],
    place: ['Place', 'rack 1'], owner: ['Owner', 'shop'], mark: ['Mark or heat'], date: ['Date', '2026-02-01'],
  },
  part: {
    label: ['Part', 'upright'], length: ['Length'], count: ['Count', '1'], section: ['Section', 'left'], material: ['Tube, or one of several', 'al38 or al48'],
    'measure first': ['Measure before cutting'], priority: ['First where tube is short'], allowance: ['Planned longer by', '', { kind: 'length' }], job: ['Client\'s job'], remark: ['Remark'],
    'long points': ['Long points of two mitres', '', { usual: ['not said'], words: { 'same side': 'same side: a trapezoid', 'opposite sides': 'opposite sides: a parallelogram' } }],
  },
  post: {
    label: ['Post', 'microphone arm'], length: ['Length, from \u2026 to', '350 to 500'], 'at most': ['At most', '2'], worth: ['Worth each', '4.00'],
    material: ['Tube, or one of several', 'al38 or al48'], section: ['Section'], remark: ['Remark'], job: ['Client\'s job'],
  },
  piece: { // that is put on the shelf
    length: ['Length', '1200 mm'], material: ['Tube'], place: ['Place', 'rack 2'], number: ['Number', 'the next one'], count: ['So many alike', '1'],
    value: ['Book value of one', '0.00'], bar: ['A whole bar with mill ends'], outside: ['Outside, if the tube is new here', '38 mm'],
    wall: ['Wall, if the tube is new here', '2.5 mm'], measured: ['True length, if not the nominal one'], ends: ['Ends'],
    owner: ['Belongs to', 'the shop'], mark: ['Heat or lot mark'], date: ['There since'], job: ['From the job'], remark: ['Remark'],
  },
  end: { to: ['The length runs to its', '', { usual: ['point'] }], meets: ['Tube it meets', 'as this one'], mitre: ['Mitre, degrees off square', '45'] },
  'part.offset': { set: ['Set of the offset'], angle: ['Angle of its fittings', '45'] },
  bent: {
    straights: ['Straights, first to last', '180, 300, 180', { list: 'always' }],
    'straights to': ['Straights are drawn to', '', { usual: ['the bend\'s arc', 'arc'], words: { apex: 'the apex' } }],
    'least straight': ['Shortest straight allowed'],
  },
  bend: {
    radius: ['Radius', '100'], 'radius of': ['of its', '', { usual: ['centre line', 'centre'] }], angle: ['Angle', '90'], chord: ['or chord'],
    rise: ['and rise'], 'long way round': ['Long way'],
  },
  fitting: {
    id: ['Fitting', 'tee'], 'take out': ['Take-out', '60'], insert: ['Goes in by', '38'], 'stops short': ['Stops short', '1/2 OD'], price: ['Price', '3.20'],
    name: ['In full', 'clamp tee'], from: ['Take-out is from', '', { usual: ['the centre', 'centre'], words: { outside: 'the outside' } }],
    overhang: ['Stands over by'], joins: ['Ends that one piece joins', '1'], fits: ['Takes tube', 'al38, 42 mm', { list: true }],
    'fits with bushing': ['Takes with a bushing', '', { list: true }], bushing: ['That bushing', '', { kind: 'text' }], supplier: ['Supplier'], date: ['Price of', '2026-03-01'],
  },
  loose_fitting: { fitting: ['Fitting', 'foot', { kind: 'text' }], count: ['Count', '4'], job: ['Client\'s job'] },
  section: {
    name: ['Section', 'left'], longest: ['Longest piece', '1.8 m'], weight: ['Weight', '25 kg'], carries: ['Carries', '2.5 kg'],
    size: ['Packed size', '1200 x 600 x 400 mm'], door: ['Door', '800 x 2000 mm'], van: ['Van', '2 x 1.2 x 1 m'], riser: ['Riser', '2 x 1 m'],
  },
  supplier: {
    name: ['Supplier', 'Quay Metals'], freight: ['Freight', '30'], 'free freight from': ['Free from', '300'], 'valid until': ['Prices until', day],
    'prices of': ['Prices of', day], 'least order': ['Least order'], 'small order under': ['Small order, under'], 'small order charge': ['Charge for it'],
    'cut charge': ['Charge of a cut'], 'cuts a pack': ['Cuts in a pack'], 'free cuts': ['Free cuts'], 'least cut charge': ['Least charge for cuts'],
  },
  quote: {
    charge: ['Clients pay', '', { usual: ['no quote'], words: { 'length used': 'the length used', 'length plus percentage': 'the length plus a percentage' } }],
    percentage: ['Percentage', '15 %'], offcuts: ['Offcuts belong to', '', { words: { client: 'the client', shop: 'the shop' } }],
    waste: ['Waste is shared', '', { words: { 'by bar': 'bar by bar', 'by batch': 'over the batch', shop: 'not: the shop bears it' } }],
    markup: ['Markup on cost', '35 %'], margin: ['or margin on price'], 'round to': ['Prices rounded to', '0.50'], 'valid days': ['Valid for days', '30'],
    tax: ['Tax on all', '21 %'], 'tax name': ['Its name', 'VAT'],
  },
  'quote.tax': {
    tube: ['Tax on tube', 'none'], waste: ['Tax on waste', 'none'], cuts: ['Tax on cuts', 'none'], fittings: ['Tax on fittings', 'none'],
    delivery: ['Tax on delivery', 'none'], labour: ['Tax on labour', 'none'],
  },
  'quote.labour': {
    work: ['Work', 'sawing and deburring'], hours: ['Hours', '2.5'], rate: ['Rate', '45'],
    'no markup': ['Markup', '', { usual: ['with'], words: { yes: 'without' } }], job: ['Client\'s job'],
  },
};

const KINDS = { cap: 'count', remark: 'text', date: 'text' };
const TYPED = ['length', 'range', 'money', 'count'];

const saysOf = (record, key) => SAYS[record]?.[key] || (['bar', 'offcut'].includes(record) && SAYS.stock[key])
  || [key.charAt(0).toUpperCase() + key.slice(1)];

// A member: {key, title, hint, kind, list, values}. `values` of a choice: [[value, text]].
function member(record, { name: key, kind, choices }) {
  const [title, hint, more = {}] = saysOf(record, key);
  const [usual = 'no', usually] = more.usual || [kind === 'word' ? '' : 'no'];
  const words = kind === 'yes' ? ['yes'] : choices;
  return {
    key, title, hint: hint || null, told: { kind }, list: more.list, inner: ['inner', 'worth'].includes(kind) && !more.list && !more.kind ? kind : null,
    kind: more.kind || (TYPED.includes(KINDS[kind] || kind) ? KINDS[kind] || kind : 'text'),
    values: words ? [['', usual], ...words.filter((word) => word !== usually).map((word) => [word, more.words?.[word] || word])] : null,
  };
}

// All members of a record, in the order of the server's table.
export const members = (record) => records[record].map((one) => member(record, one));

export function memberOf(record, key) {
  const found = records[record].find((one) => one.name === key);
  if (!found) throw new Error(`${record || 'a job'} has no ${key}`);
  return member(record, found);
}

// Columns of a table; keys: those wanted, in this order; all where none are named.
export const columns = (record, keys) => (keys ? keys.map((key) => memberOf(record, key)) : members(record))
  .map(({ key, title, hint, kind, values }) => ({ key, title, hint, kind, ...(values ? { options: () => values } : {}) }));
