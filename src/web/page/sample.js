// SPDX-License-Identifier: GPL-3.0-or-later
// A job to try the page with: a rack for a touring steelpan trio.

const part = (label, length, count, section) => ({ label, length, count, section });

export const sample = {
  dropwise: '1', name: 'Sample: steelpan trio rack', unit: 'mm', currency: 'EUR',
  saw: { kerf: '2.5 mm', squaring: '4 mm', 'cost per cut': '0.30' },
  rules: { keep: '350 mm', 'leftover worth': '50 %' },
  materials: [{ id: 'al38', name: 'aluminium 38 x 2.5', outside: '38 mm', wall: '2.5 mm' }],
  bars: [{ id: 'six', length: '6 m', price: '36.90' }, { id: 'four', length: '4 m', price: '26.40' }],
  parts: [part('upright', '1180', '6', 'left'), part('top rail', '978', '4', 'left'), part('pan cradle', '619.5', '6', 'right'),
    part('brace', '775', '4', 'right'), part('foot bar', '540', '6', 'left'), part('music arm', '462', '3', 'right')],
};
