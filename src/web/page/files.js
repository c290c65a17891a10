// SPDX-License-Identifier: GPL-3.0-or-later
// Jobs from files of this device, and to them.

import { post, Refused } from './api.js';
import { h } from './dom.js';
import { bare, isBlank } from './tree.js';

const refuse = (text, line) => { throw new Refused(422, { error: { text, line } }); };

// --- from files -------------------------------------------------------------------------------------

const isText = (value) => typeof value === 'string';
const baseName = (name) => name.split(/[\\/]/).pop();

export const isList = (file) => /\.(csv|tsv|xlsx|ods)$/i.test(file.name);

// A list as the reader of the server takes it: {bytes, name}.
const LIST_MOST = 1.5 * 1024 * 1024; // bytes; a request has 2 MiB

export async function listSource(file) {
  if (file.size > LIST_MOST) refuse(`${file.name} has more than 1.5 MiB: save the list alone, or copy its rows and paste them`);
  const bytes = new Uint8Array(await file.arrayBuffer());
  let text = '';
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return { bytes: btoa(text), name: file.name };
}

// Rows of a table that the job names.
async function rowsOf(name, what, unit, tables) {
  const file = tables.get(baseName(name));
  if (!file) refuse(`the job names the table ${name}: choose both files together`);
  try {
    const { table, remarks } = await post('/api/table', { unit, what, ...await listSource(file) });
    const wrong = remarks.find((remark) => remark.severity === 'wrong');
    if (wrong) refuse(wrong.text, wrong.line);
    return table.rows.map((values) => Object.fromEntries(
      table.columns.map((column, i) => [column, values[i]]).filter(([, value]) => value !== '')));
  } catch (error) {
    return refuse(`${name}${error.line ? `, line ${error.line}` : ''}: ${error.message}`);
  }
}

// Puts the rows of tables in the places of their names.
async function takeIn(map, keys, unit, tables) {
  for (const key of keys) {
    const value = map[key];
    if (isText(value) && value) map[key] = await rowsOf(value, key, unit, tables);
    else if (Array.isArray(value) && value.some(isText)) {
      const lists = await Promise.all(value.map((item) => (isText(item) ? rowsOf(item, key, unit, tables) : [item])));
      map[key] = lists.flat();
    }
  }
}

// A job file, with the tables that it names if it names any.
export async function readJob(files) {
  const list = [...files];
  const jobs = list.filter((file) => /\.(ya?ml|json)$/i.test(file.name));
  const job = jobs[0] || list[0];
  if (jobs.length > 1) refuse('choose one job, and the tables that it names');
  const text = await job.text();
  if (!text.trim()) refuse(`${job.name} is empty`);
  if (isList(job)) refuse(`${job.name} is a list: choose its job with it`);
  const { job: tree } = await post('/api/open', { text });
  if (tree === null || typeof tree !== 'object' || Array.isArray(tree)) refuse(`${job.name} is no job file`);
  const tables = new Map(list.filter((file) => file !== job).map((file) => [file.name, file]));
  const unit = isText(tree.unit) ? tree.unit : 'mm';
  await takeIn(tree, ['bars', 'offcuts', 'parts', 'posts'], unit, tables);
  for (const order of Array.isArray(tree.jobs) ? tree.jobs : []) await takeIn(order, ['parts', 'posts'], unit, tables);
  return tree;
}

// The place of a mistake and what it is.
export const whereIn = (error) => (error.line ? `Line ${error.line}: ${error.message}` : error.message);

// --- to a file ----------------------------------------------------------------------------------------

// As it can be read and written by hand; a text that could mean anything else is quoted.
function scalar(text) {
  const value = text.trim();
  const plain = /^[A-Za-z0-9][\w .,%/()+-]*$/.test(value) && !/^(null|true|false|yes|no|on|off)$/i.test(value);
  return plain ? value : JSON.stringify(value);
}

function block(value, pad, lines) {
  const list = Array.isArray(value);
  for (const [key, item] of list ? value.map((one) => ['-', one]) : Object.entries(value)) {
    if (isBlank(item)) continue;
    const lead = `${pad}${list ? '-' : `${scalar(key)}:`}`;
    if (isText(item)) {
      lines.push(`${lead} ${scalar(item)}`);
    } else {
      const inner = [];
      block(item, `${pad}  `, inner);
      if (list && !Array.isArray(item)) inner[0] = `${pad}- ${inner[0].trimStart()}`;
      else lines.push(lead);
      lines.push(...inner);
    }
  }
}

export function jobFile(tree) {
  const lines = [];
  block(bare(tree), '', lines);
  return `${lines.join('\n')}\n`;
}

export function download(name, text, type) {
  const link = h('a', { href: URL.createObjectURL(new Blob([text], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
