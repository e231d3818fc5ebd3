// The form that takes a note. It is built once, so that what is being written never goes away.

const largestPhoto = 20 * 1024 * 1024; // bytes
const noteKinds = ['gate', 'remark', 'delivery', 'placement', 'laying'];

function choice(id, label, options, onchange) {
  const select = h('select', { id, onchange }, options.map(([value, text]) => h('option', { value }, text)));
  return h('div.field', { 'data-field': id }, h('label', { for: id }, T[label]), select);
}
function noteFields(room) {
  const siteGates = gatesOf(room).filter((gate) => gate.id.startsWith('site.'));
  return [
    choice('note-kind', 'note.kind', noteKinds.map((kind) => [kind, T[`note.kind.${kind}`]]), (event) => showNoteFields(event.target.form)),
    choice('note-gate', 'note.gate', siteGates.map((gate) => [gate.id.slice(5), gateName(gate.id)])),
    choice('note-answer', 'note.answer', ['met', 'not-met'].map((answer) => [answer, T[`note.answer.${answer}`]])),
    choice('note-channel', 'note.channel', channelsOf(room).map((channel) => [channel.id, `${visible(channel.id)} (${plain(channel.role)})`])),
    choice('note-laying', 'note.answer', ['began', 'finished'].map((answer) => [answer, T[`note.answer.${answer}`]])),
    h('div.field', null, h('label', { for: 'note-remark' }, T['note.remark']), h('textarea', { id: 'note-remark', rows: 3, maxlength: 500 })),
    h('div.field', null, h('label', { for: 'note-photos' }, T['note.photos.take']),
      h('input', { id: 'note-photos', type: 'file', accept: 'image/jpeg,image/png,image/webp', capture: 'environment', multiple: true, onchange: sayPhotos }),
      h('p.quiet', { id: 'note-chosen', role: 'status' })),
  ];
}
const shownFor = { gate: ['note-gate', 'note-answer'], placement: ['note-channel'], laying: ['note-laying'] };
function showNoteFields(form) {
  const wanted = shownFor[form.querySelector('#note-kind').value] || [];
  for (const id of ['note-gate', 'note-answer', 'note-channel', 'note-laying']) {
    form.querySelector(`[data-field="${id}"]`).hidden = !wanted.includes(id);
  }
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
  return !large;
}
function noteBody(room) {
  const kind = byId('note-kind').value;
  const value = (id) => byId(id).value;
  return {
    kind,
    room,
    ...(kind === 'gate' ? { subject: value('note-gate'), answer: value('note-answer') } : {}),
    ...(kind === 'placement' ? { subject: value('note-channel') } : {}),
    ...(kind === 'laying' ? { answer: value('note-laying') } : {}),
    remark: value('note-remark').trim(),
  };
}
async function submitNote(event, room) {
  event.preventDefault();
  const result = byId('note-result');
  const body = noteBody(room);
  const say = (text, wrong) => { result.textContent = text; result.className = wrong ? 'wrong' : ''; };
  if (body.kind === 'remark' && !body.remark) return say(T['note.empty'], true);
  if (!sayPhotos()) return undefined;
  const photos = chosenPhotos().map((blob) => ({ blob, sha256: '' }));
  const entry = { id: crypto.getRandomValues(new Uint32Array(2)).join('-'), at: new Date(site.now()).toISOString(), writtenAt: Date.now(), by: session.name, body, photos,
    what: `${T[`note.kind.${body.kind}`]}${body.subject ? ` (${body.kind === 'gate' ? gateName(`site.${body.subject}`) : body.subject})` : ''}`, tried: false, state: 'waiting', reason: '' };
  event.target.reset();
  showNoteFields(event.target);
  sayPhotos();
  say('', false);
  const sent = await addToOutbox(entry);
  if (sent && !outbox.entries.includes(entry)) say(T['note.sent'], false);
  return undefined;
}
function notePart(room) {
  const form = h('form', { onsubmit: (event) => submitNote(event, room.id) }, noteFields(room),
    h('button.main', { type: 'submit' }, T['note.keep']), h('p', { id: 'note-result', role: 'status' }));
  showNoteFields(form);
  return h('details.write', { id: 'write' }, h('summary', null, T['note.write']), form);
}
