// SPDX-License-Identifier: GPL-3.0-or-later
// What runs beside the page: the worker that answers, or the one that plans. The page begins both: in
// a document opened from disk no worker may begin another.

import { Application } from './application.js';
import { Beside } from './beside.js';
import { Keeper } from './keeper.js';
import { Store } from './store.js';
import { plan } from './planner.js';

// --- the planner -----------------------------------------------------------------------------------

async function planner({ module, port }) {
  const app = await Application.start(module, (bytes) => port.postMessage({ progress: bytes }));
  port.onmessage = ({ data }) => {
    try {
      port.postMessage({ done: plan(app, data, (early) => port.postMessage({ early })) });
    } catch (why) { port.postMessage({ failed: String(why) }); }
  };
  return () => {};
}

// --- the keeper ------------------------------------------------------------------------------------

// The shelf is this tab's as long as it is open. false: another tab has it.
const claim = () => new Promise((done) => {
  navigator.locks.request('dropwise shelf', { ifAvailable: true }, (lock) => {
    done(Boolean(lock));
    return lock ? new Promise(() => {}) : null;
  });
});

// A page that is loaded again may come before the one it replaces is gone.
async function claimSoon() {
  for (let tries = 0; tries < 10; tries += 1) {
    if (await claim()) return true;
    await new Promise((next) => { setTimeout(next, 100); });
  }
  return false;
}

async function keeper({ module }) {
  if (!await claimSoon()) {
    postMessage({ taken: true });
    return () => {};
  }
  const beside = new Beside(() => postMessage({ renew: true }));
  const keeps = new Keeper(await Application.start(module), await Store.open(), (...work) => beside.run(...work));
  await keeps.begin();
  postMessage({ ready: true });
  return async ({ id, request, bring, port, fallen }) => {
    if (port) return beside.take(port);
    if (fallen) return beside.failed(fallen);
    try {
      const reply = bring ? await keeps.bring(bring) : await keeps.ask(request);
      return postMessage({ id, reply }, reply ? [reply.bytes.buffer] : []);
    } catch (why) { return postMessage({ id, failed: why.message }); }
  };
}

// The first message says which of the two it is; those that come meanwhile wait.
let hears = null;
onmessage = async ({ data }) => {
  if (hears) {
    (await hears)(data);
    return;
  }
  hears = data.role === 'planner' ? planner(data) : keeper(data);
  hears.catch((why) => postMessage({ broken: why.message }));
};
