// SPDX-License-Identifier: GPL-3.0-or-later
// The plans at the saw, and all bars of one as a list: ticked off, reported when one went wrong or is measured.

import { get, post } from './api.js';
import { h, show, say, button, field, plural, when } from './dom.js';
import { bar, describe, nameOf, pieceOf, sign, sourceName } from './bars.js';
import { whichJob, wrong, measured, missing, outcome, shortOf } from './again.js';
import { coming } from './coming.js';
import { whileHere } from './events.js';
import { place } from './app.js';
import { takeBack } from './pieces.js';

export async function list() {
  place('At the saw');
  whileHere(({ what }) => ['shelf', 'all'].includes(what) && list().catch(() => {}));
  const { plans } = await get('/api/held?all=1');
  const open = plans.filter((plan) => plan.open && (plan.cut < plan.bars || plan.missing));
  const rest = plans.filter((plan) => !open.includes(plan));
  const line = (plan) => h('li', {}, h('a', { href: `#/saw/${plan.held}` }, `${plan.held}: ${plan.name || 'job'}`),
    h('span', { class: 'quiet' }, ` ${plan.cut} of ${plural(plan.bars, 'bar', 'bars')} cut${plan.missing && plan.open ? `, ${plural(plan.missing, 'piece', 'pieces')} missing` : ''}, ${when(plan.when)}`));
  show(h('h1', {}, 'At the saw'),
    open.length ? h('ul', { class: 'plain big' }, open.map(line))
      : h('p', {}, 'No plan is held. Make a plan of a job and hold it; then its bars can be ticked off here.'),
    rest.length ? h('details', { class: 'more' }, h('summary', {}, 'Done or given back'), h('ul', { class: 'plain' }, rest.slice(0, 50).map(line))) : null);
}

// A bar with all that the plan's document, and the job if it is known, say of it and of its pieces.
export function whole(plan, item) {
  const layout = plan.document?.layouts.find((one) => one.bar <= item.bar && item.bar < one.bar + one.count);
  const supply = [...(plan.supplies || []), ...(plan.document?.shelf || [])].find((one) => one.id === item.supply);
  const tube = plan.tubes?.[(plan.materials || []).findIndex((one) => one.id === item.material)];
  return { ...item, material: tube || item.material, place: supply?.place, mark: supply?.mark, owner: supply?.owner,
    ...(layout && !item.cut ? { leftover: layout.leftover } : {}), pieces: item.pieces.map((piece, i) => ({ ...piece, ...(layout ? pieceOf(plan, layout.pieces[i]) : {}) })) };
}

// "Piece 2 of 4", "Pieces 2 to 3 of 4"
export const numbers = (from, count, total) => (count > 1 ? `Pieces ${from} to ${from + count - 1} of ${total}` : `Piece ${from} of ${total}`);

// "desk, for Harbour Radio, due 2026-12-01"
export const client = (piece, name) => [piece.job !== name && piece.job, piece.client && `for ${piece.client}`, piece.due && `due ${piece.due}`].filter(Boolean).join(', ');

// Whom the bars are for: said once if all are for one, else of each piece.
export function clientsOf(plan) {
  const all = (plan.document?.layouts || []).flatMap((layout) => layout.pieces).filter((piece) => piece.part);
  return new Set(all.map((piece) => client(piece, plan.name)));
}

// One kind of piece: which of the bar's they are, stop setting, running marks, and what else has to be known of them.
function row(item, piece, from, total, several) {
  const marks = (item.marks || []).slice(from - 1, from - 1 + piece.count).map((mark) => mark.running.text);
  const known = [several && client(piece), piece['measure first'] && `measure on site first, cut last: ${piece.measure || ''}`, piece.remark && `Remark: ${piece.remark}`, piece.work].filter(Boolean);
  return h('li', {}, sign(piece), ' ', h('span', { class: 'which' }, numbers(from, piece.count, total)), ' ',
    h('b', { class: 'stop' }, `${piece['measure first'] ? 'plan ' : ''}${piece.length.text}`), piece.count > 1 ? h('span', { class: 'times' }, ` \u00d7 ${piece.count}`) : null,
    ` ${nameOf(piece)}`, piece.use === 'post' ? ' (post)' : piece.use === 'surplus' ? ' (surplus: scrap)' : piece.use === 'bend end' ? ': scrap' : '',
    marks.length ? h('div', { class: 'marks' }, `marks from the datum end: ${marks.join(', ')}`) : null,
    known.map((text) => h('div', { class: 'known' }, text)));
}

function left(item) {
  if (item.left.length)
    return item.left.map((piece) => h('li', { class: 'rest' }, 'Left: ', h('b', {}, piece.length.text), '. Its number is ', h('b', {}, piece.number), piece.place ? `, at ${piece.place}` : ''));
  if (item.rest === 'none') return h('li', { class: 'rest' }, 'Nothing is left');
  return h('li', { class: 'rest' }, 'Left: ', h('b', {}, item.leftover.text),
    item.rest === 'kept' ? ['. Keep: mark it before the cut', item.rest_number ? [', as ', h('b', {}, item.rest_number)] : '; ticking the bar off gives the number to write on it', '.'] : ', scrap');
}

function lines(item, several) {
  const total = item.pieces.reduce((sum, piece) => sum + piece.count, 0);
  let from = 1;
  return h('ol', { class: 'cuts' }, item.squaring ? h('li', { class: 'first' }, item.squaring) : null,
    item.pieces.map((piece) => {
      from += piece.count;
      return row(item, piece, from - piece.count, total, several);
    }), left(item));
}

// The numbers to write on what came off, and the way back.
function booked(held, done) {
  const kept = done.shelf.map((piece) => h('p', { class: 'keep-note' },
    'Write ', h('b', {}, piece.number), ` on the ${piece.kind === 'bar' ? 'bar' : 'offcut'} of ${piece.length.text}`, piece.place ? ` and put it to ${piece.place}.` : '.'));
  return h('div', { class: 'after' }, kept, undo(held, done.step));
}

// Takes the step back and shows the plan as it then is.
const undo = (held, step) => button('Undo', async () => {
  try {
    const said = await takeBack(step);
    history.replaceState(null, '', `#/saw/${held}/all`);
    await saw(held);
    say(said);
  } catch (error) { say(error.message, 'wrong'); }
}, 'plain');

async function tick(held, item) {
  try {
    const done = await post(`/api/held/${held}/cut`, { bar: item.bar, number: item.rest_number || null, place: localStorage.getItem('place') || null });
    await saw(held);
    const note = booked(held, done);
    document.getElementById(`bar-${item.bar}`)?.append(note);
    say(done.shelf.length ? `Bar ${item.bar} is cut. Write ${done.shelf[0].number} on ${done.shelf[0].kind === 'bar' ? 'what came with it' : 'the offcut'}.` : `Bar ${item.bar} is cut.`);
    note.querySelector('button').focus();
  } catch (error) {
    say(error.message, 'wrong');
  }
}

// What was done to the plan as a whole, above it.
function head(...nodes) {
  const note = h('section', { tabindex: '-1' }, nodes);
  document.getElementById('main').prepend(note);
  note.focus();
  return note;
}

async function tickAll(held, left) {
  // eslint-disable-next-line no-alert
  if (!window.confirm(`Book ${plural(left.length, 'bar', 'bars')} as cut, as planned?`)) return;
  try {
    const done = await post(`/api/held/${held}/cut`, { all: true, place: localStorage.getItem('place') || null });
    await saw(held);
    head(h('p', { class: 'done' }, `${plural(left.length, 'bar is', 'bars are')} cut.`), booked(held, done));
  } catch (error) { say(error.message, 'wrong'); }
}

async function after(held, result, words) {
  await saw(result.held || held);
  if (result.held) history.replaceState(null, '', `#/saw/${result.held}/all`);
  head(outcome(result, words), result.step ? booked(held, result) : null).className = result.short ? 'outcome short' : 'outcome';
  say(result.short ? `${shortOf(result)}.` : 'Booked.');
}

// What came is booked: the plan as it now is, and the way back.
async function arrived(held, done, text) {
  await saw(held);
  head(h('p', { class: 'done' }, text), booked(held, done));
}

// --- one plan ------------------------------------------------------------------------------------------

// Somebody is filling something in, or reads what was just booked.
const inUse = () => Boolean(document.querySelector('main details[open], .after, .outcome'));

export async function saw(held, heard = false) {
  const plan = await get(`/api/held/${held}`);
  if (heard && inUse()) return;
  whileHere(({ what }) => ['shelf', 'all'].includes(what) && !inUse() && saw(held, true).catch(() => {}));
  const elsewhere = !plan.plan && plan.open ? (await get('/api/documents/job')).documents : null;
  const left = plan.bars.filter((item) => !item.cut);
  const done = plan.bars.filter((item) => item.cut);
  const clients = clientsOf(plan);
  const longest = Math.max(1, ...plan.bars.map((item) => item.length.nm));
  const spot = h('input', { type: 'text', value: localStorage.getItem('place') || '', placeholder: 'rack 2', oninput: (event) => localStorage.setItem('place', event.target.value) });
  place(`Saw: plan ${held}`);
  const width = Math.min(document.getElementById('main').clientWidth - 34, 900);
  const block = (bare) => {
    const item = whole(plan, bare);
    const detail = h('p', { class: 'detail', role: 'status' });
    return h('article', { class: `layout at-saw ${item.cut ? 'is-cut' : ''}`, id: `bar-${item.bar}` },
      h('h2', {}, `Bar ${item.bar}`, h('small', { class: 'take' }, [`${sourceName(item)} ${item.supply}`, item.length.text, item.material, item.place && `at ${item.place}`,
        item.mark && `mark ${item.mark}`, item.owner && `of ${item.owner}`].filter(Boolean).join(', ')),
      item.source === 'new' && !item.cut ? h('small', { class: 'arrival' }, item.here ? `here as ${item.number}` : 'still to come') : null),
      item.cut ? null : item.cautions.map((one) => h('p', { class: 'care' }, one.text)),
      bar(item, { kerf: plan.kerf_nm || 0, longest, width, tap: (piece) => { detail.textContent = describe(piece); } }),
      lines(item, clients.size > 1), detail,
      item.cut ? h('p', { class: 'quiet' }, 'cut') : plan.open ? [
        h('div', { class: 'row' }, button('Cut: tick it off', (event) => { event.target.disabled = true; tick(held, item); }, 'main tick-off', { 'aria-label': `Bar ${item.bar} is cut` })),
        measured(held, item, plan.unit, (...what) => after(held, ...what)),
        wrong(held, item, plan.unit, (...what) => after(held, ...what))] : null);
  };
  show(h('h1', {}, plan.name || 'Job', h('small', {}, ` plan ${held}`)),
    h('p', { class: 'sum' }, left.length ? `${done.length} of ${plural(plan.bars.length, 'bar', 'bars')} cut.` : plan.missing ? 'All bars are cut, but not all pieces came out.' : 'All bars are cut.', plan.open ? '' : ' This plan is closed.',
      plan.replaces ? ` It replaces plan ${plan.replaces}: do not use that one any more.` : ''),
    h('progress', { max: plan.bars.length || 1, value: done.length, 'aria-label': 'Bars cut' }),
    clients.size === 1 ? h('p', { class: 'clients' }, [...clients][0]) : null,
    plan.unread ? h('p', { class: 'care' }, `${plan.unread}.`) : null,
    plan.open && left.length ? field('Offcuts are put to', spot) : null,
    coming(held, plan, arrived),
    elsewhere && (left.length || plan.missing) ? whichJob(held, elsewhere) : null,
    missing(held, plan, (...what) => after(held, ...what)),
    left.length ? h('p', { class: 'quiet cautions' }, plan.cautions.map((one) => one.text).join(' ')) : null,
    left.map(block),
    done.length ? h('h2', {}, 'Cut') : null,
    done.map(block),
    h('p', { class: 'row' },
      h('a', { class: 'button', href: `#/saw/${held}` }, 'One bar at a time'),
      plan.plan ? h('a', { class: 'button', href: `#/plan/${plan.plan}` }, 'The plan and its papers') : null,
      plan.open && left.length > 1 ? button('All of these are cut', () => tickAll(held, left)) : null,
      plan.open && left.length ? button('Give back what is not cut', async () => {
        // eslint-disable-next-line no-alert
        if (!window.confirm('Close this plan? What is held for it and not cut goes back to the shelf.')) return;
        try { await post(`/api/held/${held}/release`); await saw(held); } catch (error) { say(error.message, 'wrong'); }
      }) : null));
}
