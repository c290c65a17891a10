// SPDX-License-Identifier: GPL-3.0-or-later
// The whole way through a job, at phone and at desktop width.  usage: node way.mjs PROGRAM

import { serve, browse, visitor, accessible, shot, given, inFile, pasteList, until, check, equal, failures, PHONE, DESKTOP } from './shop.mjs';

// A rack for a touring steelpan trio, as a spreadsheet copies it.
const LIST = ['Part\tLength (in)\tQty\tSection', 'upright\t43 7/16\t8\tleft', 'top rail\t38 1/2\t4\tleft', 'brace\t2\' 6-1/2"\t4\tright',
  'pan cradle\t24 3/8\t4\tright', 'tie\t16 11/16\t6\tmiddle', 'caster leg\t9 1/2\t8\t'].join('\n');

const value = (page, place) => page.locator(`[data-place="${place}"]`).inputValue();
const fill = (page, place, text) => page.locator(`[data-place="${place}"]`).fill(text);
const says = (page, place) => page.locator(`[data-place="${place}"]`).locator('xpath=following-sibling::span');

async function writeParts(page, name) {
  await page.getByRole('button', { name: 'New job', exact: true }).click();
  await page.waitForSelector('h1:has-text("What is needed")');
  await fill(page, 'name', 'Trio rack');
  await page.locator('[data-place="unit"]').selectOption('in');
  await pasteList(page, '.paste textarea', LIST);
  await page.waitForSelector('[data-place="parts.5.label"]');
  equal(await value(page, 'parts.2.length'), '2\' 6-1/2"', `${name}: a cell keeps what was written`);
  await until(page, () => document.querySelector('.sum')?.textContent.includes('34 pieces'));
  // A length as builders write it (read by hand: 8 ft and 5/8 in are 96 5/8 in).
  await fill(page, 'parts.2.length', '8\'-5/8"');
  await until(page, () => [...document.querySelectorAll('.says')].some((element) => element.textContent === '= 96 5/8 in'));
  await fill(page, 'parts.2.length', '30 1/');
  await page.waitForSelector('[data-place="parts.2.length"][aria-invalid="true"]');
  check((await says(page, 'parts.2.length').textContent()).length > 10, `${name}: a wrong cell says why`);
  await page.waitForSelector('.remarks .wrong');
  await fill(page, 'parts.2.length', '30 1/2');
  await until(page, () => !document.querySelector('.remarks .wrong'));
  // Enter below the last row adds one; the keyboard alone fills it.
  await page.locator('[data-place="parts.5.count"]').focus();
  await page.keyboard.press('Enter');
  await page.keyboard.type('music arm');
  await page.keyboard.press('Tab');
  await page.keyboard.type('18.25');
  await page.keyboard.press('Tab');
  await page.keyboard.type('3');
  await until(page, () => document.querySelector('.sum')?.textContent.includes('37 pieces'));
  await accessible(page, `${name} parts`);
  await shot(page, `${name}-1-parts`);
}

async function writeTube(page, name) {
  await page.getByRole('link', { name: 'Tube', exact: true }).click();
  await page.waitForSelector('h1:has-text("What it is cut from")');
  await fill(page, 'materials.0.outside', '1.5 in');
  await fill(page, 'materials.0.wall', '0.125 in');
  await page.locator('[data-place="currency"]').selectOption('USD');
  await fill(page, 'bars.0.id', '12 ft');
  await fill(page, 'bars.0.length', '12 ft');
  await fill(page, 'bars.0.price', '30.80');
  await page.getByRole('button', { name: 'Add a bar' }).click();
  await fill(page, 'bars.1.id', '20 ft');
  await fill(page, 'bars.1.length', '20 ft');
  await fill(page, 'bars.1.price', '48.00');
  await fill(page, 'saw.kerf', '3/32');
  await fill(page, 'rules.keep', '14 in');
  await page.locator('[data-place="quote.charge"]').selectOption('length used');
  await fill(page, 'quote.markup', '35 %');
  await until(page, () => document.querySelector('.sum')?.textContent.includes('37 pieces'));
  await until(page, () => document.getElementById('saved')?.textContent === 'Saved');
  equal(await page.locator('.remarks .wrong').count(), 0, `${name}: nothing wrong with the tube`);
  await accessible(page, `${name} tube`);
  await shot(page, `${name}-2-tube`);
}

async function makePlan(page, name) {
  await page.getByRole('link', { name: 'Plan', exact: true }).click();
  await page.waitForSelector('#make-plan');
  await accessible(page, `${name} before planning`);
  await page.locator('#make-plan').click();
  await page.waitForSelector('.headline');
  const pieces = await page.locator('.piece').count();
  check(pieces > 10, `${name}: pieces are drawn`);
  await page.locator('.piece').first().click();
  check(/: .* in, far end at/.test(await page.locator('.detail').first().textContent()), `${name}: a tapped piece says what it is`);
  await page.locator('.piece').nth(1).focus();
  await page.keyboard.press('Enter');
  check(await page.locator('.piece.same').count() > 0, `${name}: pieces of one part are marked, by key`);
  check(/no cheaper plan exists|A cheaper plan may exist/.test(await page.locator('.proof').textContent()), `${name}: the proof in words`);
  await accessible(page, `${name} plan`);
  await shot(page, `${name}-3-plan`);
}

async function comparePlans(page, name) {
  await page.locator('#change-rule summary').click();
  await page.getByLabel('Keep offcuts from').fill('30 in');
  await page.getByRole('button', { name: 'Plan again and compare' }).click();
  await page.waitForSelector('.compare');
  check(await page.locator('.compare td:has-text("30 in")').count() === 1, `${name}: the changed rule is shown`);
  equal(await page.locator('.pair section').count(), 2, `${name}: two plans side by side`);
  await accessible(page, `${name} compare`);
  await shot(page, `${name}-4-compare`);
  await page.locator('.compare thead a').first().click();
  await page.waitForSelector('.headline');
}

// What the first bytes of each form are. In the file papers are printed by the browser, and no PNG is made.
const BEGINS = { pdf: inFile ? '<svg' : '%PDF-', svg: '<?xml', png: '\x89PNG', csv: '\u00ef\u00bb\u00bf', xlsx: 'PK', json: '{', yaml: '{' };
const HEADS = { 'order.csv': 'supplier', 'quote.csv': 'job', 'bars.csv': 'bar,last alike', 'pieces.csv': 'bar,bars', 'parts.csv': 'part,count' };

async function trade(page, name) {
  await page.getByRole('button', { name: 'Order', exact: true }).click();
  await page.waitForSelector('h3:has-text("Order")');
  await page.getByRole('button', { name: 'Quote', exact: true }).click();
  await page.waitForSelector('h3:has-text("Quote")');
  await accessible(page, `${name} quote`);
  await page.getByRole('button', { name: 'Quote with cost' }).click();
  await page.waitForSelector('p:has-text("borne by the shop")');
  await page.getByRole('button', { name: 'Check it once more' }).click();
  await page.waitForSelector('p:has-text("Checked by other code")');
  await page.locator('#papers').click();
  await page.waitForSelector('h3:has-text("Papers and files")');
  const hrefs = (all) => all.map((link) => link.href);
  const links = [];
  for (const picture of await page.getByRole('button', { name: /as (SVG|PNG)$/ }).all()) {
    await picture.click();
    await picture.locator('xpath=../span/a').first().waitFor();
    links.push(...await picture.locator('xpath=../span/a').evaluateAll(hrefs));
  }
  await accessible(page, `${name} papers`);
  await shot(page, `${name}-4-papers`);
  links.push(...await page.locator('a[href*="/papers/"]').evaluateAll(hrefs));
  check(new Set(links.map((link) => new URL(link).pathname)).size === (inFile ? 19 : 23), `${name}: every form is offered, ${links.length}`);
  for (const link of links) {
    const { body } = await given(page, link);
    const file = new URL(link).pathname.split('/').pop();
    const begins = BEGINS[file.split('.').pop()] + (HEADS[file] || '');
    equal(body.subarray(0, begins.length).toString('latin1'), begins, `${name}: ${link}`);
  }
}

async function postsOfPlan(page, name) {
  await page.getByRole('link', { name: 'Posts of what is left' }).click();
  await page.waitForSelector('h1:has-text("Posts")');
  await page.getByRole('button', { name: 'Find the posts' }).click();
  await page.waitForSelector('h2:has-text("This job wants no posts")');
  await accessible(page, `${name} posts of a plan`);
  await page.goBack();
  await page.waitForSelector('.headline');
}

async function atTheSaw(page, name) {
  await page.locator('#hold').click();
  if (name === 'phone' && !inFile) { // the plan of the same job that the other width held is open still
    await until(page, () => document.querySelector('#hold')?.textContent === 'Hold it all the same');
    await page.locator('#hold').click();
  }
  await page.waitForSelector('.one-bar .tick-off');
  await accessible(page, `${name} one bar`);
  await shot(page, `${name}-5-one-bar`);
  await page.evaluate(() => { location.hash += '/all'; });
  await page.waitForSelector('.at-saw .tick-off');
  const bars = await page.locator('.at-saw').count();
  await accessible(page, `${name} saw`);
  await shot(page, `${name}-5-saw`);
  await page.getByLabel('Offcuts are put to').fill('rack 2');
  await page.locator('.tick-off').first().click();
  await page.waitForSelector('.is-cut');
  equal(await page.locator('.is-cut').count(), 1, `${name}: one bar is ticked off`);
  equal(await page.locator('.at-saw').count(), bars, `${name}: no bar is lost`);
  await page.getByRole('button', { name: 'Undo' }).click();
  await until(page, () => !document.querySelector('.is-cut'));
  await page.locator('.tick-off').first().click();
  await page.waitForSelector('.is-cut');
  const bar = page.locator('.at-saw:not(.is-cut)').first();
  await bar.locator('.wrong-cut summary').click();
  await bar.getByLabel(/Which piece of the bar/).fill('1');
  await bar.getByLabel('How long it came out').fill('12');
  await accessible(page, `${name} wrong cut`);
  await shot(page, `${name}-6-wrong`);
  await bar.getByRole('button', { name: /Book it/ }).click();
  await page.waitForSelector('.outcome h2');
  check(/new plan, number 2|new plan, number/.test(await page.locator('.outcome h2').textContent()), `${name}: the rest is planned again`);
  await shot(page, `${name}-7-after`);
}

async function onTheShelf(page, name) {
  await page.getByRole('link', { name: 'Shelf' }).click();
  await page.waitForSelector('#add-piece');
  await page.locator('#add-piece > summary').click();
  await page.locator('#add-piece').getByLabel('Length', { exact: true }).fill('1200 mm');
  await page.locator('#add-piece').getByLabel('Tube', { exact: true }).fill('tube');
  await page.locator('#add-piece').getByLabel('Place', { exact: true }).fill('rack 9');
  await page.getByRole('button', { name: 'Put it there' }).click();
  await page.waitForSelector('td:has-text("rack 9")');
  await page.getByLabel('At least this long').fill('1199 mm');
  await until(page, () => document.querySelector('.sum')?.textContent.includes('shortest first'));
  await accessible(page, `${name} shelf`);
  await shot(page, `${name}-8-shelf`);
  const number = await page.locator('tr:has-text("rack 9") a').first().textContent();
  await page.getByLabel('Number on its label').fill(number);
  await page.getByRole('button', { name: 'Show it' }).click();
  await page.waitForSelector('h2:has-text("History")');
  check(await page.locator('.figure:has-text("rack 9")').count() === 1, `${name}: a label's number leads to its piece`);
  await accessible(page, `${name} piece`);
}

async function wayThrough(browser, address, viewport, name, options) {
  const page = await visitor(browser, address, viewport, options);
  await page.goto(address);
  await page.waitForSelector('h1');
  await accessible(page, `${name} jobs`);
  await shot(page, `${name}-0-jobs`);
  await writeParts(page, name);
  await writeTube(page, name);
  await makePlan(page, name);
  await comparePlans(page, name);
  await trade(page, name);
  await postsOfPlan(page, name);
  await atTheSaw(page, name);
  await onTheShelf(page, name);
  await page.getByRole('link', { name: 'Settings' }).click();
  await page.waitForSelector('h2:has-text("On this device")');
  await accessible(page, `${name} settings`);
  await page.context().close();
}

const { address, end } = await serve(process.argv[2]);
const browser = await browse();
try {
  await wayThrough(browser, address, DESKTOP, 'desktop', {});
  await wayThrough(browser, address, PHONE, 'phone', { hasTouch: true, isMobile: true, colorScheme: 'dark' });
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
  await end();
}
console.log(failures() ? `${failures()} failed` : 'the whole way through: good');
process.exit(failures() ? 1 : 0);
