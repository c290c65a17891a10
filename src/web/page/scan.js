// SPDX-License-Identifier: GPL-3.0-or-later
// An offcut's label read by camera: live where the browser lets a page use it, else from a photo.
// The browser's own reader of codes is taken where there is one, else ours.

import { h, id, button, say } from './dom.js';

const MOST_PIXELS = 1100; // of a side: more makes it slower, not better

// A picture, a video or an image file's bitmap as bytes of light.
function grayOf(source, width, height) {
  const shrink = Math.min(1, MOST_PIXELS / Math.max(width, height));
  const canvas = h('canvas', { width: Math.round(width * shrink), height: Math.round(height * shrink) });
  const context = canvas.getContext('2d', { willReadFrequently: true });
  context.drawImage(source, 0, 0, canvas.width, canvas.height);
  const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
  const gray = new Uint8Array(canvas.width * canvas.height);
  for (let i = 0; i < gray.length; i += 1) gray[i] = (data[4 * i] * 77 + data[4 * i + 1] * 150 + data[4 * i + 2] * 29) >> 8;
  return { gray, width: canvas.width, height: canvas.height };
}

// A function that reads a source: its text, or null.
async function reader() {
  const formats = 'BarcodeDetector' in window ? await window.BarcodeDetector.getSupportedFormats().catch(() => []) : [];
  if (formats.includes('qr_code')) {
    const detector = new window.BarcodeDetector({ formats: ['qr_code'] });
    return async (source) => {
      const codes = await detector.detect(source).catch(() => []);
      return codes.length ? codes[0].rawValue : null;
    };
  }
  const { read } = await import('./qr.js');
  return async (source, width, height) => read(grayOf(source, width, height));
}

// The labels of a plan are printed before an offcut has a number.
function numberOf(text) {
  if (/^offcut /.test(text)) throw new Error(`This label was printed before the offcut had a number (${text}): type the number that is written on it.`);
  return text.trim();
}

async function live(found, tell) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
  const look = await reader();
  const video = h('video', { autoplay: true, playsinline: true, muted: true });
  video.srcObject = stream;
  let looking = true;
  const dialog = h('dialog', { 'aria-label': 'Scan a label' }, video, h('p', { role: 'status' }, 'Hold the label in front of the camera.'), button('Close', () => dialog.close()));
  dialog.addEventListener('close', () => {
    looking = false;
    stream.getTracks().forEach((track) => track.stop());
    dialog.remove();
  });
  document.body.append(dialog);
  dialog.showModal();
  while (looking) {
    const text = video.videoWidth ? await look(video, video.videoWidth, video.videoHeight) : null;
    if (text && looking) {
      dialog.close();
      take(text, found, tell);
    }
    await new Promise((next) => { setTimeout(next, 150); });
  }
}

function take(text, found, tell) {
  try {
    found(numberOf(text));
  } catch (error) {
    tell(error.message);
  }
}

async function photo(file, found, tell) {
  let bitmap;
  try {
    bitmap = await createImageBitmap(file);
  } catch {
    tell('This is no picture that the browser can show: take a photo, or type the number.');
    return;
  }
  tell('Reading the photo\u2026', '');
  const look = await reader();
  const text = await look(bitmap, bitmap.width, bitmap.height);
  bitmap.close();
  if (text) {
    tell('');
    take(text, found, tell);
  } else tell('No code is seen in the photo: hold the label flat, in the light, so that it fills half of the picture. Or type the number.');
}

// Buttons to read a label with; `found` is given its number.
export function scanner(found) {
  const says = h('p', { class: 'wrong', role: 'alert', id: id('scan') });
  const tell = (text, kind = 'wrong') => {
    says.className = kind;
    says.textContent = text;
  };
  const canLive = window.isSecureContext && navigator.mediaDevices;
  const file = h('input', {
    type: 'file', id: 'label-photo', accept: 'image/*', capture: 'environment', class: 'hidden', 'aria-describedby': says.id,
    onchange: async () => {
      if (file.files[0]) await photo(file.files[0], found, tell);
      file.value = '';
    },
  });
  return h('div', { class: 'scan' },
    h('div', { class: 'row' },
      canLive ? button('Scan the label', () => live(found, tell).catch(() => {
        tell('The camera can\u2019t be used here: it is missing, or the browser was told not to. Take a photo of the label, or type the number.');
        say('The camera can\u2019t be used here.', 'wrong');
      })) : null,
      h('label', { class: 'button', for: 'label-photo' }, 'Photo of the label'), file),
    canLive ? null : h('p', { class: 'quiet' }, 'Browsers allow the live camera only on the computer that serves this page, not over the local network: take a photo of the label, or type its number. The photo stays on this device.'),
    says);
}
