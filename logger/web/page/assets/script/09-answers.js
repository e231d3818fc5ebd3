// What gates ask and which answers they take, as the logger says (GET /api/v1/questions). It stays in
// the browser, so that a gate can be answered without a link.

const asked = { questions: [], rooms: [] };
const questionOf = (gate) => asked.questions.find((one) => one.gate === gate);
const askedOf = (room) => asked.rooms.find((one) => one.room === room) || {};
const choiceText = (gate, word) => visible(((questionOf(gate) || {}).choices || []).find((one) => one.word === word)?.text || word);

async function loadQuestions() {
  const { status, data } = await ask('GET', '/api/v1/questions');
  if (status !== 200) return;
  kept.set('dwellog-questions', JSON.stringify(data));
  takeQuestions(data);
}
function takeQuestions(data) {
  Object.assign(asked, data);
  const form = byId('note-form');
  if (form) fillChoices(form);
}
// Leaves what is chosen where it can be chosen still.
function fillSelect(select, options) {
  const before = select.value;
  select.replaceChildren(...options.map(([value, text]) => h('option', { value }, text)));
  if (options.some(([value]) => value === before)) select.value = before;
}
const choicesOf = (list) => list.map(({ word, text }) => [`choice:${word}`, visible(text)]);
// Words that name what was found come first: from them the logger says what they mean for the gate.
function answersOf(gate) {
  const bare = ['met', 'not-met'];
  const question = questionOf(gate);
  if (!question) return bare.map((answer) => [answer, T[`note.answer.${answer}`]]);
  const found = question.choices ? [['', T['note.choose']], ...choicesOf(question.choices)] : [['lines', T['note.answer.lines']]];
  return [...found, ...bare.map((answer) => [answer, T[`note.bare.${answer}`]])];
}
function fillChoices(form) {
  const { room } = form.dataset;
  const gate = form.querySelector('#note-gate').value;
  const question = questionOf(gate) || {};
  fillSelect(form.querySelector('#note-kind'), kindsOf(room));
  fillSelect(form.querySelector('#note-answer'), answersOf(gate));
  fillSelect(form.querySelector('#note-below'), [['', T['note.choose']], ...choicesOf((question.below || { choices: [] }).choices)]);
  const { flat_asks: flatAsks, flat_limit_by: by, subfloor_kind: below } = askedOf(room);
  const asks = gate === 'flat' && flatAsks ? `${flatAsks} (${by})` : question.asks || '';
  form.querySelector('#note-asks').replaceChildren(...(asks ? [h('b', null, visible(asks)), ' ', t('note.why', { why: question.why }),
    question.below && below ? ` ${t('note.below.known', { below: plain(below) })}` : ''] : []));
  form.querySelector('#note-lines-hint').textContent = question.line_example ? t('note.such', { example: question.line_example }) : '';
  showNoteFields(form);
}
// Fields of the form that go with what is chosen in it.
function answerFields(form) {
  const value = (id) => form.querySelector(`#${id}`).value;
  const question = questionOf(value('note-gate')) || {};
  const asksBelow = question.below && !askedOf(form.dataset.room).subfloor_kind;
  const below = question.below && (asksBelow ? value('note-below').slice(7) : askedOf(form.dataset.room).subfloor_kind);
  const source = question.below ? question.below.choices.find((one) => one.word === below) : question;
  const approvable = ((source || {}).approval_for || []).includes(value('note-answer').slice(7));
  return ['note-gate', 'note-answer', ...(asksBelow ? ['note-below'] : []),
    ...(approvable ? ['note-approval'] : []), ...(value('note-answer') === 'lines' ? ['note-lines'] : [])];
}
const rowsOf = (id) => byId(id).value.split('\n').map((row) => row.trim()).filter(Boolean);
// What the form says of a gate, as the API takes it.
function answerBody() {
  const field = (id) => (byId(id).disabled ? '' : byId(id).value);
  const answer = field('note-answer');
  if (answer === 'lines') return { lines: rowsOf('note-lines') };
  if (!answer.startsWith('choice:')) return { answer };
  const [below, approval] = [field('note-below').slice(7), oneLine(field('note-approval'))];
  return { choice: answer.slice(7), ...(below ? { below } : {}), ...(approval ? { approval } : {}) };
}
function rhTestBody() {
  const number = (id, key) => (byId(id).disabled || byId(id).value === '' ? {} : { [key]: Number(byId(id).value) });
  const drilled = byId('note-drilled').value;
  return { holes: rowsOf('note-holes').map((row) => row.replaceAll(' ', '')), ...number('note-service', 'service_hours'),
    ...number('note-thickness', 'thickness_mm'), ...(drilled ? { drilled_at_utc: new Date(drilled).toISOString() } : {}),
    ...(byId('note-as-found').checked ? { as_found: true } : {}) };
}
// A gate's answer in words: "warm water in the floor".
function answerWords({ subject, answer, choice, lines }) {
  if (lines) return t('note.lines.count', { count: lines.length });
  return choice ? choiceText(subject, choice) : T[`note.answer.${answer}`];
}
// Which field holds readings that the logger checks: its refusal is shown below it.
const readingsField = (body) => (body.lines ? 'note-lines' : body.holes ? 'note-holes' : '');
function sayReadings(id, text) {
  for (const field of ['note-lines', 'note-holes']) byId(`${field}-wrong`).textContent = field === id ? text : '';
}
// Fills the form for one thing that is to be noted, unless it holds something.
function openNote(kind, subject) {
  byId('write').open = true;
  const form = byId('note-form');
  if (holdsNote()) sayNote(T['note.busy'], true);
  else {
    emptyNote(form);
    byId('note-kind').value = kind;
    const field = { gate: 'note-gate', placement: 'note-channel', 'test-begun': 'note-test' }[kind];
    if (field && subject) byId(field).value = subject;
    fillChoices(form);
  }
  const first = ['note-below', 'note-answer', 'note-carton', 'note-channel', 'note-holes'].find((id) => !byId(id).disabled);
  byId(first).focus();
  byId('write').scrollIntoView();
}
function noteButton(kind, subject, name, key) {
  return may('crew') ? h('button', { type: 'button', 'aria-label': `${T[key]}: ${name}`, onclick: () => openNote(kind, subject) }, T[key]) : null;
}
