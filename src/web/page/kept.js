// SPDX-License-Identifier: GPL-3.0-or-later
// What the server does not have yet, kept in the browser: a reload, a crash or a server that is away
// loses nothing. Each window keeps its own; what a window left behind is taken up by the next.

const LEAD = 'unsent/';

// One window's keeping, in a store like localStorage.
export class Kept {
  constructor(store, own) {
    this.store = store;
    this.own = own;
  }

  // False where the browser keeps nothing.
  put(job, value) {
    try {
      this.store.setItem(`${LEAD}${job}/${this.own}`, JSON.stringify(value));
      return true;
    } catch {
      return false;
    }
  }

  drop(job) {
    this.store.removeItem(`${LEAD}${job}/${this.own}`);
  }

  keys() {
    return Array.from({ length: this.store.length }, (_, i) => this.store.key(i)).filter((key) => key?.startsWith(LEAD));
  }

  // Jobs of which something is kept.
  jobs() {
    return [...new Set(this.keys().map((key) => key.slice(LEAD.length).split('/')[0]))];
  }

  // All that is kept of a job: [{name, text, value}], this window's own first.
  of(job) {
    const mine = `${LEAD}${job}/${this.own}`;
    return this.keys().filter((key) => key.startsWith(`${LEAD}${job}/`)).sort((a, b) => (b === mine) - (a === mine))
      .flatMap((name) => {
        const text = this.store.getItem(name);
        try {
          return [{ name, text, value: JSON.parse(text) }];
        } catch {
          return [];
        }
      });
  }

  // What another window left is done with, unless it has written anew since.
  done({ name, text }) {
    if (!name.endsWith(`/${this.own}`) && this.store.getItem(name) === text) this.store.removeItem(name);
  }
}

function windowName() {
  let name = sessionStorage.getItem('window');
  if (!name) sessionStorage.setItem('window', name = Math.random().toString(36).slice(2, 10));
  return name;
}

let ours = null;
export function kept() {
  ours ||= new Kept(localStorage, windowName());
  return ours;
}
