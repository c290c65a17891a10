// SPDX-License-Identifier: GPL-3.0-or-later
// What holds on this device, and for the whole shop.

import { get, put, drop } from './api.js';
import { h, show, say, button, choice, field } from './dom.js';
import { alone } from './alone.js';
import { place, shop, setShop } from './app.js';

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
    alone?.settings(),
    state.passphrase ? h('p', {}, button('Sign out', async () => { await drop('/api/session'); location.reload(); })) : null);
}
