// SPDX-License-Identifier: GPL-3.0-or-later
// The application compiled to WebAssembly (door.c), and its shelf: one file in its memory.

import create from 'dropwise.js';

const SHELF = '/shelf.db';

// Bytes 18 and 19 of a database file tell whether a log belongs to it. A file that was closed
// properly has none; here there never is one.
function withoutLog(bytes) {
  const file = new Uint8Array(bytes);
  if (file.length > 19 && file[18] === 2) file.set([1, 1], 18);
  return file;
}

export class Application {
  // `module`: compiled. `progress`: hears how far a task that runs here has come, as bytes.
  static async start(module, progress = () => {}) {
    const made = new Application();
    made.wasm = await create({
      instantiateWasm: (imports, done) => {
        WebAssembly.instantiate(module, imports).then((instance) => done(instance, module));
        return {};
      },
      print: () => {}, printErr: () => {}, progress,
    });
    return made;
  }

  // --- memory ------------------------------------------------------------------------------------

  call(name, result, ...values) {
    return this.wasm.ccall(name, result, values.map((value) => (typeof value === 'string' ? 'string' : 'number')), values);
  }

  bytes(at, n) {
    return this.wasm.HEAPU8.slice(at, at + n);
  }

  with(bytes, work) {
    const at = this.wasm._malloc(bytes.length + 1);
    if (!at) throw new Error('out of memory');
    try {
      this.wasm.HEAPU8.set(bytes, at);
      this.wasm.HEAPU8[at + bytes.length] = 0;
      return work(at, bytes.length);
    } finally { this.wasm._free(at); }
  }

  // --- the shelf ---------------------------------------------------------------------------------

  // `shelf`: bytes of its file, or null for a new one. Throws with the reason.
  open(shelf) {
    this.put(shelf);
    const why = this.call('dw_door_open', 'string');
    if (why) throw new Error(why);
  }

  close() {
    this.call('dw_door_close', null);
  }

  put(shelf) {
    const { FS } = this.wasm;
    if (FS.analyzePath(SHELF).exists) FS.unlink(SHELF);
    if (shelf) FS.writeFile(SHELF, withoutLog(shelf));
  }

  // Another file takes the shelf's place. Throws with the reason; then the old one is back.
  replace(shelf) {
    const old = this.shelf();
    this.call('dw_door_shelf_off', null);
    this.put(shelf);
    const why = this.call('dw_door_shelf_on', 'string');
    if (!why) return;
    this.call('dw_door_shelf_off', null);
    this.put(old);
    this.call('dw_door_shelf_on', 'string');
    throw new Error(why);
  }

  shelf() {
    return this.wasm.FS.readFile(SHELF);
  }

  // Changes with each transaction that changed the file (SQLite's counter at byte 24).
  state() {
    const { FS } = this.wasm;
    const file = FS.open(SHELF, 'r');
    const counter = new Uint8Array(4);
    FS.read(file, counter, 0, 4, 24);
    FS.close(file);
    return `${counter.join('.')}/${FS.stat(SHELF).size}`;
  }

  // --- a request ---------------------------------------------------------------------------------

  // {method, path with its query, token, who, body: text or bytes}; {status, type, file, bytes}
  ask({ method, path, token, who, body }) {
    const url = new URL(path, 'http://localhost');
    const query = [...url.searchParams].flat().map((text) => `${text}\0`).join('');
    const bytes = typeof body === 'string' ? new TextEncoder().encode(body) : body || new Uint8Array(0);
    const status = this.with(new TextEncoder().encode(query), (q, nq) => this.with(bytes, (b, n) =>
      this.wasm.ccall('dw_door_ask', 'number', ['string', 'string', 'number', 'number', 'string', 'string', 'number', 'number'],
        [method, decodeURIComponent(url.pathname), q, nq, token || '', who || '', b, n])));
    return {
      status,
      type: this.call('dw_door_type', 'string'),
      file: this.call('dw_door_file', 'string'),
      bytes: this.bytes(this.call('dw_door_bytes', 'number'), this.call('dw_door_n', 'number')),
    };
  }

  // --- tasks -------------------------------------------------------------------------------------

  // Does the task that the last call began: {result, error: bytes}.
  run() {
    const id = this.call('dw_door_run', 'number');
    const size = this.call('dw_door_error_size', 'number');
    return { error: this.bytes(this.call('dw_door_error', 'number', id), size), result: this.call('dw_door_result', 'string', id) };
  }

  begun(id) {
    this.call('dw_door_begun', null, id);
  }

  came(id, progress) {
    this.with(progress, (at) => this.call('dw_door_came', null, id, at));
  }

  ended(id, result, error) {
    this.with(error, (at) => this.wasm.ccall('dw_door_ended', null, ['number', 'string', 'number'], [id, result, at]));
  }

  // A task of which nothing came back.
  failed(id, why) {
    this.call('dw_door_failed', null, id, why);
  }
}
