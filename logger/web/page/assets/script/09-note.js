// The form that takes a note. It is built once, so that what is being written never goes away.

const largestPhoto = 20 * 1024 * 1024; // bytes
const longestRemark = 500; // bytes of UTF-8, as the logger counts
const noteKinds = ['gate', 'remark', 'delivery', 'placement', 'laying'];

// Beside what stands in the fields: a refused note that was taken back with its photos, and whether
// somebody chose a time; until then the field follows the clock.
const draft = { replaces: null, carried: [], timeChosen: false };

function field(id, label, ...inputs) {
  return h('div.field', { 'data-field': id }, h('label', { for: id }, label), inputs);
}
function choice(id, label, options, onchange) {
  return field(id, T[label], h('select', { id, onchange }, options.map(([value, text]) => h('option', { value }, text))));
}
function noteFields(room) {
  const siteGates = gatesOf(room).filter((gate) => gate.id.startsWith('site.'));
  const chooseTime = (event) => { draft.timeChosen = event.target.value !== ''; };
  return [
    choice('note-kind', 'note.kind', noteKinds.map((kind) => [kind, T[`note.kind.${kind}`]]), (event) => showNoteFields(event.target.form)),
    choice('note-gate', 'note.gate', siteGates.map((gate) => [gate.id.slice(5), gateName(gate.id)])),
    choice('note-answer', 'note.answer', ['met', 'not-met'].map((answer) => [answer, T[`note.answer.${answer}`]])),
    choice('note-channel', 'note.channel', channelsOf(room).map((channel) => [channel.id, `${visible(channel.id)} (${plain(channel.role)})`])),
    choice('note-laying', 'note.answer', ['began', 'finished'].map((answer) => [answer, T[`note.answer.${answer}`]])),
    field('note-carton', '', h('input', { id: 'note-carton', type: 'number', step: 'any', autocomplete: 'off' })),
    field('note-when', T['note.when'], h('input', { id: 'note-when', type: 'datetime-local', oninput: chooseTime, onchange: chooseTime })),
    field('note-remark', T['note.remark'], h('textarea', { id: 'note-remark', rows: 3, oninput: sayRemark }),
      h('p.wrong', { id: 'note-remark-long', role: 'status' })),
    field('note-photos', T['note.photos.take'],
      h('input', { id: 'note-photos', type: 'file', accept: 'image/jpeg,image/png,image/webp', multiple: true, onchange: sayPhotos }),
      h('p.quiet', { id: 'note-chosen', role: 'status' }), h('p', { id: 'note-carried' })),
  ];
}
const shownFor = { gate: ['note-gate', 'note-answer'], placement: ['note-channel'], laying: ['note-laying'], delivery: ['note-carton'] };
function showNoteFields(form) {
  const wanted = shownFor[form.querySelector('#note-kind').value] || [];
  for (const id of ['note-gate', 'note-answer', 'note-channel', 'note-laying', 'note-carton']) {
    const hidden = !wanted.includes(id);
    form.querySelector(`[data-field="${id}"]`).hidden = hidden;
    form.querySelector(`#${id}`).disabled = hidden; // what cannot be seen holds nothing up
  }
}
// A moment as the field takes it: the phone's zone, whole minutes.
function fieldTime(milliseconds) {
  const offset = new Date(milliseconds).getTimezoneOffset() * 60000;
  return new Date(milliseconds - offset).toISOString().slice(0, 16);
}
// What in the form goes with the clock and the chosen units.
function refreshNoteForm() {
  const when = byId('note-when');
  if (!when) return;
  if (!draft.timeChosen && document.activeElement !== when) when.value = fieldTime(site.now());
  const carton = byId('note-carton');
  if (carton.dataset.unit === degrees()) return;
  if (carton.dataset.unit && carton.value !== '') {
    const shown = Number(carton.value);
    showCarton(units.imperial ? shown : (shown - 32) / 1.8);
  }
  carton.dataset.unit = degrees();
  carton.min = -40;
  carton.max = units.imperial ? 140 : 60;
  document.querySelector('label[for="note-carton"]').textContent = t('note.carton', { unit: degrees() });
}
function showCarton(celsius) {
  byId('note-carton').value = String(Number((units.imperial ? fahrenheit(celsius) : celsius).toFixed(1)));
}
// One line, as the logger takes it.
function remarkText() {
  return byId('note-remark').value.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]+/g, ' ').trim();
}
function sayRemark() {
  const bytes = new TextEncoder().encode(remarkText()).length;
  byId('note-remark-long').textContent = bytes > longestRemark ? t('note.remark.long', { bytes, most: longestRemark }) : '';
  return bytes <= longestRemark;
}
function chosenPhotos() {
  return [...byId('note-photos').files];
}
function sayPhotos() {
  const photos = chosenPhotos();
  const large = photos.find((photo) => photo.size > largestPhoto);
  const words = byId('note-chosen');
  words.className = large ? 'wrong' : 'quiet';
  words.textContent = large ? t('note.photos.large', { name: large.name, size: fileSize(large.size) })
    : photos.length ? t('note.photos.chosen', { count: photos.length, size: fileSize(photos.reduce((sum, photo) => sum + photo.size, 0)) }) : '';
  const leave = () => { draft.carried = []; sayPhotos(); };
  byId('note-carried').replaceChildren(...(draft.carried.length ? [t('note.photos.carried', { count: draft.carried.length }), ' ',
    h('button', { type: 'button', onclick: leave }, T['note.photos.leave'])] : []));
  return !large;
}
function noteBody(room) {
  const kind = byId('note-kind').value;
  const value = (id) => byId(id).value;
  const carton = value('note-carton');
  return {
    kind,
    room,
    ...(kind === 'gate' ? { subject: value('note-gate'), answer: value('note-answer') } : {}),
    ...(kind === 'placement' ? { subject: value('note-channel') } : {}),
    ...(kind === 'laying' ? { answer: value('note-laying') } : {}),
    ...(kind === 'delivery' && carton !== '' ? { carton_celsius: Number(celsiusFrom(Number(carton)).toFixed(2)) } : {}),
    ...(draft.timeChosen ? { at_utc: new Date(value('note-when')).toISOString() } : {}),
    remark: remarkText(),
  };
}
// A note in words, its remark left out: kind, subject and answer, temperature.
function noteWords({ kind, subject, answer, carton_celsius: carton }) {
  const what = kind === 'laying' ? T[`note.answer.${answer}`] : T[`note.kind.${kind}`];
  const which = kind === 'gate' ? `${gateName(`site.${subject}`)}, ${T[`note.answer.${answer}`]}`
    : carton === undefined ? subject : t('note.carton.at', { value: temperature(carton) });
  return which ? t('note.words', { what, which }) : what;
}
function sayNote(text, wrong) {
  const result = byId('note-result');
  result.textContent = text;
  result.className = wrong ? 'wrong' : '';
}
// What keeps a note from being sent; nothing when it is in order.
function faultOf(body) {
  if (body.kind === 'remark' && !body.remark) return T['note.empty'];
  return body.at_utc && Date.parse(body.at_utc) > site.now() ? T['note.when.later'] : '';
}
function emptyNote(form) {
  form.reset();
  Object.assign(draft, { replaces: null, carried: [], timeChosen: false });
  showNoteFields(form);
  refreshNoteForm();
  sayPhotos();
  sayRemark();
}
async function submitNote(event, room) {
  event.preventDefault();
  const body = noteBody(room);
  const fault = faultOf(body);
  sayNote(fault, true);
  if (fault || !sayRemark() || !sayPhotos()) return;
  const photos = [...draft.carried, ...chosenPhotos().map((blob) => ({ blob, sha256: '' }))];
  const entry = { id: crypto.getRandomValues(new Uint32Array(2)).join('-'), at: new Date(site.now()).toISOString(), writtenAt: Date.now(), by: session.name, body, photos,
    tried: false, state: 'waiting', reason: '' };
  const { replaces } = draft;
  emptyNote(event.target);
  sayNote('', false);
  const sent = await addToOutbox(entry, replaces);
  if (sent && !outbox.entries.includes(entry)) sayNote(T['note.sent'], false);
}
// Takes a refused note back into the form. It stays where it is until the changed one takes its place.
function changeEntry(entry) {
  const { body } = entry;
  if (chosenRoom().id !== body.room && roomById(body.room)) {
    window.history.pushState(null, '', `#room/${encodeURIComponent(body.room)}`);
    shownHash = window.location.hash;
    render();
  }
  byId('write').open = true;
  const remark = byId('note-remark');
  remark.focus();
  if (remarkText() || chosenPhotos().length) {
    sayNote(T['note.busy'], true);
    return;
  }
  const form = remark.closest('form');
  emptyNote(form);
  const fields = { 'note-kind': body.kind, 'note-remark': body.remark,
    ...(body.kind === 'gate' ? { 'note-gate': body.subject, 'note-answer': body.answer } : {}),
    ...(body.kind === 'placement' ? { 'note-channel': body.subject } : {}),
    ...(body.kind === 'laying' ? { 'note-laying': body.answer } : {}),
    'note-when': fieldTime(Date.parse(body.at_utc || entry.at)) };
  for (const [id, value] of Object.entries(fields)) byId(id).value = value;
  if (body.carton_celsius !== undefined) showCarton(body.carton_celsius);
  Object.assign(draft, { replaces: entry, carried: [...entry.photos], timeChosen: true });
  showNoteFields(form);
  sayPhotos();
  sayRemark();
  sayNote('', false);
}
function notePart(room) {
  Object.assign(draft, { replaces: null, carried: [], timeChosen: false });
  const form = h('form', { onsubmit: (event) => submitNote(event, room.id) }, noteFields(room),
    h('button.main', { type: 'submit' }, T['note.keep']), h('p', { id: 'note-result', role: 'status' }));
  showNoteFields(form);
  return h('details.write', { id: 'write' }, h('summary', null, T['note.write']), form);
}
