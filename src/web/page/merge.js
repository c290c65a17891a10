// SPDX-License-Identifier: GPL-3.0-or-later
// Two people's changes of one job put together: row by row as the rows are known by their identity,
// field by field within a row. Only what both changed, and otherwise, is a clash.

import { ROW, isMap, isRows, rowId } from './tree.js';

// Equal, whatever the order of keys.
export function same(a, b) {
  if (a === b) return true;
  if (Array.isArray(a)) return Array.isArray(b) && a.length === b.length && a.every((item, i) => same(item, b[i]));
  if (!isMap(a) || !isMap(b)) return false;
  const keys = Object.keys(a);
  return keys.length === Object.keys(b).length && keys.every((key) => key in b && same(a[key], b[key]));
}

const copy = (value) => (value === undefined ? undefined : JSON.parse(JSON.stringify(value)));
const byId = (rows) => new Map(rows.map((row) => [row[ROW], row]));

// What stands for nothing beside rows, or beside a map: all of it was taken away, or nothing was there yet.
const asRows = (...values) => values.some(isRows) && values.every((value) => value === undefined || isRows(value));
const asMaps = (...values) => values.some(isMap) && values.every((value) => value === undefined || isMap(value));

class Merging {
  constructor(prefer) {
    this.prefer = prefer; // whose value stands where both changed the same: 'mine' or 'theirs'
    this.clashes = [];
  }

  clash(path, base, mine, theirs, more) {
    this.clashes.push({ path, base: copy(base), mine: copy(mine), theirs: copy(theirs), ...more });
    return copy(this.prefer === 'mine' ? mine : theirs);
  }

  value(base, mine, theirs, path) {
    if (same(mine, theirs) || same(theirs, base)) return copy(mine);
    if (same(mine, base)) return copy(theirs);
    if (asRows(base, mine, theirs)) return this.rows(base || [], mine || [], theirs || [], path);
    if (asMaps(base, mine, theirs)) return this.map(base || {}, mine || {}, theirs || {}, path);
    return this.clash(path, base, mine, theirs);
  }

  map(base, mine, theirs, path) {
    const result = {};
    for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine)])) {
      const value = key === ROW ? theirs[ROW] ?? mine[ROW] : this.value(base[key], mine[key], theirs[key], [...path, key]);
      if (value !== undefined) result[key] = value;
    }
    return result;
  }

  rows(base, mine, theirs, path) {
    const [b, m, t] = [base, mine, theirs].map(byId);
    const kept = new Map();
    for (const id of new Set([...t.keys(), ...m.keys()])) {
      const row = this.row(id, b.get(id), m.get(id), t.get(id), path, theirs);
      if (row) kept.set(id, row);
    }
    return order([...b.keys()], [...m.keys()], [...t.keys()], kept).map((id) => kept.get(id));
  }

  // A row that one of them took away goes, unless the other changed it.
  row(id, base, mine, theirs, path, all) {
    const at = [...path, rowId(id)];
    if (mine && theirs) return this.map(base || {}, mine, theirs, at);
    if (!base) return copy(mine || theirs);
    if (same(mine || theirs, base)) return undefined;
    const i = all.findIndex((row) => row[ROW] === id);
    return this.clash(at, base, mine, theirs, { after: i > 0 ? all[i - 1][ROW] : null });
  }
}

// Ids in the order of whoever moved rows, those of the other one behind what stood before them.
function order(base, mine, theirs, kept) {
  const common = new Set(base.filter((id) => mine.includes(id) && theirs.includes(id)));
  const line = (ids) => ids.filter((id) => common.has(id)).join();
  const [lead, other] = line(mine) === line(base) ? [theirs, mine] : [mine, theirs];
  const result = lead.filter((id) => kept.has(id));
  const placed = new Set(result);
  const known = new Set(other);
  let before = null;
  for (const id of other.filter((one) => kept.has(one))) {
    if (!placed.has(id)) {
      let at = before === null ? 0 : result.indexOf(before) + 1;
      while (at < result.length && !known.has(result[at])) at += 1;
      result.splice(at, 0, id);
      placed.add(id);
    }
    before = id;
  }
  return result;
}

// {tree, clashes}: `mine` and `theirs` both began as `base`. A clash: {path, base, mine, theirs}, undefined for a row or
// a value that is not there; the tree has the preferred one.
export function merge(base, mine, theirs, prefer = 'mine') {
  const merging = new Merging(prefer);
  const tree = merging.value(base, mine, theirs, []);
  return { tree, clashes: merging.clashes };
}

// --- places -----------------------------------------------------------------------------------------

const find = (value, step) => (step && step.row ? value?.find((row) => row[ROW] === step.row) : value?.[step]);

export const valueAt = (tree, path) => path.reduce(find, tree);

// Puts a value at a path; undefined takes it away. `after`: the row behind which a row comes that is not there.
export function putAt(tree, path, value, after) {
  let at = tree;
  path.slice(0, -1).forEach((step, i) => {
    let next = find(at, step);
    if (at && next === undefined && !step.row) next = at[step] = path[i + 1].row ? [] : {};
    at = next;
  });
  const last = path[path.length - 1];
  if (!at) return;
  if (!last.row) {
    if (value === undefined) delete at[last];
    else at[last] = copy(value);
    return;
  }
  const i = at.findIndex((row) => row[ROW] === last.row);
  if (i >= 0) at.splice(i, 1, ...(value === undefined ? [] : [copy(value)]));
  else if (value !== undefined) at.splice(at.findIndex((row) => row[ROW] === after) + 1, 0, copy(value));
}

// The paths at which two trees differ.
export function differences(from, to, path = []) {
  if (same(from, to)) return [];
  if (asRows(from, to)) {
    const [a, b] = [from || [], to || []].map(byId);
    const rows = [...new Set([...a.keys(), ...b.keys()])].flatMap((id) =>
      (a.has(id) && b.has(id) ? differences(a.get(id), b.get(id), [...path, rowId(id)]) : [[...path, rowId(id)]]));
    return rows.length ? rows : [path]; // only their order
  }
  if (asMaps(from, to))
    return [...new Set([...Object.keys(from || {}), ...Object.keys(to || {})])].flatMap((key) => differences(from?.[key], to?.[key], [...path, key]));
  return [path];
}
