// Notes on their way from the form to the logger, against a site whose answers the test decides.
import assert from 'node:assert/strict';
import test, { after, afterEach, before } from 'node:test';
import { checkAccessible, closeBrowser, example, openBrowser, pageFiles, picture, until } from './browser_rig.mjs';
import { closeVisits, isKept, isLive, visit } from './stub_visit.mjs';

before(openBrowser);
after(closeBrowser);
afterEach(closeVisits);

const photo = { name: 'floor.jpg', mimeType: 'image/jpeg', buffer: Buffer.alloc(300000, 7) };
async function writeNote(page, remark) {
  await page.click('summary');
  await page.selectOption('#note-kind', 'gate');
  await page.selectOption('#note-gate', 'vapour_barrier');
  await page.fill('#note-remark', remark);
  await page.setInputFiles('#note-photos', photo);
  await page.click('button:has-text("Send")');
}

test('a note with a photo that finds no link is kept and goes when there is one', async () => {
  const { site, page, faults } = await visit(example(), { serviceWorkers: 'allow' });
  await isLive(page);
  await isKept(page);
  site.goDown(true);
  await writeNote(page, 'laid, seams taped');
  await until('it is kept', async () => /Kept on this device/.test(await page.innerText('#outbox')));
  await checkAccessible(page, 'outbox');
  await picture(page, 'outbox', true);
  await page.reload();
  await until('it is there after a reload', async () => /A gate was checked: Vapour barrier, Met\s+laid, seams taped/.test(await page.innerText('#outbox')));
  const written = await page.evaluate(() => outbox.entries[0].at);
  site.answers['POST /api/v1/photos'] = [201, { sha256: 'cd'.repeat(32) }];
  site.answers['POST /api/v1/notes'] = [201, { id: 13 }];
  site.goDown(false);
  // By itself as soon as the link is back, or when told to: whichever is first.
  await page.click('text=Send now', { timeout: 2000 }).catch(() => {});
  await until('it is sent', async () => page.isHidden('#outbox'));
  assert.deepEqual(site.posts.map(({ key }) => key), ['POST /api/v1/photos', 'POST /api/v1/notes']);
  assert.ok(site.posts[0].body.equals(photo.buffer), 'the bytes of the photo');
  assert.equal(site.posts[0].headers['x-csrf-token'], 'invented-token');
  assert.deepEqual(JSON.parse(site.posts[1].body),
    { at_utc: written, kind: 'gate', room: 'living-room', subject: 'vapour_barrier', answer: 'met', remark: 'laid, seams taped', photos: ['cd'.repeat(32)] });
  assert.deepEqual(faults, []);
});

test('a photo that went through is not sent again when the note fails', async () => {
  const { site, page } = await visit(example(), { arrange: (one) => {
    one.answers['POST /api/v1/photos'] = [201, { sha256: 'ef'.repeat(32) }];
    one.answers['POST /api/v1/notes'] = [503, { title: 'busy' }];
  } });
  await isLive(page);
  await writeNote(page, 'again');
  await until('it waits', async () => /1 of 1 photos sent/.test(await page.innerText('#outbox')) && /Kept/.test(await page.innerText('#outbox')));
  site.answers['POST /api/v1/notes'] = [201, { id: 14 }];
  await page.click('text=Send now');
  await until('it is sent', async () => page.isHidden('#outbox'));
  assert.deepEqual(site.posts.map(({ key }) => key), ['POST /api/v1/photos', 'POST /api/v1/notes', 'POST /api/v1/notes']);
});

test('a note whose answer was lost does not go twice', async () => {
  const { site, page } = await visit(example());
  await isLive(page);
  site.losesAnswerTo = 'POST /api/v1/notes';
  await page.click('summary');
  await page.selectOption('#note-kind', 'remark');
  await page.fill('#note-remark', 'heater on');
  await page.click('button:has-text("Send")');
  await until('it waits', async () => /Kept/.test(await page.innerText('#outbox')));
  site.losesAnswerTo = '';
  site.answers['POST /api/v1/notes'] = [201, { id: 14 }];
  await page.click('text=Send now');
  await until('it counts as sent', async () => page.isHidden('#outbox'));
  // The same bytes under the same key: the logger stores them once.
  assert.equal(site.posts.length, 2);
  const [first, again] = site.posts;
  assert.ok(again.body.equals(first.body));
  assert.match(first.headers['idempotency-key'], /^"\d+-\d+"$/);
  assert.equal(again.headers['idempotency-key'], first.headers['idempotency-key']);
  await page.fill('#note-remark', 'heater on');
  await page.click('button.main');
  await until('another note', async () => site.posts.length === 3);
  assert.notEqual(site.posts[2].headers['idempotency-key'], first.headers['idempotency-key']);
});

const questions = { questions: [{ gate: 'vapour_barrier', asks: 'Which barrier?', why: 'water rises', choices: [{ word: 'film', text: 'a film' }, { word: 'none', text: 'nothing' }],
  below: { asks: 'what lies below?', choices: [{ word: 'tile', text: 'tiles', approval_for: ['none'] }, { word: 'timber', text: 'timber', approval_for: [] }] } }],
rooms: [{ room: 'living-room', gates: ['vapour_barrier'], flat_asks: 'Flat?', flat_limit_by: 'invented', subfloor_kind: null, has_slab: false, slab_thickness_mm: null }] };
const toNote = () => {
  const status = example();
  status.rooms[0].missing = [{ what: 'vapour_barrier', why: 'not noted yet', command: 'dwellog note JOBDIR gate vapour_barrier' },
    { what: 'dish-test', why: 'not noted yet', command: 'dwellog note JOBDIR dish-test' }];
  return status;
};

test('a gate is answered without a link, from questions that were asked before', async () => {
  const { site, page, faults } = await visit(toNote(), { role: 'crew', serviceWorkers: 'allow', arrange: (one) => { one.answers['GET /api/v1/questions'] = [200, questions]; } });
  await isLive(page);
  await isKept(page);
  await until('the questions', () => page.evaluate(() => localStorage.getItem('dwellog-questions') !== null));
  site.goDown(true);
  await page.reload();
  await until('words for the lost line', async () => (await page.textContent('#link-word')).includes('No link'));
  assert.match(await page.innerText('.missing'), /Dish test of the slab\s+not noted yet\s+dwellog note JOBDIR dish-test/);
  await page.click('.missing button');
  assert.match(await page.innerText('#note-asks'), /^Which barrier\? Why: water rises\.$/);
  await page.selectOption('#note-answer', 'choice:none');
  await page.click('button.main');
  assert.equal(await page.innerText('#note-result'), 'Choose an answer first.'); // of what lies below
  await page.selectOption('#note-below', 'choice:timber');
  assert.equal(await page.isHidden('#note-approval'), true);
  await page.selectOption('#note-below', 'choice:tile');
  await page.fill('#note-approval', 'maker, 2026-03-01');
  await page.click('button.main');
  await until('it is kept', async () => /Vapour barrier, nothing\s+maker, 2026-03-01[\s\S]*Kept on this device/.test(await page.innerText('#outbox')));
  site.answers['POST /api/v1/notes'] = [201, { id: 13 }];
  site.goDown(false);
  await page.click('text=Send now', { timeout: 2000 }).catch(() => {});
  await until('it is sent', async () => page.isHidden('#outbox'));
  const { at_utc: at, ...body } = JSON.parse(site.posts[0].body);
  assert.equal(typeof at, 'string');
  assert.deepEqual(body, { kind: 'gate', room: 'living-room', subject: 'vapour_barrier', choice: 'none', below: 'tile', approval: 'maker, 2026-03-01', remark: '', photos: [] });
  assert.deepEqual(faults, []);
});

test('a note is not sent under the name of another', async () => {
  const { site, page } = await visit(example(), { serviceWorkers: 'block' });
  await isLive(page);
  site.goDown(true);
  await page.click('summary');
  await page.selectOption('#note-kind', 'remark');
  await page.fill('#note-remark', 'mine');
  await page.click('button:has-text("Send")');
  await until('it is kept', async () => /Kept/.test(await page.innerText('#outbox')));
  site.goDown(false);
  site.folder = pageFiles(example(), 'owner', 'C. Other');
  await page.reload();
  await until('whose it is', async () => /Log in as A\. Sample/.test(await page.innerText('#outbox')));
  assert.equal(site.posts.length, 0);
});

test('a refused note says why, and may be discarded', async () => {
  const { page } = await visit(example(), { arrange: (one) => {
    one.answers['POST /api/v1/photos'] = [422, { status: 422, title: 'Unprocessable', detail: 'the photo is neither JPEG, PNG nor WebP by its first bytes' }];
  } });
  await isLive(page);
  await writeNote(page, 'x');
  await until('the reason', async () => /Refused: the photo is neither JPEG/.test(await page.innerText('#outbox')));
  await page.click('text=Discard');
  await until('it is gone', async () => page.isHidden('#outbox'));
});

async function refusedNote(detail) {
  const visitor = await visit(example(), { arrange: (one) => {
    one.answers['POST /api/v1/photos'] = [201, { sha256: 'ab'.repeat(32) }];
    one.answers['POST /api/v1/notes'] = [422, { status: 422, title: 'Unprocessable', detail }];
  } });
  await isLive(visitor.page);
  await writeNote(visitor.page, 'taped badly');
  await until('the reason', async () => /Refused: invented/.test(await visitor.page.innerText('#outbox')));
  return visitor;
}

test('a refused note can be taken back into the form, changed and sent', async () => {
  const { site, page, faults } = await refusedNote('invented');
  await page.selectOption('#note-kind', 'remark');
  await page.fill('#note-remark', 'another one');
  await page.click('text=Change it');
  assert.match(await page.innerText('#note-result'), /holds a note already/);
  assert.equal(await page.inputValue('#note-remark'), 'another one');
  await page.fill('#note-remark', '');
  await page.click('text=Change it');
  assert.deepEqual(await Promise.all(['kind', 'gate', 'answer', 'remark'].map((name) => page.inputValue(`#note-${name}`))),
    ['gate', 'vapour_barrier', 'met', 'taped badly']);
  assert.match(await page.innerText('#note-carried'), /go along: 1\./);
  await checkAccessible(page, 'a note taken back');
  await picture(page, 'note-taken-back', true);
  site.answers['POST /api/v1/notes'] = [201, { id: 13 }];
  await page.fill('#note-remark', 'taped well');
  await page.click('button:has-text("Send") >> nth=-1');
  await until('it is sent', async () => page.isHidden('#outbox'));
  assert.deepEqual(site.posts.map(({ key }) => key), ['POST /api/v1/photos', 'POST /api/v1/notes', 'POST /api/v1/notes']);
  const { remark, photos } = JSON.parse(site.posts[2].body);
  assert.deepEqual({ remark, photos }, { remark: 'taped well', photos: ['ab'.repeat(32)] });
  assert.deepEqual(faults, []);
});

test('photos of a note that was taken back can be left out', async () => {
  const { site, page } = await refusedNote('invented');
  await page.click('text=Change it');
  await page.click('text=Leave them out');
  await page.fill('#note-remark', 'without');
  await page.click('button.main');
  await until('it went', async () => site.posts.length === 3);
  assert.deepEqual(JSON.parse(site.posts[2].body).photos, []);
});

test('a remark goes as one line, and one that is too long is told before it is queued', async () => {
  const { site, page } = await visit(example(), { arrange: (one) => { one.answers['POST /api/v1/notes'] = [201, { id: 13 }]; } });
  await isLive(page);
  await page.click('summary');
  await page.selectOption('#note-kind', 'remark');
  await page.fill('#note-remark', 'ü'.repeat(251));
  assert.match(await page.innerText('#note-remark-long'), /too long: 502 bytes, and at most 500/);
  await page.click('button.main');
  assert.equal(await page.isHidden('#outbox'), true);
  assert.equal((await page.inputValue('#note-remark')).length, 251);
  await page.fill('#note-remark', `first\nsecond\n\n${'ü'.repeat(243)}`);
  assert.equal(await page.innerText('#note-remark-long'), '');
  await page.click('button.main');
  await until('it went', async () => site.posts.length === 1);
  const { remark, at_utc: at } = JSON.parse(site.posts[0].body);
  assert.equal(remark, `first second ${'ü'.repeat(243)}`);
  const age = (await page.evaluate(() => site.now())) - Date.parse(at);
  assert.ok(age >= 0 && age < 60000, `no time was chosen: now, not ${age} ms ago`);
});

test('a note says when it was so, in the zone of the phone, and how warm the cartons were', async () => {
  const { site, page } = await visit(example(), { arrange: (one) => { one.answers['POST /api/v1/notes'] = [201, { id: 13 }]; } });
  await isLive(page);
  await page.click('summary');
  const now = await page.evaluate(() => fieldTime(site.now()));
  assert.equal(await page.inputValue('#note-when'), now);
  await page.selectOption('#note-kind', 'delivery');
  await page.fill('#note-when', '2099-01-01T10:00');
  await page.click('button.main');
  assert.match(await page.innerText('#note-result'), /in the future/);
  await page.fill('#note-when', '2026-03-07T09:30');
  await page.fill('#note-carton', '18');
  await page.click('text=°F, ft²');
  await until('the unit', async () => /in °F/.test(await page.innerText('[data-field="note-carton"]')));
  assert.equal(await page.inputValue('#note-carton'), '64.4');
  await page.fill('#note-carton', '64');
  await page.click('button.main');
  await until('it went', async () => site.posts.length === 1);
  const { kind, at_utc: at, carton_celsius: celsius } = JSON.parse(site.posts[0].body);
  assert.deepEqual({ kind, at, celsius }, { kind: 'delivery', at: '2026-03-07T08:30:00.000Z', celsius: 17.78 });
  assert.equal(await page.inputValue('#note-when'), now); // follows the clock again
});

test('photos may come from the camera or from what the phone holds', async () => {
  const { page } = await visit(example());
  await isLive(page);
  assert.equal(await page.getAttribute('#note-photos', 'capture'), null);
});

test('a note of laying is headed by its step', async () => {
  const status = example();
  status.notes.unshift({ ...status.notes[0], id: 99, kind: 'laying', text: 'began. first row', photos: [] });
  const { page } = await visit(status);
  await isLive(page);
  assert.match(await page.innerText('.notes li >> nth=0'), /^Laying began first row/);
});
