// SPDX-License-Identifier: GPL-3.0-or-later
// A list that is pasted is shown row by row before it is taken.  usage: node list.test.mjs PROGRAM

import { serve, browse, visitor, accessible, shot, paste, until, check, equal, failures, PHONE, DESKTOP } from './shop.mjs';

// A cradle for a broadcast desk, as a drawing program wrote it: title, a group, a slip, a sum.
const LIST = ['Desk cradle\t\t\t', 'Part\tLength (mm)\tQty\tNote', 'rail\t1180\t4\tdrill', 'Left wing\t\t\t', 'foot\tabout 90\t2\t', 'tie\t640\t3\t', 'Total\t\t9\t'].join('\n');

const values = (page, key) => page.locator(`.grid.parts [data-column="${key}"]`).evaluateAll((all) => all.map((one) => one.value));
const rowText = (page, line) => page.locator(`.rows [data-row="${line}"]`).evaluateAll((all) => all.map((one) => one.textContent).join(' '));

async function newJob(page, address) {
  await page.goto(`${address}#/`);
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('.paste textarea');
}

async function rowByRow(browser, address, name, viewport) {
  const page = await visitor(browser, address, viewport);
  await newJob(page, address);
  await page.waitForSelector('.check:has-text("Nothing is to be cut yet")');
  equal(await page.locator('.check .wrong').count(), 0, `${name}: a job that is empty has no mistake`);
  await paste(page, '.paste textarea', LIST);
  await page.waitForSelector('#take-rows');
  equal(await page.locator('#taking-title').textContent(), '2 rows are understood, 1 can\u2019t be read, 3 left out', `${name}: what becomes of the list`);
  check((await rowText(page, 1)).includes('above the list'), `${name}: the title is told`);
  check((await rowText(page, 4)).includes('neither length nor count'), `${name}: a group is told`);
  check(/Can\u2019t be read/.test(await rowText(page, 5)) && (await rowText(page, 5)).includes('about 90'), `${name}: a row that can't be read is told, as it was written`);
  check((await rowText(page, 7)).includes('total'), `${name}: a sum is told`);
  equal((await values(page, 'label')).join(), '', `${name}: nothing is taken before that was accepted`);
  await accessible(page, `${name} list`);
  await shot(page, `${name}-list`);
  await page.getByRole('button', { name: 'Leave it' }).click();
  await until(page, () => !document.querySelector('dialog'));
  equal((await values(page, 'label')).join(), '', `${name}: nor when it was left`);
  await paste(page, '.paste textarea', LIST);
  await page.getByLabel('take it, to be mended').check();
  equal(await page.locator('#take-rows').textContent(), 'Take 3 rows', `${name}: how many rows will come`);
  await page.locator('#take-rows').click();
  await page.waitForSelector('[data-place="parts.2.label"]');
  equal((await values(page, 'label')).join(), 'rail,foot,tie', `${name}: in the order of the list`);
  equal(await page.locator('[data-place="parts.1.length"]').inputValue(), 'about 90', `${name}: the row to be mended has what was written`);
  await page.waitForSelector('[data-place="parts.1.length"][aria-invalid="true"]');
  equal((await values(page, 'length')).join(), '1180 mm,about 90,640 mm', `${name}: lengths with the unit of their column`);
  await page.context().close();
}

// The person says what the columns are, where the reader took them otherwise or could not know.
async function columns(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  await newJob(page, address);
  await paste(page, '.paste textarea', 'Part\tLength (mm)\tQty\tNote\nrail\t1180\t4\tdrill\ntie\t640\t3\t\n');
  await page.getByLabel('Column D is').selectOption('section');
  await until(page, () => !document.getElementById('take-rows').disabled);
  await page.locator('#take-rows').click();
  await page.waitForSelector('[data-place="parts.1.label"]');
  equal((await values(page, 'section')).join(), 'drill,', 'a column means what the person says');
  await newJob(page, address);
  await paste(page, '.paste textarea', 'Menge;Was;Wie lang es ist\n4;Schiene;1180\n3;Strebe;640\n');
  await page.waitForSelector('#take-rows');
  equal(await page.locator('#take-rows').isDisabled(), true, 'nothing is guessed of headings that nobody knows');
  await accessible(page, 'list with unknown headings');
  await page.getByLabel('Column A is').selectOption('count');
  await page.getByLabel('Column B is').selectOption('label');
  await page.getByLabel('Column C is').selectOption('length');
  await until(page, () => document.getElementById('take-rows').textContent === 'Take 2 rows');
  await page.locator('#take-rows').click();
  await page.waitForSelector('[data-place="parts.1.label"]');
  equal((await values(page, 'label')).join(), 'Schiene,Strebe', 'labels of the column that was named');
  equal((await values(page, 'count')).join(), '4,3', 'and counts');
  await page.context().close();
}

// A workbook: chosen, looked at like what is pasted, its sheet said; one that is none is refused.
async function workbook(browser, address) {
  const page = await visitor(browser, address, DESKTOP);
  const file = (name) => new URL(`../lists/data/${name}`, import.meta.url).pathname;
  const choose = (path) => page.locator('input[id^="file-"]').setInputFiles(path);
  await newJob(page, address);
  await choose(file('libreoffice-merged.xlsx'));
  await page.waitForSelector('#take-rows');
  equal(await page.locator('#taking-title').textContent(), '4 rows are understood, 1 left out', 'a workbook is looked at');
  check((await rowText(page, 5)).includes('hides this row'), 'a hidden row is told');
  await accessible(page, 'a workbook');
  await page.locator('#take-rows').click();
  await page.waitForSelector('[data-place="parts.3.label"]');
  equal((await values(page, 'length')).join(), '1180.5 mm,1240 mm,760 mm,640.5 mm', 'lengths as the cells hold them');
  await newJob(page, address);
  await choose(file('two-sheets.xlsx'));
  await page.waitForSelector('#taking-sheet');
  check((await page.locator('dialog [role="alert"]').textContent()).includes('both look like a list'), 'two lists are asked about');
  await page.locator('#taking-sheet').fill('Desk');
  await page.getByRole('button', { name: 'Read this sheet' }).click();
  await until(page, () => document.getElementById('take-rows').textContent === 'Take 1 row');
  await page.locator('#take-rows').click();
  await until(page, () => document.querySelector('[data-place="parts.0.label"]')?.value === 'leg');
  // dropped on the box
  await newJob(page, address);
  const data = await page.evaluateHandle(() => {
    const transfer = new DataTransfer();
    transfer.items.add(new File(['Part;Length mm;Qty\nsill;1180;4\n'], 'cut.csv', { type: 'text/csv' }));
    return transfer;
  });
  await page.dispatchEvent('.paste', 'drop', { dataTransfer: data });
  await page.waitForSelector('#take-rows');
  await page.locator('#take-rows').click();
  await until(page, () => document.querySelector('[data-place="parts.0.label"]')?.value === 'sill');
  await choose({ name: 'no.xlsx', mimeType: 'application/octet-stream', buffer: Buffer.from('PK\u0003\u0004 no more') });
  await page.waitForSelector('dialog [role="alert"]');
  equal(await page.locator('#take-rows').isDisabled(), true, 'nothing is taken of a broken workbook');
  await page.context().close();
}

const { address, end } = await serve(process.argv[2]);
const browser = await browse();
try {
  await rowByRow(browser, address, 'phone', PHONE);
  await rowByRow(browser, address, 'desktop', DESKTOP);
  await columns(browser, address);
  await workbook(browser, address);
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await end();
}
console.log(failures() ? `${failures()} failed` : 'a list before it is taken: good');
process.exit(failures() ? 1 : 0);
