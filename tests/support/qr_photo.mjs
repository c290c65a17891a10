// SPDX-License-Identifier: GPL-3.0-or-later
// Photographs a label in many ways, all by rule, and reads each picture. Every picture must give the
// label's text or nothing; pictures held quietly must all give it.  usage: node qr_photo.mjs PGM TEXT

import { readFileSync } from 'node:fs';
import { correct, read } from './qr.mjs';

let failed = 0;
function check(good, what) {
  if (good) return;
  failed += 1;
  console.log(`FAILED ${what}`);
}

// ISO/IEC 18004, the worked example "01234567" in version 1-M (from memory): its 16 data and 10
// check codewords. Ten check codewords mend five wrong ones, not six.
function workedExample() {
  const right = [0x10, 0x20, 0x0c, 0x56, 0x61, 0x80, 0xec, 0x11, 0xec, 0x11, 0xec, 0x11, 0xec, 0x11, 0xec, 0x11,
    0xa5, 0x24, 0xd4, 0xc1, 0xed, 0x36, 0xc7, 0x87, 0x2c, 0x55];
  for (let wrong = 0; wrong <= 5; wrong += 1) {
    const block = right.slice();
    for (let i = 0; i < wrong; i += 1) block[(i * 7 + 2) % 26] ^= 0x5a + i;
    check(correct(block, 10) && block.every((word, i) => word === right[i]), `${wrong} wrong codewords are mended`);
  }
  const block = right.slice();
  for (let i = 0; i < 9; i += 1) block[i * 2] ^= 0xff - i;
  check(!correct(block, 10) || !block.every((word, i) => word === right[i]), 'nine wrong codewords are beyond mending');
}

// Numerical Recipes' "even quicker" generator.
let seed = 1;
const random = () => {
  seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
  return seed / 4294967296;
};

function load(name) {
  const bytes = readFileSync(name);
  const [, width, height] = bytes.subarray(0, 40).toString('latin1').split(/\s+/).map(Number);
  const from = bytes.length - width * height;
  return { width, height, at: (x, y) => (x >= 0 && y >= 0 && x < width && y < height ? bytes[from + Math.floor(y) * width + Math.floor(x)] : 255) };
}

function blurred(light, width, height, reach) {
  const out = new Float32Array(light.length);
  for (let y = 0; y < height; y += 1)
    for (let x = 0; x < width; x += 1) {
      let [sum, n] = [0, 0];
      for (let dy = -reach; dy <= reach; dy += 1)
        for (let dx = -reach; dx <= reach; dx += 1)
          if (x + dx >= 0 && y + dy >= 0 && x + dx < width && y + dy < height) {
            sum += light[(y + dy) * width + x + dx];
            n += 1;
          }
      out[y * width + x] = sum / n;
    }
  return out;
}

// The label on a darker table, lit from one side, seen turned and tilted.
function photograph(label, { tilt, turn, size, blur, noise }) {
  const [width, height] = [800, 640];
  const [tx, ty] = [(random() - 0.5) * tilt, (random() - 0.5) * tilt];
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  let light = new Float32Array(width * height);
  for (let y = 0; y < height; y += 1)
    for (let x = 0; x < width; x += 1) {
      const [u, v] = [x / width - 0.5, (y - height / 2) / width];
      const w = (1 + tx * u + ty * v) * size;
      const value = label.at(label.width / 2 + ((c * u - s * v) * label.width) / w, label.height / 2 + ((s * u + c * v) * label.width) / w);
      light[y * width + x] = (30 + (170 * value) / 255) * (0.65 + (0.35 * x) / width);
    }
  if (blur) light = blurred(light, width, height, blur);
  return { gray: Uint8Array.from(light, (value) => Math.max(0, Math.min(255, value + (random() - 0.5) * noise))), width, height };
}

workedExample();
const [name, text] = process.argv.slice(2);
const label = load(name);
let [all, good] = [0, 0];
for (const tilt of [0, 0.35, 0.7])
  for (let turn = 0; turn < 4; turn += 1)
    for (const [size, blur, noise] of [[0.7, 0, 10], [0.6, 1, 30]]) {
      const is = read(photograph(label, { tilt, turn: turn * 1.7, size, blur, noise }));
      all += 1;
      if (is === text) good += 1;
      else check(is === null, `read as ${is} instead of ${text}`);
      if (tilt === 0 && turn === 0) check(is === text, `held quietly, ${text} is read`);
    }
check(read(photograph({ width: 700, height: 300, at: (x, y) => ((x >> 5) + (y >> 5)) % 2 * 255 }, { tilt: 0, turn: 0.2, size: 0.7, blur: 0, noise: 20 })) === null, 'a chessboard is no code');
check(good >= all * 0.9, `${good} of ${all} pictures of ${text} are read`);
console.log(`${text}: ${good} of ${all} pictures read`);
process.exit(failed ? 1 : 0);
