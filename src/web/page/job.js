// SPDX-License-Identifier: GPL-3.0-or-later
// A job that is open: kept in the browser at each key, saved to the server, brought together with
// what others save.

import { get, post, put } from './api.js';
import { kept } from './kept.js';
import { merge, putAt, same } from './merge.js';
import { Past } from './past.js';
import { ROW, bare, identify, newId, prune, write } from './tree.js';

const SOON_MS = 400;
const WAITS_MS = [1000, 2000, 4000, 8000, 15000]; // between attempts to reach the server

// What a list of jobs tells of each, without reading it: name, client, day it is due.
const BETWEEN = ' | ';
const nameOf = (tree) => [(tree.name || 'Job without a name').slice(0, 60), (tree.client || '').slice(0, 40), (tree.due || '').slice(0, 20)]
  .map((text) => text.trim().replaceAll('|', '/')).join(BETWEEN).replace(/( \| )+$/, '');

// {name, client, due} of a job in a list.
export function entryOf(item) {
  const [name = '', client = '', due = ''] = (item.name || `Job ${item.key}`).split(BETWEEN);
  return { ...item, name, client, due };
}

// {tree, sendings}. Rows of a document that has no identities yet get the same ones wherever it is read. The sendings
// that came in, the last of each window, stand where a row has its identity: none is taken for somebody else's.
function read(document) {
  const { [ROW]: sendings = {}, ...tree } = JSON.parse(document.body);
  return { tree: identify(prune(tree), (i) => `${document.revision}.${i}`), sendings };
}

const WINDOWS = 12; // whose sendings are remembered

function withSending(sendings, { window, id }) {
  const others = Object.entries(sendings).filter(([name]) => name !== window).slice(1 - WINDOWS);
  return Object.fromEntries([...others, [window, id]]);
}

const hasSending = (sendings, sent) => Boolean(sent) && sendings[sent.window] === sent.id;

// What is saved of an open job, where it is kept, the time.
const DESK = {
  get: (key) => get(`/api/documents/job/${key}`),
  put: (key, body) => put(`/api/documents/job/${key}`, body),
  kept,
  now: () => Date.now(),
  later: (ms, work) => setTimeout(work, ms),
  stop: (timer) => clearTimeout(timer),
};

export class Job {
  constructor(document, desk = DESK) {
    this.key = document.key;
    this.desk = desk;
    this.past = new Past();
    this.listeners = new Set();
    this.clashes = [];
    this.sent = null; // what was sent and not answered yet
    this.state = { kind: 'saved' };
    this.failed = 0;
    this.take(document);
    this.tree = prune(this.base);
    this.seen = this.base;
    this.adopt();
  }

  take(document) {
    this.revision = document.revision;
    this.who = document.who;
    const { tree, sendings } = read(document);
    this.base = tree;
    this.sendings = sendings;
  }

  // Takes up what was kept and not sent: by this window before a reload, or by one that is gone.
  adopt() {
    const all = this.desk.kept().of(this.key);
    for (const { value: { base, mine, sent, clashes: open = [] } } of all) {
      const { tree, clashes } = merge(hasSending(this.sendings, sent) ? sent.tree : base, mine, this.mine());
      this.clashes.push(...open, ...clashes);
      this.replace(tree);
    }
    if (!all.length || !this.keep()) return;
    all.forEach((left) => this.desk.kept().done(left)); // it is this window's now
    if (this.pending) this.soon(0);
  }

  mine() {
    return prune(identify(this.tree, newId));
  }

  get changed() {
    return !same(this.base, this.mine());
  }

  // Is there anything that the server may not have?
  get pending() {
    return Boolean(this.sent) || this.clashes.length > 0 || this.changed;
  }

  // The tree is another one now; whoever shows it shows it anew.
  replace(tree) {
    if (same(tree, this.mine())) return;
    this.before = this.tree; // what is shown still
    this.tree = prune(tree);
    this.seen = prune(tree);
    this.tell('replaced');
  }

  // what: 'changed' here, 'replaced' as a whole, 'state' of saving, 'clash' to be asked about
  listen(hear) {
    this.listeners.add(hear);
    return () => this.listeners.delete(hear);
  }

  tell(what) {
    for (const hear of [...this.listeners]) hear(what, this);
  }

  say(kind, text = '') {
    if (this.state.kind === kind && this.state.text === text) return;
    this.state = { kind, text };
    this.tell('state');
  }

  // --- changes

  // Something was typed, added, taken away.
  touch() {
    const now = this.mine();
    if (same(now, this.seen)) return;
    this.past.add(this.seen, now, this.desk.now());
    this.seen = now;
    this.tell('changed');
    this.keep();
    this.soon(SOON_MS);
  }

  undo() { this.step(this.past.undo(this.mine())); }
  redo() { this.step(this.past.redo(this.mine())); }

  step(tree) {
    if (!tree) return;
    this.replace(tree);
    this.keep();
    this.soon(SOON_MS);
  }

  // In the browser, until the server has it. False where the browser keeps nothing.
  keep() {
    if (!this.pending) {
      this.desk.kept().drop(this.key);
      return true;
    }
    const safe = this.desk.kept().put(this.key, { base: this.base, mine: this.mine(), sent: this.sent, clashes: this.clashes });
    if (!['waiting', 'clash'].includes(this.state.kind)) this.say('saving', safe ? '' : 'this browser keeps nothing: don\u2019t leave before it is saved');
    return safe;
  }

  // --- saving

  soon(ms) {
    this.desk.stop(this.timer);
    this.timer = this.desk.later(ms, () => this.save().catch(() => {}));
  }

  // Saves one after the other, until the server has all of it. Throws when that can't be now.
  save() {
    this.desk.stop(this.timer);
    this.saving = (this.saving || Promise.resolve()).catch(() => {}).then(() => this.send());
    return this.saving;
  }

  async send() {
    try {
      while ((this.sent || this.changed) && !this.clashes.length) await this.sendOnce();
    } catch (error) {
      this.refused(error);
      throw error;
    }
    this.failed = 0;
    if (this.clashes.length) {
      this.say('clash');
      this.tell('clash');
      throw new Error('first say which of two changes holds');
    }
    this.keep();
    this.say('saved');
  }

  // Did the last sending come in, though no answer came?
  async ask() {
    const document = await this.desk.get(this.key);
    if (document.revision !== this.revision) this.meet(document);
    this.sent = null;
  }

  async sendOnce() {
    if (this.sent) {
      await this.ask();
      this.keep();
      if (this.clashes.length || !this.changed) return;
    }
    const sent = this.mine();
    this.sent = { window: this.desk.kept().own, id: newId(), tree: sent };
    this.keep();
    const sendings = withSending(this.sendings, this.sent);
    try {
      const saved = await this.desk.put(this.key, { name: nameOf(sent), body: JSON.stringify({ ...sent, [ROW]: sendings }), revision: this.revision });
      this.revision = saved.revision;
      this.base = sent;
      this.sendings = sendings;
      this.sent = null;
    } catch (error) {
      if (error.status) this.sent = null; // an answer: it did not come in
      if (error.code !== 'state') throw error;
      const theirs = await this.desk.get(this.key);
      if (theirs.revision === this.revision) throw error;
      this.meet(theirs);
    }
    this.keep();
  }

  refused(error) {
    if (error.status && error.status < 500 && error.status !== 401) {
      this.gone = error.status === 404;
      this.say('refused', this.gone ? 'somebody removed this job' : error.message);
      return;
    }
    this.say('waiting', error.message);
    this.soon(WAITS_MS[Math.min(this.failed, WAITS_MS.length - 1)]);
    this.failed += 1;
  }

  // --- others

  // Brings what another one saved together with what was changed here.
  meet(document) {
    const mine = this.mine();
    const known = this.base;
    this.take(document);
    // What was sent and never answered may have come in all the same.
    const before = hasSending(this.sendings, this.sent) ? this.sent.tree : known;
    this.sent = null; // known now; were it still to come, it would be refused
    const { tree, clashes } = merge(before, mine, this.base);
    this.clashes = [...this.clashes.filter((old) => !clashes.some((one) => same(one.path, old.path))), ...clashes];
    this.replace(tree);
    this.keep();
  }

  // Somebody saved this job: is there anything new? After what is being saved; an answer from before that is old.
  pull() {
    this.saving = (this.saving || Promise.resolve()).catch(() => {}).then(async () => {
      try {
        const document = await this.desk.get(this.key);
        if (document.revision > this.revision) this.meet(document);
      } catch (error) {
        this.refused(error);
        throw error;
      }
      await this.send();
    });
    return this.saving;
  }

  // chosen: of each clash 'mine' or 'theirs'.
  settle(chosen) {
    const tree = this.mine();
    this.clashes.forEach((clash, i) => {
      if (chosen[i] === 'theirs') putAt(tree, clash.path, clash.theirs, clash.after);
    });
    this.clashes = [];
    this.replace(tree);
    this.say('saving');
    this.keep();
    return this.save();
  }

  // What is not saved is wanted no more.
  leave() {
    this.desk.stop(this.timer);
    this.desk.kept().drop(this.key);
  }

  text() {
    return write(this.tree);
  }
}

// --- the jobs that are open ---------------------------------------------------------------------------

const open = new Map();
let hear = () => {};

// Whoever wants to hear what becomes of any open job.
export const hearJobs = (work) => { hear = work; };
export const openJobs = () => [...open.values()];

export async function jobOf(key) {
  if (!open.has(key)) {
    const job = new Job(await get(`/api/documents/job/${key}`));
    if (!open.has(key)) {
      open.set(key, job);
      job.listen((what) => hear(what, job));
      hear('state', job);
    }
  }
  return open.get(key);
}

export const forget = (key) => open.delete(key);

export async function add(tree) {
  return post('/api/documents/job', { name: nameOf(tree), body: JSON.stringify(identify(bare(tree), newId)) });
}

// Sends what an earlier visit left unsent.
export async function sendKept() {
  for (const key of kept().jobs()) {
    try {
      await jobOf(key);
    } catch {
      // its own page tells
    }
  }
}
