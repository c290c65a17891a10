// SPDX-License-Identifier: GPL-3.0-or-later
// Puts the page, its script, its worker and the application into one document that asks nothing of
// any other. usage: node wrap.mjs PAGE_FOLDER SCRIPT WORKER WASM >dropwise.html

import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const here = dirname(fileURLToPath(import.meta.url));
const [, , folder, scriptFile, workerFile, wasmFile] = process.argv;
const read = (file) => readFileSync(file, 'utf8');
const hash = (text) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
// Within a script element nothing may look like its end.
const inside = (text) => text.replace(/<(?=\/script|!--)/gi, '\\x3c');

const script = `\n${inside(read(scriptFile))}`;
const beside = inside(read(workerFile));
const style = `\n${read(`${folder}/page.css`)}`;
const mark = `data:image/svg+xml;base64,${readFileSync(`${folder}/mark.svg`).toString('base64')}`;
const engine = gzipSync(readFileSync(wasmFile), { level: 9 }).toString('base64');

const policy = ["default-src 'none'", `script-src ${hash(script)} 'wasm-unsafe-eval'`, `style-src ${hash(style)}`, 'worker-src blob:',
  "connect-src 'none'", 'img-src data: blob:', "base-uri 'none'", "form-action 'none'"].join('; ');

const page = read(`${folder}/index.html`)
  .replace(/<link rel="modulepreload"[^>]*>\n/g, '')
  .replace('<meta charset="utf-8">', (all) => `${all}\n<meta http-equiv="Content-Security-Policy" content="${policy}">`)
  .replace('<link rel="stylesheet" href="/page.css">', () => `<style>${style}</style>`)
  .replace('<script type="module" src="/app.js"></script>\n', '')
  .replaceAll('/mark.svg', mark)
  .replace('<html lang', () => `<!-- ${read(`${here}/notice`).trim()} -->\n<html lang`)
  .replace('</body>', () => `<script type="text/plain" id="engine">${engine}</script>\n<script type="text/plain" id="beside">${beside}</script>\n<script>${script}</script>\n</body>`);
for (const left of page.match(/(src|href)="\/[^"]*"/g) || []) throw new Error(`${left} would be asked for`);
process.stdout.write(page);
