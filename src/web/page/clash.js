// SPDX-License-Identifier: GPL-3.0-or-later
// Two people wrote something else in the same place: one of them, or each place by itself, is chosen.

import { h, id, button, plural } from './dom.js';
import { ROW } from './tree.js';

const WORDS = { parts: 'Part', posts: 'Post', bars: 'Bar', materials: 'Tube', offcuts: 'Offcut', fittings: 'Fitting', sections: 'Section', suppliers: 'Supplier', jobs: 'Client\u2019s job' };
const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
const nameOf = (row) => row && (row.label || row.name || row.id || row.fitting || row.length || row.from);

// "Part upright: length"
function where(job, { path, base, mine, theirs }) {
  const words = [];
  let at = job.tree;
  path.forEach((step, i) => {
    const last = i === path.length - 1;
    at = step.row ? at?.find?.((row) => row[ROW] === step.row) : at?.[step];
    if (step.row) words.push(nameOf(at) || (last && nameOf(base || mine || theirs)) || '');
    else words.push(WORDS[step] || step);
  });
  return capital(words.filter(Boolean).join(' '));
}

function told(value, row) {
  if (value === undefined) return row ? 'removed' : 'nothing';
  if (typeof value === 'string') return value;
  if (Array.isArray(value)) return value.map((one) => told(one)).join(', ');
  return Object.entries(value).filter(([key, item]) => key !== ROW && typeof item === 'string').map(([key, item]) => `${key} ${item}`).join(', ') || 'something';
}

function question(job, clash, i, chosen) {
  const row = Boolean(clash.path[clash.path.length - 1].row);
  const option = (whose, label) => {
    const key = id('clash');
    return h('div', { class: 'pick' }, h('input', { type: 'radio', id: key, name: `clash-${i}`, checked: whose === 'mine', onchange: () => { chosen[i] = whose; } }),
      h('label', { for: key }, h('span', { class: 'quiet' }, `${label}: `), h('b', {}, told(clash[whose], row))));
  };
  return h('fieldset', {}, h('legend', {}, where(job, clash)), option('mine', 'Yours'), option('theirs', job.who || 'Theirs'));
}

let shown = null;

// Asks once for all that clashes by now.
export function askClashes(job) {
  shown?.remove();
  const chosen = job.clashes.map(() => 'mine');
  const dialog = shown = h('dialog', { class: 'clashes', 'aria-labelledby': 'clash-title', onclose: () => dialog.remove() },
    h('h2', { id: 'clash-title', tabindex: '-1' }, `${job.who || 'Somebody else'} changed ${plural(chosen.length, 'thing', 'things')} that you changed too`),
    h('p', {}, 'All other changes of both are in the job. Which is right here?'),
    job.clashes.map((clash, i) => question(job, clash, i, chosen)),
    h('div', { class: 'row' }, button('Keep what is marked', () => {
      dialog.close();
      job.settle(chosen).catch(() => {});
    }, 'main', { id: 'settle' }), button('Later', () => dialog.close())));
  document.body.append(dialog);
  dialog.showModal();
  dialog.querySelector('h2').focus();
}
