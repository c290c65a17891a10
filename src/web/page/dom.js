// SPDX-License-Identifier: GPL-3.0-or-later
// Small helpers to build what is shown. Text only ever goes in as text.

const SVG = 'http://www.w3.org/2000/svg';

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (name === 'value' && 'value' in element) element.value = value;
    else if (value === true) element.setAttribute(name, '');
    else element.setAttribute(name, value);
  }
  for (const child of children.flat(Infinity))
    if (child !== null && child !== undefined && child !== false) element.append(child);
  return element;
}

export function h(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

export function s(tag, attributes, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

export function show(...children) {
  const main = document.getElementById('main');
  main.replaceChildren(...children.flat(Infinity).filter(Boolean));
}

// Said on the screen for a while, and by a screen reader.
let quiet = 0;
export function say(text, kind) {
  const said = document.getElementById('said');
  said.textContent = text;
  said.className = `said ${kind || ''}`;
  clearTimeout(quiet);
  quiet = setTimeout(() => { said.textContent = ''; }, kind === 'wrong' ? 12000 : 5000);
}

let last = 0;
export function id(prefix) {
  last += 1;
  return `${prefix}-${last}`;
}

// A labelled control: {label, ...attributes of the input}.
export function field(label, control, hint) {
  const key = control.id || id('field');
  control.id = key;
  const says = h('span', { class: 'says', id: `${key}-says` }, hint || '');
  control.setAttribute('aria-describedby', `${key}-says`);
  return h('div', { class: 'field' }, h('label', { for: key }, label), control, says);
}

export function choice(values, chosen, attributes) {
  return h('select', attributes, values.map(([value, text]) =>
    h('option', { value, selected: value === chosen }, text)));
}

export function button(text, onclick, kind, attributes) {
  return h('button', { type: 'button', class: kind || '', onclick, ...attributes }, text);
}

export function plural(n, one, many) {
  return `${n} ${n === 1 ? one : many}`;
}

// Of whatever names its currency: a plan, an order, the verifier's word.
export const money = (of, amount) => `${amount} ${of.currency === 'XXX' ? '' : of.currency}`.trim();

// "2026-03-01T14:05:00Z" or "2026-03-01 14:05 UTC" as the device writes it.
export function when(text) {
  const date = new Date(text.replace(/^(\S+) (\S+) UTC$/, '$1T$2Z'));
  return Number.isNaN(date.getTime()) ? text
    : date.toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
}

export function later(ms, work) {
  let timer = 0;
  return (...args) => {
    clearTimeout(timer);
    timer = setTimeout(() => work(...args), ms);
  };
}
