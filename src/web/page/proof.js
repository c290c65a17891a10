// SPDX-License-Identifier: GPL-3.0-or-later
// How good a plan is: what is proved of it, told apart from what a search or its maker says.

import { h, money } from './dom.js';

// Of a plan that is shown; it passed the verifier when it was stored.
export function proofOf(plan, group) {
  const what = group.materials.map((material) => material.id).join(', ');
  if (group.status === 'infeasible') return `${what}: there is not enough tube.`;
  const least = group.certificate.duals.length
    ? ` Proved by the prices of the parts in the plan: nothing costs less than ${money(plan, group.certificate.bound)}.` : '';
  const searched = group.proof === 'search';
  if (group.status === 'optimal')
    return searched
      ? `${what}: by the search that made it no cheaper plan exists; that is not proved again.${least}`
      : `${what}: proved: no cheaper plan exists.`;
  const gap = (Number(group.value) - Number(group.bound)).toFixed(2);
  return `${what}: ${group.status === 'stopped' ? 'stopped early. ' : ''}A cheaper plan may exist, but ${searched ? 'by the search that made it ' : ''}none that saves more than ${money(plan, gap)}.${searched ? least : ''}`;
}

function claimOf({ claimed }, sum) {
  if (claimed.status === 'infeasible') return claimed.proof === 'search' ? 'the search was completed and there is no way to cut it' : 'no way to cut it was found';
  if (claimed.status === 'optimal') return 'the search through all other ways was completed and no cheaper plan exists';
  return claimed.proof === 'search' ? `a search has shown that none costs less than ${sum(claimed.bound)}` : '';
}

// Of the verifier's word on a plan: what it proved of each group, and what is only claimed.
export function proved(found) {
  const sum = (amount) => money(found, amount);
  return h('ul', { class: 'proof' }, found.groups.map((group) => {
    const short = group.claimed.status === 'infeasible';
    const what = group.materials.map((material) => material.id).join(', ');
    const claim = claimOf(group, sum);
    if (group.settled) return h('li', { class: short ? '' : 'optimal' }, `${what}: proved: ${short ? "it can't be cut, since no bar gives one of its parts" : 'no cheaper plan exists'}.`);
    const least = group['proven bound'];
    const bound = Number(least) <= 0 && Number(group.value) > 0
      ? ' how much cheaper a plan could be is not proved.'
      : ` proved: nothing costs less than ${sum(least)}; this is ${sum(group.value)}.`;
    return h('li', {}, `${what}:${short ? '' : bound}`,
      claim ? ` Its maker claims that ${claim}; that is not proved here.` : '');
  }));
}
