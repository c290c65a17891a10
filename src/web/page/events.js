// SPDX-License-Identifier: GPL-3.0-or-later
// What others change, heard at once: the server tells it over a connection that stays open while the
// page is in sight. Whatever may have been missed in between is read anew.

import { session } from './api.js';

let source = null;
let missed = false; // something may have happened that was not heard
const hearers = new Set();

function tell(news) {
  for (const hear of [...hearers]) hear(news);
}

function listen() {
  if (source || document.hidden) return;
  source = new EventSource('/api/events');
  source.addEventListener('open', () => {
    if (missed) tell({ what: 'all', key: '', revision: 0 });
    missed = true;
    tell({ what: 'here' });
  });
  source.addEventListener('message', (event) => tell(JSON.parse(event.data)));
  source.addEventListener('error', () => {
    tell({ what: 'away' });
    if (source?.readyState !== EventSource.CLOSED) return; // the browser comes again by itself
    source = null;
    setTimeout(() => session().catch(() => {}).then(listen), 1500); // a server that was started anew knows no session
  });
}

function rest() {
  source?.close();
  source = null;
}

// A browser keeps few connections to one server: a window out of sight needs none.
export function startListening() {
  listen();
  document.addEventListener('visibilitychange', () => (document.hidden ? rest() : listen()));
}

// news: {what: 'job' | 'settings' | 'plans' | 'shelf' | 'all', key, revision}, or 'here' and 'away' of the server.
export const onNews = (hear) => hearers.add(hear);

// Hears as long as the view that is shown now is shown.
let leaveOld = () => {};
export function whileHere(hear) {
  leaveOld();
  const here = location.hash;
  const own = (news) => {
    if (location.hash === here) hear(news);
    else hearers.delete(own);
  };
  hearers.add(own);
  leaveOld = () => hearers.delete(own);
}
