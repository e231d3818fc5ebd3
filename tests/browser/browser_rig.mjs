// Chromium, pages in it, and what tests ask of them. Packages and programs come from the
// environment that run_browser_tests.py makes.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';

const packages = createRequire(path.join(process.env.DWELLOG_PACKAGES, 'package.json'));
const { chromium } = packages('playwright-core');
const axeSource = fs.readFileSync(packages.resolve('axe-core/axe.min.js'), 'utf8');

export const phone = { viewport: { width: 360, height: 740 }, isMobile: true, hasTouch: true };
export const desktop = { viewport: { width: 1280, height: 800 } };
export const scratch = process.env.DWELLOG_SCRATCH;

let browser = null;
export async function openBrowser() {
  browser = await chromium.launch({ executablePath: process.env.DWELLOG_CHROMIUM, args: ['--no-sandbox'] });
}
export async function closeBrowser() { await browser.close(); }

// A page in a context of its own. What goes wrong inside it fails the test that asks for `faults`.
export async function openPage(settings = {}) {
  const context = await browser.newContext({ ...phone, timezoneId: 'Europe/Berlin', ...settings });
  context.setDefaultTimeout(8000);
  const page = await context.newPage();
  const faults = [];
  page.on('pageerror', (error) => faults.push(error.stack));
  page.on('dialog', (dialog) => { faults.push(`dialog: ${dialog.message()}`); dialog.accept(); });
  page.on('console', (message) => {
    // A lost link and a refused request are what several tests are about.
    if (message.type() === 'error' && !/net::ERR_|Failed to load resource|EventSource/.test(message.text())) faults.push(message.text());
  });
  return { context, page, faults };
}
// axe-core: nothing serious or critical.
export async function checkAccessible(page, where) {
  if (!await page.evaluate(() => 'axe' in window)) await page.evaluate(axeSource);
  // What passes is not listed, which is most of the work.
  const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }));
  const grave = violations.filter(({ impact }) => impact === 'serious' || impact === 'critical');
  assert.deepEqual(grave.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.target.join(' ')).join(', ')}`), [], where);
}
export async function checkFits(page, where) {
  const beyond = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  assert.ok(beyond <= 0, `${where}: ${beyond} px wider than the screen`);
}
export async function until(what, isSo) {
  for (let tries = 0; tries < 160; tries += 1) {
    if (await isSo()) return;
    await new Promise((resolve) => { setTimeout(resolve, 50); });
  }
  assert.fail(`in vain waited for: ${what}`);
}
// Pictures for people; kept in the build folder only.
export async function picture(page, name, whole = false) {
  if (process.env.DWELLOG_PICTURES) await page.screenshot({ path: path.join(process.env.DWELLOG_PICTURES, `${name}.png`), fullPage: whole });
}
export const example = () => JSON.parse(fs.readFileSync(new URL('./status_example.json', import.meta.url), 'utf8'));

// The files of the page for that status, role and name; gives their folder.
export function pageFiles(status, role, name = 'A. Sample') {
  const folder = fs.mkdtempSync(path.join(scratch, 'page-'));
  fs.writeFileSync(path.join(folder, 'status.json'), JSON.stringify(status));
  execFileSync(process.env.DWELLOG_PAGE_FILES, [path.join(folder, 'status.json'), role, name, folder]);
  return folder;
}
