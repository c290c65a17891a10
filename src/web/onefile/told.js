// SPDX-License-Identifier: GPL-3.0-or-later
// What has to be said outside the page's own views.

const ANOTHER = 'Dropwise is open in another tab or window of this browser, and two at once would write over each other\u2019s shelf. Go on there, or close it and load this one again.';

// `aside`: said where the page says things in passing; else it takes the page's place.
export function told(why, aside) {
  if (aside) {
    const said = document.getElementById('said');
    said.textContent = why;
    said.className = 'said wrong';
    return;
  }
  const head = document.createElement('h1');
  const says = document.createElement('p');
  head.textContent = why === 'taken' ? 'Open already' : 'This browser can\u2019t open it';
  says.textContent = why === 'taken' ? ANOTHER : why;
  document.getElementById('places').replaceChildren();
  document.getElementById('main').replaceChildren(head, says);
}
