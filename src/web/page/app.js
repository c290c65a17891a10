// SPDX-License-Identifier: GPL-3.0-or-later
// Where the address leads: #/, #/job/3/parts, #/plan/7, #/saw/2, #/shelf ...

import { session, enter, get, put } from './api.js';
import { h, show, say, field } from './dom.js';
import { onNews, startListening } from './events.js';
import { hearJobs, openJobs, sendKept } from './job.js';

let settings = { revision: 0, body: {} };
let shopLoaded = Promise.resolve();
export const loaded = () => shopLoaded;

// The first view does not wait for the settings.
const isHome = (hash) => /^#?\/?$/.test(hash);

export const shop = () => settings.body;
export const paper = () => settings.body.paper || 'a4';

export async function setShop(body) {
  const saved = await put('/api/documents/settings/shop', { name: 'shop', body: JSON.stringify(body), revision: settings.revision });
  settings = { revision: saved.revision, body };
}

async function loadShop() {
  try {
    const saved = await get('/api/documents/settings/shop');
    settings = { revision: saved.revision, body: JSON.parse(saved.body) };
  } catch (error) {
    if (error.status !== 404) throw error;
  }
}

export function place(title) {
  document.title = `${title} \u2013 Dropwise`;
}

const routes = [
  [/^#?\/?$/, async () => (await import('./jobs.js')).jobs()],
  [/^#\/job\/([\w.-]+)\/parts$/, async (key) => (await import('./edit.js')).parts(key)],
  [/^#\/job\/([\w.-]+)\/tube$/, async (key) => (await import('./edit.js')).tube(key)],
  [/^#\/job\/([\w.-]+)\/plan$/, async (key) => (await import('./plan.js')).plan(key)],
  [/^#\/job\/([\w.-]+)\/plan\/now$/, async (key) => (await import('./plan.js')).planNow(key)],
  [/^#\/job\/([\w.-]+)\/lengths$/, async (key) => (await import('./lengths.js')).lengths(key)],
  [/^#\/plan\/(\d+)$/, async (key) => (await import('./plan.js')).result(key)],
  [/^#\/compare\/(\d+)\/(\d+)$/, async (a, b) => (await import('./plan.js')).compare(a, b)],
  [/^#\/saw$/, async () => (await import('./saw.js')).list()],
  [/^#\/saw\/(\d+)$/, async (held) => (await import('./atsaw.js')).atSaw(held)],
  [/^#\/saw\/(\d+)\/all$/, async (held) => (await import('./saw.js')).saw(held)],
  [/^#\/shelf$/, async () => (await import('./shelf.js')).list()],
  [/^#\/shelf\/(.+)$/, async (number) => (await import('./shelf.js')).piece(decodeURIComponent(number))],
  [/^#\/shelf-count$/, async () => (await import('./count.js')).count()],
  [/^#\/shelf-table$/, async () => (await import('./bring.js')).bring()],
  [/^#\/shelf-surplus$/, async () => (await import('./keep.js')).surplus()],
  [/^#\/shelf-history$/, async () => (await import('./log.js')).history()],
  [/^#\/shelf-keep$/, async () => (await import('./keep.js')).keep()],
  [/^#\/posts$/, async () => (await import('./posts.js')).posts()],
  [/^#\/posts\/([\w.-]+)$/, async (key) => (await import('./posts.js')).posts(key)],
  [/^#\/settings$/, async () => (await import('./settings.js')).settings()],
];

function places() {
  const list = [['#/', 'Jobs', /^#?\/?$|^#\/(job|plan|compare)/], ['#/saw', 'Saw', /^#\/saw/], ['#/shelf', 'Shelf', /^#\/(shelf|posts)/], ['#/settings', 'Settings', /^#\/settings/]];
  document.getElementById('places').replaceChildren(...list.map(([href, text, mine]) =>
    h('a', { href, 'aria-current': mine.test(location.hash) ? 'page' : null }, text)));
}

// What becomes of the jobs that are open: said at the top, asked where two changes clash.
const saving = () => import('./saving.js').then(({ showSaving }) => showSaving());
hearJobs((what, job) => {
  if (what === 'state') saving();
  if (what === 'clash') import('./clash.js').then(({ askClashes }) => askClashes(job));
});

// What others saved comes into the jobs that are open, and what waited for the server is sent.
onNews(({ what, key, revision }) => {
  for (const job of openJobs()) {
    const mine = what === 'job' && job.key === key && (revision === 0 || revision > job.revision);
    if (mine || what === 'all' || (what === 'here' && job.state.kind === 'waiting')) job.pull().catch(() => {});
  }
  if (what === 'settings' || what === 'all') loadShop().catch(() => {});
});

let first = true;
async function go() {
  places();
  saving();
  const match = routes.map(([form, work]) => [location.hash.match(form), work]).find(([found]) => found);
  try {
    if (match) await match[1](...match[0].slice(1));
    else show(h('h1', {}, 'Not here'), h('p', {}, 'There is no such page. ', h('a', { href: '#/' }, 'To the jobs')));
  } catch (error) {
    show(h('h1', {}, 'This did not work'), h('p', {}, error.message), h('p', {}, h('a', { href: '#/' }, 'To the jobs')));
  }
  if (!first) {
    document.getElementById('main').focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }
  first = false;
  document.documentElement.dataset.ready = location.hash || '#/';
}

function door(then) {
  place('Passphrase');
  const word = h('input', { type: 'password', autocomplete: 'current-password', required: true });
  show(h('h1', {}, 'Passphrase'), h('form', {
    onsubmit: async (event) => {
      event.preventDefault();
      try {
        await enter(word.value);
        then();
      } catch (error) { say(error.message, 'wrong'); }
    },
  }, field('It stands on the screen of the computer that serves this page', word), h('button', { class: 'main', type: 'submit' }, 'Enter')));
  word.focus();
}

// An address is a place of the page; a jump within it must not change it.
document.querySelector('.skip').addEventListener('click', (event) => {
  event.preventDefault();
  document.getElementById('main').focus();
});

async function begin() {
  const key = location.hash.match(/^#key=(.+)$/);
  if (isHome(location.hash)) import('./jobs.js'); // read while the session is asked for
  if (key) history.replaceState(null, '', '/');
  const inside = async () => {
    shopLoaded = loadShop();
    window.addEventListener('hashchange', go);
    if (!isHome(location.hash)) await shopLoaded;
    await Promise.all([shopLoaded, go()]);
    sendKept();
    startListening();
  };
  let state = await session();
  if (!state.open && key) state = await enter(decodeURIComponent(key[1])).catch(() => state);
  if (state.open) await inside();
  else door(inside);
}

begin().catch((error) => show(h('h1', {}, 'This did not work'), h('p', {}, error.message)));
