// SPDX-License-Identifier: GPL-3.0-or-later
// A form whose mistakes stand at their fields: what the server refuses names the field.

import { h, id, field, choice } from './dom.js';

export class Form {
  constructor() {
    this.controls = new Map();
    this.alert = h('p', { class: 'wrong', role: 'alert' });
  }

  // Any control under the name that the server knows it by.
  add(name, label, control, hint) {
    const box = field(label, control, hint);
    box.lastChild.classList.add('hint');
    this.controls.set(name, { control, says: box.lastChild, hint: hint || '' });
    return box;
  }

  text(name, label, hint, attributes) {
    return this.add(name, label, h('input', { type: 'text', autocomplete: 'off', spellcheck: 'false', placeholder: hint || null, ...attributes }));
  }

  pick(name, label, values, chosen) {
    return this.add(name, label, choice(values, chosen || ''));
  }

  tick(name, label, checked) {
    const control = h('input', { type: 'checkbox', id: id('tick'), checked });
    this.controls.set(name, { control });
    return h('div', { class: 'field tick' }, control, h('label', { for: control.id }, label));
  }

  value(name) {
    const { control } = this.controls.get(name);
    return control.type === 'checkbox' ? control.checked : control.value.trim();
  }

  // What was filled in, without what was left empty.
  body() {
    return Object.fromEntries([...this.controls.keys()].map((name) => [name, this.value(name)]).filter(([, value]) => value !== '' && value !== false));
  }

  clear() {
    this.alert.textContent = '';
    for (const { control, says, hint } of this.controls.values()) {
      control.removeAttribute('aria-invalid');
      if (!says) continue;
      says.textContent = hint;
      says.classList.remove('wrong');
    }
  }

  refuse(error) {
    const at = this.controls.get(error.field);
    if (!at || !at.says) {
      this.alert.textContent = error.message;
      return;
    }
    const fold = at.control.closest('details');
    if (fold) fold.open = true;
    at.says.textContent = error.message.replace(new RegExp(`^${error.field}: `), '');
    at.says.classList.add('wrong');
    at.control.setAttribute('aria-invalid', 'true');
    at.control.focus();
  }

  // Does the work with what was filled in; what is refused is shown.
  async send(work) {
    this.clear();
    try {
      await work(this.body());
    } catch (error) {
      this.refuse(error);
    }
  }
}
