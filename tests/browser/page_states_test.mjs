// What the page makes of every state of a site, against a site whose answers the test decides.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import test, { after, afterEach, before } from 'node:test';
import zlib from 'node:zlib';
import { checkAccessible, checkFits, closeBrowser, desktop, example, openBrowser, pageFiles, phone, picture, until } from './browser_rig.mjs';
import { StubSite } from './stub_site.mjs';
import { closeVisits, isKept, isLive, visit } from './stub_visit.mjs';

before(openBrowser);
after(closeBrowser);
afterEach(closeVisits);

const ready = () => {
  const status = example();
  Object.assign(status, { simulated: false, alerts: [] });
  Object.assign(status.rooms[0], { verdict: 'ready', headline: 'Ready: every gate is met.', dwell_done_hours: 99.9, dwell_left_hours: 0 });
  for (const gate of status.rooms[0].gates) Object.assign(gate, { state: 'met', action: '' });
  return status;
};
const unknown = () => {
  const status = example();
  status.simulated = false;
  Object.assign(status.rooms[0], { verdict: 'cannot tell', headline: 'Cannot tell: nothing was heard.', dwell_expected_at_utc: null,
    forecast: { ready_expected_at_utc: null, earliest_utc: null, latest_utc: null, text: 'No date: the room air is not known.' } });
  for (const channel of status.rooms[0].channels) channel.value_at_utc = '2026-03-08T02:00:00Z';
  Object.assign(status.boxes[0], { link_up: false, reason: 'no answer', since_utc: '2026-03-08T02:05:00Z' });
  return status;
};
const several = () => {
  const status = ready();
  status.rooms.push({ ...unknown().rooms[0], id: 'kitchen', name: 'Kitchen' }, { ...example().rooms[0], id: 'hall', name: 'Hall' });
  return status;
};

test('without script the first answer says verdict, reasons, hours and forecast', async () => {
  for (const size of [phone, desktop]) {
    const { page } = await visit(example(), { ...size, javaScriptEnabled: false });
    const text = await page.innerText('body');
    for (const part of ['SIMULATED SITE', 'Can the crew go?', 'NOT READY', '31.2 of 48.0 h, 16.8 h left', 'Ready about 2026-03-10 06:00 UTC',
      'Not met: Slab dry enough', 'Let the slab dry', 'Not known: Vapour barrier', 'A person decides', 'Newest reading 2026-03-08 06:59 UTC']) {
      assert.ok(text.includes(part), part);
    }
    await checkFits(page, 'without script');
    await picture(page, `no-script-${size.viewport.width}`, true);
  }
});

test('a verdict is told by word and shape, both widths and themes are usable', async () => {
  const verdicts = [['READY', 's-ready', ready()], ['NOT READY', 's-not', example()], ['CANNOT TELL', 's-unknown', unknown()]];
  for (const [word, shape, status] of verdicts) {
    const { page, faults } = await visit(status);
    await isLive(page);
    assert.equal(await page.textContent('.verdict .word'), word);
    assert.equal(await page.getAttribute('.verdict .sign use', 'href'), `#${shape}`);
    const box = await page.locator('.verdict').boundingBox();
    assert.ok(box.y + box.height < phone.viewport.height / 2, 'the verdict stands in the upper half of the screen');
    await until('charts', async () => (await page.locator('.chart > svg').count()) === 4);
    for (const colorScheme of ['light', 'dark']) {
      await page.emulateMedia({ colorScheme });
      await picture(page, `${word}-${colorScheme}`);
      await checkAccessible(page, `${word}, phone, ${colorScheme}`);
    }
    await page.click('summary');
    for (const size of [phone, desktop]) {
      await page.setViewportSize(size.viewport);
      await checkFits(page, `${word}, ${size.viewport.width}`);
      await picture(page, `${word}-${size.viewport.width}-whole`, true);
    }
    if (word === 'NOT READY') await checkAccessible(page, 'desktop, the form unfolded');
    assert.deepEqual(faults, []);
  }
});

test('the first screen of a phone holds hours, forecast and a reason', async () => {
  const { page } = await visit(example());
  await isLive(page);
  for (const part of ['.hours .bar', '.forecast', '.reasons li >> nth=0']) {
    const box = await page.locator(part).first().boundingBox();
    assert.ok(box.y + box.height <= phone.viewport.height, `${part} ends at ${box.y + box.height} px`);
  }
});

test('times are in the zone of the phone and say UTC too', async () => {
  const { page } = await visit(example());
  await isLive(page);
  const time = page.locator('.forecast time').first();
  assert.equal(await time.textContent(), 'Tue 10 Mar, 07:00 CET');
  assert.equal(await time.getAttribute('title'), '2026-03-10 06:00 UTC');
});

test('a simulated site says so wherever one has scrolled to', async () => {
  const { page } = await visit(example());
  await isLive(page);
  await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
  const box = await page.locator('.simulated').boundingBox();
  assert.ok(box.y >= 0 && box.height > 20, 'banner on the screen');
  const { page: real } = await visit(ready());
  assert.equal(await real.locator('.simulated').count(), 0);
});

test('several rooms begin with an overview', async () => {
  const { page, faults } = await visit(several());
  await isLive(page);
  assert.deepEqual(await page.locator('.card .word').allTextContents(), ['READY', 'CANNOT TELL', 'NOT READY']);
  await checkAccessible(page, 'overview');
  await picture(page, 'overview');
  await page.click('text=Kitchen');
  await until('the room', async () => (await page.locator('.verdict .word').allTextContents()).join() === 'CANNOT TELL');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'room-name');
  await page.click('text=All rooms');
  await until('the overview', async () => (await page.locator('.card').count()) === 3);
  assert.deepEqual(faults, []);
});

test('a change comes by itself, is spoken, and leaves what is being written', async () => {
  const { site, page, faults } = await visit(example());
  await isLive(page);
  await page.click('summary');
  await page.selectOption('#note-kind', 'remark');
  await page.fill('#note-remark', 'half written');
  await page.focus('#note-remark');
  const rooms = ready().rooms;
  site.change({ ...example(), rooms }, { rooms });
  await until('the new verdict', async () => (await page.textContent('.verdict .word')) === 'READY');
  assert.equal(await page.textContent('#said'), 'Living room: READY');
  assert.equal(await page.inputValue('#note-remark'), 'half written');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'note-remark');
  assert.equal(await page.locator('.reasons.reasons h3').count(), 0);
  assert.deepEqual(faults, []);
});

test('a patch deletes what is null in it and replaces lists (RFC 7396)', async () => {
  const { page } = await visit(ready());
  const result = await page.evaluate(() => merged({ a: 1, b: { c: 2, d: [1, 2] }, e: 'x' }, { a: null, b: { d: [3], f: { g: null } }, e: { h: 1 } }));
  assert.deepEqual(result, { b: { c: 2, d: [3], f: {} }, e: { h: 1 } });
});

test('without a word for two minutes the age is shown loudly', async () => {
  const { site, page } = await visit(ready(), { before: (one) => one.clock.install() });
  await isLive(page);
  assert.equal(await page.isHidden('#stale'), true);
  site.goDown(true);
  await until('words for the lost line', async () => (await page.textContent('#link-word')).includes('No link to the logger'));
  assert.match(await page.textContent('#link'), /trying again, last confirmed \d+ s ago$/);
  await page.clock.fastForward(125000);
  await until('the loud age', async () => page.isVisible('#stale'));
  assert.match(await page.textContent('#stale'), /OLD STATE: last confirmed 2 min ago/);
  assert.match(await page.textContent('.verdict'), /READY.*as of /);
  await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
  assert.ok((await page.locator('#stale').boundingBox()).y >= 0, 'it stays on the screen');
  await page.evaluate(() => window.scrollTo(0, 0));
  await checkAccessible(page, 'old state');
  await picture(page, 'old-state');
  await page.clock.fastForward(3 * 3600000);
  await until('a greater age', async () => /3 h ago/.test(await page.textContent('#stale')));
  site.goDown(false);
  await page.clock.fastForward(60000);
  await until('a live line again', async () => (await page.textContent('#link-word')) === 'Live');
  await page.clock.fastForward(10000);
  assert.equal(await page.isHidden('#stale'), true);
});

test('while the state does not change it is confirmed every minute', async () => {
  const { site, page } = await visit(ready(), { before: (one) => one.clock.install() });
  await isLive(page);
  for (let minute = 0; minute < 6; minute += 1) {
    const confirmed = await page.evaluate(() => site.confirmedAt);
    await page.clock.fastForward(65000);
    await until('a confirmation', async () => (await page.evaluate(() => site.confirmedAt)) > confirmed);
    assert.equal(await page.isHidden('#stale'), true);
  }
  assert.equal(site.streams.size, 1);
});

test('a session that ended asks to log in again', async () => {
  const { site, page } = await visit(ready());
  await isLive(page);
  site.answers['GET /api/v1/status'] = [401, {}];
  site.answers['GET /events'] = [401, {}];
  for (const stream of site.streams) stream.end();
  await until('the words', async () => (await page.textContent('#link-word')) === 'Logged out: log in');
  assert.equal(await page.getAttribute('#link-word a', 'href'), '/login');
});

test('offline the last state is shown with its age', async () => {
  const { site, page, faults } = await visit(ready(), { serviceWorkers: 'allow' });
  await isLive(page);
  await isKept(page);
  await until('charts', async () => (await page.evaluate(async () => (await (await caches.open('dwellog')).keys()).length)) >= 7);
  const rooms = example().rooms;
  site.change({ ...ready(), rooms }, { rooms });
  await until('the newer verdict', async () => (await page.textContent('.verdict .word')) === 'NOT READY');
  site.goDown(true);
  await page.reload();
  await until('words for the lost line', async () => (await page.textContent('#link-word')).includes('No link'));
  assert.equal(await page.textContent('.verdict .word'), 'NOT READY'); // not the older one of the kept document
  await until('charts', async () => (await page.locator('.chart > svg').count()) === 4);
  await page.evaluate(() => { site.confirmedAt -= 7200000; tick(); });
  assert.match(await page.textContent('#stale'), /2 h ago/);
  await picture(page, 'offline');
  assert.deepEqual(faults, []);
});

test('imperial units turn values, limits and sentences, and are remembered', async () => {
  const { page } = await visit(example());
  await isLive(page);
  await page.click('text=°F, ft²');
  const text = await page.innerText('main');
  for (const part of ['258 ft²', '67.3 °F', 'allowed 62.6 °F to 73.4 °F', 'more than the 1.8 °F allowed', 'air out of band: about 61.5 °F (band 62.6 to 73.4 °F)', 'Keep the room between']) {
    assert.ok(text.includes(part), part);
  }
  assert.doesNotMatch(text.replace('The charts are drawn in °C.', ''), /°C|m²/);
  await page.reload();
  await isLive(page);
  assert.match(await page.innerText('main'), /67\.3 °F/);
});

test('texts of others stay text', async () => {
  const status = example();
  const evil = '<img src=x onerror=alert(1)></script><script>alert(2)</script>"\'\u202egnp.exe';
  status.job = evil;
  Object.assign(status.rooms[0], { name: evil, floor_product: evil, headline: `Not ready: ${evil}` });
  for (const gate of status.rooms[0].gates) Object.assign(gate, { reason: evil, action: evil });
  for (const channel of status.rooms[0].channels) channel.id = evil;
  for (const alert of status.alerts) Object.assign(alert, { text: evil, acknowledged_by: evil });
  for (const note of status.notes) Object.assign(note, { text: evil, by: evil, kind: evil });
  status.boxes[0].refusal = evil;
  for (const javaScriptEnabled of [true, false]) {
    const { page, faults } = await visit(status, { javaScriptEnabled });
    if (javaScriptEnabled) await isLive(page);
    assert.equal(await page.locator('main img, main script, header img, header script').count(), 0);
    const text = await page.innerText('main');
    assert.ok(text.includes('<img src=x'));
    assert.ok(!text.includes('\u202e'), 'nothing turns the order of its neighbours round');
    assert.deepEqual(faults, []);
  }
});

test('who may do less sees less', async () => {
  const counts = {};
  for (const role of ['shared', 'viewer', 'crew', 'owner']) {
    const { page } = await visit(example(), { role });
    await isLive(page);
    counts[role] = await Promise.all(['.alert form', '#write', '[data-part="notes"]', '#links', '.file'].map((part) => page.locator(part).count()));
  }
  assert.deepEqual(counts, { shared: [0, 0, 0, 0, 0], viewer: [0, 0, 1, 0, 5], crew: [1, 1, 1, 0, 5], owner: [1, 1, 1, 1, 5] });
});

test('an acknowledgement that fails says so and may be tried again', async () => {
  const { site, page } = await visit(example(), { role: 'crew', arrange: (one) => { one.answers['POST /api/v1/alerts/acknowledge'] = [503, { title: 'Service Unavailable' }]; } });
  await isLive(page);
  await page.fill('.alert input', 'on my way');
  await page.click('.alert button');
  await until('the words', async () => /It did not work: Service Unavailable/.test(await page.innerText('.alert >> nth=0')));
  site.answers['POST /api/v1/alerts/acknowledge'] = [204, ''];
  await page.click('.alert button');
  await until('done', async () => /Acknowledged\./.test(await page.innerText('.alert >> nth=0')));
  assert.deepEqual(JSON.parse(site.posts[1].body), { key: 'out_of_band/living-room', remark: 'on my way' });
});

test('paper gets black on white, without what can only be clicked', async () => {
  const { page } = await visit(example(), { colorScheme: 'dark' });
  await isLive(page);
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  for (const part of ['button', 'form.inline', '#write', '.spans', '#link']) {
    assert.equal(await page.locator(`${part}:visible`).count(), 0, part);
  }
  const colours = await page.evaluate(() => [...new Set([...document.querySelectorAll('body, main *')].filter((one) => one.checkVisibility())
    .flatMap((one) => { const style = getComputedStyle(one); return [style.color, style.backgroundColor, style.borderTopColor]; }))]);
  for (const colour of colours) {
    const [r, g, b] = colour.match(/[\d.]+/g).map(Number);
    assert.ok(Math.max(r, g, b) - Math.min(r, g, b) <= 8, `a grey: ${colour}`);
  }
  const text = await page.innerText('body');
  assert.ok(text.includes('SIMULATED SITE') && text.includes('NOT READY') && /State of .*CET/.test(text));
});

test('by keyboard: the way past the header, visible focus, all actions reachable', async () => {
  const { page } = await visit(example(), desktop);
  await isLive(page);
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.className), 'skip');
  const reached = new Set();
  while (true) {
    await page.keyboard.press('Tab');
    if (await page.evaluate(() => document.activeElement === document.body)) break;
    const { name, outline } = await page.evaluate(() => ({ name: document.activeElement.id || document.activeElement.textContent.trim(),
      outline: getComputedStyle(document.activeElement).outlineStyle }));
    assert.notEqual(outline, 'none', `focus is visible on ${name}`);
    reached.add(name);
  }
  for (const name of ['24 h', 'remark-out_of_band/living-room', 'Acknowledge', 'Write a note', 'Show photo 1', 'PDF', 'links-label', 'Make a link', '°F, ft²', 'logout']) {
    assert.ok(reached.has(name), name);
  }
});

test('nothing moves for who asked for that', async () => {
  const { page } = await visit(example(), { reducedMotion: 'reduce' });
  await isLive(page);
  assert.equal(await page.evaluate(() => getComputedStyle(document.querySelector('.bar .done')).transitionDuration), '0s');
});

test('every text that is asked for is there, and none is left over', () => {
  const folder = new URL('../../logger/web/page/', import.meta.url);
  const read = (name) => fs.readFileSync(new URL(name, folder), 'utf8');
  const texts = Object.keys(JSON.parse(read('assets/texts.json')));
  const source = [...['script', 'html'].flatMap((part) => fs.readdirSync(new URL(`assets/${part}`, folder)).map((name) => read(`assets/${part}/${name}`))),
    read('page_html.cpp')].join('\n');
  for (const [, key] of source.matchAll(/\b(?:T\[|t\(|sentence\()'([\w.-]+)'/g)) assert.ok(texts.includes(key), `asked for: ${key}`);
  // Keys are asked for whole, or made of a beginning and a name: `gate.${id}`.
  const beginnings = [...source.matchAll(/[`"](\w[\w.]*\.)(?:\$\{|")/g)].map(([, start]) => start);
  const left = texts.filter((key) => !beginnings.some((start) => key.startsWith(start))
    && ![`'${key}'`, `"${key}"`, `T.${key}`, `t.${key}}`].some((use) => source.includes(use)));
  assert.deepEqual(left, []);
});

test('what the page consists of stays small', () => {
  const site = new StubSite(pageFiles(example(), 'owner'), example());
  const bytes = Object.fromEntries(['page.html', 'page.css', 'page.js'].map((name) => [name, zlib.gzipSync(site.file(name), { level: 6 }).length]));
  console.log('gzip bytes', bytes);
  assert.ok(Object.values(bytes).reduce((a, b) => a + b) < 32 * 1024);
});
