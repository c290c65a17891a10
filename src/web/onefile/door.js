// SPDX-License-Identifier: GPL-3.0-or-later
// What stands between the page and the application where there is no server: requests go to a worker
// (worker.js). Injected into the page's bundle in place of the browser's own fetch and EventSource, so
// that the page does not know.

import { alone, noted } from './alone.js';
import { told } from './told.js';
import { paperView } from './paper_view.js';

const decode = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
const text = (id) => document.getElementById(id).textContent;

async function unpack(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Response(stream).arrayBuffer();
}

// --- the workers -----------------------------------------------------------------------------------

const waiting = new Map();
let last = 0;

// The one that plans, in the place of the one before; the two talk by a port of their own.
let planner = null;
function renew(keeper, module, address) {
  const { port1, port2 } = new MessageChannel();
  planner?.terminate();
  planner = new Worker(address);
  planner.onerror = (event) => keeper.postMessage({ fallen: event.message || 'the planner ended' });
  planner.postMessage({ role: 'planner', module, port: port1 }, [port1]);
  keeper.postMessage({ port: port2 }, [port2]);
}

function settle({ id, reply, failed }) {
  const asked = waiting.get(id);
  waiting.delete(id);
  if (failed === undefined) asked.done(reply);
  else asked.refused(new Error(failed));
}

const begun = (async () => {
  const module = await WebAssembly.compile(await unpack(decode(text('engine').trim())));
  const address = URL.createObjectURL(new Blob([text('beside')], { type: 'text/javascript' }));
  const keeper = new Worker(address);
  await new Promise((ready, refused) => {
    keeper.onerror = (event) => refused(new Error(event.message || 'this browser can\'t run it'));
    keeper.onmessage = ({ data }) => {
      if (data.ready) ready();
      else if (data.renew) renew(keeper, module, address);
      else if (data.taken) refused(new Error('taken'));
      else if (data.broken) refused(new Error(data.broken));
      else settle(data);
    };
    keeper.postMessage({ role: 'keeper', module });
  });
  return keeper;
})();
// Where it can't begin, what is told stays: nothing that the page asks is answered.
const ready = begun.catch((why) => {
  told(why.message);
  return new Promise(() => {});
});

async function tell(message) {
  const worker = await ready;
  last += 1;
  return new Promise((done, refused) => {
    waiting.set(last, { done, refused });
    worker.postMessage({ id: last, ...message });
  });
}

// --- in place of the browser's own ------------------------------------------------------------------

export async function fetch(path, { method = 'GET', headers = {}, body } = {}) {
  const reply = await tell({ request: { method, path, token: headers['X-Dropwise-Token'], who: headers['X-Dropwise-Who'], body } });
  if (reply.status < 300) noted(method, path.split('?')[0]);
  const read = () => new TextDecoder().decode(reply.bytes);
  return {
    status: reply.status, ok: reply.status >= 200 && reply.status < 300, type: reply.type, file: reply.file,
    text: async () => read(), json: async () => JSON.parse(read()), blob: async () => new Blob([reply.bytes], { type: reply.type }),
  };
}

// Nobody else changes the shelf while this tab has it: there is nothing to be told but that it is there.
export class EventSource {
  static CLOSED = 2;

  readyState = 1;

  addEventListener(what, hear) {
    if (what === 'open') setTimeout(hear, 0);
  }

  close() { this.readyState = EventSource.CLOSED; }
}

// For the page's own alone.js.
globalThis.dropwiseAlone = { ...alone((bytes) => tell({ bring: bytes })), fetch };

// --- links to what the application makes ------------------------------------------------------------

function save(blob, name) {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

async function follow(link) {
  const path = link.getAttribute('href');
  const reply = await fetch(path);
  if (!reply.ok) told((await reply.json()).error.text, true);
  else if (['application/pdf', 'image/svg+xml'].includes(reply.type)) paperView(await reply.text());
  else save(await reply.blob(), link.download || reply.file || path.split('/').pop());
}

document.addEventListener('click', (event) => {
  const link = event.target.closest?.('a[href^="/api/"]');
  if (!link) return;
  event.preventDefault();
  follow(link).catch((why) => told(why.message, true));
});
