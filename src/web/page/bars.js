// SPDX-License-Identifier: GPL-3.0-or-later
// Bars to scale. A piece can be tapped, or reached by key, and says what it is.

import { h, s } from './dom.js';

const HEIGHT = 46;

// The supply of a layout as its bar lies on the saw.
function barOf(supply) {
  return { supply: supply.id, source: supply.source, material: supply.material.id, place: supply.place, mark: supply.mark,
    length: supply.measured.nm ? supply.measured : supply.length };
}

// A piece with what the job says of its part; what the plan says of the piece itself goes before.
export function pieceOf(job, piece) {
  const part = piece.part ? job.parts?.[piece.part.index] : null;
  const client = part ? job.clients[part.job.index] : {};
  return { section: part?.section, remark: part?.remark, 'measure first': part?.['measure first'], ...(job.clients?.length > 1 ? { job: client.name } : {}),
    client: client.client, due: client.due, ...piece, label: piece.part?.label, part: piece.part?.index };
}

// The layouts of a plan, each with its bar, its marks and all that is known of its pieces.
export function layoutsOf(plan) {
  const supplies = new Map(plan.takes.map((take, i) => [take.supply.index, plan.supplies[i]]));
  return plan.layouts.map((layout, i) => ({ ...layout, ...barOf(supplies.get(layout.supply.index)), ...plan.squarings[i], marks: plan.marks[i],
    pieces: layout.pieces.map((piece) => pieceOf(plan, piece)) }));
}

const letter = (part) => {
  let text = '';
  for (let n = part; n >= 0; n = Math.floor(n / 26) - 1) text = String.fromCharCode(97 + (n % 26)) + text;
  return text;
};

// Pieces of a layout with their places on the bar, in nanometres, counts written out.
export function spread(layout, kerf) {
  let at = layout.trim_nm;
  const pieces = [];
  layout.pieces.forEach((piece) => {
    for (let i = 0; i < piece.count; i += 1) {
      pieces.push({ ...piece, at, mark: layout.marks ? layout.marks[pieces.length].running.text : '' });
      at += piece.length.nm + kerf;
    }
  });
  const end = layout.length.nm - (layout.far_trim_nm || 0);
  return { pieces, rest: { at, nm: Math.min(layout.leftover.nm, end - at) } };
}

export function nameOf(piece) {
  if (piece.use === 'bend end') return 'end of the bend';
  return `${piece.label}${piece.section ? `, section ${piece.section}` : ''}`;
}

export function describe(piece) {
  const use = { post: 'A post. ', surplus: 'One more than needed. ', 'bend end': 'Scrap. ' }[piece.use] || '';
  return `${use}${nameOf(piece)}: ${piece.length.text}${piece.mark ? `, far end at ${piece.mark} from the datum end` : ''}`;
}

// `longest`: length in nm that fills the width. `tap` is called with a piece.
export function bar(layout, { kerf, longest, width, tap }) {
  const scale = width / longest;
  const { pieces, rest } = spread(layout, kerf);
  const drawing = s('svg', {
    class: 'bar', width, height: HEIGHT, viewBox: `0 0 ${width} ${HEIGHT}`, role: 'group',
    'aria-label': `Bar ${layout.supply}, ${layout.length.text}`,
  });
  const square = (at, nm) => s('rect', { class: 'squared', x: at * scale, y: 5, width: Math.max(1.5, nm * scale), height: HEIGHT - 10 });
  drawing.append(s('rect', { class: 'tube', x: 0.5, y: 4.5, width: Math.max(1, layout.length.nm * scale - 1), height: HEIGHT - 9, rx: 2 }));
  if (rest.nm > 0 && layout.rest !== 'none') {
    const kept = layout.rest === 'kept';
    drawing.append(s('rect', { class: kept ? 'kept' : 'scrap', x: rest.at * scale, y: 5, width: Math.max(1, rest.nm * scale), height: HEIGHT - 10 }));
    if (rest.nm * scale > 104)
      drawing.append(s('text', { x: (rest.at + rest.nm / 2) * scale, y: HEIGHT / 2 + 4, 'text-anchor': 'middle', class: 'rest-text' },
        `${kept ? 'keep' : 'scrap'} ${layout.leftover.text}`));
  }
  if (layout.trim_nm > 0) drawing.append(square(0, layout.trim_nm));
  if (layout.far_trim_nm > 0) drawing.append(square(layout.length.nm - Math.max(layout.far_trim_nm, 1.5 / scale), layout.far_trim_nm));
  pieces.forEach((piece) => {
    const wide = piece.length.nm * scale;
    const press = () => tap(piece);
    const part = s('g', {
      class: `piece ${piece.use.replace(' ', '-')} tint-${piece.part === undefined ? 'x' : piece.part % 8}`, tabindex: 0, role: 'button',
      'data-part': piece.part === undefined ? '' : piece.part, 'aria-label': describe(piece),
      onclick: press,
      onkeydown: (event) => { if (event.key === 'Enter' || event.key === ' ') { event.preventDefault(); press(); } },
    }, s('rect', { x: piece.at * scale, y: 5, width: Math.max(2, wide), height: HEIGHT - 10 }));
    const name = piece.part === undefined ? '' : letter(piece.part);
    if (wide > 14) part.append(s('text', { x: (piece.at * scale) + wide / 2, y: wide > 80 ? 20 : HEIGHT / 2 + 4, 'text-anchor': 'middle' }, name));
    if (wide > 80) part.append(s('text', { x: (piece.at * scale) + wide / 2, y: 36, 'text-anchor': 'middle', class: 'size' }, piece.length.text));
    drawing.append(part);
  });
  return drawing;
}

// As the sheet says it.
export const sourceName = (layout) => ({ new: 'new bar', shelf: 'shelf bar', offcut: 'offcut' })[layout.source];

// The letter of a piece on the colour that it has in the drawing.
export const sign = (piece) => h('span', { class: `letter tint-${piece.part === undefined ? 'x' : piece.part % 8}` },
  piece.part === undefined ? '' : letter(piece.part));

// The list under a bar, for reading and for hands that can't hit a narrow piece.
export function legend(layout) {
  return h('ul', { class: 'pieces' },
    layout.pieces.map((piece) => h('li', {},
      sign(piece), ` ${piece.count > 1 ? `${piece.count} \u00d7 ` : ''}`, h('b', {}, piece.length.text), ` ${nameOf(piece)}`,
      piece.use === 'post' ? ' (post)' : piece.use === 'surplus' ? ' (one more than needed)' : '')),
    layout.rest === 'none' ? null : h('li', { class: 'rest' }, layout.rest === 'kept' ? 'keep ' : 'scrap ', h('b', {}, layout.leftover.text)),
    layout.squaring ? h('li', { class: 'rest quiet' }, layout.squaring) : null);
}
