// SPDX-License-Identifier: GPL-3.0-or-later
// A view of a job drawn anew while somebody works in it: cursor, open folds and scroll stay where they
// were, the cursor with its row wherever that stands by now.

import { ROW } from './tree.js';

// "parts.3.length" as steps, rows by their identity.
function pathOf(tree, place) {
  let at = tree;
  return place.split('.').map((step) => {
    const row = Array.isArray(at) ? at[Number(step)]?.[ROW] : null;
    at = at?.[step];
    return row ? { row } : step;
  });
}

function placeOf(tree, path) {
  let at = tree;
  const steps = [];
  for (const step of path) {
    const key = step.row ? at?.findIndex?.((one) => one[ROW] === step.row) : step;
    if (key === -1 || key === undefined) return null;
    steps.push(key);
    at = at?.[key];
  }
  return steps.join('.');
}

const main = () => document.getElementById('main');
const folds = () => [...main().querySelectorAll('details')].map((fold) => [fold, fold.id || fold.querySelector('summary')?.textContent]);

// `before`: the tree that is shown; `draw` shows `after()`.
export async function redrawn(before, after, draw) {
  const active = document.activeElement;
  const path = active?.dataset?.place ? pathOf(before, active.dataset.place) : null;
  const id = !path && main().contains(active) ? active.id : '';
  const caret = path && active.matches('input[type=text]') ? [active.selectionStart, active.selectionEnd] : null;
  const open = new Map(folds().map(([fold, name]) => [name, fold.open]));
  const { scrollY } = window;
  await draw();
  for (const [fold, name] of folds()) if (open.has(name)) fold.open = open.get(name);
  const place = path && placeOf(after(), path);
  const element = place ? main().querySelector(`[data-place="${CSS.escape(place)}"]:is(input, select)`) : id ? document.getElementById(id) : null;
  if (element) {
    element.focus({ preventScroll: true });
    if (caret) element.setSelectionRange(...caret);
  }
  window.scrollTo(0, scrollY);
}
