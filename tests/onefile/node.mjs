// SPDX-License-Identifier: GPL-3.0-or-later
// The application of dropwise.html without a browser: two copies of it in this process, one that
// answers and one that plans, and a store that may be told to fail.
// usage: the test bundles this with esbuild; DROPWISE_WASM names the module.

import { readFileSync } from 'node:fs';
import { Application } from '../../src/web/onefile/application.js';
import { Keeper } from '../../src/web/onefile/keeper.js';
import { plan } from '../../src/web/onefile/planner.js';

// As wide as characters of a typewriter: enough to lay out papers.
globalThis.OffscreenCanvas = class {
  getContext() { return { measureText: (text) => ({ width: 60 * [...text].length }) }; }
};

export const module = await WebAssembly.compile(readFileSync(process.env.DROPWISE_WASM));

export class Store {
  constructor() { Object.assign(this, { bytes: null, full: false, writes: 0 }); }

  async read() { return this.bytes; }

  async write(bytes) {
    if (this.full) throw new Error('the disk is full');
    this.writes += 1;
    this.bytes = bytes.slice();
  }
}

export async function begin(store = new Store()) {
  const watch = { progress: () => {} };
  const second = await Application.start(module, (bytes) => watch.progress(bytes));
  const planner = (work, progress) => {
    watch.progress = progress;
    return { ended: new Promise((done, failed) => { setTimeout(() => { try { done(plan(second, work)); } catch (why) { failed(why); } }, 0); }), stop: () => {} };
  };
  const keeper = new Keeper(await Application.start(module), store, planner);
  await keeper.begin();
  let token = '';
  const ask = async (method, path, body) => {
    const reply = await keeper.ask({ method, path, token, who: 'Ren%C3%A9e', body: body === undefined ? undefined : JSON.stringify(body) });
    const text = new TextDecoder().decode(reply.bytes);
    return { ...reply, text, json: reply.type === 'application/json' ? JSON.parse(text) : null };
  };
  token = (await ask('GET', '/api/session')).json.token;
  const follow = async (id) => {
    for (;;) {
      const { json } = await ask('GET', `/api/tasks/${id}`);
      if (json.state === 'done' || json.state === 'failed') return json;
      await new Promise((done) => { setTimeout(done, 5); });
    }
  };
  return { keeper, store, ask, follow };
}
