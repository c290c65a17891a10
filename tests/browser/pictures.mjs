// SPDX-License-Identifier: GPL-3.0-or-later
// The page's picture for README.md: the plan of a sample, at a desktop's width.
// usage: node pictures.mjs PROGRAM JOB.yaml PICTURE.png

import { serve, browse, visitor, failures } from './shop.mjs';

const [program, job, picture] = process.argv.slice(2);
const { address, end } = await serve(program);
const browser = await browse();
try {
  const page = await visitor(browser, address, { width: 1100, height: 900 });
  await page.goto(address);
  await page.waitForSelector('h1');
  await page.setInputFiles('#job-file', job);
  await page.waitForSelector('h1:has-text("What is needed")');
  await page.getByRole('link', { name: /Plan$/ }).first().click();
  await page.locator('#make-plan').click();
  await page.locator('.piece').first().waitFor({ timeout: 90000 });
  await page.locator('.headline').scrollIntoViewIfNeeded();
  await page.screenshot({ path: picture });
} finally {
  await browser.close();
  await end();
}
process.exitCode = failures() > 0 ? 1 : 0;
