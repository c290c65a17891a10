// SPDX-License-Identifier: GPL-3.0-or-later
// A paper, page by page, true to size when it is printed.

const size = (svg, name) => svg.getAttribute(name);

// Printed: the pages alone, each on a sheet of its own size, without a margin of the browser's.
function rules(page) {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`@page { size: ${size(page, 'width')} ${size(page, 'height')}; margin: 0; }
    @media print {
      body > :not(dialog.pages) { display: none !important; }
      dialog.pages { position: static; display: block; margin: 0; padding: 0; border: 0; width: auto; max-width: none; max-height: none; overflow: visible; background: #fff; }
      dialog.pages > :not(svg) { display: none; }
      dialog.pages > svg { display: block; break-after: page; border: 0; margin: 0; }
      dialog.pages > svg:last-of-type { break-after: auto; }
    }
    dialog.pages { max-width: min(96vw, 60rem); max-height: 94vh; overflow: auto; }
    dialog.pages > svg { display: block; background: #fff; margin: 0.75rem auto; max-width: 100%; height: auto; }
    dialog.pages > p { position: sticky; top: 0; display: flex; gap: 0.5rem; }`);
  return sheet;
}

const button = (text, work, kind = '') => {
  const made = document.createElement('button');
  Object.assign(made, { type: 'button', textContent: text, className: kind, onclick: work });
  return made;
};

// `text`: one SVG document a page, one after the other.
export function paperView(text) {
  const pages = [...new DOMParser().parseFromString(text, 'text/html').querySelectorAll('body > svg')];
  const view = document.createElement('dialog');
  const sheet = rules(pages[0]);
  const row = document.createElement('p');
  row.append(button('Print', () => window.print(), 'main'), button('Close', () => view.close()));
  view.className = 'pages';
  view.setAttribute('aria-label', 'The paper');
  view.append(row, ...pages.map((page) => document.importNode(page, true)));
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  view.addEventListener('close', () => {
    view.remove();
    document.adoptedStyleSheets = document.adoptedStyleSheets.filter((one) => one !== sheet);
  });
  document.body.append(view);
  view.showModal();
}
