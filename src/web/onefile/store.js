// SPDX-License-Identifier: GPL-3.0-or-later
// The shelf's file in the browser's own store, whole or not at all.

function asked(request) {
  return new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
}

export class Store {
  static async open() {
    const store = new Store();
    const request = indexedDB.open('dropwise', 1);
    request.onupgradeneeded = () => request.result.createObjectStore('files');
    store.db = await asked(request);
    return store;
  }

  async read() {
    return (await asked(this.db.transaction('files').objectStore('files').get('shelf'))) || null;
  }

  // Settled only when the browser has it on disk.
  write(bytes) {
    return new Promise((done, failed) => {
      const act = this.db.transaction('files', 'readwrite', { durability: 'strict' });
      act.oncomplete = done;
      act.onabort = () => failed(act.error);
      act.objectStore('files').put(bytes, 'shelf');
    });
  }
}
