// SPDX-License-Identifier: GPL-3.0-or-later
// At the saw, on a phone: bars are ticked off; one that went wrong is reported.

import { get, post } from './api.js';
import { h, show, say, button, field, choice, plural, when } from './dom.js';
import { bar, describe, nameOf, pieceOf, sign, sourceName, squared } from './bars.js';
import { readJob, whereIn } from './files.js';
import { write } from './job.js';
import { watch } from './progress.js';
import { place } from './app.js';
import { takeBack } from './pieces.js';

export async function list() {
  place('At the saw');
  const { plans } = await get('/api/held?all=1');
  const open = plans.filter((plan) => plan.open && plan.cut < plan.bars);
  const rest = plans.filter((plan) => !open.includes(plan));
  const line = (plan) => h('li', {}, h('a', { href: `#/saw/${plan.held}` }, `${plan.held}: ${plan.name || 'job'}`),
    h('span', { class: 'quiet' }, ` ${plan.cut} of ${plural(plan.bars, 'bar', 'bars')} cut, ${when(plan.when)}`));
  show(h('h1', {}, 'At the saw'),
    open.length ? h('ul', { class: 'plain big' }, open.map(line))
      : h('p', {}, 'No plan is held. Make a plan of a job and hold it; then its bars can be ticked off here.'),
    rest.length ? h('details', { class: 'more' }, h('summary', {}, 'Done or given back'), h('ul', { class: 'plain' }, rest.slice(0, 50).map(line))) : null);
}

// A bar with all that the plan's document, and the job if it is known, say of it and of its pieces.
function whole(plan, item) {
  const layout = plan.document?.layouts.find((one) => one.bar <= item.bar && item.bar < one.bar + one.count);
  const supply = [...(plan.supplies || []), ...(plan.document?.shelf || [])].find((one) => one.id === item.supply);
  const material = (plan.materials || []).find((one) => one.id === item.material);
  return { ...item, material: material?.name || item.material, place: supply?.place, mark: supply?.mark, owner: supply?.owner, bend: supply?.bend.nm > 0,
    pieces: item.pieces.map((piece, i) => ({ ...(layout ? pieceOf(plan, layout.pieces[i]) : {}), ...piece })) };
}

// "Piece 2 of 4", "Pieces 2 to 3 of 4"
const numbers = (from, count, total) => (count > 1 ? `Pieces ${from} to ${from + count - 1} of ${total}` : `Piece ${from} of ${total}`);

// "desk, for Harbour Radio, due 2026-12-01"
const client = (piece) => [piece.job, piece.client && `for ${piece.client}`, piece.due && `due ${piece.due}`].filter(Boolean).join(', ');

// One kind of piece: which of the bar's they are, stop setting, running marks, and what else has to be known of them.
function row(item, piece, from, total) {
  const marks = (item.marks || []).slice(from - 1, from - 1 + piece.count).map((mark) => mark.running.text);
  const known = [client(piece), piece['measure first'] && `measure on site first, cut last: ${piece.measure || ''}`, piece.remark && `Remark: ${piece.remark}`, piece.work].filter(Boolean);
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
    item.rest === 'kept' ? '. Keep: mark it before the cut; ticking the bar off gives the number to write on it.' : ', scrap');
}

function lines(item) {
  const total = item.pieces.reduce((sum, piece) => sum + piece.count, 0);
  let from = 1;
  return h('ol', { class: 'cuts' }, squared(item) ? h('li', { class: 'first' }, squared(item)) : null,
    item.pieces.map((piece) => {
      from += piece.count;
      return row(item, piece, from - piece.count, total);
    }), left(item));
}

async function tick(held, item) {
  try {
    const done = await post(`/api/held/${held}/cut`, { bar: item.bar, place: localStorage.getItem('place') || null });
    await saw(held);
    const note = document.getElementById(`bar-${item.bar}`);
    const kept = done.shelf.map((piece) => h('p', { class: 'keep-note' },
      'Write ', h('b', {}, piece.number), ` on the ${piece.kind === 'bar' ? 'bar' : 'offcut'} of ${piece.length.text}`, piece.place ? ` and put it to ${piece.place}.` : '.'));
    const back = button('Undo', async () => {
      try {
        const said = await takeBack(done.step);
        await saw(held);
        say(said);
      } catch (error) { say(error.message, 'wrong'); }
    }, 'plain');
    note?.append(h('div', { class: 'after' }, kept, back));
    say(done.shelf.length ? `Bar ${item.bar} is cut. Write ${done.shelf[0].number} on ${done.shelf[0].kind === 'bar' ? 'what came with it' : 'the offcut'}.` : `Bar ${item.bar} is cut.`);
    back.focus();
  } catch (error) {
    say(error.message, 'wrong');
  }
}

// --- went wrong --------------------------------------------------------------------------------------

// A plan that was held elsewhere does not tell its job: it is named, unchanged, once for all bars.
let ofElsewhere = { held: null, text: null, name: '' };

function whichJob(held, jobs) {
  if (ofElsewhere.held !== held) ofElsewhere = { held, text: null, name: '' };
  const said = h('p', { class: 'quiet', role: 'status' }, ofElsewhere.text ? `The rest is planned from ${ofElsewhere.name}.` : '');
  const take = (tree, name) => {
    ofElsewhere = { held, text: write(tree).text, name };
    said.textContent = `The rest is planned from ${name}.`;
  };
  const attempt = (work) => async (event) => {
    try { await work(event.target); } catch (error) { say(whereIn(error), 'wrong'); }
  };
  const file = h('input', { type: 'file', id: 'made-from', multiple: true, accept: '.yaml,.yml,.json,.csv,.tsv,.txt', class: 'hidden',
    onchange: attempt(async (input) => input.files[0] && take(await readJob(input.files), input.files[0].name)) });
  return h('section', { class: 'elsewhere' },
    h('p', {}, 'This plan was held from the command line. To report a wrong cut, name the job that it was made from, unchanged.'),
    h('div', { class: 'row' }, h('label', { class: 'button', for: 'made-from' }, 'Open its job file'), file,
      jobs.length ? field('or a job of this page', choice([['', 'choose'], ...jobs.map((one) => [one.key, one.name || `Job ${one.key}`])], '', {
        onchange: attempt(async (select) => select.value && take(JSON.parse((await get(`/api/documents/job/${select.value}`)).body), select.selectedOptions[0].textContent)),
      })) : null), said);
}

function wrong(held, item, unit) {
  const fields = h('div', { class: 'fields' });
  const body = { bar: item.bar, kind: 'short' };
  const total = item.pieces.reduce((sum, piece) => sum + piece.count, 0);
  const text = (key, label, hint) => field(label, h('input', {
    type: 'text', autocomplete: 'off', placeholder: hint || '', oninput: (event) => { body[key] = event.target.value; },
  }));
  const number = (key, label, most) => field(label, h('input', {
    type: 'number', min: 1, max: most, inputmode: 'numeric', oninput: (event) => { body[key] = Number(event.target.value); },
  }));
  const draw = () => {
    const kinds = {
      short: [number('piece', `Which piece of the bar, 1 to ${total}`, total), text('length', 'How long it came out', unit)],
      'wrong bar': [text('number', 'Number of the piece that was cut instead'), number('done', 'Good pieces it gave', total)],
      'bar length': [text('length', 'How long the bar really is', unit)],
    };
    fields.replaceChildren(
      field('What happened', choice([['short', 'a piece came out too short'], ['wrong bar', 'it was cut from another piece'],
        ['bar length', 'the bar is not as long as planned']], body.kind, {
        onchange: (event) => {
          body.kind = event.target.value;
          delete body.length;
          draw();
        },
      })), ...kinds[body.kind], text('place', 'Where what is left was put'));
  };
  draw();
  const box = h('div', { 'aria-live': 'polite' });
  const go = button('Book it and plan the rest again', async () => {
    go.disabled = true;
    try {
      const { task } = await post(`/api/held/${held}/miscut`, ofElsewhere.held === held ? { ...body, text: ofElsewhere.text } : body);
      const result = await watch(task, box, 'Stop: take the best plan so far');
      after(held, result);
    } catch (error) {
      box.textContent = error.message;
      say(error.message, 'wrong');
      go.disabled = false;
    }
  }, 'main');
  return h('details', { class: 'wrong-cut' }, h('summary', {}, 'It went wrong'), fields, go, box);
}

async function after(held, result) {
  const sum = (amount) => `${amount} ${result.currency === 'XXX' ? '' : result.currency}`;
  const note = h('section', { class: 'short' },
    h('h2', {}, result.short ? 'Booked, but there is not enough tube for the rest' : result.finished ? 'Booked. Every part is cut.' : `Booked. This is the new plan, number ${result.held}`),
    h('p', {}, result.short ? 'The old plan stays open.' : `The mistake costs ${sum(result.difference)}; ${plural(result.locked, 'bar is', 'bars are')} cut and stay as they are.`));
  await saw(result.held || held);
  if (result.held) history.replaceState(null, '', `#/saw/${result.held}`);
  document.getElementById('main').prepend(note);
  note.setAttribute('tabindex', '-1');
  note.focus();
}

// What is bought and still to come, all of it booked as come with one tap.
function coming(held, plan) {
  const due = plan.buys.filter((buy) => buy.came < buy.bought);
  if (!plan.open || !due.length) return null;
  return h('section', { class: 'coming' },
    h('p', {}, 'Still to come: ', due.map((buy) => `${buy.bought - buy.came} of ${plural(buy.bought, 'bar', 'bars')} ${buy.supply}${buy.supplier ? `, ${buy.supplier}` : ''}`).join('; '), '.'),
    h('div', { class: 'row' }, button('All of it is here', async () => {
      try {
        await post(`/api/held/${held}/deliver`, {});
        await saw(held);
        say('Booked: all that was to come is here.');
      } catch (error) { say(error.message, 'wrong'); }
    })));
}

// --- one plan ------------------------------------------------------------------------------------------

export async function saw(held) {
  const plan = await get(`/api/held/${held}`);
  const elsewhere = !plan.plan && plan.open ? (await get('/api/documents/job')).documents : null;
  const left = plan.bars.filter((item) => !item.cut);
  const done = plan.bars.filter((item) => item.cut);
  const longest = Math.max(1, ...plan.bars.map((item) => item.length.nm));
  const spot = h('input', { type: 'text', value: localStorage.getItem('place') || '', placeholder: 'rack 2', oninput: (event) => localStorage.setItem('place', event.target.value) });
  place(`Saw: plan ${held}`);
  const width = Math.min(document.getElementById('main').clientWidth - 34, 900);
  const block = (bare) => {
    const item = whole(plan, bare);
    const detail = h('p', { class: 'detail', role: 'status' });
    return h('article', { class: `layout at-saw ${item.cut ? 'is-cut' : ''}`, id: `bar-${item.bar}` },
      h('h2', {}, `Bar ${item.bar}`, h('small', {}, [`${sourceName(item)} ${item.number || item.supply}`, !item.here && 'to come', item.length.text, item.material, item.place && `at ${item.place}`,
        item.mark && `mark ${item.mark}`, item.owner && `of ${item.owner}`].filter(Boolean).join(', '))),
      bar(item, { kerf: plan.kerf_nm || 0, longest, width, tap: (piece) => { detail.textContent = describe(piece); } }),
      lines(item), detail,
      item.cut ? h('p', { class: 'quiet' }, 'cut') : plan.open ? [
        h('div', { class: 'row' }, button('Cut: tick it off', (event) => { event.target.disabled = true; tick(held, item); }, 'main tick-off', { 'aria-label': `Bar ${item.bar} is cut` })),
        wrong(held, item, plan.unit)] : null);
  };
  show(h('h1', {}, plan.name || 'Job', h('small', {}, ` plan ${held}`)),
    h('p', { class: 'sum' }, left.length ? `${done.length} of ${plural(plan.bars.length, 'bar', 'bars')} cut.` : 'All bars are cut.', plan.open ? '' : ' This plan is closed.',
      plan.replaces ? ` It replaces plan ${plan.replaces}: do not use that one any more.` : ''),
    h('progress', { max: plan.bars.length || 1, value: done.length, 'aria-label': 'Bars cut' }),
    plan.open && left.length ? field('Offcuts are put to', spot) : null,
    coming(held, plan),
    elsewhere && left.length ? whichJob(held, elsewhere) : null,
    left.map(block),
    done.length ? h('h2', {}, 'Cut') : null,
    done.map(block),
    h('p', { class: 'row' },
      plan.plan ? h('a', { class: 'button', href: `#/plan/${plan.plan}` }, 'The plan and its papers') : null,
      plan.open && left.length ? button('Give back what is not cut', async () => {
        // eslint-disable-next-line no-alert
        if (!window.confirm('Close this plan? What is held for it and not cut goes back to the shelf.')) return;
        try { await post(`/api/held/${held}/release`); await saw(held); } catch (error) { say(error.message, 'wrong'); }
      }) : null));
}
