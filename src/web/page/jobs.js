// SPDX-License-Identifier: GPL-3.0-or-later
// All jobs; a new one, or one from a file; the shop's settings.

import { get, put, drop } from './api.js';
import { h, show, say, button, choice, field, when } from './dom.js';
import { add, forget } from './job.js';
import { empty } from './tree.js';
import { readJob, whereIn } from './files.js';
import { loaded, place, shop, setShop } from './app.js';

async function start(tree) {
  try {
    const made = await add(tree);
    location.hash = `#/job/${made.key}/parts`;
  } catch (error) { say(error.message, 'wrong'); }
}

async function openFiles(files) {
  try {
    await start(await readJob(files));
  } catch (error) { say(whereIn(error), 'wrong'); }
}

export async function jobs() {
  place('Jobs');
  const { documents } = await get('/api/documents/job');
  const file = h('input', { type: 'file', id: 'job-file', multiple: true, accept: '.yaml,.yml,.json,.csv,.tsv,.txt', class: 'hidden', onchange: () => file.files[0] && openFiles(file.files) });
  show(h('h1', {}, 'Jobs'),
    documents.length ? h('ul', { class: 'plain big' }, documents.map((item) => h('li', {},
      h('a', { href: `#/job/${item.key}/parts` }, item.name || `Job ${item.key}`),
      h('span', { class: 'quiet' }, ` ${when(item.when)}${item.who ? `, ${item.who}` : ''}`),
      button('\u00d7', async () => {
        // eslint-disable-next-line no-alert
        if (!window.confirm(`Remove the job ${item.name || item.key}? Its plans stay.`)) return;
        try {
          await drop(`/api/documents/job/${item.key}?revision=${item.revision}`);
          forget(item.key);
          jobs();
        } catch (error) { say(error.message, 'wrong'); }
      }, 'plain small', { 'aria-label': `Remove job ${item.name || item.key}` }))))
      : h('p', { class: 'lead' }, 'Paste a cut list, say which bars can be bought, and see how to cut them for the least money.'),
    h('div', { class: 'row' }, button('New job', async () => { await loaded(); start(empty(shop())); }, 'main'),
      h('label', { class: 'button', for: 'job-file' }, 'Open a job file'), file),
    h('p', { class: 'quiet' }, 'A job that names tables (CSV) is chosen together with them.'));
}

export async function settings() {
  place('Settings');
  const now = { ...shop() };
  const who = h('input', { type: 'text', value: localStorage.getItem('who') || '', autocomplete: 'name', oninput: (event) => localStorage.setItem('who', event.target.value.trim()) });
  const save = (key) => async (event) => {
    now[key] = event.target.value;
    try {
      await setShop(now);
      if (key === 'unit') await put('/api/rules', { rules: { unit: now.unit } }); // the shelf's lengths too
      say('Saved for the whole shop.');
    } catch (error) { say(error.message, 'wrong'); }
  };
  const state = await get('/api/session');
  show(h('h1', {}, 'Settings'), h('h2', {}, 'On this device'),
    h('div', { class: 'fields' }, field('Your name, for the history', who)),
    h('h2', {}, 'For the shop'),
    h('div', { class: 'fields' },
      field('Lengths in', choice([['mm', 'mm'], ['cm', 'cm'], ['m', 'm'], ['in', 'inches'], ['ft', 'feet']], now.unit || 'mm', { onchange: save('unit') })),
      field('Money in', choice(['EUR', 'USD', 'GBP', 'CHF', 'CAD', 'AUD', 'SEK', 'NOK', 'DKK', 'PLN', 'CZK', 'JPY'].map((code) => [code, code]), now.currency || 'EUR', { onchange: save('currency') })),
      field('Paper', choice([['a4', 'A4'], ['letter', 'Letter']], now.paper || 'a4', { onchange: save('paper') }))),
    state.lan ? [h('h2', {}, 'Another device'), h('p', {}, 'Scan this with a phone in the same network, then type the passphrase:'),
      h('img', { src: '/api/address.svg', alt: 'Code with the address of this page', width: 160, height: 160, class: 'code' })] : null,
    state.passphrase ? h('p', {}, button('Sign out', async () => { await drop('/api/session'); location.reload(); })) : null);
}

