// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the QR code in a picture, for browsers that cannot do it themselves. Model 2, versions 1 to
// 6, as ISO/IEC 18004:2015 defines them: more than the number of a piece never needs.

const MOST_VERSION = 6;

// --- the field GF(256), x^8 + x^4 + x^3 + x^2 + 1 (7.5.2) -------------------------------------------

const EXP = new Uint8Array(512);
const LOG = new Uint8Array(256);
for (let i = 0, x = 1; i < 255; i += 1) {
  EXP[i] = EXP[i + 255] = x;
  LOG[x] = i;
  x = (x << 1) ^ (x & 0x80 ? 0x11d : 0);
}
const times = (a, b) => (a && b ? EXP[LOG[a] + LOG[b]] : 0);
const over = (a, b) => (a ? EXP[LOG[a] + 255 - LOG[b]] : 0);
// Value at x of a polynomial whose constant term comes first.
const at = (poly, x) => poly.reduceRight((sum, term) => times(sum, x) ^ term, 0);

// Corrects a block in place: Berlekamp 1968 and Massey 1969 for the locator, Chien 1964 for its
// roots, Forney 1965 for the values. false: more is wrong than `check` codewords can mend.
export function correct(block, check) {
  const n = block.length;
  const syndromes = Array.from({ length: check }, (_, i) => block.reduce((sum, word) => times(sum, EXP[i]) ^ word, 0));
  if (syndromes.every((value) => value === 0)) return true;
  let locator = [1];
  let last = [1];
  let [errors, gap, before] = [0, 1, 1];
  for (let i = 0; i < check; i += 1) {
    let off = syndromes[i];
    for (let k = 1; k <= errors; k += 1) off ^= times(locator[k] || 0, syndromes[i - k]);
    if (off === 0) {
      gap += 1;
      continue;
    }
    const next = locator.slice();
    const factor = over(off, before);
    last.forEach((term, k) => { next[k + gap] = (next[k + gap] || 0) ^ times(factor, term); });
    if (2 * errors <= i) {
      [last, before, gap, errors] = [locator, off, 1, i + 1 - errors];
    } else gap += 1;
    locator = Array.from(next, (term) => term || 0);
  }
  const evaluator = Array.from({ length: check }, (_, i) =>
    locator.reduce((sum, term, k) => (k <= i ? sum ^ times(term, syndromes[i - k]) : sum), 0));
  const slope = locator.map((term, k) => (k % 2 ? term : 0)).slice(1);
  let found = 0;
  for (let place = 0; place < n; place += 1) {
    const inverse = EXP[(255 - place) % 255];
    if (at(locator, inverse) !== 0) continue;
    found += 1;
    const below = at(slope, inverse);
    if (below === 0) return false;
    block[n - 1 - place] ^= times(EXP[place], over(at(evaluator, inverse), below));
  }
  return found === errors && 2 * errors <= check;
}

// --- from modules to text ---------------------------------------------------------------------------

// Table 9: check codewords a block and blocks, by version, levels L M Q H.
const WORDS = [0, 26, 44, 70, 100, 134, 172];
const CHECK = [[], [7, 10, 13, 17], [10, 16, 22, 28], [15, 26, 18, 22], [20, 18, 26, 16], [26, 24, 18, 22], [18, 16, 24, 28]];
const BLOCKS = [[], [1, 1, 1, 1], [1, 1, 1, 1], [1, 1, 2, 2], [1, 2, 2, 4], [1, 2, 4, 4], [2, 4, 4, 4]];
const MASKS = [
  (y, x) => (y + x) % 2, (y) => y % 2, (y, x) => x % 3, (y, x) => (y + x) % 3,
  (y, x) => (Math.floor(y / 2) + Math.floor(x / 3)) % 2, (y, x) => ((y * x) % 2) + ((y * x) % 3),
  (y, x) => (((y * x) % 2) + ((y * x) % 3)) % 2, (y, x) => (((y + x) % 2) + ((y * x) % 3)) % 2,
];

// 15 bits of level and mask: BCH(15, 5) with generator 10100110111, masked (7.9).
function formatWord(data) {
  let rest = data << 10;
  for (let bit = 14; bit >= 10; bit -= 1) if (rest >> bit & 1) rest ^= 0x537 << (bit - 10);
  return ((data << 10) | rest) ^ 0x5412;
}

const ones = (value) => value.toString(2).replace(/0/g, '').length;

// {level, mask}, from whichever of the two copies is nearer to a word; null if none is near.
function readFormat(dark, size) {
  const first = [];
  const second = [];
  for (let i = 0; i < 15; i += 1) {
    first.push(dark(i < 6 ? i : i < 8 ? i + 1 : 8, i < 8 ? 8 : i === 8 ? 7 : 14 - i));
    second.push(i < 8 ? dark(8, size - 1 - i) : dark(size - 15 + i, 8));
  }
  const words = [first, second].map((bits) => bits.reduce((sum, bit, i) => sum | (bit << i), 0));
  let best = null;
  for (let data = 0; data < 32; data += 1)
    for (const word of words) {
      const off = ones(formatWord(data) ^ word);
      if (off <= 3 && (!best || off < best.off)) best = { off, level: [1, 0, 3, 2][data >> 3], mask: data & 7 };
    }
  return best;
}

// Is the module part of a pattern, not of the data?
function isPattern(y, x, size, version) {
  if ((y < 9 && (x < 9 || x >= size - 8)) || (y >= size - 8 && x < 9) || y === 6 || x === 6) return true;
  const middle = size - 7;
  return version > 1 && Math.abs(y - middle) <= 2 && Math.abs(x - middle) <= 2;
}

// Codewords as they are placed: two columns at a time from the right, up and down (7.7.3).
function readWords(dark, size, version, mask) {
  const words = [];
  let [word, bits, up] = [0, 0, true];
  for (let right = size - 1; right > 0; right -= 2) {
    if (right === 6) right = 5;
    for (let i = 0; i < size; i += 1) {
      const y = up ? size - 1 - i : i;
      for (const x of [right, right - 1]) {
        if (isPattern(y, x, size, version)) continue;
        word = (word << 1) | (dark(y, x) ^ (MASKS[mask](y, x) === 0 ? 1 : 0));
        bits += 1;
        if (bits === 8) {
          words.push(word);
          [word, bits] = [0, 0];
        }
      }
    }
    up = !up;
  }
  return words;
}

// Takes the blocks apart, corrects each, and puts their data one after the other (7.6).
function takeData(words, version, level) {
  const check = CHECK[version][level];
  const n = BLOCKS[version][level];
  const short = Math.floor(WORDS[version] / n) - check;
  const long = WORDS[version] % n; // so many blocks at the end have one more
  const blocks = Array.from({ length: n }, () => []);
  let next = 0;
  for (let i = 0; i <= short; i += 1)
    for (let b = i < short ? 0 : n - long; b < n; b += 1) blocks[b].push(words[next++]);
  for (let i = 0; i < check; i += 1)
    for (let b = 0; b < n; b += 1) blocks[b].push(words[next++]);
  if (!blocks.every((block) => correct(block, check))) return null;
  return blocks.flatMap((block) => block.slice(0, block.length - check));
}

const ALPHANUMERIC = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:';

// Segments of numbers, capitals and bytes (7.4); the bytes are UTF-8.
function readText(data) {
  let bit = 0;
  const take = (n) => {
    let value = 0;
    for (let i = 0; i < n; i += 1, bit += 1) value = (value << 1) | ((data[bit >> 3] >> (7 - (bit & 7))) & 1);
    return value;
  };
  const left = () => data.length * 8 - bit;
  const bytes = [];
  const put = (text) => bytes.push(...new TextEncoder().encode(text));
  while (left() >= 4) {
    const mode = take(4);
    if (mode === 0) break;
    if (mode === 7) { // another character set: its number is passed over, the rest taken as UTF-8
      take(8);
    } else if (mode === 1) {
      for (let n = take(10); n > 0; n -= 3) put(String(take(n >= 3 ? 10 : n === 2 ? 7 : 4)).padStart(Math.min(n, 3), '0'));
    } else if (mode === 2) {
      for (let n = take(9); n > 0; n -= 2) {
        const pair = take(n > 1 ? 11 : 6);
        put(n > 1 ? ALPHANUMERIC[Math.floor(pair / 45)] + ALPHANUMERIC[pair % 45] : ALPHANUMERIC[pair]);
      }
    } else if (mode === 4) {
      const n = take(8);
      if (n * 8 > left()) return null;
      for (let i = 0; i < n; i += 1) bytes.push(take(8));
    } else return null;
    if (left() < 0) return null;
  }
  return new TextDecoder().decode(new Uint8Array(bytes));
}

// dark(y, x) of a code with `size` modules a side; null if it can't be read.
export function readModules(dark, size) {
  const version = (size - 17) / 4;
  const format = readFormat(dark, size);
  if (!format) return null;
  const data = takeData(readWords(dark, size, version, format.mask), version, format.level);
  return data && readText(data);
}

// --- where the code is --------------------------------------------------------------------------------

// Dark where a pixel is darker than the mean around it (Bradley and Roth 2007). Cost: O(pixels).
function binarise({ gray, width, height }) {
  const sums = new Float64Array((width + 1) * (height + 1));
  for (let y = 0; y < height; y += 1)
    for (let x = 0, row = 0; x < width; x += 1) {
      row += gray[y * width + x];
      sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + row;
    }
  const reach = Math.max(8, Math.floor(Math.max(width, height) / 12));
  const dark = new Uint8Array(width * height);
  for (let y = 0; y < height; y += 1) {
    const [y0, y1] = [Math.max(0, y - reach), Math.min(height, y + reach + 1)];
    for (let x = 0; x < width; x += 1) {
      const [x0, x1] = [Math.max(0, x - reach), Math.min(width, x + reach + 1)];
      const sum = sums[y1 * (width + 1) + x1] - sums[y0 * (width + 1) + x1] - sums[y1 * (width + 1) + x0] + sums[y0 * (width + 1) + x0];
      dark[y * width + x] = gray[y * width + x] * (x1 - x0) * (y1 - y0) < sum * 0.85 ? 1 : 0;
    }
  }
  return { dark, width, height };
}

// Lengths of five runs as those across a position detection pattern, 1 : 1 : 3 : 1 : 1 (6.3.3)?
function isFinder(runs) {
  const unit = (runs[0] + runs[1] + runs[2] + runs[3] + runs[4]) / 7;
  return unit >= 1 && runs.every((run, i) => Math.abs(run - (i === 2 ? 3 : 1) * unit) <= (i === 2 ? 1.5 : 0.7) * unit);
}

// Five runs through a dark point in a direction: {middle, unit}, the middle along the direction.
function across(image, x, y, dx, dy) {
  const runs = [0, 0, 0, 0, 0];
  const read = (step) => {
    const [px, py] = [x + dx * step, y + dy * step];
    return px < 0 || py < 0 || px >= image.width || py >= image.height ? -1 : image.dark[py * image.width + px];
  };
  const walk = (from, way) => {
    let step = from;
    let at_ = 2;
    for (let wants = 1; at_ >= 0 && at_ <= 4; at_ += way, wants ^= 1)
      while (read(step) === wants) {
        runs[at_] += 1;
        step += way;
      }
    return step;
  };
  walk(0, 1);
  let step = 0;
  while (read(step) === 1) step += 1;
  const end = step;
  walk(-1, -1);
  if (!isFinder(runs)) return null;
  return { middle: end - runs[2] / 2, unit: runs.reduce((sum, run) => sum + run) / 7 };
}

// Middles of position detection patterns, those that were met most often first.
function finders(image) {
  const found = [];
  for (let y = 0; y < image.height; y += 1) {
    let runs = [];
    let start = 0;
    for (let x = 1; x <= image.width; x += 1) {
      if (x < image.width && image.dark[y * image.width + x] === image.dark[y * image.width + start]) continue;
      runs = [...runs.slice(-4), x - start];
      if (image.dark[y * image.width + start] && runs.length === 5 && isFinder(runs)) {
        const cx = Math.floor(x - runs[4] - runs[3] - runs[2] / 2);
        const down = image.dark[y * image.width + cx] ? across(image, cx, y, 0, 1) : null;
        const cy = down ? Math.floor(y + down.middle) : -1;
        const level = down && image.dark[cy * image.width + cx] ? across(image, cx, cy, 1, 0) : null;
        if (level) note(found, cx + level.middle, y + down.middle, (down.unit + level.unit) / 2);
      }
      start = x;
    }
  }
  return found.sort((a, b) => b.seen - a.seen).slice(0, 9);
}

function note(found, x, y, unit) {
  const near = found.find((one) => Math.hypot(one.x - x, one.y - y) < 3 * unit && Math.abs(one.unit - unit) < unit * 0.7);
  if (!near) {
    found.push({ x, y, unit, seen: 1 });
    return;
  }
  for (const [key, value] of [['x', x], ['y', y], ['unit', unit]]) near[key] = (near[key] * near.seen + value) / (near.seen + 1);
  near.seen += 1;
}

// Three middles as [corner, right, below], clockwise in the picture; {score}: how unlike a corner of
// a square they are.
function corner(a, b, c) {
  const far = (p, q) => Math.hypot(p.x - q.x, p.y - q.y);
  const [top, p, q] = far(b, c) >= far(a, b) && far(b, c) >= far(a, c) ? [a, b, c] : far(a, c) >= far(a, b) ? [b, a, c] : [c, a, b];
  const turn = (p.x - top.x) * (q.y - top.y) - (p.y - top.y) * (q.x - top.x);
  const [right, below] = turn > 0 ? [p, q] : [q, p];
  const [w, hgt] = [far(top, right), far(top, below)];
  const units = [a.unit, b.unit, c.unit];
  return { top, right, below, side: (w + hgt) / 2, unit: (units[0] + units[1] + units[2]) / 3,
    score: Math.abs(w - hgt) / Math.max(w, hgt) + Math.abs(far(p, q) / Math.hypot(w, hgt) - 1) + (Math.max(...units) - Math.min(...units)) / Math.max(...units) };
}

// --- from the picture to modules ----------------------------------------------------------------------

// The projective map of the unit square onto four points (Heckbert 1989, 2.2.3).
function onto(p00, p10, p11, p01) {
  const sx = p00.x - p10.x + p11.x - p01.x;
  const sy = p00.y - p10.y + p11.y - p01.y;
  const [dx1, dx2, dy1, dy2] = [p10.x - p11.x, p01.x - p11.x, p10.y - p11.y, p01.y - p11.y];
  const det = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / det;
  const k = (dx1 * sy - sx * dy1) / det;
  return (u, v) => {
    const w = g * u + k * v + 1;
    return [((p10.x - p00.x + g * p10.x) * u + (p01.x - p00.x + k * p01.x) * v + p00.x) / w,
      ((p10.y - p00.y + g * p10.y) * u + (p01.y - p00.y + k * p01.y) * v + p00.y) / w];
  };
}

// The modules as seen when the fourth corner of the square of middles is at `fourth`.
function sample(image, place, fourth, size) {
  const map = onto(place.top, place.right, fourth, place.below);
  const span = size - 7;
  return (y, x) => {
    const [px, py] = map((x - 3) / span, (y - 3) / span);
    const [ix, iy] = [Math.floor(px), Math.floor(py)];
    return ix >= 0 && iy >= 0 && ix < image.width && iy < image.height ? image.dark[iy * image.width + ix] : 0;
  };
}

// How many modules of the timing patterns and of the alignment pattern are right, as a share.
function likeness(dark, size) {
  let good = 0;
  let all = 0;
  const look = (y, x, wants) => {
    all += 1;
    if (dark(y, x) === wants) good += 1;
  };
  for (let i = 8; i < size - 8; i += 1) {
    look(6, i, (i + 1) % 2);
    look(i, 6, (i + 1) % 2);
  }
  if (size > 21)
    for (let y = -2; y <= 2; y += 1)
      for (let x = -2; x <= 2; x += 1) look(size - 7 + y, size - 7 + x, Math.max(Math.abs(y), Math.abs(x)) === 1 ? 0 : 1);
  return good / all;
}

// Where the fourth corner is depends on how the camera was held: places around that of a
// parallelogram are tried, the likeliest first; the check codewords say which was right.
function readAt(image, place, size) {
  const unit = place.side / (size - 7);
  const tries = [];
  const ux = { x: (place.right.x - place.top.x) / (size - 7), y: (place.right.y - place.top.y) / (size - 7) };
  const uy = { x: (place.below.x - place.top.x) / (size - 7), y: (place.below.y - place.top.y) / (size - 7) };
  const reach = Math.ceil(size / 6);
  for (let i = -reach; i <= reach; i += 0.5)
    for (let j = -reach; j <= reach; j += 0.5) {
      const fourth = { x: place.right.x + place.below.x - place.top.x + ux.x * i + uy.x * j,
        y: place.right.y + place.below.y - place.top.y + ux.y * i + uy.y * j };
      const dark = sample(image, place, fourth, size);
      tries.push({ dark, like: likeness(dark, size) - Math.hypot(i, j) * 0.004 });
    }
  if (!(unit > 0.8)) return null;
  tries.sort((a, b) => b.like - a.like);
  for (const { dark } of tries.slice(0, 24)) {
    const text = readModules(dark, size);
    if (text) return text;
  }
  return null;
}

// {gray, width, height}, a byte a pixel: the text of a code in the picture, or null.
export function read(picture) {
  const image = binarise(picture);
  const found = finders(image);
  const places = [];
  for (let a = 0; a < found.length; a += 1)
    for (let b = a + 1; b < found.length; b += 1)
      for (let c = b + 1; c < found.length; c += 1) places.push(corner(found[a], found[b], found[c]));
  places.sort((a, b) => a.score - b.score);
  for (const place of places.slice(0, 6)) {
    const near = Math.round((place.side / place.unit + 7 - 17) / 4);
    for (const version of [near, near + 1, near - 1]) {
      if (version < 1 || version > MOST_VERSION) continue;
      const text = readAt(image, place, 17 + 4 * version);
      if (text) return text;
    }
  }
  return null;
}
