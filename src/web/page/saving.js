// SPDX-License-Identifier: GPL-3.0-or-later
// What is saved, on its way, waiting or refused, always in sight at the top of the page.

import { h, say, button } from './dom.js';
import { add, forget, openJobs } from './job.js';

const WORST = ['clash', 'refused', 'waiting', 'saving', 'saved'];

async function asNew(job) {
  try {
    const made = await add(job.mine());
    job.leave();
    forget(job.key);
    location.hash = `#/job/${made.key}/parts`;
  } catch (error) { say(error.message, 'wrong'); }
}

function words(job) {
  const { kind, text } = job.state;
  if (kind === 'clash') return [button('Two changes clash: look', async () => (await import('./clash.js')).askClashes(job), 'plain wrong')];
  if (kind === 'waiting') return ['Kept on this device until the server is back'];
  if (kind === 'saving') return [text ? `Saving: ${text}` : 'Saving\u2026'];
  if (kind === 'saved') return ['Saved'];
  return [`Not saved: ${text}. It is kept on this device. `, job.gone ? button('Save it as a new job', () => asNew(job), 'plain') : button('Try again', () => job.save().catch(() => {}), 'plain')];
}

// Of the job that is shown or, elsewhere, of one that is not saved yet.
export function showSaving() {
  const mark = document.getElementById('saved');
  const [, shown] = location.hash.match(/^#\/job\/([\w.-]+)/) || [];
  const jobs = openJobs().filter((job) => job.key === shown || job.state.kind !== 'saved');
  const job = jobs.sort((a, b) => WORST.indexOf(a.state.kind) - WORST.indexOf(b.state.kind))[0];
  mark.className = job ? `saved ${job.state.kind}` : 'saved';
  mark.replaceChildren(...(job ? words(job) : []), job && job.key !== shown ? h('a', { href: `#/job/${job.key}/parts` }, ` ${job.tree.name || 'job'}`) : '');
}
