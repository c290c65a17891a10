// SPDX-License-Identifier: GPL-3.0-or-later
// A new job of what was chosen: a job file with the lists that it names, or a list alone.

import { say } from './dom.js';
import { isList, listSource, readJob, whereIn } from './files.js';
import { loadMembers } from './members.js';
import { takeList } from './paste.js';
import { empty } from './tree.js';
import { loaded, shop } from './app.js';

// The job is made when the rows were looked at and accepted, so that nothing is left behind of a list that is no good.
async function startOfList(file, start) {
  const [source] = await Promise.all([listSource(file), loadMembers(), loaded()]);
  const tree = empty(shop());
  await takeList(source, tree.unit || 'mm', (parts) => start({ ...tree, name: file.name.replace(/\.\w+$/, ''), parts }));
}

// `start` makes a job of a tree and goes there.
export async function openFiles(files, start) {
  try {
    if (files.length === 1 && isList(files[0])) await startOfList(files[0], start);
    else if (files.length) await start(await readJob(files));
  } catch (error) { say(whereIn(error), 'wrong'); }
}
