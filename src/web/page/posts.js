// SPDX-License-Identifier: GPL-3.0-or-later
// What the offcuts could become: those of a plan, or the shelf as it stands.

import { get, post, follow } from './api.js';
import { h, show, plural } from './dom.js';
import { place } from './app.js';
import { Form } from './form.js';
import { entryOf } from './job.js';
import { write } from './tree.js';
import { around, linkTo } from './pieces.js';

const money = (amount, currency) => (currency === 'XXX' ? amount : `${amount} ${currency}`);

function load(check) {
  if (!check.done) return h('small', {}, `load not checked: ${check.why_not}`);
  return [h('span', { class: check.fits ? 'fits' : 'wrong' }, check.fits ? 'load: within' : 'load: TOO MUCH'),
    h('small', {}, ` droops ${check.droop_mm} of ${check.droop_most_mm} mm, stress ${check.stress_mpa} of ${check.stress_most_mpa} MPa; `
      + `E ${check.e_mpa} MPa, I ${(check.inertia_mm4 / 1e4).toPrecision(4)} cm\u2074, Z ${(check.modulus_mm3 / 1e3).toPrecision(4)} cm\u00b3, minimum yield ${check.yield_mpa} MPa, ${check.source}`)];
}

// `more`: another post of the offcut of the row before.
function row(offcut, currency, more) {
  const also = offcut.could.filter((label) => label !== offcut.post);
  return h('tr', {}, h('th', { scope: 'row' }, offcut.number ? linkTo(offcut.number) : `left of ${offcut.left_of}`, offcut.place && !more ? h('small', {}, ` ${offcut.place}`) : null),
    h('td', { class: 'number' }, more ? h('small', {}, 'of the same') : [offcut.length.text, h('small', {}, ` ${offcut.material}`)]),
    h('td', {}, offcut.post ? [h('b', {}, offcut.post), `, cut to ${offcut.cut.text}`, h('small', {}, ` worth ${money(offcut.worth, currency)}${offcut.left.nm ? `, ${offcut.left.text} is left` : ''}`)]
      : [h('span', { class: 'quiet' }, 'stays'), h('small', {}, offcut.could.length ? 'worth more as it is, or no more are wanted' : 'too short, or another tube')],
    also.length && offcut.post ? h('small', {}, ` or ${also.join(', ')}`) : null,
    offcut.check ? h('div', {}, load(offcut.check)) : null));
}

function answer(result, checked) {
  const title = h('h2', { tabindex: '-1' }, !result.wishes ? 'This job wants no posts'
    : !result.offcuts.length ? 'There are no offcuts to make posts of'
      : !result.posts ? 'No offcut is worth more as a post than as it is'
        : `${plural(result.posts, 'post', 'posts')} of ${plural(result.n_offcuts, 'offcut', 'offcuts')}, worth ${money(result.worth, result.currency)}`);
  const nodes = [title,
    result.wishes ? null : h('p', {}, 'Posts are entered with the parts of a job: length from and to, how many at most, what each is worth.'),
    result.posts ? h('p', {}, `${money(result.gain, result.currency)} more than the offcuts are worth as they are. No choice ${result.several ? '' : 'of one post an offcut '}gains more.`) : null,
    result.offcuts.length && result.wishes ? h('table', { class: 'stock' }, h('caption', { class: 'hidden' }, 'Offcuts and what they become'),
      h('thead', {}, h('tr', {}, ['Offcut', 'Length', 'Becomes'].map((text) => h('th', { scope: 'col' }, text)))),
      h('tbody', {}, result.offcuts.map((offcut, i) => row(offcut, result.currency, offcut.source === result.offcuts[i - 1]?.source)))) : null,
    ...result.doubts.map((text) => h('p', { class: 'care' }, `Doubtful: ${text}.`)),
    checked ? h('p', { class: 'quiet' }, `Held at one end: ${result.formula}.`) : null,
    h('p', { class: 'care' }, result.caution)].filter(Boolean);
  return { title, nodes };
}

// `plan`: key of a plan whose offcuts are looked at; otherwise the shelf as it stands.
export async function posts(plan) {
  place('Posts');
  const [{ documents }, planned] = await Promise.all([get('/api/documents/job'), plan ? get(`/api/plans/${plan}`) : null]);
  const form = new Form();
  const box = h('div', { 'aria-live': 'polite' });
  const ask = () => form.send(async ({ job, ...values }) => {
    const body = { ...values, shelf: plan ? Boolean(values.shelf) : true };
    if (plan) body.plan = plan;
    else body.text = write(JSON.parse((await get(`/api/documents/job/${job}`)).body)).text;
    try {
      const { task } = await post('/api/posts', body);
      const result = await follow(task);
      const { title, nodes } = answer(result, Boolean(values.load));
      box.replaceChildren(...nodes);
      title.focus();
    } catch (error) {
      const wrong = error.remarks?.find((remark) => remark.severity === 'wrong');
      if (wrong) error.message = `The job is not right yet: ${wrong.text}`;
      throw error;
    }
  });
  const none = !plan && !documents.length;
  show(around('posts'), h('h1', {}, 'Posts', planned ? h('small', {}, ` plan ${plan}, ${planned.name || 'job'}`) : null),
    h('p', {}, 'A post is a piece that would be useful if an offcut can give it. The choice that gains most is found; an offcut may give several.'),
    none ? h('p', {}, 'There is no job yet that could say which posts are wanted. ', h('a', { href: '#/' }, 'To the jobs')) : h('form', { onsubmit: (event) => { event.preventDefault(); ask(); } },
      h('div', { class: 'fields' },
        plan ? form.tick('shelf', 'Offcuts on the shelf too') : form.pick('job', 'The posts that this job wants', documents.map((one) => [one.key, entryOf(one).name]), documents[0].key),
        form.tick('bars', 'Whole bars on the shelf too')),
      h('details', { class: 'more' }, h('summary', {}, 'Check a load'), h('div', { class: 'fields' },
        form.text('load', 'Load at the free end', '4 kg'), form.text('droop', 'May droop at most', 'a hundredth of its length'), form.text('safety', 'Yield divided by', '2'),
        form.text('stiffness', 'Stiffness, MPa', 'that of the alloy'), form.text('yield', 'Least yield, MPa', 'that of the alloy'))),
      form.alert, h('button', { type: 'submit', class: 'main' }, 'Find the posts')), box);
}
