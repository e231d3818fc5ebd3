// Every action of the page against a running daemon, in the order of a day's work.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import test, { after, before } from 'node:test';
import { checkAccessible, checkFits, closeBrowser, desktop, openBrowser, openPage, picture, until } from './browser_rig.mjs';

const { port, passwords } = JSON.parse(process.env.DWELLOG_SITE);
const origin = `http://127.0.0.1:${port}`;
const jpeg = { name: 'slab.jpg', mimeType: 'image/jpeg', buffer: Buffer.concat([Buffer.from([0xff, 0xd8, 0xff, 0xe0]), Buffer.alloc(200000, 3)]) };

const people = {};
before(openBrowser);
after(closeBrowser);

async function logIn(role, settings = {}) {
  const visitor = await openPage(settings);
  await visitor.page.goto(`${origin}/`);
  await visitor.page.fill('#name', role);
  await visitor.page.fill('#password', passwords[role]);
  await visitor.page.click('button');
  await until(`the page of ${role}`, async () => (await visitor.page.locator('#link-word').textContent()) === 'Live');
  await until('the room', async () => (await visitor.page.locator('.verdict .word').count()) === 1);
  return visitor;
}

test('a stranger is led to the login, and a wrong password is refused in words', async () => {
  const { page, context, faults } = await openPage();
  await page.goto(`${origin}/`);
  assert.equal(new URL(page.url()).pathname, '/login');
  await checkAccessible(page, 'login');
  await page.fill('#name', 'crew');
  await page.fill('#password', 'not the password');
  await page.click('button');
  assert.match(await page.innerText('[role=alert]'), /do not fit/);
  assert.equal(await page.inputValue('#name'), 'crew');
  assert.deepEqual(faults, []);
  await context.close();
});

test('the first view stays below 60 KiB on the wire', async () => {
  const { page, context } = await openPage({ serviceWorkers: 'block' });
  await page.goto(`${origin}/login`);
  await page.fill('#name', 'viewer');
  await page.fill('#password', passwords.viewer);
  const line = await context.newCDPSession(page);
  const sizes = {};
  const names = {};
  await line.send('Network.enable');
  await line.send('Network.setCacheDisabled', { cacheDisabled: true });
  line.on('Network.responseReceived', ({ requestId, response }) => { names[requestId] = new URL(response.url).pathname; });
  line.on('Network.loadingFinished', ({ requestId, encodedDataLength }) => { sizes[names[requestId]] = (sizes[names[requestId]] || 0) + encodedDataLength; });
  await page.click('button');
  await until('all charts', async () => (await page.locator('.chart > svg').count()) === 4);
  await page.waitForLoadState('networkidle').catch(() => {}); // the stream of events never ends
  const bytes = Object.values(sizes).reduce((a, b) => a + b, 0);
  console.log('first view, bytes as transferred:', JSON.stringify(sizes), 'together', bytes);
  for (const part of ['/', '/assets/page.js', '/assets/page.css', '/api/v1/rooms/loft/charts/slab.svg']) assert.ok(sizes[part] > 0, part);
  assert.ok(bytes < 60 * 1024, `${bytes} bytes`);
  await context.close();
});

test('crew sees verdict, charts and values, and the document obeys the content policy', async () => {
  people.crew = await logIn('crew');
  const { page, faults } = people.crew;
  assert.equal(await page.textContent('.verdict .word'), 'NOT READY');
  await until('charts', async () => (await page.locator('.chart > svg').count()) === 4);
  const text = await page.innerText('main');
  for (const part of ['Hours in band', '15.2 °C', 'Not met: Hours in the room', 'Cartons were delivered', 'loft-1']) assert.ok(text.includes(part), part);
  const colour = await page.evaluate(() => getComputedStyle(document.querySelector('.chart .s-curve')).stroke);
  assert.equal(colour, 'rgb(13, 69, 92)');
  for (const colorScheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme });
    await checkAccessible(page, `real page, ${colorScheme}`);
    await picture(page, `real-${colorScheme}`, true);
  }
  await checkFits(page, 'real page');
  assert.deepEqual(faults, []);
});

test('the span of the charts can be chosen', async () => {
  const { page } = people.crew;
  const before = await page.innerHTML('#chart-climate-temperature .chart');
  const day = page.locator('.spans button:text-is("24 h")');
  await day.click();
  await until('another curve', async () => (await page.innerHTML('#chart-climate-temperature .chart')) !== before);
  assert.equal(await day.getAttribute('aria-pressed'), 'true');
});

test('a note with a photo is stored and comes to the others by itself', async () => {
  people.owner = await logIn('owner', desktop);
  const { page } = people.crew;
  await page.click('summary');
  await page.selectOption('#note-gate', 'clean');
  await page.selectOption('#note-answer', 'choice:clean');
  await page.fill('#note-remark', 'swept twice');
  await page.setInputFiles('#note-photos', jpeg);
  assert.match(await page.innerText('#note-chosen'), /1 chosen, 200 kB/);
  await page.click('button:has-text("Send")');
  await until('it is stored', async () => (await page.innerText('#note-result')) === 'The note is stored.');
  for (const { page: other } of [people.crew, people.owner]) {
    await until('the note', async () => /swept twice/.test(await other.innerText('.notes')));
    await until('the gate', async () => /Met: Subfloor clean/.test(await other.innerText('[data-part="gates"]')));
  }
  const [request] = await Promise.all([people.owner.page.waitForResponse(/\/photos\//), people.owner.page.click('text=Show photo 1')]);
  assert.equal(request.status(), 200);
  assert.ok((await request.body()).equals(jpeg.buffer));
});

test('a gate still to note is answered by the words of its question', async () => {
  const { page } = people.crew;
  await page.click('.missing button[aria-label="Note it: Kind of heating"]');
  assert.equal(await page.inputValue('#note-gate'), 'heating_kind');
  assert.match(await page.innerText('#note-asks'), /\?\s+Why: .+\.$/);
  await page.click('button.main');
  assert.equal(await page.innerText('#note-result'), 'Choose an answer first.');
  await page.selectOption('#note-answer', { label: 'warm water in the floor' });
  assert.equal(await page.isVisible('#note-approval'), true);
  await checkAccessible(page, 'the form of a gate');
  await picture(page, 'gate-form');
  await page.click('button.main');
  await until('its grounds', async () => /Kind of heating\s+Still open, .*warm water in the floor/.test(await page.innerText('[data-part="gates"]')));
});

test('readings of flatness that are refused come back into their field with the reason', async () => {
  const { page, faults } = people.crew;
  await page.click('.missing button[aria-label="Note it: Subfloor flat"]');
  await page.fill('#note-lines', '0 cm=0 mm, 50 cm=1 mm\n0 cm=0 mm, 50 cm');
  await page.setInputFiles('#note-photos', jpeg);
  await page.click('button.main');
  await until('the reason', async () => (await page.innerText('#note-lines-wrong')).includes('line 0 cm=0 mm, 50 cm: `50 cm`; expected PLACE=GAP'));
  assert.equal(await page.inputValue('#note-lines'), '0 cm=0 mm, 50 cm=1 mm\n0 cm=0 mm, 50 cm');
  assert.match(await page.innerText('#note-carried'), /go along: 1\./);
  assert.match(await page.innerText('#outbox'), /It is in the form/);
  await checkAccessible(page, 'refused readings');
  await picture(page, 'refused-readings', true);
  await page.fill('#note-lines', '0 cm=0 mm, 50 cm=1 mm, 100 cm=0 mm');
  await page.click('button.main');
  await until('the gate', async () => /Met: Subfloor flat\s+Noted as met .* Worst gap 1\.0 mm/.test(await page.innerText('[data-part="gates"]')));
  assert.equal(await page.isHidden('#outbox'), true);
  assert.equal(await page.innerText('#note-lines-wrong'), '');
  assert.deepEqual(faults, []);
});

test('other kinds of notes pass, and what is refused says why', async () => {
  const { page, faults } = people.crew;
  for (const [kind, choose] of [['remark', []], ['placement', [['#note-channel', 'slab-rh']]], ['laying', [['#note-laying', 'began']]]]) {
    await page.selectOption('#note-kind', kind);
    for (const [field, value] of choose) await page.selectOption(field, value);
    await page.fill('#note-remark', `invented ${kind}`);
    await page.click('button:has-text("Send")');
    await until(`${kind} is stored`, async () => new RegExp(`invented ${kind}`).test(await page.innerText('.notes')));
  }
  await page.selectOption('#note-kind', 'remark');
  await page.fill('#note-remark', 'with a text file');
  await page.setInputFiles('#note-photos', { name: 'x.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('no picture at all') });
  await page.click('button:has-text("Send")');
  await until('the reason', async () => /Refused: .*neither JPEG/.test(await page.innerText('#outbox')));
  await page.click('text=Discard');
  assert.deepEqual(faults, []);
});

test('an alert is acknowledged', async () => {
  const { page } = people.crew;
  await until('an alert', async () => (await page.locator('.alert form').count()) > 0);
  await page.fill('.alert input', 'heater is on its way');
  await page.click('.alert button');
  await until('it is on record', async () => /Acknowledged .* by crew/.test(await page.innerText('[data-part="alerts"]')));
});

test('certificates can be downloaded', async () => {
  const { page } = people.owner;
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('text=Signed data')]);
  const bytes = fs.readFileSync(await download.path(), 'utf8');
  assert.equal(JSON.parse(bytes).facts?.certificate?.number ?? bytes.includes('loft-1'), true);
});

test('a share link is made, copied, opened by a stranger and withdrawn', async () => {
  const { page, context } = people.owner;
  await context.grantPermissions(['clipboard-read', 'clipboard-write'], { origin });
  await page.fill('#links-label', 'Client');
  await page.selectOption('#links-hours', '72');
  await page.click('text=Make a link');
  await until('the address', async () => (await page.locator('#links-address').count()) === 1);
  await page.click('button:text-is("Copy")');
  await until('copied', async () => (await page.innerText('#links-made button')) === 'Copied.');
  const address = await page.evaluate(() => navigator.clipboard.readText());
  assert.match(address, new RegExp(`^${origin}/s/[\\w-]{43}$`));
  const stranger = await openPage();
  await stranger.page.goto(address);
  await until('a live line', async () => (await stranger.page.textContent('#link-word')) === 'Live');
  await until('charts', async () => (await stranger.page.locator('.chart > svg').count()) === 4);
  const whole = await stranger.page.content();
  for (const name of ['A. Sample', 'B. Sample', 'Sample Street', 'swept twice']) assert.ok(!whole.includes(name), name);
  await checkAccessible(stranger.page, 'shared view');
  await picture(stranger.page, 'shared', true);
  await until('the link in the list', async () => /Client until/.test(await page.innerText('#links-list')));
  await page.click('text=Withdraw');
  await until('withdrawn', async () => /Client withdrawn/.test(await page.innerText('#links-list')));
  await until('the stranger is out', async () => /Logged out/.test(await stranger.page.textContent('#link-word')));
  assert.deepEqual(stranger.faults, []);
  await stranger.context.close();
});

test('logging out ends the session and forgets what was kept', async () => {
  const { page, context, faults } = people.crew;
  assert.notEqual(await page.evaluate(() => localStorage.getItem('dwellog-state')), null);
  await page.click('#logout');
  await until('the login page', async () => new URL(page.url()).pathname === '/login');
  assert.equal(await page.evaluate(() => localStorage.getItem('dwellog-state')), null);
  assert.deepEqual(await page.evaluate(() => caches.keys()), []);
  await page.goto(`${origin}/`);
  assert.equal(new URL(page.url()).pathname, '/login');
  assert.deepEqual(faults, []);
  await context.close();
});

test('without script one can log in and log out', async () => {
  const { page, context } = await openPage({ javaScriptEnabled: false });
  await page.goto(`${origin}/`);
  await page.fill('#name', 'owner');
  await page.fill('#password', passwords.owner);
  await page.click('button');
  assert.match(await page.innerText('body'), /NOT READY[\s\S]*What is missing/);
  await page.click('#logout');
  assert.equal(new URL(page.url()).pathname, '/login');
  await context.close();
});
