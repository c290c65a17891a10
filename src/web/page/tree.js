// SPDX-License-Identifier: GPL-3.0-or-later
// A job as it is edited: a tree of maps, lists and texts, as the job file has it; each row of a list
// has an identity of its own. As text each value stands on a line of its own, so that the place of a
// mistake is the place of a cell.

const isInch = (unit) => unit === 'in' || unit === 'ft';

// What a new job begins with; the length of bare numbers is meant in the unit.
const USUAL = {
  inch: { kerf: '3/32 in', squaring: '1/4 in', keep: '14 in' },
  metric: { kerf: '2.5 mm', squaring: '4 mm', keep: '350 mm' },
};

const USUALS = ['unit', 'fractions', 'currency', 'saw', 'rules', 'materials', 'bars', 'suppliers'];

// What of a job other jobs begin with.
export const usualOf = (tree) => Object.fromEntries(USUALS.filter((key) => tree[key] !== undefined && !isBlank(tree[key])).map((key) => [key, bare(prune(tree[key]))]));

export function empty(shop) {
  if (shop.usual) return { dropwise: '1', name: 'New job', ...JSON.parse(JSON.stringify(shop.usual)), parts: [] };
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

export const isMap = (value) => value !== null && typeof value === 'object' && !Array.isArray(value);
export const isRows = (value) => Array.isArray(value) && value.every(isMap);

// --- rows -------------------------------------------------------------------------------------------

// The key under which a row carries its identity; it is in no text of the job.
export const ROW = '#';

// A row as a step of a path.
export const rowId = (id) => ({ row: id });

const own = (map) => Object.entries(map).filter(([key]) => key !== ROW);

export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(8));
  return Array.from(bytes, (byte) => byte.toString(36).padStart(2, '0')).join('');
}

// Gives each row that has none an identity: name(i) of the row at i of its list.
export function identify(value, name) {
  if (Array.isArray(value)) {
    const taken = new Set();
    value.forEach((row, i) => {
      if (!isMap(row)) return;
      let id = row[ROW] || name(i);
      while (taken.has(id)) id += '+';
      taken.add(id);
      row[ROW] = id;
    });
  }
  if (value && typeof value === 'object') Object.values(value).forEach((inner) => identify(inner, name));
  return value;
}

// --- what is written ----------------------------------------------------------------------------------

// Rows and values that were left empty are not written.
export function isBlank(value) {
  if (typeof value === 'string') return value.trim() === '';
  if (Array.isArray(value)) return value.every(isBlank);
  return isMap(value) && own(value).every(([, item]) => isBlank(item));
}

// The tree without them, apart from it.
export function prune(value) {
  if (typeof value === 'string') return value;
  if (Array.isArray(value)) return value.filter((item) => !isBlank(item)).map(prune);
  return Object.fromEntries(Object.entries(value).filter(([key, item]) => key === ROW || !isBlank(item)).map(([key, item]) => [key, prune(item)]));
}

// The tree without the identities of its rows.
export function bare(value) {
  if (Array.isArray(value)) return value.map(bare);
  return isMap(value) ? Object.fromEntries(own(value).map(([key, item]) => [key, bare(item)])) : value;
}

// {text, places}: places[line] is the path of what stands on the line (lines count from 1).
export function write(tree) {
  const lines = [];
  const places = [null];
  const put = (text, path) => {
    lines.push(text);
    places.push(path);
  };
  const walk = (value, key, path, comma) => {
    const lead = key === null ? '' : `${JSON.stringify(key)}: `;
    if (typeof value === 'string') {
      put(`${lead}${JSON.stringify(value.trim())}${comma}`, path);
      return;
    }
    const list = Array.isArray(value);
    const entries = (list ? value.map((item, i) => [i, item]) : own(value)).filter(([, item]) => !isBlank(item));
    put(`${lead}${list ? '[' : '{'}`, path);
    entries.forEach(([name, item], i) => {
      walk(item, list ? null : name, [...path, name], i < entries.length - 1 ? ',' : '');
    });
    put(`${list ? ']' : '}'}${comma}`, path);
  };
  walk(tree, null, [], '');
  return { text: `${lines.join('\n')}\n`, places };
}

export const placeOf = (places, line) => (places[line] || []).join('.');
