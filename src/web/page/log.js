// SPDX-License-Identifier: GPL-3.0-or-later
// What happened on the shelf, the last step first, and undoing it.

import { get } from './api.js';
import { h, show, say, button, when } from './dom.js';
import { place } from './app.js';
import { around, query, linkTo, takeBack, deed } from './pieces.js';

// "shelf to held by plan 3, 6000 mm to 5990 mm, to rack 2"
export function change(event) {
  const parts = [];
  if (event.before === null) parts.push(`${event.length.text} ${event.state === 'shelf' ? 'to the shelf' : event.state}`);
  else if (event.before !== event.state) parts.push(`${event.before} to ${event.state}`);
  if (event.plan) parts.push(`plan ${event.plan}`);
  if (event.before !== null && event.from_length.nm !== event.length.nm) parts.push(`${event.from_length.text} to ${event.length.text}`);
  if ((event.before === null ? '' : event.from_place || '') !== (event.place || '')) parts.push(event.place ? `at ${event.place}` : 'no place');
  return `${parts.join(', ') || 'as before'}${event.note ? `; ${event.note}` : ''}${event.undone ? ' (undone)' : ''}`;
}

// Of a step that moved no piece.
function still(event) {
  return `${event.told}${event.note ? `; ${event.note}` : ''}${event.undone ? ' (undone)' : ''}`;
}

// Events of one step together, the last step first.
function steps(events) {
  const all = new Map();
  for (const event of events) all.set(event.step, [...(all.get(event.step) || []), event]);
  return [...all.values()].reverse();
}

function block(events, undoable, undo, before) {
  const [first] = events;
  const early = before && new Date(first.when) < new Date(before[0].when);
  const mine = first.step === undoable;
  return h('li', { class: first.undone ? 'undone step' : 'step' },
    h('p', {}, h('b', {}, `Step ${first.step}: ${first.what}`), ` ${when(first.when)}${first.who ? `, ${first.who}` : ''}`, early ? h('b', {}, ' dated before the step before it') : null),
    h('ul', {}, events.slice(0, 20).map((event) => h('li', {}, event.number ? linkTo(event.number) : null, event.number ? ` ${change(event)}` : still(event))),
      events.length > 20 ? h('li', {}, `and ${events.length - 20} more`) : null),
    mine ? button(`Undo step ${first.step}`, () => undo(first.step)) : null);
}

export async function history(last = 60, focus = false) {
  place('History of the shelf');
  const answer = await get(`/api/history${query({ last })}`);
  const alert = h('p', { class: 'wrong', role: 'alert' });
  const undo = async (step) => {
    const another = (answer.undo.who || '') !== (localStorage.getItem('who') || '');
    // eslint-disable-next-line no-alert
    if (another && !window.confirm(`Step ${step} is another's: ${deed(answer.undo)}. Take it back all the same?`)) return;
    try {
      const said = await takeBack(step);
      await history(last, true);
      say(said);
    } catch (error) {
      alert.textContent = error.message;
    }
  };
  const list = steps(answer.history);
  const inList = list.some(([first]) => first.step === answer.undoable);
  show(around('shelf-history'), h('h1', { tabindex: '-1' }, 'What happened'),
    h('p', { class: 'quiet' }, 'Nothing is ever rewritten: an undone step stays in the history, marked as such. Only the last step in force can be undone.'), alert,
    answer.undoable && !inList ? h('p', {}, button(`Undo step ${answer.undoable}`, () => undo(answer.undoable)), ` ${deed(answer.undo)}`) : null,
    list.length ? h('ul', { class: 'plain' }, list.map((events, i) => block(events, answer.undoable, undo, list[i + 1]))) : h('p', {}, 'Nothing has happened yet.'),
    answer.history.length === last && last < 1000 ? button('Show more', () => history(Math.min(1000, last * 4))) : null);
  if (focus) document.querySelector('main h1').focus();
}
