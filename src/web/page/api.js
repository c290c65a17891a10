// SPDX-License-Identifier: GPL-3.0-or-later
// Requests to the server: JSON both ways, the session's token with every change.

import { when } from './dom.js';

let token = '';

export class Refused extends Error {
  constructor(status, body) {
    const error = (body && body.error) || {};
    super((error.text || 'the server does not answer').replace(/\d{4}-\d\d-\d\d(T[\d:]+Z| \d\d:\d\d UTC)/g, when));
    this.status = status;
    this.code = error.code || '';
    this.field = error.field || '';
    this.line = error.line;
    this.remarks = (body && body.remarks) || [];
  }
}

async function send(method, path, body) {
  const headers = {};
  const who = localStorage.getItem('who');
  if (who) headers['X-Dropwise-Who'] = encodeURIComponent(who);
  if (token) headers['X-Dropwise-Token'] = token;
  if (body !== undefined) headers['Content-Type'] = 'application/json';
  let answer;
  try {
    answer = await fetch(path, {
      method, headers, cache: 'no-store',
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch {
    throw new Refused(0, { error: { text: 'the server can\'t be reached: is dropwise serve still running?' } });
  }
  const json = await answer.json().catch(() => null);
  if (!answer.ok) throw new Refused(answer.status, json);
  return json;
}

export async function session() {
  const state = await send('GET', '/api/session');
  token = state.token || '';
  return state;
}

export async function enter(passphrase) {
  const state = await send('POST', '/api/session', { passphrase });
  token = state.token;
  return state;
}

// Asks once more with a new session when the old one has lapsed.
async function call(method, path, body) {
  try {
    return await send(method, path, body);
  } catch (error) {
    if (error.status !== 401 && error.code !== 'token') throw error;
    const state = await session();
    if (!state.open) {
      location.reload();
      throw error;
    }
    return send(method, path, body);
  }
}

export const get = (path) => call('GET', path);
export const post = (path, body) => call('POST', path, body || {});
export const put = (path, body) => call('PUT', path, body);
export const drop = (path) => call('DELETE', path);

const sleep = (ms) => new Promise((done) => { setTimeout(done, ms); });

// Follows a task to its end; `watch` sees each state. Throws when it failed.
export async function follow(id, watch) {
  for (let wait = 30; ; wait = Math.min(wait * 1.5, 500)) {
    const task = await get(`/api/tasks/${id}`);
    if (watch) watch(task);
    if (task.state === 'done') return task.result;
    if (task.state === 'failed') throw new Refused(422, { error: { text: task.error } });
    await sleep(wait);
  }
}
