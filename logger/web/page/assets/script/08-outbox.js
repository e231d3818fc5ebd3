// Notes and photos on their way. They are kept on the device until the logger has them, so that a
// cellar without a network loses nothing.

const database = {
  opened: null,
  open() {
    this.opened ||= new Promise((resolve, reject) => {
      const request = indexedDB.open('dwellog', 1);
      request.onupgradeneeded = () => request.result.createObjectStore('notes', { keyPath: 'id' });
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
    return this.opened;
  },
  async run(mode, action) {
    const store = (await this.open()).transaction('notes', mode).objectStore('notes');
    return new Promise((resolve, reject) => {
      const request = action(store);
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
  },
};

const outbox = { entries: [], sending: false, kept: true, failures: 0, timer: 0 };

// {id, at: by the logger's clock, writtenAt: by the device's, by, body,
//  photos: [{blob, sha256 or ''}], state, reason}
async function keepEntry(entry) {
  try {
    await database.run('readwrite', (store) => store.put(entry));
  } catch {
    outbox.kept = false; // private windows may keep nothing; it stays in memory
  }
}
async function dropEntry(entry) {
  outbox.entries = outbox.entries.filter((other) => other !== entry);
  try { await database.run('readwrite', (store) => store.delete(entry.id)); } catch { /* was not kept */ }
  renderOutbox();
}
// replaces: a refused one whose place it takes, or null
async function addToOutbox(entry, replaces) {
  outbox.entries.push(entry);
  await keepEntry(entry);
  if (replaces) await dropEntry(replaces);
  renderOutbox();
  return sendOutbox();
}
// fetch tells nothing of how far an upload is.
function upload(blob, progress) {
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.open('POST', '/api/v1/photos');
    request.setRequestHeader('x-csrf-token', session.csrf);
    request.setRequestHeader('content-type', blob.type || 'image/jpeg');
    request.timeout = 300000;
    request.upload.onprogress = (event) => progress(event.total ? Math.round((100 * event.loaded) / event.total) : 0);
    request.onload = () => {
      let data = '';
      try { data = JSON.parse(request.responseText); } catch { /* the status says enough */ }
      resolve({ status: request.status, data });
    };
    request.onerror = () => resolve({ status: 0, data: '' });
    request.ontimeout = request.onerror;
    request.send(blob);
  });
}
const isDone = (answer) => answer.status >= 200 && answer.status < 300;
const mayPass = (answer) => answer.status === 0 || answer.status === 408 || answer.status === 429 || answer.status >= 500;

function fail(entry, answer) {
  entry.state = answer.status === 401 ? 'login' : mayPass(answer) ? 'waiting' : 'refused';
  entry.reason = entry.state === 'refused' ? reasonOf(answer) : '';
}
// True when it went through.
async function sendEntry(entry) {
  for (const photo of entry.photos.filter((one) => !one.sha256)) {
    const answer = await upload(photo.blob, (percent) => { entry.percent = percent; renderOutbox(); });
    if (!isDone(answer)) {
      fail(entry, answer);
      return false;
    }
    photo.sha256 = answer.data.sha256;
    photo.blob = null;
    await keepEntry(entry);
  }
  // A request may arrive and only its answer be lost. The same bytes under the same key are stored once,
  // however often they go; hence the time is in them from the first.
  const body = JSON.stringify({ at_utc: entry.at, ...entry.body, photos: entry.photos.map((photo) => photo.sha256) });
  const answer = await ask('POST', '/api/v1/notes', { body, key: entry.id });
  if (isDone(answer)) return true;
  fail(entry, answer);
  return false;
}
async function sendOutbox() {
  if (outbox.sending) return false;
  outbox.sending = true;
  clearTimeout(outbox.timer);
  let sent = false;
  for (const entry of [...outbox.entries]) {
    if (entry.state === 'refused') continue;
    if (entry.by !== session.name) { // nobody signs for another
      entry.state = 'login';
      continue;
    }
    entry.state = 'sending';
    renderOutbox();
    const done = await sendEntry(entry);
    if (done) {
      sent = true;
      await dropEntry(entry);
    } else {
      await keepEntry(entry);
      if (entry.state !== 'refused') break;
    }
  }
  outbox.sending = false;
  outbox.failures = outbox.entries.some((entry) => entry.state === 'waiting') ? outbox.failures + 1 : 0;
  if (outbox.failures) outbox.timer = setTimeout(sendOutbox, Math.min(60000, 2000 * 2 ** outbox.failures));
  renderOutbox();
  if (sent) check();
  return sent;
}
function entryWords(entry) {
  if (draft.replaces === entry) return T['outbox.in-form'];
  if (entry.state === 'sending') return t('outbox.sending', { percent: entry.percent || 0 });
  if (entry.state === 'refused') return t('outbox.refused', { reason: entry.reason });
  return t(`outbox.${entry.state}`, { by: entry.by });
}
function entryItem(entry) {
  const again = () => { entry.state = 'waiting'; sendOutbox(); };
  const { body } = entry;
  const inForm = draft.replaces === entry;
  const mayChange = !inForm && entry.state === 'refused' && entry.by === session.name;
  return h('li', null, h('p', null, h('b', null, noteWords(body))), [...body.lines || [], ...body.holes || [], body.approval, body.remark].filter(Boolean).map((text) => h('p', null, visible(text))),
    h('p.quiet', null, sentence('outbox.written', 'at', moment(entry.at)), body.at_utc ? sentence('outbox.was', 'at', moment(body.at_utc)) : null),
    entry.photos.length ? h('p.quiet', null, t('outbox.photos', {
      sent: entry.photos.filter((photo) => photo.sha256).length, count: entry.photos.length,
    })) : null,
    h('p', { role: 'status' }, entryWords(entry)),
    entry.state === 'sending' ? null : [inForm ? null : [h('button', { type: 'button', onclick: again }, T['outbox.again']), ' '],
      mayChange ? [h('button', { type: 'button', onclick: () => changeEntry(entry) }, T['outbox.change']), ' '] : null,
      h('button', { type: 'button', onclick: () => dropEntry(entry) }, T['outbox.discard'])]);
}
function renderOutbox() {
  const place = byId('outbox');
  if (!place) return;
  place.hidden = outbox.entries.length === 0;
  place.replaceChildren(h('h3', null, T.outbox), outbox.kept ? '' : h('p.wrong', null, T['outbox.full']),
    h('ul.plain', null, outbox.entries.map(entryItem)));
}
async function startOutbox() {
  try {
    outbox.entries = await database.run('readonly', (store) => store.getAll());
  } catch { outbox.kept = false; }
  // What was under way when the page was closed counts as waiting.
  for (const entry of outbox.entries) if (entry.state === 'sending' || entry.state === 'login') entry.state = 'waiting';
  renderOutbox();
  window.addEventListener('online', sendOutbox);
  if (outbox.entries.length) sendOutbox();
}
