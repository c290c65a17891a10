// SPDX-License-Identifier: GPL-3.0-or-later
// A paper, page by page, true to size when it is printed.

const size = (svg, name) => svg.getAttribute(name);

// Printed: the pages alone, each on a sheet of its own size, without a margin of the browser's. They stand in
// the document for that, since of a dialog a browser prints what is in sight.
function rules(page) {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`@page { size: ${size(page, 'width')} ${size(page, 'height')}; margin: 0; }
    .printed { display: none; }
    @media print {
      body > :not(.printed) { display: none !important; }
      body { margin: 0; padding: 0; background: #fff; }
      .printed { display: block; }
      .printed > svg { display: block; break-after: page; }
      .printed > svg:last-child { break-after: auto; }
    }
    dialog.pages { width: min(96vw, 60rem); max-height: 94vh; overflow: auto; }
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
  const printed = document.createElement('div');
  printed.className = 'printed';
  printed.setAttribute('aria-hidden', 'true');
  printed.append(...pages.map((page) => document.importNode(page, true)));
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  view.addEventListener('close', () => {
    view.remove();
    printed.remove();
    document.adoptedStyleSheets = document.adoptedStyleSheets.filter((one) => one !== sheet);
  });
  document.body.append(view, printed);
  view.showModal();
}
