// SPDX-License-Identifier: GPL-3.0-or-later
// Answers requests one after the other, keeps the shelf in the store before it says that something
// is done, and has tasks run by a planner beside it.
//
// A task is done by answering the same request once more elsewhere, on a copy of the shelf: what it
// wrote there becomes the shelf. So nothing else may write meanwhile: such requests wait.

const PURE = /^\/api\/(session|read|table|check|open|verify|takeoff|tasks\/\d+\/stop)$/;

const error = (status, code, text) => ({
  status, type: 'application/json', file: '', bytes: new TextEncoder().encode(JSON.stringify({ error: { code, text } })),
});

export class Keeper {
  // `store`: {read, write}. `planner`: (work, progress) -> {ended, stop}; see beside.js.
  constructor(app, store, planner) {
    Object.assign(this, { app, store, planner, last: Promise.resolve(), busy: Promise.resolve(), running: null });
  }

  async begin() {
    const shelf = await this.store.read();
    this.app.open(shelf);
    this.kept = shelf || this.app.shelf();
    this.state = shelf ? this.app.state() : '';
    if (!shelf) await this.keep();
  }

  // Writes the shelf if it has changed; puts back what the store has where that fails.
  async keep() {
    const state = this.app.state();
    if (state === this.state) return null;
    const shelf = this.app.shelf();
    try {
      await this.store.write(shelf);
    } catch (why) {
      this.app.replace(this.kept);
      this.state = this.app.state();
      return `this browser could not keep it, and it was not done: ${why && why.message ? why.message : 'no room'}`;
    }
    this.kept = shelf;
    this.state = state;
    return null;
  }

  // One after the other, and not while a task runs: also one that a request before it has yet to begin.
  inTurn(work) {
    const done = this.last.then(() => this.busy).then(work);
    this.last = done.catch(() => {});
    return done;
  }

  ask(request) {
    const path = request.path.split('?')[0];
    return request.method === 'GET' || PURE.test(path) ? this.look(request, path) : this.inTurn(() => this.change(request));
  }

  // What leaves the shelf as it is need not wait.
  async look(request, path) {
    const reply = this.app.ask(request);
    const stop = path.match(/^\/api\/tasks\/(\d+)\/stop$/);
    if (stop && this.running && this.running.id === Number(stop[1])) this.running.stop();
    return reply;
  }

  async change(request) {
    const reply = this.app.ask(request);
    const wrong = await this.keep();
    if (wrong) return error(507, 'full', wrong);
    if (reply.status === 202) this.start(request, JSON.parse(new TextDecoder().decode(reply.bytes)).task);
    return reply;
  }

  start(request, id) {
    this.app.begun(id);
    const { ended, stop } = this.planner({ request, shelf: this.app.shelf() }, (progress) => this.app.came(id, progress));
    this.running = { id, stop };
    this.busy = ended.then((done) => this.finish(id, done), (why) => this.app.failed(id, why.message)).then(() => { this.running = null; });
  }

  async finish(id, { result, error: why, shelf }) {
    if (shelf) {
      this.app.replace(shelf);
      const wrong = await this.keep();
      if (wrong) {
        this.app.failed(id, wrong);
        return;
      }
    }
    this.app.ended(id, result, why);
  }

  // A shelf file from elsewhere takes this one's place. Throws with the reason.
  bring(shelf) {
    return this.inTurn(async () => {
      this.app.replace(shelf);
      const wrong = await this.keep();
      if (wrong) throw new Error(wrong);
    });
  }
}
