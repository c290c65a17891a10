// SPDX-License-Identifier: GPL-3.0-or-later
// All jobs, found, copied, begun anew or from a file.

import { get, drop } from './api.js';
import { h, show, say, button, field, later, when } from './dom.js';
import { whileHere } from './events.js';
import { add, entryOf, forget } from './job.js';
import { empty } from './tree.js';
import { alone } from './alone.js';
import { loaded, place, shop } from './app.js';

async function start(tree) {
  try {
    const made = await add(tree);
    location.hash = `#/job/${made.key}/parts`;
  } catch (error) { say(error.message, 'wrong'); }
}

async function openFiles(files) {
  try {
    await (await import('./opened.js')).openFiles(files, start);
  } catch (error) { say(error.message, 'wrong'); }
}

// --- the list -------------------------------------------------------------------------------------------

const STATES = ['draft', 'planned', 'held', 'being cut', 'cut'];

// How far each job is, by its plans and what is held of them.
async function states() {
  const [{ plans }, { plans: held }] = await Promise.all([get('/api/plans'), get('/api/held?all=1')]);
  const jobOfPlan = new Map(plans.map((plan) => [plan.key, plan.job]));
  const found = new Map();
  const note = (job, state) => job && STATES.indexOf(state) > STATES.indexOf(found.get(job) || 'draft') && found.set(job, state);
  for (const plan of plans) if (plan.status !== 'infeasible') note(plan.job, 'planned');
  for (const one of held) {
    if (!one.open && one.cut < one.bars) continue; // given back
    note(jobOfPlan.get(one.plan), one.cut === 0 ? 'held' : one.cut < one.bars || one.missing ? 'being cut' : 'cut');
  }
  return found;
}

async function copyOf(item) {
  try {
    const tree = JSON.parse((await get(`/api/documents/job/${item.key}`)).body);
    await start({ ...tree, name: `${item.name}, copy` });
  } catch (error) { say(error.message, 'wrong'); }
}

async function remove(item) {
  // eslint-disable-next-line no-alert
  if (!window.confirm(`Remove the job ${item.name}? Its plans stay.`)) return;
  try {
    await drop(`/api/documents/job/${item.key}?revision=${item.revision}`);
    forget(item.key);
    await jobs();
  } catch (error) { say(error.message, 'wrong'); }
}

function row(item) {
  const what = [item.client && `for ${item.client}`, item.due && `due ${item.due}`, `${when(item.when)}${item.who ? `, ${item.who}` : ''}`].filter(Boolean).join('; ');
  return h('li', { 'data-find': `${item.name} ${item.client} ${item.due}`.toLowerCase() },
    h('div', { class: 'about' }, h('a', { href: `#/job/${item.key}/parts` }, item.name), h('span', { class: 'quiet' }, ` ${what}`)),
    h('span', { class: 'state', id: `state-${item.key}` }),
    button('Copy', () => copyOf(item), 'plain', { 'aria-label': `Copy job ${item.name}` }),
    button('\u00d7', () => remove(item), 'plain small', { 'aria-label': `Remove job ${item.name}` }));
}

let sought = '';

function search(list) {
  const none = h('p', { class: 'quiet', role: 'status' });
  const find = () => {
    let n = 0;
    for (const one of list.children) {
      one.hidden = !sought.split(/\s+/).every((word) => one.dataset.find.includes(word));
      n += !one.hidden;
    }
    none.textContent = n ? '' : 'No job is called so, nor a client.';
  };
  const box = h('input', { type: 'search', value: sought, autocomplete: 'off', oninput: () => { sought = box.value.trim().toLowerCase(); find(); } });
  find();
  return [field('Find a job, by name, client or day', box), none];
}

export async function jobs() {
  place('Jobs');
  whileHere(({ what }) => ['job', 'plans', 'shelf', 'all'].includes(what) && redrawJobs());
  const here = location.hash;
  const { documents } = await get('/api/documents/job');
  if (location.hash !== here) return;
  const file = h('input', { type: 'file', id: 'job-file', multiple: true, accept: '.yaml,.yml,.json,.csv,.tsv,.txt,.xlsx,.ods', class: 'hidden', onchange: () => { openFiles([...file.files]); file.value = ''; } });
  const list = h('ul', { class: 'plain big jobs' }, documents.map((item) => row(entryOf(item))));
  show(h('h1', {}, 'Jobs'), alone?.jobs(),
    documents.length ? null : h('p', { class: 'lead' }, 'Paste a cut list, say which bars can be bought, and see how to cut them for the least money.'),
    h('div', { class: 'row' }, button('New job', async () => { await loaded(); start(empty(shop())); }, 'main'),
      h('label', { class: 'button', for: 'job-file' }, 'Open a job or a list'), file,
      documents.length ? null : button('Try a sample job', async () => start((await import('./sample.js')).sample), '', { id: 'sample' })),
    documents.length > 5 ? search(list) : null,
    documents.length ? list : null,
    h('p', { class: 'quiet' }, 'A job that names lists (CSV, XLSX, ODS) is chosen together with them; a list alone begins a new job.'));
  if (!documents.length) return;
  const found = await states();
  for (const { key } of documents) {
    const mark = document.getElementById(`state-${key}`);
    if (mark) mark.textContent = found.get(key) || 'draft';
  }
}

const redrawJobs = later(150, () => /^#?\/?$/.test(location.hash) && jobs().catch(() => {}));
