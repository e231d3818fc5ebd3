// Puts the parts together and starts.

function chosenRoom() {
  const { rooms } = site.status;
  if (rooms.length === 1) return rooms[0];
  const match = /^#room\/(.+)$/.exec(shownHash);
  return match ? roomById(decodeURIComponent(match[1])) || null : null;
}
let shownHash = location.hash;

function renderRoom(main, room) {
  const shows = [room.id, units.imperial];
  const several = site.status.rooms.length > 1;
  const keys = ['answer', 'open', 'charts', 'now', 'alerts', 'gates', 'notes'];
  if (several) {
    part(main, 'back', [], () => h('p.back', null, h('a', { href: '#' }, T['overview.back'])));
    keys.unshift('back');
  }
  part(main, 'answer', [{ ...room, channels: newestReading(room) }, units.imperial], () => roomPart(room));
  part(main, 'open', openAlerts().length, openAlertsPart);
  part(main, 'charts', shows, () => chartsPart(room));
  part(main, 'now', [room.channels, site.status.boxes, shows], () => nowPart(room));
  renderAlerts(part(main, 'alerts', [], alertsPart));
  part(main, 'gates', [room.gates, room.slab_tests, room.missing, shows], () => gatesPart(room));
  if (may('viewer')) {
    renderNotes(part(main, 'notes', room.id, () => h('section', { 'aria-labelledby': 'notes' }, h('h2', { id: 'notes' }, T.notes))), room);
    part(main, 'certificates', [site.status.certificates, shows], () => certificatesPart(room));
    keys.push('certificates');
  }
  refreshChartWords(room);
  return keys;
}
function renderNotes(section, room) {
  const place = part(section, 'outbox', units.imperial, () => h('div', { id: 'outbox', hidden: true }));
  if (!place.firstChild) renderOutbox();
  if (may('crew')) part(section, 'write', room.id, () => notePart(room));
  part(section, 'list', [site.status.notes, olderNotes.list.length, units.imperial], () => notesPart(room));
  part(section, 'older', [], () => h('button', {
    type: 'button', onclick: fetchOlderNotes, hidden: (site.status.notes || []).length < 20,
  }, T['notes.older']));
}
function render() {
  const main = byId('main');
  const room = chosenRoom();
  let keys = ['overview', 'open', 'alerts'];
  if (room) keys = renderRoom(main, room);
  else {
    part(main, 'overview', [site.status.rooms.map(({ channels, gates, ...rest }) => rest), units.imperial], overviewPart);
    part(main, 'open', openAlerts().length, openAlertsPart);
    renderAlerts(part(main, 'alerts', [], alertsPart));
  }
  if (may('owner')) {
    part(main, 'links', [], linksPart);
    keys.push('links');
  }
  keepParts(main, keys);
  afterRender(room);
}
function afterRender(room) {
  document.title = t('title', { job: site.status.job || T['job.shared'], verdict: site.status.rooms.map(verdictWord).join(', ') });
  if (room && charts.room !== room.id) {
    charts.room = room.id;
    loadCharts(true);
  } else if (room) loadCharts(false);
  else charts.room = '';
  byId('printed').textContent = t('printed', { at: momentText(new Date(site.now()).toISOString()) });
  tick();
}
function unitsSwitch() {
  const button = (imperial) => h('button', {
    type: 'button', 'aria-pressed': String(units.imperial === imperial),
    onclick: (event) => {
      units.choose(imperial);
      for (const other of event.target.parentNode.children) other.setAttribute('aria-pressed', String(other === event.target));
      charts.room = '';
      render();
    },
  }, T[imperial ? 'units.imperial' : 'units.metric']);
  return h('div.spans.units', { role: 'group', 'aria-label': T.units }, button(false), button(true));
}
// What this browser keeps of the site goes away with the session.
async function logOut(event) {
  if (outbox.entries.length && !window.confirm(T['logout.unsent'])) {
    event.preventDefault();
    return;
  }
  for (const key of ['dwellog-state', 'dwellog-questions']) kept.remove(key);
  indexedDB.deleteDatabase('dwellog');
  if (window.caches) window.caches.delete('dwellog');
}
function start() {
  site.begin(JSON.parse(byId('state').textContent), Number(document.body.dataset.kept || 0));
  byId('main').replaceChildren();
  document.querySelector('footer').prepend(unitsSwitch());
  document.querySelector('.session').addEventListener('submit', logOut);
  // A hash may name a room or a place on the page; only the former changes what is shown.
  window.addEventListener('hashchange', () => {
    if (location.hash !== '' && !location.hash.startsWith('#room/')) return;
    shownHash = location.hash;
    render();
    window.scrollTo(0, 0);
    (byId('room-name') || byId('main')).focus();
  });
  window.addEventListener('beforeprint', () => document.querySelectorAll('details').forEach((details) => { details.open = true; }));
  if (may('crew')) takeQuestions(JSON.parse(kept.get('dwellog-questions') || '{}'));
  render();
  startLive();
  if (may('crew')) {
    startOutbox();
    loadQuestions();
  }
  if (may('owner')) loadLinks();
  if (navigator.serviceWorker) startWorker();
}
// What was loaded before the worker was there is asked for again, so that it keeps it; the files
// come from the browser's own store.
function startWorker() {
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    const files = [...document.querySelectorAll('link[rel=stylesheet], script[src]')].map((one) => one.href || one.src);
    for (const address of ['/', ...files]) fetch(address).catch(() => {});
    loadCharts(true);
  });
  navigator.serviceWorker.register(document.body.dataset.worker, { scope: '/' }).catch(() => {});
}
start();
