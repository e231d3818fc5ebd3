// The line to the logger: server-sent events, tried again with growing waits, and a check every
// minute in between, since a line that is dead on a mobile network may look open for long.

const waits = [1000, 2000, 5000, 10000, 30000];
const live = { source: null, failures: 0, timer: 0, word: 'live.connecting', etag: '' };

// Only a line that stands has "checked" the state; without one the time is that of the last word.
function sayLinkAge() {
  const since = Date.now() - site.confirmedAt;
  const stands = live.word === 'live' || live.word === 'live.polled';
  const exact = since < 60000 ? t('age.seconds', { count: Math.max(1, Math.floor(since / 1000)) }) : ageText(since);
  byId('link-age').textContent = isOld() ? ''
    : stands ? t('live.checked', { age: ageText(since) }) : t('live.confirmed', { age: exact });
}
function sayLink(word) {
  live.word = word;
  const element = byId('link-word');
  const text = T[word];
  if (element.firstChild && element.firstChild.textContent === text) return;
  element.replaceChildren(text);
  sayLinkAge();
  if (word === 'live.out') element.append(' ', h('a', { href: '/login' }, T['live.login']));
}
function connect() {
  clearTimeout(live.timer);
  if (live.source) live.source.close();
  live.source = new EventSource('/events');
  live.source.addEventListener('open', () => { live.failures = 0; });
  live.source.addEventListener('status', (event) => {
    received(() => site.take(JSON.parse(event.data)));
  });
  live.source.addEventListener('patch', (event) => {
    received(() => site.patch(JSON.parse(event.data)));
  });
  live.source.addEventListener('error', () => { lost(); });
}
function received(take) {
  const before = verdictsOf(site.status);
  take();
  sayLink('live');
  render();
  announce(before);
}
async function lost() {
  live.source.close();
  const wait = waits[Math.min(live.failures, waits.length - 1)];
  live.failures += 1;
  clearTimeout(live.timer);
  live.timer = setTimeout(connect, wait * (0.75 + Math.random() / 2));
  if (live.word !== 'live.out') sayLink(navigator.onLine === false ? 'live.offline' : 'live.retry');
  if (navigator.onLine !== false) await check();
}
// Asks whether the state is still as known.
async function check() {
  const answer = await ask('GET', '/api/v1/status', { etag: live.etag });
  if (answer.status === 401) {
    sayLink('live.out');
    clearTimeout(live.timer);
  } else if (answer.status === 200 || answer.status === 304) {
    live.etag = answer.etag;
    received(() => (answer.status === 200 ? site.take(answer.data) : site.confirm()));
    if (live.source.readyState !== EventSource.OPEN) sayLink('live.polled');
  }
}
const verdictsOf = (status) => Object.fromEntries((status.rooms || []).map((room) => [room.id, room.verdict]));

// For who cannot see it: only a change of a verdict is spoken.
function announce(before) {
  for (const room of site.status.rooms) {
    if (before[room.id] !== undefined && before[room.id] !== room.verdict) {
      byId('said').textContent = t('verdict.all', { room: room.name, verdict: T[`verdict.${room.verdict}`] });
    }
  }
}
function tick() {
  refreshNoteForm();
  for (const element of document.querySelectorAll('.ago')) {
    const text = ageText(site.now() - Number(element.dataset.at));
    if (element.textContent !== text) element.textContent = text;
  }
  const old = isOld();
  const since = ageText(Date.now() - site.confirmedAt);
  document.body.classList.toggle('old', old);
  sayLinkAge();
  const text = old ? t('stale', { age: since }) : '';
  const banner = byId('stale');
  if (banner.textContent !== text) {
    banner.textContent = text;
    banner.hidden = !old;
  }
  for (const element of document.querySelectorAll('.asof')) {
    if (old === (element.firstChild !== null)) continue;
    element.replaceChildren(...(old ? sentence('asof', 'at', moment(new Date(site.confirmedAt).toISOString())) : []));
  }
}
function startLive() {
  connect();
  setInterval(tick, 5000);
  setInterval(() => { if (Date.now() - site.confirmedAt > 60000 && live.word !== 'live.out') check(); }, 20000);
  const again = () => { if (live.word !== 'live.out') { live.failures = 0; connect(); } };
  window.addEventListener('online', again);
  window.addEventListener('offline', () => sayLink('live.offline'));
  window.addEventListener('pageshow', (event) => { if (event.persisted) again(); });
  document.addEventListener('visibilitychange', () => {
    if (!document.hidden && Date.now() - site.confirmedAt > 30000) again();
  });
}
