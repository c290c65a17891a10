// SPDX-License-Identifier: GPL-3.0-or-later
// One bar at a time: what to fetch, what to square and write on, the cuts, done; then the next bar in
// the same place. To be read at a metre and used with gloves on.

import { get } from './api.js';
import { h, show, say, button, plural } from './dom.js';
import { missing, measured, outcome, shortOf, whichJob, wrong } from './again.js';
import { bar as drawing, describe, nameOf, sign, sourceName } from './bars.js';
import { coming } from './coming.js';
import { whileHere } from './events.js';
import { takeBack } from './pieces.js';
import { client, clientsOf, numbers, whole } from './saw.js';
import { add, drop, send, waiting } from './ticks.js';
import { place } from './app.js';

// --- the screen stays awake where the browser allows it -------------------------------------------------

let lock = null;
async function stayAwake() {
  if (!/^#\/saw\/\d+$/.test(location.hash) || document.hidden) {
    await lock?.release().catch(() => {});
    lock = null;
  } else if (!lock || lock.released) lock = await navigator.wakeLock?.request('screen').catch(() => null) ?? null;
}
document.addEventListener('visibilitychange', stayAwake);
window.addEventListener('hashchange', stayAwake);

const AGAIN_MS = 3000; // between attempts to send what waits

// --- one bar ----------------------------------------------------------------------------------------------

const part = (title, kind, ...inner) => h('section', { class: `step-of ${kind}` }, h('h3', {}, title), inner);

function fetching(item) {
  const where = item.place ? ['at ', h('b', {}, item.place)] : item.source === 'new' && !item.here ? ['still to come'] : [];
  return part('Fetch', 'fetch', h('p', { class: 'big-line' }, h('b', {}, `${sourceName(item)} ${item.supply}`), item.number && item.number !== item.supply ? ` (${item.number})` : ''),
    h('p', {}, [item.length.text, item.material, item.mark && `mark ${item.mark}`, item.owner && `of ${item.owner}`].filter(Boolean).join(', ')),
    where.length ? h('p', { class: 'big-line' }, where) : null);
}

function before(item) {
  const kept = item.rest === 'kept';
  return part('First', 'first-of-all',
    item.squaring ? h('p', { class: 'big-line' }, `${item.squaring.charAt(0).toUpperCase()}${item.squaring.slice(1)}`) : h('p', {}, 'No end needs to be squared.'),
    kept ? h('p', { class: 'keep-note big-line' }, item.rest_number ? ['Write ', h('b', {}, item.rest_number), ` at the far end: the last ${item.leftover.text} stay an offcut`]
      : `The last ${item.leftover.text} stay an offcut: its number comes with the last cut`) : null);
}

// The pieces, a row each kind; a row can be pressed: it is done, or it is the one that went wrong.
function cuts(item, several, press) {
  const total = item.pieces.reduce((sum, piece) => sum + piece.count, 0);
  let from = 1;
  return h('ol', { class: 'to-cut' }, item.pieces.map((piece) => {
    const first = from;
    from += piece.count;
    const marks = (item.marks || []).slice(first - 1, first - 1 + piece.count).map((mark) => mark.running.text);
    const known = [several && client(piece), piece['measure first'] && `measure on site first, cut last: ${piece.measure || ''}`, piece.remark && `Remark: ${piece.remark}`, piece.work].filter(Boolean);
    const use = { post: ' (post)', surplus: ' (surplus: scrap)', 'bend end': ': scrap' }[piece.use] || '';
    return h('li', {}, h('button', { type: 'button', class: 'cut-row', 'aria-pressed': 'false', 'data-first': first, onclick: (event) => press(event.currentTarget, piece, first) },
      sign(piece), h('span', { class: 'stop' }, `${piece['measure first'] ? 'plan ' : ''}${piece.length.text}`, piece.count > 1 ? h('span', { class: 'times' }, ` \u00d7 ${piece.count}`) : null),
      h('span', { class: 'name' }, `${nameOf(piece)}${use}`, h('small', {}, numbers(first, piece.count, total))),
      marks.length ? h('span', { class: 'marks' }, `marks ${marks.join(', ')}`) : null,
      known.map((text) => h('span', { class: 'known' }, text))));
  }),
  item.rest === 'scrap' && item.leftover.nm > 0 ? h('li', { class: 'rest' }, `Left: ${item.leftover.text}, scrap`) : null);
}

// The piece that is pressed while something is being reported is the one that it is about.
function choosePiece(form, row, piece, first) {
  const field = form.querySelector('input[type=number]');
  if (!form.open || !field) return false;
  const old = Number(field.value);
  const next = old >= first && old < first + piece.count - 1 ? old + 1 : first; // once more: the next of the same
  field.value = String(next);
  field.dispatchEvent(new Event('input', { bubbles: true }));
  document.querySelectorAll('.cut-row.wrong-one').forEach((one) => one.classList.remove('wrong-one'));
  row.classList.add('wrong-one');
  say(`Piece ${next}: ${nameOf(piece)}, ${piece.length.text}.`);
  return true;
}

// --- the plan at the saw ------------------------------------------------------------------------------------

class AtSaw {
  constructor(held) {
    this.held = held;
    this.at = null; // the bar that is shown
    this.steps = []; // [{step, held}], what was booked here, to be taken back
    this.written = new Map(); // of a bar, the number that is on its rest already
    this.note = h('div', { class: 'last-done', 'aria-live': 'polite' });
    this.top = null;
  }

  get here() { return location.hash === `#/saw/${this.held}`; }

  async load() {
    this.plan = await get(`/api/held/${this.held}`);
    this.elsewhere = !this.plan.plan && this.plan.open ? (await get('/api/documents/job')).documents : null;
  }

  isCut(item) { return item.cut || waiting(this.held).some((one) => one.bar === item.bar); }
  get left() { return this.plan.bars.filter((item) => !this.isCut(item)); }

  // Shows a bar, else the one after the bar that was shown, among those that are to be cut.
  draw(bar) {
    if (!this.here) return;
    const { plan, left } = this;
    const wanted = plan.bars.find((item) => item.bar === bar);
    const item = wanted || left.find((one) => one.bar > (this.at || 0)) || left[0] || null;
    this.at = item ? item.bar : null;
    place(`Saw: plan ${this.held}`);
    const open = document.querySelector('.whole-plan')?.open || false;
    show(this.head(), this.top, this.note, item ? this.bar(item) : this.finished(), this.rest(open));
  }

  head() {
    const { plan } = this;
    const done = plan.bars.length - this.left.length;
    const waits = waiting(this.held).length;
    return h('header', { class: 'saw-head' }, h('h1', {}, plan.name || 'Job', h('small', {}, ` plan ${this.held}`)),
      h('p', { class: 'sum' }, `${done} of ${plural(plan.bars.length, 'bar', 'bars')} cut${plan.open ? '' : '. This plan is closed'}`, waits ? h('b', { class: 'wrong' }, `; ${plural(waits, 'cut waits', 'cuts wait')} for the server`) : null),
      plan.replaces ? h('p', { class: 'quiet' }, `It replaces plan ${plan.replaces}: do not use that one any more.`) : null,
      h('progress', { max: plan.bars.length || 1, value: done, 'aria-label': 'Bars cut' }));
  }

  bar(bare) {
    const { plan } = this;
    const item = whole(plan, bare);
    if (item.rest_number) item.rest_number = this.written.get(item.bar) || item.rest_number;
    const cut = this.isCut(bare);
    const several = clientsOf(plan).size > 1;
    const longest = item.length.nm;
    const width = Math.min(document.getElementById('main').clientWidth - 34, 1000);
    const form = cut || !plan.open ? null : wrong(this.held, item, plan.unit, (...what) => this.after(...what));
    const detail = h('p', { class: 'detail', role: 'status' });
    const press = (row, piece, first) => {
      if (form && choosePiece(form, row, piece, first)) return;
      const pressed = row.getAttribute('aria-pressed') !== 'true';
      row.setAttribute('aria-pressed', String(pressed));
    };
    const tap = (piece) => {
      detail.textContent = describe(piece);
      const i = item.pieces.findIndex((one) => one.part === piece.part && one.length.nm === piece.length.nm);
      const row = document.querySelectorAll('.cut-row')[i];
      if (form?.open && row) row.click();
    };
    const index = plan.bars.indexOf(bare);
    const step = (by, text, sign_) => button(sign_, () => this.draw(plan.bars[index + by].bar), 'turn', { 'aria-label': text, disabled: !plan.bars[index + by] });
    return h('article', { class: `one-bar${cut ? ' is-cut' : ''}`, id: `bar-${item.bar}` },
      h('div', { class: 'bar-head' }, step(-1, 'The bar before', '\u2039'), h('h2', { tabindex: '-1' }, `Bar ${item.bar} of ${plan.bars.length}`, cut ? h('small', {}, 'cut') : null), step(1, 'The next bar', '\u203a')),
      h('div', { class: 'before' }, fetching(item), cut ? null : before(item)),
      cut ? null : item.cautions.map((one) => h('p', { class: 'care' }, one.text)),
      drawing(item, { kerf: plan.kerf_nm || 0, longest, width, tap }), detail,
      cuts(item, several, press),
      cut ? item.left.map((piece) => h('p', { class: 'keep-note' }, 'Left: ', h('b', {}, piece.length.text), '. Its number is ', h('b', {}, piece.number), piece.place ? `, at ${piece.place}` : '')) : null,
      cut || !plan.open ? null : [
        h('div', { class: 'saw-keys' }, button('Done: it is cut', () => this.tick(item), 'main tick-off', { 'aria-label': `Bar ${item.bar} is cut` }),
          button('It went wrong', () => { form.open = true; form.querySelector('select').focus(); form.scrollIntoView({ block: 'center' }); }, 'went-wrong')),
        measured(this.held, item, plan.unit, (...what) => this.after(...what)), form]);
  }

  finished() {
    const { plan } = this;
    return h('article', { class: 'one-bar' }, h('h2', { tabindex: '-1' }, plan.missing ? 'All bars are cut, but not all pieces came out.' : 'All bars are cut.'),
      h('p', {}, h('a', { class: 'button', href: '#/saw' }, 'To the other plans')));
  }

  // What is done now and then: deliveries, what is missing, all bars.
  rest(open) {
    const { plan, held } = this;
    const spot = h('input', { type: 'text', id: 'offcut-place', value: localStorage.getItem('place') || '', placeholder: 'rack 2', oninput: (event) => localStorage.setItem('place', event.target.value) });
    const after = async (id, done, text) => {
      await this.load();
      this.booked(text, done);
      this.draw(this.at);
    };
    return [coming(held, plan, after), missing(held, plan, (...what) => this.after(...what)),
      this.elsewhere && (this.left.length || plan.missing) ? whichJob(held, this.elsewhere) : null,
      plan.open && this.left.length ? h('p', { class: 'quiet cautions' }, plan.cautions.map((one) => one.text).join(' ')) : null,
      h('details', { class: 'more whole-plan', open }, h('summary', {}, 'The whole plan'),
        plan.unread ? h('p', { class: 'care' }, `${plan.unread}.`) : null,
        h('div', { class: 'field' }, h('label', { for: 'offcut-place' }, 'Offcuts are put to'), spot),
        h('ul', { class: 'bar-list' }, plan.bars.map((item) => h('li', {}, button(`${item.bar}${this.isCut(item) ? ' \u2713' : ''}`, () => {
          this.draw(item.bar);
          document.querySelector('.one-bar h2').focus();
        }, item.bar === this.at ? 'here' : '', { 'aria-label': `Bar ${item.bar}${this.isCut(item) ? ', cut' : ''}`, 'aria-current': item.bar === this.at ? 'true' : null })))),
        h('p', { class: 'row' }, h('a', { class: 'button', href: `#/saw/${held}/all` }, 'All bars as a list'),
          plan.plan ? h('a', { class: 'button', href: `#/plan/${plan.plan}` }, 'The plan and its papers') : null))];
  }

  // --- what is done

  // What was booked last, with the way back, to the plan that it was booked on.
  booked(text, done, held = this.held) {
    if (done?.step) this.steps.push({ step: done.step, held });
    this.note.replaceChildren(h('p', {}, h('b', {}, text), ' ', (done?.shelf || []).filter((piece) => piece.kind !== 'bar').map((piece) => h('span', { class: 'keep-note' }, h('b', {}, piece.number), ` is on the offcut of ${piece.length.text}${piece.place ? `, for ${piece.place}` : ''}. `))),
      button('Undo', () => this.undo(), 'undo-cut'));
  }

  async tick(item) {
    const tick = { bar: item.bar, number: item.rest_number || null, place: localStorage.getItem('place') || null };
    add(this.held, tick);
    if (tick.number) this.written.set(tick.bar, tick.number);
    this.top = null;
    this.booked(`Bar ${item.bar} is cut.`, null);
    this.draw();
    window.scrollTo(0, 0);
    document.querySelector('.one-bar h2')?.focus({ preventScroll: true });
    await this.flush();
  }

  // Sends what waits; a number that another piece got meanwhile is told as what it has to be instead.
  async flush() {
    let any = false;
    try {
      await send(this.held, async ({ bar, number, place: at, done, error }) => {
        any = true;
        if (done) {
          this.booked(`Bar ${bar} is cut.`, done);
          return;
        }
        await this.load();
        if (this.plan.bars.find((item) => item.bar === bar)?.cut) return; // it was booked, the answer was lost
        if (error.code === 'exists' && number) {
          this.written.delete(bar);
          add(this.held, { bar, number: null, place: at });
          this.renamed = { bar, number };
          return;
        }
        this.top = h('p', { class: 'care wrong', role: 'alert' }, `Bar ${bar} is not booked: ${error.message}`);
      });
      if (any) {
        await this.load();
        if (this.renamed) this.tellNumber();
      }
    } catch { // the server is away
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.here && waiting(this.held).length && this.flush(), AGAIN_MS);
    }
    this.draw(this.at);
  }

  tellNumber() {
    const { bar, number } = this.renamed;
    const left = this.plan.bars.find((item) => item.bar === bar)?.left[0];
    this.renamed = null;
    if (left) this.top = h('p', { class: 'care wrong', role: 'alert' }, `${number} was given to another piece meanwhile: write `, h('b', {}, left.number), ` on the offcut of bar ${bar} instead.`);
  }

  async undo() {
    const waits = waiting(this.held);
    const last = waits[waits.length - 1];
    this.top = null;
    try {
      if (last) { // not sent yet
        drop(this.held, last.bar);
        this.note.replaceChildren(h('p', {}, `Bar ${last.bar} is not cut.`));
        this.draw(last.bar);
        return;
      }
      const known = this.steps.pop();
      const step = known ? known.step : (await get('/api/history?last=1')).undoable;
      const text = await takeBack(step);
      this.turnTo(known?.held || this.held);
      await this.load();
      this.note.replaceChildren(h('p', {}, h('b', {}, text), ' ', this.steps.length ? button('Undo', () => this.undo(), 'undo-cut') : null));
      this.at = null;
      this.draw();
    } catch (error) { this.tell(error); }
  }

  tell(error) {
    this.top = h('p', { class: 'care wrong', role: 'alert' }, error.message);
    this.draw(this.at);
  }

  // Another plan stands in the place of this one, or it is back.
  turnTo(held) {
    if (held === this.held) return;
    this.held = held;
    history.replaceState(null, '', `#/saw/${held}`);
    attend(this);
  }

  // A mishap was booked, or a true length: what it costs, what changed, what is to be done now.
  async after(result, words) {
    const before = this.plan;
    const { held } = this;
    this.turnTo(String(result.held || held));
    await this.load();
    this.at = null;
    this.booked(result.short ? `${shortOf(result)}.` : 'Booked.', result.step ? { step: result.step } : null, held);
    this.top = h('section', { class: result.short ? 'outcome short' : 'outcome', tabindex: '-1' }, outcome(result, words),
      result.shelf.map((piece) => h('p', { class: 'keep-note big-line' }, 'Write ', h('b', {}, piece.number), ` on the ${piece.kind === 'bar' ? 'bar' : 'offcut'} of ${piece.length.text}${piece.place ? ` and put it to ${piece.place}` : ''}.`)),
      result.held ? changes(before, this.plan) : null);
    this.draw();
    window.scrollTo(0, 0);
    this.top.focus({ preventScroll: true });
  }
}

// Which bars of the new plan are cut otherwise than those of the old one.
function changes(before, now) {
  const say_ = (item) => item.pieces.map((piece) => `${piece.count}\u00d7${piece.length.text}`).join(' + ');
  const open = (plan) => plan.bars.filter((item) => !item.cut);
  const key = (item) => `${item.supply}: ${say_(item)}`;
  const old = open(before).map(key);
  const fresh = open(now).filter((item) => {
    const i = old.indexOf(key(item));
    if (i >= 0) old.splice(i, 1);
    return i < 0;
  });
  return h('p', {}, fresh.length ? `Otherwise than before: ${fresh.map((item) => `bar ${item.bar}`).join(', ')}; ${plural(open(now).length - fresh.length, 'bar is', 'bars are')} cut as before.` : 'The bars that are left are cut as before.');
}

function attend(view) {
  whileHere(async ({ what }) => {
    if (!view.here || (what !== 'shelf' && what !== 'all' && what !== 'here')) return;
    if (what === 'here' && !waiting(view.held).length) return;
    if (document.querySelector('.wrong-cut[open], .true-length[open], .part-came[open]')) return; // somebody is filling it in
    await view.flush();
    await view.load().catch(() => {});
    const item = view.plan.bars.find((one) => one.bar === view.at);
    view.draw(item && !view.isCut(item) ? view.at : undefined);
  });
}

export async function atSaw(held) {
  const view = new AtSaw(held);
  await view.load();
  attend(view);
  view.draw();
  stayAwake();
  if (waiting(held).length) view.flush();
}
