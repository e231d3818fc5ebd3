// The answer for one room: verdict, hours, forecast, what is missing.

const roomById = (id) => site.status.rooms.find((room) => room.id === id);
const channelsOf = (room) => room.channels || [];
const gatesOf = (room) => room.gates || [];
const gateName = (id) => known(`gate.${id}`, plain(id.replace(/^site\./, '')));
const verdictWord = (room) => known(`verdict.${room.verdict}`, T['verdict.cannot tell']);
function newestReading(room) {
  return channelsOf(room).map((channel) => channel.value_at_utc || '').reduce((a, b) => (a > b ? a : b), '');
}
const oldReading = 30 * 60000; // ms; our assumption: boxes measure each few minutes

// Without the verdict, which stands above it.
function headlineOf(room) {
  const text = inUnits(room.headline || '').replace(/^(Ready|Not ready|Cannot tell): /, '');
  return text.charAt(0).toUpperCase() + text.slice(1);
}
function hoursPart(room) {
  const { dwell_done_hours: done, dwell_left_hours: left, dwell_required_hours: required } = room;
  const values = { done: hoursDone(done), left: hoursLeft(left), required: required.toFixed(1) };
  const share = required > 0 ? Math.min(1, Math.max(0, done / required)) : 1;
  const resets = room.dwell_resets > 0 ? h('small', null, t('hours.resets', { count: room.dwell_resets })) : null;
  const rect = (name, width) => drawing('rect', { class: name, width, height: 6 });
  return h('div.hours', null, h('h3', null, T.hours),
    h('p', null, t(left > 0 ? 'hours.of' : 'hours.full', values), ' ', resets), drawing('svg', { class: 'bar', viewBox: '0 0 100 6', preserveAspectRatio: 'none', 'aria-hidden': 'true' },
      rect('rest', 100), rect('done', 100 * share)));
}
function forecastPart(room) {
  const forecast = room.forecast || {};
  const parts = [];
  if (room.verdict === 'ready') parts.push(h('p', null, T['forecast.now']));
  else if (forecast.ready_expected_at_utc) {
    parts.push(h('p.large', null, sentence('forecast.ready', 'at', moment(forecast.ready_expected_at_utc))));
    if (forecast.earliest_utc && forecast.latest_utc) {
      const [before, after] = T['forecast.range'].split('{to}');
      parts.push(h('p', null, before.replace('{from}', momentText(forecast.earliest_utc)), moment(forecast.latest_utc), after));
    }
  } else if (room.dwell_expected_at_utc) {
    parts.push(h('p', null, sentence('forecast.dwell', 'at', moment(room.dwell_expected_at_utc))));
  } else if (!forecast.text) parts.push(h('p', null, T['forecast.none']));
  if (forecast.text && room.verdict !== 'ready') parts.push(h('p.quiet', null, inUnits(forecast.text)));
  return h('div.forecast', null, h('h3', null, T.forecast), parts);
}
function gateItem(gate) {
  return h('li', null, sign(gate.state, 'small'), h('div', null,
    h('b', null, `${known(`state.${gate.state}`, gate.state)}: ${gateName(gate.id)}`), ' ',
    h('span', null, inUnits(gate.reason)), gate.action
      ? [' ', h('span.todo', null, h('b', null, T.todo), ' ', inUnits(gate.action))] : null));
}
const missingGates = (room) => ['not met', 'unknown'].flatMap((state) => gatesOf(room).filter((gate) => gate.state === state));
const mostReasons = 3; // as many as fit the first screen of a phone

function reasonsPart(room) {
  const missing = missingGates(room);
  if (!missing.length) return null;
  const more = missing.length - mostReasons;
  return h('div.reasons', null, h('h3', null, T.reasons),
    h('ul', null, missing.slice(0, mostReasons).map(gateItem)),
    more > 0 ? h('p', null, h('a', { href: '#gates' }, t('reasons.more', { count: more }))) : null);
}
function newestPart(room) {
  const newest = newestReading(room);
  const old = newest && site.now() - Date.parse(newest) > oldReading;
  return h(old ? 'p.age.wrong' : 'p.age', null, T.newest, ' ',
    newest ? age(newest) : T['newest.none'], old ? [' ', h('b', null, T['newest.old'])] : null);
}
function roomPart(room) {
  return h('section.room', { 'aria-labelledby': 'room-name' },
    h('h2', { id: 'room-name', tabindex: -1 }, visible(room.name), ' ', h('small', null,
      [room.floor_area_m2 ? area(room.floor_area_m2) : '', visible(room.floor_product || '')].filter(Boolean).join(', '))),
    h(`div.verdict.v-${signOf(room.verdict)}`, null, sign(room.verdict, 'sign'),
      h('div', null, h('p.question', null, T.question), h('p.word', null, verdictWord(room)), h('p.asof', null))),
    newestPart(room), hoursPart(room), forecastPart(room), reasonsPart(room));
}
function overviewPart() {
  return h('section.overview', { 'aria-labelledby': 'rooms' }, h('h2', { id: 'rooms' }, T.overview),
    h('ul', null, site.status.rooms.map((room) => h('li', null,
      h(`a.card.v-${signOf(room.verdict)}`, { href: `#room/${encodeURIComponent(room.id)}` }, sign(room.verdict, 'sign'),
        h('span', null, h('span.room-name', null, visible(room.name)), h('b.word', null, verdictWord(room)), h('span.asof', null),
          h('span.headline', null, headlineOf(room)),
          h('span.quiet', null, t('overview.hours', { done: hoursDone(room.dwell_done_hours), required: room.dwell_required_hours.toFixed(1) }))))))));
}
