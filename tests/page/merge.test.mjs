// SPDX-License-Identifier: GPL-3.0-or-later
// What comes of two people's changes of one job, worked out by hand.  usage: node merge.test.mjs

import { merge, putAt } from '../../src/web/page/merge.js';
import { Past } from '../../src/web/page/past.js';
import { bare, identify, isBlank, write } from '../../src/web/page/tree.js';

let failed = 0;
function equal(is, should, what) {
  const [a, b] = [is, should].map((one) => JSON.stringify(one));
  if (a === b) return;
  failed += 1;
  console.log(`FAILED ${what}: ${a} instead of ${b}`);
}

const row = (id, length, more = {}) => ({ '#': id, length, ...more });
const job = (...parts) => ({ parts });
const text = (tree) => tree.parts.map((one) => `${one['#']}${one.length || ''}`).join(' ');
const base = job(row('a', '1'), row('b', '2'), row('c', '3'));

function meets(mine, theirs, should, clashes, what) {
  const both = merge(base, mine, theirs);
  equal(text(both.tree), should, what);
  equal(both.clashes.length, clashes, `${what}, what is asked`);
}

meets(job(row('a', '9'), row('b', '2'), row('c', '3')), job(row('a', '1'), row('b', '8'), row('c', '3')), 'a9 b8 c3', 0, 'two rows changed');
meets(job(row('a', '9'), row('b', '2'), row('c', '3')), job(row('b', '2'), row('c', '3')), 'a9 b2 c3', 1, 'changed here, removed there: asked');
meets(job(row('b', '2'), row('c', '3')), job(row('a', '1'), row('b', '2'), row('c', '7')), 'b2 c7', 0, 'removed here, left alone there: goes, and nobody asks');
meets(job(row('b', '2'), row('c', '3')), job(row('b', '2'), row('c', '3')), 'b2 c3', 0, 'removed by both');
meets(job(row('a', '5'), row('b', '2'), row('c', '3')), job(row('a', '6'), row('b', '2'), row('c', '3')), 'a5 b2 c3', 1, 'one field, two values: asked');
meets(job(row('a', '5'), row('b', '2'), row('c', '3')), job(row('a', '5'), row('b', '2'), row('c', '3')), 'a5 b2 c3', 0, 'one field, the same value');
meets(job(row('a', '1'), row('x', '10'), row('b', '2'), row('c', '3')), job(row('y', '20'), row('a', '1'), row('b', '2'), row('c', '3')), 'y20 a1 x10 b2 c3', 0, 'each added a row');
meets(job(row('a', '1'), row('b', '2'), row('c', '3'), row('x', '10')), job(row('a', '1'), row('b', '2'), row('c', '3'), row('y', '20')), 'a1 b2 c3 y20 x10', 0, 'each added one at the end');
meets(job(row('c', '3'), row('a', '1'), row('b', '2')), job(row('a', '1'), row('b', '2'), row('c', '3'), row('y', '20')), 'c3 y20 a1 b2', 0, 'moved here, added there');

// Within a row each field is by itself; a field that was taken away is a change too.
{
  const was = { parts: [row('a', '1', { label: 'rail', count: '4' })] };
  const both = merge(was, { parts: [row('a', '1', { label: 'foot', count: '4' })] }, { parts: [row('a', '2', { label: 'rail' })] });
  equal(both.tree.parts[0], { '#': 'a', length: '2', label: 'foot' }, 'fields of one row');
  equal(both.clashes, [], 'nothing is asked about fields that one alone changed');
}

// Theirs in place of mine, where that is chosen: a value, and a row behind the one it stood behind.
{
  const { tree, clashes } = merge(base, job(row('a', '1'), row('c', '3')), job(row('a', '1'), row('b', '8'), row('c', '3')));
  equal(text(tree), 'a1 c3', 'mine stands until it is settled');
  putAt(tree, clashes[0].path, clashes[0].theirs, clashes[0].after);
  equal(text(tree), 'a1 b8 c3', 'theirs is put where it stood');
}

// Undo takes back what was done here; what another one changed since in the same place stays.
{
  const past = new Past();
  const now = job(row('a', '9'), row('b', '2'), row('c', '3'));
  past.add(base, now, 0);
  equal(text(past.undo(job(row('a', '9'), row('b', '7'), row('c', '3')))), 'a1 b7 c3', 'undo leaves another\u2019s change');
  equal(text(past.redo(job(row('a', '1'), row('b', '7'), row('c', '3')))), 'a9 b7 c3', 'and redo too');
  equal(text(past.undo(job(row('a', '6'), row('b', '7'), row('c', '3')))), 'a6 b7 c3', 'undo does not write over another\u2019s value');
  const gone = job(row('a', '1'), row('c', '3'));
  past.add(base, gone, 10000);
  equal(text(past.undo(job(row('a', '1'), row('c', '3'), row('d', '4')))), 'a1 b2 c3 d4', 'a removed row comes back where it was');
}

// Keys that follow each other in one cell are one step; a pause begins another.
{
  const past = new Past();
  const typed = ['1', '11', '119', '1190', '5'].map((length) => job(row('a', length)));
  [100, 300, 500, 5000].forEach((at, i) => past.add(typed[i], typed[i + 1], at));
  equal(text(past.undo(typed[4])), 'a1190', 'the last step');
  equal(text(past.undo(typed[3])), 'a1', 'the typing before it, in one go');
  equal(past.undo(typed[0]), null, 'nothing before that');
}

// Identities are in no text, and a row that has nothing else is blank.
equal(write(job(row('a', '1'))).text.includes('#'), false, 'no identity in the text of a job');
equal(isBlank({ '#': 'a', length: ' ' }), true, 'a row with an identity alone is blank');
equal(bare(job(row('a', '1'))), { parts: [{ length: '1' }] }, 'a copy without identities');
equal(identify(job({ length: '1' }, row('5.0', '2'), { length: '3' }), (i) => `5.${i}`).parts.map((one) => one['#']), ['5.0', '5.0+', '5.2'], 'no identity is given twice');

console.log(failed ? `${failed} failed` : 'changes put together: good');
process.exit(failed ? 1 : 0);
