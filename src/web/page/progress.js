// SPDX-License-Identifier: GPL-3.0-or-later
// A task as it goes on, with a button that stops it.

import { post, follow } from './api.js';
import { h, button } from './dom.js';

// Shows the task in `box` and returns its result.
export async function watch(task, box, stopText) {
  const value = h('b', {}, '\u2026');
  const bound = h('span', {}, '');
  const time = h('span', { class: 'quiet' }, '');
  const best = h('p', { hidden: true }, 'Best so far: ', value, ' ', bound);
  const stop = button(stopText, async () => {
    stop.disabled = true;
    await post(`/api/tasks/${task}/stop`);
  });
  box.replaceChildren(h('div', { class: 'progress' }, best, h('p', { class: 'row' }, stop, time)));
  try {
    return await follow(task, (state) => {
      if (state.value !== undefined) {
        best.hidden = false;
        value.textContent = state.value;
        const left = Number(state.value) - Number(state.bound);
        bound.textContent = left > 0 ? `at most ${(Math.ceil(left * 100) / 100).toFixed(2)} could still be saved` : 'no cheaper plan exists';
      }
      time.textContent = state.state === 'waits' ? 'waiting for its turn' : `${(state.elapsed_ms / 1000).toFixed(1)} s`;
    });
  } finally {
    box.replaceChildren();
  }
}
