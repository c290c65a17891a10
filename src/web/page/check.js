// SPDX-License-Identifier: GPL-3.0-or-later
// The whole job, checked by the server while it is edited: remarks stand at their cells.

import { post } from './api.js';
import { h, plural } from './dom.js';
import { placeOf, isBlank } from './tree.js';

// The element of a remark's place, or of the nearest thing around it.
function find(place) {
  for (let at = place; at; at = at.includes('.') ? at.slice(0, at.lastIndexOf('.')) : '') {
    const element = document.querySelector(`[data-place="${CSS.escape(at)}"]`);
    if (element) return element;
  }
  return null;
}

// Opens what hides a place and puts the cursor there.
function goTo(place) {
  let element = find(place);
  const unfold = element.matches('tr') && element.dataset.place !== place && element.querySelector('.unfold[aria-expanded="false"]');
  if (unfold) {
    unfold.click();
    element = find(place);
  }
  for (let around = element.closest('details'); around; around = around.parentElement.closest('details')) around.open = true;
  const target = element.matches('input, select') ? element : element.querySelector('input, select');
  (target || element).focus();
}

function whereOf(place) {
  const steps = place.split('.').filter(Boolean);
  return steps.map((step) => (/^\d+$/.test(step) ? `row ${Number(step) + 1}` : step)).join(', ');
}

export async function check(job, box) {
  const { text, places } = job.text();
  const answer = await post('/api/check', { text });
  document.querySelectorAll('.remarked').forEach((element) => element.classList.remove('remarked'));
  const tubeToCome = (job.tree.bars || []).every(isBlank);
  const empty = !Array.isArray(job.tree.jobs) && [...(job.tree.parts || []), ...(job.tree.posts || [])].every(isBlank);
  const told = answer.remarks.filter((remark) => !(empty && /`parts` is missing/.test(remark.text))).filter((remark) => remark.severity === 'wrong'
    || (remark.severity === 'doubt' && !(tubeToCome && /^there is no bar/.test(remark.text))));
  const rows = told.map((remark) => {
    const place = placeOf(places, remark.line);
    const element = find(place);
    if (element && remark.severity === 'wrong') element.classList.add('remarked');
    const where = whereOf(place);
    return h('li', { class: remark.severity },
      h('span', {}, where ? h('b', {}, `${where}: `) : null, remark.text),
      element ? h('a', {
        href: '#', class: 'goto', onclick: (event) => {
          event.preventDefault();
          goTo(place);
        },
      }, 'show') : null);
  });
  const sum = answer.good
    ? `${plural(answer.n_parts, 'piece', 'pieces')}, ${answer.net.text} of tube in all${answer.n_posts ? `, ${answer.n_posts} optional` : ''}.` : '';
  // Tubes that are planned together, and the bars that no plan can do without.
  const groups = (answer.groups || []).filter((group) => group.n_parts && group.least_bars);
  const each = groups.map((group) => `${group.materials.join(' or ')}: ${plural(group.n_parts, 'piece', 'pieces')}, ${group.net.text}, at least ${plural(group.least_bars, 'bar', 'bars')} of the longest`);
  const notes = answer.remarks.filter((remark) => remark.severity === 'note');
  const open = Boolean(box.querySelector('details.notes[open]'));
  box.replaceChildren(
    ...(empty ? [h('p', { class: 'quiet' }, 'Nothing is to be cut yet: paste a list, or write the first part.')] : []),
    ...(sum ? [h('p', { class: 'sum' }, sum)] : []),
    ...(each.length ? [h('ul', { class: 'quiet' }, each.map((text) => h('li', {}, text)))] : []),
    ...(rows.length ? [h('ul', { class: 'remarks' }, rows.slice(0, 30))] : []),
    ...(notes.length ? [h('details', { class: 'notes', open }, h('summary', {}, notes.length === 1 ? 'A note on how it was read' : `${notes.length} notes on how it was read`),
      h('ul', {}, notes.slice(0, 30).map((remark) => h('li', {}, remark.text))))] : []),
    ...(rows.length > 30 ? [h('p', { class: 'quiet' }, `and ${rows.length - 30} more`)] : []));
  return answer;
}
