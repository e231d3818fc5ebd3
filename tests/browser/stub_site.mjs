// A site whose every answer a test decides: the page's own files and a status document, on a free
// port of this machine. What it cannot show, the test of the real daemon does.
import http from 'node:http';
import fs from 'node:fs';
import path from 'node:path';

const types = { css: 'text/css', js: 'text/javascript', svg: 'image/svg+xml', webmanifest: 'application/manifest+json' };
const policy = "default-src 'self'; img-src 'self' blob:; frame-ancestors 'none'; base-uri 'none'; form-action 'self'";
// Marks every way in which charts name their colours.
const chart = '<svg viewBox="0 0 360 214" aria-hidden="true"><rect x="40" y="20" width="300" height="150" class="f-wash"/>'
  + '<rect x="40" y="60" width="300" height="60" class="f-allowed"/><polyline points="40,100 120,80 180,110" class="s-curve" stroke-width="1.5"/>'
  + '<polyline points="220,150 340,90" class="s-alarm" stroke-width="1.5"/><text x="44" y="190" font-size="9" class="f-quiet">invented</text></svg>';

export class StubSite {
  // folder: what write_page_files wrote of that status.
  constructor(folder, status) {
    this.folder = folder;
    this.status = status;
    this.streams = new Set();
    this.posts = [];
    this.version = 1;
    this.isDown = false; // drops every connection, as a dead network does
    this.losesAnswerTo = ''; // takes such a request and drops the line before it answers
    this.answers = {}; // 'POST /api/v1/notes': [status, body]
    this.server = http.createServer((request, response) => this.handle(request, response));
  }
  async start() {
    await new Promise((resolve) => { this.server.listen(this.port || 0, '127.0.0.1', resolve); });
    this.port = this.server.address().port;
    this.origin = `http://127.0.0.1:${this.port}`;
  }
  stop() {
    this.server.close();
    this.server.closeAllConnections();
  }
  file(name) { return fs.readFileSync(path.join(this.folder, name)); }
  // patch: to every open stream, and into what is answered from now on.
  change(status, patch) {
    this.status = status;
    this.send('patch', patch);
  }
  send(event, data) {
    this.version += 1;
    for (const stream of this.streams) stream.write(`event: ${event}\nid: ${this.version}\ndata: ${JSON.stringify(data)}\n\n`);
  }
  goDown(isDown) {
    this.isDown = isDown;
    if (isDown) this.server.closeAllConnections();
  }
  async handle(request, response) {
    if (this.isDown) return request.socket.destroy();
    const url = new URL(request.url, this.origin);
    const key = `${request.method} ${url.pathname}`;
    const answer = (status, type, body, more = {}) => {
      response.writeHead(status, { 'content-type': type, 'content-security-policy': policy, 'cache-control': 'no-cache', ...more });
      response.end(body);
    };
    if (request.method !== 'GET') {
      const parts = [];
      for await (const part of request) parts.push(part);
      if (this.losesAnswerTo === key) {
        // Some of the answer comes: of none at all a browser may ask again by itself.
        response.writeHead(201, { 'content-length': 100 });
        response.write('{', () => request.socket.destroy());
      }
      this.posts.push({ key, body: Buffer.concat(parts), headers: request.headers });
      if (response.headersSent) return undefined;
      const [status, body] = this.answers[key] || [404, {}];
      return answer(status, 'application/json', JSON.stringify(body));
    }
    if (this.answers[key]) return answer(this.answers[key][0], 'application/json', JSON.stringify(this.answers[key][1]));
    if (url.pathname === '/') return answer(200, 'text/html; charset=utf-8', this.file('page.html'));
    if (url.pathname === '/login') return answer(200, 'text/html; charset=utf-8', this.file('login.html'));
    if (url.pathname.startsWith('/assets/')) {
      const name = path.basename(url.pathname);
      return answer(200, types[name.split('.').pop()], this.file(name), { 'service-worker-allowed': '/' });
    }
    if (url.pathname === '/api/v1/status') return answer(200, 'application/json', JSON.stringify(this.status), { etag: `"${this.version}"` });
    if (url.pathname === '/events') {
      response.writeHead(200, { 'content-type': 'text/event-stream', 'cache-control': 'no-store' });
      this.streams.add(response);
      request.on('close', () => this.streams.delete(response));
      return response.write(`event: status\nid: ${this.version}\ndata: ${JSON.stringify(this.status)}\n\n`);
    }
    if (url.pathname.endsWith('.svg')) return answer(200, 'image/svg+xml', chart);
    return answer(404, 'application/json', '{}');
  }
}
