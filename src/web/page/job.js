// SPDX-License-Identifier: GPL-3.0-or-later
// A job as it is edited: a tree of maps, lists and texts, as the job file has it. As text each value
// stands on a line of its own, so that the place of a mistake is the place of a cell.

import { get, post, put } from './api.js';

const isInch = (unit) => unit === 'in' || unit === 'ft';

// What a new job begins with; the length of bare numbers is meant in the unit.
const USUAL = {
  inch: { kerf: '3/32 in', squaring: '1/4 in', keep: '14 in' },
  metric: { kerf: '2.5 mm', squaring: '4 mm', keep: '350 mm' },
};

export function empty(shop) {
  const inch = isInch(shop.unit);
  const usual = inch ? USUAL.inch : USUAL.metric;
  return {
    dropwise: '1',
    name: 'New job',
    unit: shop.unit || 'mm',
    ...(inch ? { fractions: '32' } : {}),
    currency: shop.currency || 'EUR',
    saw: { kerf: usual.kerf, squaring: usual.squaring },
    rules: { keep: usual.keep, 'leftover worth': '50 %' },
    materials: [{ id: 'tube' }],
    bars: [{ length: '', price: '' }],
    parts: [],
  };
}

// Another unit for bare numbers: what nobody has changed yet becomes what is usual in it.
export function changeUnit(tree, unit) {
  const [old, now] = isInch(unit) ? [USUAL.metric, USUAL.inch] : [USUAL.inch, USUAL.metric];
  tree.unit = unit;
  for (const [map, key] of [[tree.saw, 'kerf'], [tree.saw, 'squaring'], [tree.rules, 'keep']])
    if (map && map[key] === old[key]) map[key] = now[key];
  if (isInch(unit)) tree.fractions ||= '32';
  else delete tree.fractions;
}

const isMap = (value) => value !== null && typeof value === 'object' && !Array.isArray(value);

// Rows and values that were left empty are not written.
export function isBlank(value) {
  if (typeof value === 'string') return value.trim() === '';
  if (Array.isArray(value)) return value.every(isBlank);
  return isMap(value) && Object.values(value).every(isBlank);
}

// The tree without them.
export function prune(value) {
  if (typeof value === 'string') return value;
  if (Array.isArray(value)) return value.filter((item) => !isBlank(item)).map(prune);
  return Object.fromEntries(Object.entries(value).filter(([, item]) => !isBlank(item)).map(([key, item]) => [key, prune(item)]));
}

// {text, places}: places[line] is the path of what stands on the line (lines count from 1).
export function write(tree) {
  const lines = [];
  const places = [null];
  const put_ = (text, path) => {
    lines.push(text);
    places.push(path);
  };
  const walk = (value, key, path, comma) => {
    const lead = key === null ? '' : `${JSON.stringify(key)}: `;
    if (typeof value === 'string') {
      put_(`${lead}${JSON.stringify(value.trim())}${comma}`, path);
      return;
    }
    const entries = (Array.isArray(value) ? value.map((item, i) => [i, item]) : Object.entries(value))
      .filter(([, item]) => !isBlank(item));
    const list = Array.isArray(value);
    put_(`${lead}${list ? '[' : '{'}`, path);
    entries.forEach(([name, item], i) => {
      walk(item, list ? null : name, [...path, name], i < entries.length - 1 ? ',' : '');
    });
    put_(`${list ? ']' : '}'}${comma}`, path);
  };
  walk(tree, null, [], '');
  return { text: `${lines.join('\n')}\n`, places };
}

export const placeOf = (places, line) => (places[line] || []).join('.');

// --- saving -----------------------------------------------------------------------------------

const copy = (tree) => JSON.parse(JSON.stringify(tree));
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

export class Job {
  constructor(document) {
    this.key = document.key;
    this.take(document);
    this.listeners = new Set();
    this.saving = Promise.resolve();
  }

  take(document) {
    this.revision = document.revision;
    this.who = document.who;
    this.base = prune(JSON.parse(document.body));
    this.tree = copy(this.base);
  }

  get changed() {
    return !same(this.base, prune(this.tree));
  }

  // Saves one after the other. Throws Refused with code `state` when somebody else was first.
  save() {
    this.saving = this.saving.catch(() => {}).then(async () => {
      if (!this.changed) return;
      const sent = prune(this.tree);
      const saved = await put(`/api/documents/job/${this.key}`, {
        name: (sent.name || 'Job without a name').slice(0, 60),
        body: JSON.stringify(sent),
        revision: this.revision,
      });
      this.revision = saved.revision;
      this.base = sent;
    });
    return this.saving;
  }

  text() {
    return write(this.tree);
  }
}

async function open(key) {
  return new Job(await get(`/api/documents/job/${key}`));
}

// The one that is being edited.
let current = null;

export async function jobOf(key) {
  if (!current || current.key !== key) current = await open(key);
  return current;
}
export const forget = () => { current = null; };

export async function add(tree) {
  return post('/api/documents/job', {
    name: (tree.name || 'Job without a name').slice(0, 60), body: JSON.stringify(tree),
  });
}

// --- when two people changed the same job -------------------------------------------------------

const word = (path) => path.map((step) => (typeof step === 'number' ? `row ${step + 1}` : step)).join(', ');

// What differs between two trees: [{path, where, from, to}].
export function differences(from, to, path = []) {
  if (same(from, to)) return [];
  const deep = (isMap(from) && isMap(to)) || (Array.isArray(from) && Array.isArray(to));
  if (!deep) return [{ path, where: word(path), from, to }];
  const keys = Array.isArray(from)
    ? [...Array(Math.max(from.length, to.length)).keys()]
    : [...new Set([...Object.keys(from), ...Object.keys(to)])];
  return keys.flatMap((key) => differences(from[key], to[key], [...path, key]));
}

// Their tree with my changes on top.
export function rebase(base, mine, theirs) {
  const result = copy(theirs);
  for (const { path, to } of differences(base, mine)) {
    let at = result;
    for (const step of path.slice(0, -1)) {
      if (at[step] === undefined || typeof at[step] !== 'object') at[step] = {};
      at = at[step];
    }
    const last = path[path.length - 1];
    if (to === undefined) delete at[last];
    else at[last] = copy(to);
  }
  for (const key of Object.keys(result))
    if (Array.isArray(result[key])) result[key] = result[key].filter((item) => item !== null && item !== undefined);
  return result;
}
