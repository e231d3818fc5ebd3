// The form that takes a note. It is built once, so that what is being written never goes away.

const largestPhoto = 20 * 1024 * 1024; // bytes
const longestRemark = 500; // bytes of UTF-8, as the logger counts
const longestApproval = 200;
function kindsOf(room) {
  const kinds = ['gate', 'remark', 'delivery', 'placement', 'laying', ...(askedOf(room).has_slab ? ['test-begun', 'rh-test'] : [])];
  return kinds.map((kind) => [kind, T[`note.kind.${kind}`]]);
}

// Beside what stands in the fields: a refused note that was taken back with its photos, and whether
// somebody chose a time; until then the field follows the clock.
const draft = { replaces: null, carried: [], timeChosen: false };

function field(id, label, ...inputs) {
  return h('div.field', { 'data-field': id }, h('label', { for: id }, label), inputs);
}
function choice(id, label, options, onchange) {
  return field(id, T[label], h('select', { id, onchange }, options.map(([value, text]) => h('option', { value }, text))));
}
function readings(id, label, hint = '') {
  const plainText = { spellcheck: 'false', autocapitalize: 'none', autocomplete: 'off' };
  return field(id, T[label], h('p.quiet', { id: `${id}-hint` }, hint),
    h('textarea', { id, rows: 3, ...plainText, 'aria-describedby': `${id}-hint ${id}-wrong` }),
    h('p.wrong', { id: `${id}-wrong`, role: 'status' }));
}
function noteFields(room) {
  const siteGates = gatesOf(room).filter((gate) => gate.id.startsWith('site.'));
  const show = (event) => showNoteFields(event.target.form);
  const chooseTime = (event) => { draft.timeChosen = event.target.value !== ''; };
  return [
    choice('note-kind', 'note.kind', kindsOf(room.id), show),
    choice('note-gate', 'note.gate', siteGates.map((gate) => [gate.id.slice(5), gateName(gate.id)]), (event) => fillChoices(event.target.form)),
    h('p.asks', { id: 'note-asks', 'data-field': 'note-asks' }),
    choice('note-below', 'note.below', [], show),
    choice('note-answer', 'note.answer', [], show),
    field('note-approval', T['note.approval'], h('input', { id: 'note-approval', maxlength: longestApproval, autocomplete: 'off' })),
    readings('note-lines', 'note.lines'),
    choice('note-test', 'note.test', ['rh', 'dish'].map((test) => [test, T[`note.test.${test}`]])),
    readings('note-holes', 'note.holes', t('note.such', { example: '40, 74.5, 19.5' })),
    field('note-service', T['note.service'], h('input', { id: 'note-service', type: 'number', min: 0, step: 'any', autocomplete: 'off' })),
    field('note-drilled', T['note.drilled'], h('input', { id: 'note-drilled', type: 'datetime-local' })),
    field('note-thickness', T['note.thickness'], h('input', { id: 'note-thickness', type: 'number', min: 0, step: 'any', autocomplete: 'off' })),
    h('div.tick', { 'data-field': 'note-as-found' }, h('input', { id: 'note-as-found', type: 'checkbox' }), h('label', { for: 'note-as-found' }, T['note.as-found'])),
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
const shownFor = {
  gate: (form) => ['note-asks', ...answerFields(form)],
  placement: () => ['note-channel'],
  laying: () => ['note-laying'],
  delivery: () => ['note-carton'],
  'test-begun': () => ['note-test'],
  'rh-test': ({ dataset }) => ['note-holes', 'note-service', 'note-drilled', 'note-as-found',
    ...(askedOf(dataset.room).slab_thickness_mm ? [] : ['note-thickness'])],
};
const always = ['note-kind', 'note-when', 'note-remark', 'note-photos'];
function showNoteFields(form) {
  const wanted = (shownFor[form.querySelector('#note-kind').value] || (() => []))(form);
  for (const place of form.querySelectorAll('[data-field]')) {
    const id = place.dataset.field;
    place.hidden = !always.includes(id) && !wanted.includes(id);
    form.querySelector(`#${id}`).disabled = place.hidden; // what cannot be seen holds nothing up
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
const oneLine = (text) => text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]+/g, ' ').trim();
const remarkText = () => oneLine(byId('note-remark').value);
// Something was written that would be lost.
const holdsNote = () => [remarkText(), ...['note-lines', 'note-holes', 'note-approval'].map((id) => byId(id).value)].some(Boolean) || chosenPhotos().length > 0;
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
    ...(kind === 'gate' ? { subject: value('note-gate'), ...answerBody() } : {}),
    ...(kind === 'test-begun' ? { subject: value('note-test') } : {}),
    ...(kind === 'rh-test' ? rhTestBody() : {}),
    ...(kind === 'placement' ? { subject: value('note-channel') } : {}),
    ...(kind === 'laying' ? { answer: value('note-laying') } : {}),
    ...(kind === 'delivery' && carton !== '' ? { carton_celsius: Number(celsiusFrom(Number(carton)).toFixed(2)) } : {}),
    ...(draft.timeChosen ? { at_utc: new Date(value('note-when')).toISOString() } : {}),
    remark: remarkText(),
  };
}
// A note in words, its remark left out: kind, subject and answer, temperature.
function noteWords(body) {
  const { kind, subject, answer, carton_celsius: carton } = body;
  const what = kind === 'laying' ? T[`note.answer.${answer}`] : T[`note.kind.${kind}`];
  const which = kind === 'gate' ? `${gateName(`site.${subject}`)}, ${answerWords(body)}`
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
  if (body.answer === '' || (body.choice && !byId('note-below').disabled && !body.below)) return T['note.choose.first'];
  if ((body.lines || body.holes || [0]).length === 0) return T['note.readings.first'];
  return body.at_utc && Date.parse(body.at_utc) > site.now() ? T['note.when.later'] : '';
}
function putInDraft(replaces, carried, timeChosen) {
  Object.assign(draft, { replaces, carried, timeChosen });
  renderOutbox();
}
function emptyNote(form) {
  form.reset();
  putInDraft(null, [], false);
  fillChoices(form);
  sayReadings('', '');
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
    state: 'waiting', reason: '' };
  const { replaces } = draft;
  emptyNote(event.target);
  sayNote('', false);
  const sent = await addToOutbox(entry, replaces);
  if (sent && !outbox.entries.includes(entry)) sayNote(T['note.sent'], false);
  // Readings that the logger does not take come back to where they were typed.
  if (entry.state === 'refused' && readingsField(body) && !holdsNote()) changeEntry(entry);
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
  const readingsAt = readingsField(body);
  if (holdsNote()) {
    byId('note-remark').focus();
    sayNote(T['note.busy'], true);
    return;
  }
  const form = byId('note-form');
  emptyNote(form);
  byId('note-kind').value = body.kind;
  if (body.kind === 'gate') byId('note-gate').value = body.subject;
  fillChoices(form);
  const fields = { 'note-remark': body.remark, 'note-approval': body.approval || '',
    ...(body.kind === 'gate' ? { 'note-answer': body.choice ? `choice:${body.choice}` : body.lines ? 'lines' : body.answer } : {}),
    ...(body.below ? { 'note-below': `choice:${body.below}` } : {}),
    ...(body.kind === 'test-begun' ? { 'note-test': body.subject } : {}),
    ...(body.kind === 'rh-test' ? { 'note-service': body.service_hours ?? '', 'note-thickness': body.thickness_mm ?? '',
      'note-drilled': body.drilled_at_utc ? fieldTime(Date.parse(body.drilled_at_utc)) : '' } : {}),
    ...(readingsAt ? { [readingsAt]: (body.lines || body.holes).join('\n') } : {}),
    ...(body.kind === 'placement' ? { 'note-channel': body.subject } : {}),
    ...(body.kind === 'laying' ? { 'note-laying': body.answer } : {}),
    'note-when': fieldTime(Date.parse(body.at_utc || entry.at)) };
  for (const [id, value] of Object.entries(fields)) byId(id).value = value;
  byId('note-as-found').checked = body.as_found === true;
  if (body.carton_celsius !== undefined) showCarton(body.carton_celsius);
  putInDraft(entry, [...entry.photos], true);
  showNoteFields(form);
  byId(readingsAt || 'note-remark').focus();
  if (readingsAt) sayReadings(readingsAt, t('outbox.refused', { reason: entry.reason }));
  sayPhotos();
  sayRemark();
  sayNote('', false);
}
function notePart(room) {
  putInDraft(null, [], false);
  const form = h('form', { id: 'note-form', 'data-room': room.id, onsubmit: (event) => submitNote(event, room.id) }, noteFields(room),
    h('button.main', { type: 'submit' }, T['note.keep']), h('p', { id: 'note-result', role: 'status' }));
  fillChoices(form);
  return h('details.write', { id: 'write' }, h('summary', null, T['note.write']), form);
}
