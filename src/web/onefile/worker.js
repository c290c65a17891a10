// SPDX-License-Identifier: GPL-3.0-or-later
// What runs beside the page: the worker that answers, or, begun by it, the one that plans.

import { Application } from './application.js';
import { Keeper } from './keeper.js';
import { Store } from './store.js';
import { plan } from './planner.js';

// --- the planner -----------------------------------------------------------------------------------

// Whether the address is still good: it is taken back when the task is to end. A worker at work
// hears no messages.
function isRevoked(address) {
  const ask = new XMLHttpRequest();
  try {
    ask.open('GET', address, false);
    ask.send();
    return false;
  } catch { return true; }
}

async function planner(module) {
  let going = '';
  const app = await Application.start(module, { toStop: () => isRevoked(going), progress: (bytes) => postMessage({ progress: bytes }) });
  return ({ work, going: address }) => {
    going = address;
    try { postMessage({ done: plan(app, work) }); } catch (why) { postMessage({ failed: String(why) }); }
  };
}

// The planner as the keeper sees it: a new worker after one that failed.
function plannerAt(address, module) {
  let worker = null;
  const get = () => {
    if (!worker) {
      worker = new Worker(address);
      worker.postMessage({ role: 'planner', module });
    }
    return worker;
  };
  get();
  return (work, watch) => {
    const going = URL.createObjectURL(new Blob(['x']));
    const ended = new Promise((done, failed) => {
      const drop = (why) => { worker.terminate(); worker = null; failed(new Error(why)); };
      get().onmessage = ({ data }) => {
        if (data.progress) watch(data.progress);
        else if (data.done) done(data.done);
        else drop(data.failed);
      };
      worker.onerror = (event) => drop(event.message);
    }).finally(() => URL.revokeObjectURL(going));
    get().postMessage({ work, going });
    return { ended, stop: () => URL.revokeObjectURL(going) };
  };
}

// --- the keeper ------------------------------------------------------------------------------------

// The shelf is this tab's as long as it is open. false: another tab has it.
const claim = () => new Promise((done) => {
  navigator.locks.request('dropwise shelf', { ifAvailable: true }, (lock) => {
    done(Boolean(lock));
    return lock ? new Promise(() => {}) : null;
  });
});

async function keeper(module, address) {
  if (!await claim()) {
    postMessage({ taken: true });
    return () => {};
  }
  const keeps = new Keeper(await Application.start(module), await Store.open(), plannerAt(address, module));
  await keeps.begin();
  postMessage({ ready: true });
  return async ({ id, request, bring }) => {
    try {
      const reply = bring ? await keeps.bring(bring) : await keeps.ask(request);
      postMessage({ id, reply }, reply ? [reply.bytes.buffer] : []);
    } catch (why) { postMessage({ id, failed: why.message }); }
  };
}

// The first message says which of the two it is; those that come meanwhile wait.
let hears = null;
onmessage = async ({ data }) => {
  if (!hears) {
    hears = data.role === 'planner' ? planner(data.module) : keeper(data.module, data.address);
    hears.catch((why) => postMessage({ broken: why.message }));
  } else {
    (await hears)(data);
  }
};
