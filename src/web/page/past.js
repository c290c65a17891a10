// SPDX-License-Identifier: GPL-3.0-or-later
// What was done to a job in this window, to be undone and done again. What another one changed since
// stays: only the own change is taken back.

import { differences, merge } from './merge.js';

const MOST = 200;
const ONE_GO_MS = 1200; // keys that follow each other so quickly in one place are one step

const placed = (path) => JSON.stringify(path);

export class Past {
  constructor() {
    this.steps = []; // [{before, after, place, at}]
    this.undone = [];
  }

  add(before, after, at) {
    const paths = differences(before, after);
    if (!paths.length) return;
    const place = paths.length === 1 ? placed(paths[0]) : null;
    const last = this.steps[this.steps.length - 1];
    this.undone = [];
    if (last && place && last.place === place && at - last.at < ONE_GO_MS) {
      Object.assign(last, { after, at });
      return;
    }
    this.steps.push({ before, after, place, at });
    if (this.steps.length > MOST) this.steps.shift();
  }

  get canUndo() { return this.steps.length > 0; }
  get canRedo() { return this.undone.length > 0; }

  // The tree without the last step, or with it once more; null where there is none.
  undo(now) {
    const step = this.steps.pop();
    if (!step) return null;
    this.undone.push({ ...step, place: null });
    return merge(step.after, step.before, now, 'theirs').tree;
  }

  redo(now) {
    const step = this.undone.pop();
    if (!step) return null;
    this.steps.push(step);
    return merge(step.before, step.after, now, 'theirs').tree;
  }
}
