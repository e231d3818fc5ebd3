// What stands below the answer: values, boxes, alerts, gates, notes, certificates.

function dueText(channel) {
  if (channel.role === 'supply_voltage') return '';
  if (!channel.calibration_due_at_utc) return T['now.uncalibrated'];
  const due = Date.parse(channel.calibration_due_at_utc);
  return t(due < site.now() ? 'now.expired' : 'now.due', { date: localDay.format(new Date(due)) });
}
function qualityText(channel) {
  if (channel.last_status !== 'ok') return plain(channel.last_status);
  return channel.last_quality === 'good' ? 'ok' : plain(channel.last_quality);
}
function channelRow(channel) {
  const quality = channel.last_seen_at_utc ? qualityText(channel) : T['now.never'];
  const due = dueText(channel);
  return h('tr', null,
    h('th', { scope: 'row' }, visible(channel.id), ' ', h('small', null, plain(channel.role))),
    h('td.value', { 'data-label': T['now.value'] }, valueText(channel)),
    h('td', { 'data-label': T['now.age'] }, channel.value_at_utc ? age(channel.value_at_utc) : T['now.never']),
    h(quality === 'ok' ? 'td' : 'td.wrong', { 'data-label': T['now.quality'] }, quality, due ? h('small', null, `, ${due}`) : null));
}
function boxText(box) {
  const text = [];
  if (box.link_up === null) text.push(t('box.untried', { box: box.id }));
  else {
    text.push(...sentence(box.link_up ? 'box.up' : 'box.down', 'since', box.since_utc ? moment(box.since_utc) : '–',
      { box: box.id, reason: box.reason }));
    if (box.link_up && box.refusal) text.push(t('box.refusal', { reason: box.refusal }));
    if (!box.link_up && !box.keeps_records) text.push(T['box.lost']);
    else if (!box.link_up && box.records_kept_until_utc) text.push(...sentence('box.kept', 'until', moment(box.records_kept_until_utc)));
  }
  return h(box.link_up === false ? 'li.wrong' : 'li', null, text);
}
function nowPart(room) {
  const heading = (key) => h('th', { scope: 'col' }, T[key]);
  const boxes = site.status.boxes || [];
  return h('section', { 'aria-labelledby': 'now' }, h('h2', { id: 'now' }, T.now),
    h('table', null, h('thead', null, h('tr', null, ['now.channel', 'now.value', 'now.age', 'now.quality'].map(heading))),
      h('tbody', null, channelsOf(room).map(channelRow))),
    boxes.length ? h('ul.boxes', { 'aria-label': T.boxes }, boxes.map(boxText)) : null);
}

function acknowledgeForm(alert) {
  const id = `remark-${alert.key}`;
  const result = h('p', { role: 'status' });
  const remark = h('input', { id, maxlength: 500, autocomplete: 'off' });
  const form = h('form.inline', {
    onsubmit: async (event) => {
      event.preventDefault();
      const button = form.querySelector('button');
      button.disabled = true;
      const answer = await ask('POST', '/api/v1/alerts/acknowledge', { body: JSON.stringify({ key: alert.key, remark: remark.value }) });
      const done = answer.status >= 200 && answer.status < 300;
      button.disabled = done;
      result.className = done ? '' : 'wrong';
      result.textContent = done ? T['alert.done'] : t('failed', { reason: reasonOf(answer) });
      if (done) check();
    },
  }, h('label', { for: id }, T['alert.remark']), remark, h('button', { type: 'submit' }, T['alert.do']), result);
  return form;
}
const alertText = (alert) => inUnits(alert.text || `${plain(alert.rule || '')}: ${alert.subject || alert.key}`);
function alertItem(alert) {
  const acknowledged = alert.acknowledged_at_utc
    ? h('p', null, sentence(alert.acknowledged_by ? 'alert.acknowledged' : 'alert.acknowledged.plain', 'at',
      moment(alert.acknowledged_at_utc), { by: alert.acknowledged_by })) : null;
  return h(`li.alert.${alert.phase === 'firing' ? 'firing' : 'pending'}`, null,
    h('p', null, h('b', null, known(`alert.${alert.phase}`, alert.phase)), ' ', alertText(alert), ' ',
      alert.since_utc ? h('span.quiet', null, sentence('alert.since', 'at', moment(alert.since_utc))) : null),
    acknowledged, alert.phase === 'firing' && !alert.acknowledged_at_utc && may('crew') ? acknowledgeForm(alert) : null);
}
const openAlerts = () => (site.status.alerts || []).filter((alert) => alert.phase === 'firing' && !alert.acknowledged_at_utc);
function openAlertsPart() {
  const count = openAlerts().length;
  return h('p.open-alerts', { hidden: count === 0 }, h('a', { href: '#alerts' },
    t(count === 1 ? 'alerts.open.one' : 'alerts.open', { count })));
}
function renderAlerts(section) {
  const list = section.querySelector('ul');
  const alerts = [...(site.status.alerts || [])].sort((a, b) => (a.phase === b.phase ? 0 : a.phase === 'firing' ? -1 : 1));
  for (const alert of alerts) part(list, alert.key, [alert, units.imperial, session.role], () => alertItem(alert));
  keepParts(list, alerts.map((alert) => alert.key));
  section.querySelector('.none').hidden = alerts.length > 0;
}
function alertsPart() {
  return h('section', { 'aria-labelledby': 'alerts' }, h('h2', { id: 'alerts', tabindex: -1 }, T.alerts),
    h('p.none', null, T['alerts.none']), h('ul.plain', null));
}
const isUnnoted = ({ why }) => why === 'not noted yet';
// What has no form here is noted on the logger's machine.
function missingItem(note, room) {
  const isGate = `gate.site.${note.what}` in T;
  const name = known(`gate.site.${note.what}`, known(`missing.${note.what}`, plain(note.what)));
  const channel = note.what === 'placement' && channelsOf(room).find((one) => note.why.startsWith(`channel ${one.id}:`));
  const hasForm = isGate || ['delivery', 'placement', 'rh-test'].includes(note.what);
  const gate = isUnnoted(note) && gatesOf(room).find(({ id }) => id === `site.${note.what}`);
  const why = gate ? gate.reason.replace(/^Nobody has noted the answer to: /, '') : note.why;
  return h('li', null, sign('unknown', 'small'), h('div', null, h('b', null, name), h('span', null, ` ${inUnits(why)}`),
    hasForm || !may('crew') ? null : h('code', null, visible(note.command))),
  hasForm ? noteButton(isGate ? 'gate' : note.what, isGate ? note.what : channel && channel.id, name, 'missing.do') : null);
}
// What was noted and may have been put right since.
function gateRow(gate) {
  const item = gateItem(gate);
  const isNoted = gate.id.startsWith('site.') && gate.state === 'not met';
  if (isNoted) item.lastChild.append(noteButton('gate', gate.id.slice(5), gateName(gate.id), 'missing.again') || '');
  return item;
}
// Each in the unit of its kind; never one by another.
const testUnits = {
  'rh-test': ['percent_rh', '%RH', 1], 'dish-test': ['g_per_m2_day', 'g/m² in 24 h', 1], 'carbide-test': ['cm_percent', 'CM-%', 2],
};
const gramsPerPound = 4.88243; // g/m² of 1 lb/1000 ft²
function testRow(test) {
  const [key, unit, digits] = testUnits[test.test];
  const pounds = key === 'g_per_m2_day' && units.imperial;
  const number = (value) => (pounds ? value / gramsPerPound : value).toFixed(digits);
  const shown = pounds ? 'lb/1000 ft² in 24 h' : unit;
  const limit = test[`limit_${key}`];
  return h('tr', null, h('th', { scope: 'row' }, known(`note.kind.${test.test}`, plain(test.test)), ' ', h('small', null, moment(test.at_utc))),
    h('td.value', { 'data-label': T['tests.values'] }, `${test[`values_${key}`].map(number).join(', ')} ${shown}`),
    h('td', { 'data-label': T['tests.limit'] }, limit === null ? T['tests.unlimited'] : `${number(limit)} ${shown}`));
}
function testsTable(room) {
  const tests = room.slab_tests || []; // not in a shared link
  if (!tests.length) return null;
  const heading = (key) => h('th', { scope: 'col' }, T[key]);
  return [h('h3', null, T.tests), h('table', null, h('thead', null, h('tr', null, ['tests.test', 'tests.values', 'tests.limit'].map(heading))),
    h('tbody', null, tests.map(testRow)))];
}
function gatesPart(room) {
  const missing = room.missing || []; // not in a shared link
  const asksFor = new Set(missing.filter(isUnnoted).map(({ what }) => `site.${what}`));
  return h('section', { 'aria-labelledby': 'gates' }, h('h2', { id: 'gates', tabindex: -1 }, T.gates),
    missing.length ? [h('h3', null, T.missing), h('ul.plain.missing', null, missing.map((note) => missingItem(note, room))), h('h3', null, T['gates.known'])] : null,
    h('ul.reasons', null, gatesOf(room).filter(({ id }) => !asksFor.has(id)).map(gateRow)), testsTable(room));
}

// A photo may be of many megabytes: it comes when it is asked for.
function photoButton(sha256, number, note) {
  return h('button', {
    type: 'button',
    onclick: (event) => event.target.replaceWith(h('img.photo', {
      src: `/api/v1/photos/${encodeURIComponent(sha256)}`, alt: t('notes.photo.alt', { number, at: momentText(note.at_utc) }),
    })),
  }, t('notes.photo', { number }));
}
// Of laying the step is the heading, of a gate its name.
function noteHeading(note) {
  const [start, gate] = (note.kind === 'gate' && /^(\w+): /.exec(note.text || '')) || ['', ''];
  if (`gate.site.${gate}` in T) return [h('b', null, gateName(`site.${gate}`)), ': ', inUnits(note.text.slice(start.length))];
  const [begin, step] = (note.kind === 'laying' && /^(began|finished)(?:\. |$)/.exec(note.text || '')) || ['', ''];
  return [h('b', null, step ? T[`note.answer.${step}`] : known(`note.kind.${note.kind}`, plain(note.kind))), ' ',
    inUnits((note.text || '').slice(begin.length))];
}
function noteItem(note) {
  const late = note.noted_at_utc && Math.abs(Date.parse(note.noted_at_utc) - Date.parse(note.at_utc)) > 300000;
  return h('li', null,
    h('p', null, noteHeading(note)),
    h('p.quiet', null, sentence('notes.by', 'at', moment(note.at_utc), { by: note.by || '–' }),
      late ? sentence('notes.late', 'at', moment(note.noted_at_utc)) : null),
    (note.photos || []).map((sha256, index) => photoButton(sha256, index + 1, note)));
}
const olderNotes = { list: [], before: null };
async function fetchOlderNotes(event) {
  const oldest = Math.min(...site.status.notes.map((note) => note.id));
  const answer = await ask('GET', `/api/v1/notes?before=${olderNotes.before || oldest}&limit=20`);
  if (answer.status !== 200) return;
  olderNotes.list.push(...answer.data.notes);
  olderNotes.before = answer.data.next_before;
  event.target.hidden = !olderNotes.before;
  render();
}
function notesPart(room) {
  const inside = new Set((site.status.notes || []).map((note) => note.id));
  const notes = [...site.status.notes || [], ...olderNotes.list.filter((note) => !inside.has(note.id))]
    .filter((note) => !note.room || note.room === room.id);
  return h('div', null, notes.length ? h('ul.notes', null, notes.map(noteItem)) : h('p', null, T['notes.none']));
}

const fileKinds = ['pdf', 'html', 'json', 'csv', 'log', 'sha256s'];
function certificatesPart(room) {
  const all = (site.status.certificates || []).filter((one) => one.room === room.id);
  const link = (one, kind) => h('a.file', { href: `/api/v1/certificates/${encodeURIComponent(one.number)}/${kind}`, download: kind !== 'html' },
    T[`certificate.${kind}`]);
  return h('section', { 'aria-labelledby': 'certificates' }, h('h2', { id: 'certificates' }, T.certificates),
    all.length ? h('ul.plain', null, all.map((one) => h('li', null,
      h('p', null, sign(one.verdict, 'small'), ' ', h('b', null, visible(one.number)), ' ', known(`verdict.${one.verdict}`, one.verdict), ', ',
        sentence('certificate.issued', 'at', moment(one.issued_at_utc)),
        one.supersedes ? `, ${t('certificate.supersedes', { number: one.supersedes })}` : null),
      h('p.files', null, fileKinds.filter((kind) => (one.files || []).includes(kind)).map((kind) => [link(one, kind), ' ']))))) : h('p', null, T['certificates.none']));
}
