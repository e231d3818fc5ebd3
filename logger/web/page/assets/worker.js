'use strict';
// Keeps the page, its files and the last curves, so that the last state can be seen without a link.
// The network always comes first; the page shows by itself how old what it has is.

const store = 'dwellog';
const stamp = 'x-kept-at';
const isKept = (url) => url.pathname === '/' || url.pathname.startsWith('/assets/') || /\/charts\/[^/]+\.svg$/.test(url.pathname);

self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

// The document tells its script that it is not fresh.
async function marked(answer) {
  const text = await answer.text();
  const keptAt = answer.headers.get(stamp);
  return new Response(text.replace('<body ', `<body data-kept="${keptAt}" `), { status: 200, headers: answer.headers });
}
async function keep(cache, request, answer) {
  const headers = new Headers(answer.headers);
  headers.set(stamp, Date.now());
  for (const name of ['content-encoding', 'content-length']) headers.delete(name); // of the bytes as sent
  if (request.url.includes('?v=')) await cache.delete(request, { ignoreSearch: true });
  await cache.put(request, new Response(await answer.blob(), { status: 200, headers }));
}
async function answerTo(request, url) {
  const cache = await caches.open(store);
  const versioned = url.pathname.startsWith('/assets/') && url.search !== '';
  if (versioned) {
    const known = await cache.match(request);
    if (known) return known;
  }
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await keep(cache, request, answer.clone());
    return answer;
  } catch (failure) {
    const known = await cache.match(request);
    if (!known) throw failure;
    return url.pathname === '/' ? marked(known) : known;
  }
}
self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method === 'GET' && url.origin === self.location.origin && isKept(url)) {
    event.respondWith(answerTo(event.request, url));
  }
});
