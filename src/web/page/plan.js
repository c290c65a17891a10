// SPDX-License-Identifier: GPL-3.0-or-later
// Plans: made, shown, compared; what follows from them.

import { get, post } from './api.js';
import { h, show, button, choice, field, plural, when, money } from './dom.js';
import { bar, layoutsOf, legend, sourceName, describe } from './bars.js';
import { jobOf } from './job.js';
import { write } from './tree.js';
import { loadMembers, members } from './members.js';
import { steps } from './edit.js';
import { holding, papers } from './papers.js';
import { proofOf, proved } from './proof.js';
import { whileHere } from './events.js';
import { watch } from './progress.js';
import { paper, place } from './app.js';

// --- making one -----------------------------------------------------------------------------------

async function make(tree, job, settings, box) {
  const began = performance.now();
  const { text } = write(tree);
  const { task } = await post('/api/plans', { text, job: job.key, revision: job.revision, ...settings });
  const result = await watch(task, box, STOP);
  document.documentElement.dataset.planned = Math.round(performance.now() - began);
  return result.plan;
}

const STOP = 'Stop: take the best so far';

// A plan is made whether or not anybody looks on; where it leads is followed only by who still does.
const goThere = (here, there) => { if (location.hash === here) location.hash = there; };

// How long a plan may be searched for; it ends earlier when no better one can exist.
const effort = (chosen) => choice([['0', 'a quick look'], ['10', 'at most 10 seconds'], ['60', 'at most a minute'], ['600', 'at most ten minutes']], chosen);
const spend = (select) => (select.value === '0' ? { quick: true } : { time_ms: Number(select.value) * 1000 });

function refused(error, box, key) {
  box.replaceChildren(h('div', { class: 'check' },
    h('p', { class: 'wrong' }, 'This job can\'t be planned yet:'),
    h('ul', { class: 'remarks' }, (error.remarks.length ? error.remarks.filter((remark) => remark.severity === 'wrong') : [{ text: error.message }])
      .slice(0, 20).map((remark) => h('li', { class: 'wrong' }, remark.text))),
    h('p', {}, h('a', { href: `#/job/${key}/parts` }, 'Look at the parts'), ' or ', h('a', { href: `#/job/${key}/tube` }, 'at the tube'))));
}

export async function plan(key) {
  const job = await jobOf(key);
  place(`Plan: ${job.tree.name || 'job'}`);
  const shelf = h('input', { type: 'checkbox', id: 'use-shelf', checked: localStorage.getItem('shelf') !== 'no' });
  const time = effort(localStorage.getItem('seconds') || '10');
  const work = h('input', { type: 'text', inputmode: 'numeric', autocomplete: 'off', placeholder: 'no limit' });
  const box = h('div', { 'aria-live': 'polite' });
  const past = h('div', {});
  const here = location.hash;
  const go = button('Make a plan', async () => {
    go.disabled = true;
    localStorage.setItem('shelf', shelf.checked ? 'yes' : 'no');
    localStorage.setItem('seconds', time.value);
    try {
      await job.save();
      const made = await make(job.tree, job, { shelf: shelf.checked, ...spend(time), ...(work.value.trim() ? { work: Number(work.value) } : {}) }, box);
      goThere(here, `#/plan/${made}`);
    } catch (error) {
      refused(error, box, key);
    }
    go.disabled = false;
  }, 'main', { id: 'make-plan' });
  show(steps(key, 'plan'), h('h1', {}, 'Plan'),
    h('div', { class: 'fields' },
      h('div', { class: 'field tick' }, shelf, h('label', { for: 'use-shelf' }, 'Use what lies on the shelf')),
      field('Search for', time)),
    h('details', { class: 'more' }, h('summary', {}, 'More'),
      h('div', { class: 'fields' }, field('Stop after so much work', work, 'The same job with the same work gives the same plan.')),
      planFile(job)),
    h('p', {}, go), box, past);
  whileHere(({ what, key: of }) => (what === 'all' || (what === 'plans' && of === key)) && list(key, past).catch(() => {}));
  const { running } = await list(key, past);
  if (running.length) follow(running[0], { key, here, go, box });
}

// The plan page, with a plan begun at once.
export async function planNow(key) {
  history.replaceState(null, '', `#/job/${key}/plan`);
  await plan(key);
  const go = document.getElementById('make-plan');
  if (!go.disabled) go.click();
}

// One that was begun before, here or elsewhere.
async function follow(task, { key, here, go, box }) {
  go.disabled = true;
  try {
    const { plan: made } = await watch(task, box, STOP);
    goThere(here, `#/plan/${made}`);
  } catch (error) {
    if (location.hash === here) refused(error, box, key);
  }
  go.disabled = false;
}

// A plan document from elsewhere: proved from this job, and kept if it holds.
function planFile(job) {
  const said = h('div', { 'aria-live': 'polite' });
  const read = async (file) => {
    try {
      const { text } = job.text();
      const plan = await file.text();
      if (!plan.trim()) throw new Error(`${file.name} is empty`);
      const found = await post('/api/verify', { text, plan, keep: true, job: job.key, revision: job.revision });
      said.replaceChildren(found.good
        ? h('div', {}, h('p', {}, 'It holds: fit, counts, lengths and money come out as it says. ', h('a', { href: `#/plan/${found.plan}` }, `It is plan ${found.plan} now.`)), proved(found))
        : h('div', {}, h('p', { class: 'wrong' }, 'It does not hold:'), h('ul', { class: 'remarks' }, found.remarks.map((remark) => h('li', { class: 'wrong' }, remark.text)))));
    } catch (error) {
      const wrong = (error.remarks || []).filter((remark) => remark.severity === 'wrong');
      said.replaceChildren(h('ul', { class: 'remarks' }, (wrong.length ? wrong : [{ text: error.message }]).map((remark) => h('li', { class: 'wrong' }, remark.text))));
    }
  };
  const file = h('input', { type: 'file', id: 'plan-file', accept: '.json', class: 'hidden', onchange: () => file.files[0] && read(file.files[0]).then(() => { file.value = ''; }) });
  return h('div', {}, h('p', { class: 'row' }, h('label', { class: 'button', for: 'plan-file' }, 'Check a plan file of this job'), file), said);
}

async function list(key, box) {
  const { plans, running } = await get(`/api/plans?job=${key}`);
  if (!plans.length) return { running };
  const picked = new Set();
  const compare = button('Compare the two', () => { location.hash = `#/compare/${[...picked].sort((a, b) => a - b).join('/')}`; }, '', { disabled: true });
  const ticks = plans.slice(0, 20).map((item) => h('li', {},
    h('input', {
      type: 'checkbox', 'aria-label': `Compare plan ${item.key}`, onchange: (event) => {
        if (event.target.checked) picked.add(item.key);
        else picked.delete(item.key);
        compare.disabled = picked.size !== 2;
      },
    }),
    h('a', { href: `#/plan/${item.key}` }, `Plan ${item.key}: `, item.status === 'infeasible' ? 'not enough tube' : `${item.value}, ${plural(Number(item.bars), 'bar', 'bars')}`),
    h('span', { class: 'quiet' }, ` ${when(item.when)}${item.who ? `, ${item.who}` : ''}`)));
  box.replaceChildren(h('h2', {}, 'Plans of this job'), h('ul', { class: 'plain' }, ticks), plans.length > 1 ? compare : '');
  return { running };
}

// --- showing one ----------------------------------------------------------------------------------

function shortage(plan) {
  const cure = {
    longer: (c) => `a bar of ${c.material} with a usable length of at least ${c.length.text}`,
    more: (c) => `${plural(c.count, 'more bar', 'more bars')} of ${c.supply}`,
    rule: (c) => `the job without its rule of the longest scrap: a plan at ${money(plan, c.money)}${c.length.nm ? `, which leaves ${c.length.text}` : ''}`,
    any: (c) => `bars of ${c.material} for ${plural(c.count, 'more piece', 'more pieces')}, the longest ${c.length.text}`,
  };
  const missing = new Map(plan.groups.flatMap((group) => group.shortages).map((item) => [item.part.index, item.missing]));
  const made = plan.parts.map((part, i) => [part, part.post ? 0 : part.count - (missing.get(i) || 0)]).filter(([, n]) => n > 0)
    .map(([part, n]) => h('li', {}, `${n} \u00d7 ${part.label || ''}, ${part.length.text}`));
  return h('section', { class: 'short' },
    h('h2', {}, plan.cures[0]?.kind === 'rule' ? 'The rule of the longest scrap allows no plan' : 'Not enough tube'),
    h('ul', {}, plan.groups.flatMap((group) => group.shortages).map((item) =>
      h('li', {}, `${item.part.label || ''}, ${plan.parts[item.part.index].length.text}: ${item.never ? 'no bar is long enough' : `${plural(item.missing, 'piece is', 'pieces are')} missing`}`))),
    made.length ? [h('p', {}, 'Can be made from the tube at hand; the others wait:'), h('ul', {}, made)] : null,
    plan.cures.length ? [h('p', {}, 'What would help:'), h('ul', {}, plan.cures.map((item) => h('li', {}, cure[item.kind](item))))] : null);
}

function figure(label, value, extra) {
  return h('div', { class: 'figure' }, h('dt', {}, label), h('dd', {}, value, extra ? h('small', {}, extra) : null));
}

/* What suppliers charge, in the words of the order. */
function charges(plan) {
  return (plan.order ? plan.order.suppliers : []).flatMap((row) => [
    ['cuts by the supplier', row.cutting], ['up to the least order', row['least order']],
    ['small-order surcharge', row['small order']], ['freight', row.freight],
    ['bars for the shelf, worth', row.spare, true],
  ].map(([what, amount, less]) => [`${row.supplier.name}: ${what}`, amount, less]));
}

function moneyTable(plan) {
  const differs = plan.totals.taken !== plan.taken_paid;
  const rows = [['new bars', plan.totals.bars], ...charges(plan), [differs ? 'bars and offcuts from the shelf, as the plan counts them' : 'bars and offcuts from the shelf, book value', plan.totals.taken], ['work at the saw', plan.totals.cuts],
    ['offcuts kept', plan.totals.kept, true], ['posts made', plan.totals.posts, true]];
  const table = h('table', { class: 'figures' }, h('caption', {}, 'Money'),
    h('tbody', {}, rows.filter(([, amount]) => Number(amount) !== 0).map(([name, amount, less]) =>
      h('tr', {}, h('th', { scope: 'row' }, name), h('td', {}, `${less ? '\u2212' : ''}${amount}`)))),
    h('tfoot', {}, h('tr', {}, h('th', { scope: 'row' }, 'in all'), h('td', {}, money(plan, plan.totals.value)))));
  const busy = plan['saw time'] ? h('p', { class: 'quiet' }, plan['saw time'].text) : null;
  if (!differs && busy) return h('div', {}, table, busy);
  return differs ? h('div', {}, table, busy, h('p', { class: 'quiet' }, `Paid for the bars and offcuts from the shelf: ${money(plan, plan.taken_paid)}. That is what a quote charges.`)) : table;
}

function lengthTable(plan) {
  const all = plan.totals['length in'].nm || 1;
  const rows = [['parts', 'parts'], ['posts', 'posts'], ['offcuts kept', 'kept'], ['scrap', 'scrap'], ['squared off', 'trim'], ['chips', 'chips']]
    .map(([name, key]) => [name, `length in ${key}`]);
  return h('table', { class: 'figures' }, h('caption', {}, 'Where the tube goes'),
    h('tbody', {}, rows.filter(([, name]) => plan.totals[name].nm > 0).map(([name, key]) =>
      h('tr', {}, h('th', { scope: 'row' }, name), h('td', {}, plan.totals[key].text), h('td', {}, `${((100 * plan.totals[key].nm) / all).toFixed(1)} %`)))));
}

// Whom the bars are cut for, and by when.
function clients(plan) {
  const known = plan.clients.filter((one) => one.client || one.due || (one.name && plan.clients.length > 1));
  return known.length ? h('ul', { class: 'plain clients' }, known.map((one) => h('li', {}, [one.name !== plan.name && one.name, one.client].filter(Boolean).join(', '), one.due ? ` due ${one.due}` : ''))) : null;
}

function takes(plan) {
  return h('table', { class: 'figures takes' }, h('caption', {}, 'Take and buy'),
    h('tbody', {}, plan.takes.map((take, i) => {
      const supply = plan.supplies[i];
      const length = supply.measured.nm ? supply.measured : supply.length;
      return h('tr', {},
        h('th', { scope: 'row' }, supply.source === 'new' ? `buy ${take.bought} \u00d7 ${supply.id}` : `take ${supply.id}`,
          h('small', {}, [length.text, plan.tubes[supply.material.index], supply.place, supply.owner && `of ${supply.owner}`, supply.mark && `mark ${supply.mark}`,
            supply.supplier, supply.date && (supply.source === 'new' ? supply.date : `since ${supply.date}`), plan.reasons[i] && `paid ${supply['book value']}; counted: ${plan.reasons[i]}`].filter(Boolean).join(', '))),
        h('td', {}, take.money));
    })));
}

const barsName = (layout) => (layout.count > 1 ? `Bars ${layout.bar} to ${layout.bar + layout.count - 1}` : `Bar ${layout.bar}`);

// Bars of a plan, drawn to the width of `frame`, and again when that changes.
export function drawBars(frame, plan, layouts) {
  const longest = Math.max(1, ...layouts.map((layout) => layout.length.nm));
  const draw = () => {
    const width = Math.max(200, frame.clientWidth - 2);
    frame.replaceChildren(...layouts.map((layout) => {
      const detail = h('p', { class: 'detail', role: 'status' });
      const tap = (piece) => {
        detail.textContent = describe(piece);
        document.querySelectorAll('.piece.same').forEach((element) => element.classList.remove('same'));
        if (piece.part !== undefined)
          document.querySelectorAll(`.piece[data-part="${piece.part}"]`).forEach((element) => element.classList.add('same'));
      };
      return h('article', { class: 'layout' },
        h('h3', {}, `${barsName(layout)}: ${layout.count > 1 ? `${layout.count} \u00d7 ` : ''}${sourceName(layout)} ${layout.supply}`,
          h('small', {}, [layout.length.text, layout.material, layout.place].filter(Boolean).join(', '))),
        bar(layout, { kerf: plan.kerf_nm, longest, width, tap }), legend(layout), detail);
    }));
  };
  let drawn = 0;
  const watch = new ResizeObserver(() => {
    if (Math.abs(frame.clientWidth - drawn) < 4) return;
    drawn = frame.clientWidth;
    draw();
  });
  watch.observe(frame);
}

function changeRule(plan, job, box) {
  const tree = JSON.parse(JSON.stringify(job.tree));
  const rules = tree.rules ||= {};
  const text = ({ key, title, hint }) => (Array.isArray(rules[key]) ? null : field(title, h('input', {
    type: 'text', value: rules[key] || '', placeholder: hint, autocomplete: 'off',
    oninput: (event) => { if (event.target.value.trim()) rules[key] = event.target.value; else delete rules[key]; },
  })));
  const shelf = h('input', { type: 'checkbox', id: 'again-shelf', checked: plan.shelf });
  const time = effort('10');
  return h('details', { class: 'more', id: 'change-rule' }, h('summary', {}, 'Change a rule and compare'),
    h('p', { class: 'quiet' }, 'The job itself stays as it is.'),
    h('div', { class: 'fields' },
      members('rules').map(text),
      field('Search for', time),
      h('div', { class: 'field tick' }, shelf, h('label', { for: 'again-shelf' }, 'Use the shelf'))),
    button('Plan again and compare', async (event) => {
      event.target.disabled = true;
      try {
        const made = await make(tree, job, { shelf: shelf.checked, ...spend(time) }, box);
        location.hash = `#/compare/${plan.key}/${made}`;
      } catch (error) {
        refused(error, box, job.key);
      }
      event.target.disabled = false;
    }, 'main'));
}

// What was doubtful in the job. Its bars may all come from the shelf.
function doubts(plan) {
  const told = plan.remarks.filter((remark) => remark.severity === 'doubt' && !(plan.shelf && /^there is no bar/.test(remark.text)));
  return told.length ? h('ul', { class: 'remarks' }, told.slice(0, 12).map((remark) => h('li', { class: 'doubt' }, remark.text)),
    told.length > 12 ? h('li', {}, `and ${told.length - 12} more: the job itself shows them`) : null) : null;
}

// A plan that an earlier version of the program stored without what it was made from: its bars as its document has them, and both files.
async function older(key, why) {
  const doc = await get(`/api/plans/${key}/papers/plan.json`).catch(() => { throw why; });
  place(`Plan ${key}`);
  const piece = (one) => `${one.count} \u00d7 ${one.length.text} ${one.part ? one.part.label || 'piece' : one.use}`;
  const save = (file, text) => h('a', { class: 'button', href: `/api/plans/${key}/papers/${file}`, download: `plan-${key}-${file}` }, text);
  show(h('h1', {}, doc.job?.name || 'Plan', h('small', {}, ` plan ${key}`)),
    h('p', { class: 'care' }, `${why.message.charAt(0).toUpperCase()}${why.message.slice(1)}.`),
    h('p', { class: 'row' }, save('plan.json', 'The plan (JSON)'), save('job.yaml', 'Its job (YAML)'), h('a', { class: 'button', href: '#/jobs' }, 'Plan the job again')),
    h('ul', { class: 'older' }, (doc.layouts || []).map((layout) => h('li', {}, h('b', {}, `${layout.count} \u00d7 ${layout.supply?.id || ''}`), `: ${layout.pieces.map(piece).join(', ')}`))));
}

// A plan of the job as it was says so, and offers to plan it as it is.
function outdated(plan, job) {
  const box = h('div', {});
  const here = location.hash;
  const again = button('Plan it again', async (event) => {
    event.target.disabled = true;
    try {
      await job.save();
      const made = await make(job.tree, job, { shelf: plan.shelf, time_ms: Math.max(plan.time_ms, 10000) }, box);
      goThere(here, `#/plan/${made}`);
    } catch (error) {
      refused(error, box, job.key);
    }
    event.target.disabled = false;
  }, 'main', { id: 'plan-again' });
  return h('section', { class: 'outcome outdated' }, h('h2', {}, 'The job was changed after this plan was made'),
    h('p', {}, 'It cuts the job as it was. To cut the job as it is, plan it again.'), h('div', { class: 'row' }, again), box);
}

const isOutdated = (plan, job) => Boolean(job) && plan.revision > 0 && (plan.revision !== job.revision || job.changed);

const roundUp = (plan, amount) => (Math.ceil(amount * 10 ** digitsOf(plan) - 1e-6) / 10 ** digitsOf(plan)).toFixed(digitsOf(plan));

// What is looked at first and done next, always in sight.
function actions(plan, old) {
  const pieces = plan.layouts.reduce((sum, layout) => sum + layout.count * layout.pieces.reduce((n, piece) => n + piece.count, 0), 0);
  const open = plan.remarks.filter((remark) => remark.severity === 'doubt').length;
  const best = plan.groups.every((group) => group.status === 'optimal');
  const saved = plan.groups.reduce((sum, group) => sum + (group.status === 'optimal' ? 0 : Number(group.value) - Number(group.bound)), 0);
  return h('section', { class: 'plan-keys', 'aria-label': 'What to do with the plan' },
    h('p', {}, h('b', {}, inMoney(plan, plan.value)), ` ${plural(pieces, 'piece', 'pieces')} from ${plural(plan.totals['bar count'], 'bar', 'bars')}`,
      h('span', { class: 'quiet' }, best ? ' no cheaper plan exists' : ` at most ${money(plan, roundUp(plan, saved))} could still be saved`, open ? `, ${plural(open, 'doubt', 'doubts')} above` : '')),
    h('div', { class: 'row' }, h('a', { class: 'button', id: 'print', target: '_blank', rel: 'noopener', href: `/api/plans/${plan.key}/papers/sheet.pdf?paper=${paper()}` }, 'Print the cut sheet'), holding(plan, old)));
}

// Somebody else may have held it meanwhile.
async function holdNews(plan) {
  const now = await get(`/api/plans/${plan.key}`).catch(() => plan);
  if (now.held !== plan.held && location.hash === `#/plan/${plan.key}`) await result(plan.key);
}

export async function result(key) {
  let plan;
  try { plan = await get(`/api/plans/${key}`); } catch (error) {
    if (error.status !== 409) throw error;
    await older(key, error);
    return;
  }
  const [job] = await Promise.all([plan.job ? jobOf(plan.job).catch(() => null) : null, loadMembers()]);
  place(`Plan ${key}: ${plan.name || 'job'}`);
  const bars = h('div', { class: 'bars' });
  const box = h('div', { 'aria-live': 'polite' });
  const short = plan.status === 'infeasible';
  const old = isOutdated(plan, job) && !plan.held;
  if (job) {
    const here = location.hash;
    const leave = job.listen(() => {
      if (location.hash !== here) leave();
      else if (isOutdated(plan, job) !== old && !plan.held) result(key).then(leave, () => {});
    });
  }
  whileHere(({ what }) => ['shelf', 'all'].includes(what) && holdNews(plan));
  show(plan.job ? steps(plan.job, '') : null,
    h('h1', {}, plan.name || 'Plan', h('small', {}, ` plan ${key}, ${when(plan.when)}`)),
    old ? outdated(plan, job) : null,
    doubts(plan),
    short ? shortage(plan) : h('dl', { class: 'headline' },
      figure('costs', inMoney(plan, plan.value)),
      figure('bars', plan.totals['bar count'], ` ${plural(plan.layouts.length, 'layout', 'layouts')}`),
      figure('cuts', plan.totals['cut count']),
      figure('offcuts kept', plan.totals['kept count']),
      figure('in parts', `${((100 * (plan.totals['length in parts'].nm + plan.totals['length in posts'].nm)) / (plan.totals['length in'].nm || 1)).toFixed(1)} %`)),
    short ? null : h('ul', { class: 'proof' }, plan.groups.map((group) => h('li', { class: group.proof === 'search' ? '' : group.status }, proofOf(plan, group)))),
    clients(plan),
    short ? null : papers(plan),
    short ? null : h('h2', {}, 'Cut'),
    short ? null : h('p', { class: 'quiet' }, 'Drawn to scale from the datum end. ', h('span', { class: 'tap' }, 'Tap a piece to see what it is.')),
    bars,
    short ? null : h('div', { class: 'tables' }, takes(plan), moneyTable(plan), lengthTable(plan)),
    job ? changeRule(plan, job, box) : null, box,
    short ? null : actions(plan, old));
  if (!short) drawBars(bars, plan, layoutsOf(plan));
}

// Money is kept finer than it is paid.
const digitsOf = (plan) => (plan.currency === 'JPY' ? 0 : 2);
const inMoney = (plan, amount) => money(plan, Number(amount).toFixed(digitsOf(plan)));

// "Plan 4 costs 3.10 EUR more than plan 3 and needs 4 layouts fewer."
function inWords([a, b]) {
  const count = (n, one, many) => (n ? `${plural(Math.abs(n), one, many)} ${n < 0 ? 'fewer' : 'more'}` : '');
  const [of, to] = [b, a].map((plan) => Number(plan.value));
  const less = (Math.abs(of - to)).toFixed(digitsOf(a));
  const cost = of === to ? 'costs the same as' : `costs ${money(a, less)} ${of > to ? 'more' : 'less'} than`;
  const needs = [[b.totals['bar count'] - a.totals['bar count'], 'bar', 'bars'], [b.layouts.length - a.layouts.length, 'layout', 'layouts'],
    [b.totals['cut count'] - a.totals['cut count'], 'cut', 'cuts']].map((one) => count(...one)).filter(Boolean);
  const list = needs.length > 1 ? `${needs.slice(0, -1).join(', ')} and ${needs[needs.length - 1]}` : needs[0];
  return `Plan ${b.key} ${cost} plan ${a.key}${list ? ` and needs ${list}` : ', with as many bars, layouts and cuts'}.`;
}

// --- two side by side -------------------------------------------------------------------------------

export async function compare(a, b) {
  const plans = await Promise.all([get(`/api/plans/${a}`), get(`/api/plans/${b}`)]);
  place(`Compare plans ${a} and ${b}`);
  const rulesOf = (plan) => plan.rules;
  const row = (name, value, less) => {
    const values = plans.map(value);
    const numbers = values.map((text) => Number.parseFloat(text));
    const best = numbers.every(Number.isFinite) && numbers[0] !== numbers[1] && less !== undefined
      ? (numbers[0] < numbers[1]) === less ? 0 : 1 : -1;
    return h('tr', {}, h('th', { scope: 'row' }, name), values.map((text, i) => h('td', { class: i === best ? 'best' : '' }, text, i === best ? h('span', { class: 'hidden' }, ' (better)') : null)));
  };
  const share = (plan, key) => `${((100 * plan.totals[key].nm) / (plan.totals['length in'].nm || 1)).toFixed(1)} %`;
  const frames = plans.map(() => h('div', { class: 'bars' }));
  show(plans[0].job ? steps(plans[0].job, '') : null,
    h('h1', {}, 'Two plans'),
    h('p', { class: 'lead' }, inWords(plans)),
    h('table', { class: 'figures compare' }, h('caption', { class: 'hidden' }, 'Two plans side by side'),
      h('thead', {}, h('tr', {}, h('td', {}), plans.map((plan) => h('th', { scope: 'col' }, h('a', { href: `#/plan/${plan.key}` }, `Plan ${plan.key}`))))),
      h('tbody', {},
        row('keep offcuts from', (plan) => rulesOf(plan).keep),
        row('new offcuts at most', (plan) => rulesOf(plan).most),
        row('from the shelf', (plan) => (plan.shelf ? 'yes' : 'no')),
        row('costs', (plan) => money(plan, plan.value), true),
        row('no plan below', (plan) => money(plan, plan.bound)),
        row('bars', (plan) => plan.totals['bar count'], true),
        row('layouts', (plan) => plan.layouts.length, true),
        row('cuts', (plan) => plan.totals['cut count'], true),
        row('offcuts kept', (plan) => plan.totals['kept count']),
        row('kept', (plan) => plan.totals['length in kept'].text),
        row('in parts', (plan) => share(plan, 'length in parts'), false),
        row('scrap', (plan) => share(plan, 'length in scrap'), true))),
    h('div', { class: 'pair' }, plans.map((plan, i) => h('section', {}, h('h2', {}, `Plan ${plan.key}`), frames[i]))));
  plans.forEach((plan, i) => drawBars(frames[i], plan, layoutsOf(plan)));
}
