// Pages of sites that a test decides, closed again after each test.
import { openPage, pageFiles, until } from './browser_rig.mjs';
import { StubSite } from './stub_site.mjs';

const opened = [];
export async function closeVisits() {
  for (const { site, context } of opened.splice(0)) {
    await context.close();
    site.stop();
  }
}
export async function visit(status, { role = 'owner', arrange = () => {}, before: prepare = () => {}, ...settings } = {}) {
  const site = new StubSite(pageFiles(status, role), status);
  site.answers['GET /api/v1/links'] = [200, []];
  arrange(site);
  await site.start();
  const visitor = await openPage({ serviceWorkers: 'block', ...settings });
  opened.push({ site, context: visitor.context });
  await prepare(visitor.page);
  await visitor.page.goto(`${site.origin}/`);
  return { site, ...visitor };
}
// The worker has the document and its two files.
export const isKept = (page) => until('a kept page', () => page.evaluate(async () => (await (await caches.open('dwellog')).keys()).length >= 3));
export const isLive = (page) => until('a live line', async () => (await page.textContent('#link-word')) === 'Live');
