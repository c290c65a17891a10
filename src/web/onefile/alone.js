// SPDX-License-Identifier: GPL-3.0-or-later
// What the page shows besides where it has no server: where the shelf is kept, how to have a copy of it, and
// what only a server can do.

const CHANGED = 'changed since copy';
const MANY = 20;

function element(tag, attributes, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

const COPY = '/api/shelf-file';
const copyLink = () => element('a', { class: 'button', href: COPY, download: 'dropwise-shelf.db' }, 'Save a copy');

// --- how much would be lost --------------------------------------------------------------------------

const changes = () => Number(localStorage.getItem(CHANGED) || 0);

// Hears of each request that was answered well.
export function noted(method, path) {
  if (path === COPY) localStorage.setItem(CHANGED, '0');
  else if (method !== 'GET' && /^\/api\/(documents|held|shelf|move|scrap|import|count|plans|undo|materials|rules)/.test(path)) localStorage.setItem(CHANGED, String(changes() + 1));
}

// A browser may clear what pages keep when its disk is full, unless it was asked not to.
let asked = null;
const kept = () => { asked ||= navigator.storage?.persist?.().catch(() => false) ?? Promise.resolve(false); return asked; };

function jobs() {
  if (changes() < MANY) return null;
  const note = element('p', { class: 'care' }, `${changes()} changes since the last copy of the shelf. It is in this browser alone. `, copyLink());
  kept();
  return note;
}

// --- copies ------------------------------------------------------------------------------------------

function keep(bring) {
  const file = element('input', { type: 'file', id: 'shelf-file', accept: '.db', class: 'hidden' });
  const says = element('p', { role: 'alert' });
  file.addEventListener('change', async () => {
    // eslint-disable-next-line no-alert
    if (!file.files[0] || !window.confirm('Put the shelf of this file in the place of the one that is here?')) return;
    try {
      await bring(new Uint8Array(await file.files[0].arrayBuffer()));
      localStorage.setItem(CHANGED, '0');
      window.location.hash = '#/shelf';
    } catch (why) { says.textContent = `It was not opened, and nothing is changed: ${why.message}`; }
    file.value = '';
  });
  return element('div', {}, element('p', { class: 'row' }, element('label', { class: 'button', for: 'shelf-file' }, 'Open a shelf\u2019s file'), file), says,
    element('p', { class: 'quiet' }, 'Shelf, jobs and plans are in this browser, on this device, in this profile. A copy is an ordinary file that another browser opens here, and the dropwise program as its shelf.'));
}

// --- what is not here --------------------------------------------------------------------------------

function settings() {
  return element('div', {}, element('h2', {}, 'Several people, or a phone beside the desk'),
    element('p', {}, 'One page has one shelf. For several at once, install dropwise on a computer of the shop and start ', element('code', {}, 'dropwise serve --lan --shelf FILE'),
      ' there, with a copy of this shelf as the file: every browser in the network then works on it.'));
}

// `bring` puts another shelf file in the place of this one.
export const alone = (bring) => ({ draws: (kind) => kind !== 'png', jobs, keep: () => keep(bring), settings });
