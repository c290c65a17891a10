// SPDX-License-Identifier: GPL-3.0-or-later
// Cuts that were done at the saw, kept in the browser until the server has booked them: the network may
// drop between two bars. They are sent in their order, each once.

import { post } from './api.js';

const keyOf = (held) => `cuts/${held}`;

function read(held) {
  try {
    return JSON.parse(localStorage.getItem(keyOf(held))) || [];
  } catch {
    return [];
  }
}

function write(held, list) {
  if (list.length) localStorage.setItem(keyOf(held), JSON.stringify(list));
  else localStorage.removeItem(keyOf(held));
}

export const waiting = (held) => read(held);

export function add(held, tick) {
  write(held, [...read(held).filter((one) => one.bar !== tick.bar), tick]);
}

export function drop(held, bar) {
  write(held, read(held).filter((one) => one.bar !== bar));
}

let sending = Promise.resolve();

// Sends what waits. told({bar, done}) of each that was booked, told({bar, error}) of each that was refused; ends where
// the server is away.
export function send(held, told) {
  sending = sending.catch(() => {}).then(async () => {
    for (;;) {
      const [tick] = read(held);
      if (!tick) return;
      let done = null;
      let error = null;
      try {
        const { bar, number, place } = tick;
        done = await post(`/api/held/${held}/cut`, { bar, place: place || null, ...(number ? { number } : {}) });
      } catch (why) {
        if (!why.status || why.status >= 500) throw why;
        error = why;
      }
      drop(held, tick.bar);
      await told({ ...tick, done, error });
    }
  });
  return sending;
}
