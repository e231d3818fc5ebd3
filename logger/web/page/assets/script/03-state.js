// The state of the site as this browser knows it, where it came from and how old it is.

// RFC 7396.
function merged(target, patch) {
  if (patch === null || typeof patch !== 'object' || Array.isArray(patch)) return patch;
  const result = target !== null && typeof target === 'object' && !Array.isArray(target) ? { ...target } : {};
  for (const [key, value] of Object.entries(patch)) {
    if (value === null) delete result[key];
    else result[key] = merged(result[key], value);
  }
  return result;
}

const session = { role: 'shared', name: '', csrf: '' };
const may = (role) => ['shared', 'viewer', 'crew', 'owner'].indexOf(session.role)
  >= ['shared', 'viewer', 'crew', 'owner'].indexOf(role);

const site = {
  status: { rooms: [], alerts: [] },
  confirmedAt: 0, // by this device's clock: the logger last said that this is how it is
  baseAt: 0, // by this device's clock, when the logger's clock showed status.at_utc

  // The logger's clock as far as it can be told from here; not the device's, which may be wrong.
  now() {
    return Date.parse(this.status.at_utc) + Math.max(0, Date.now() - this.baseAt);
  },
  take(status) {
    if (status.at_utc !== this.status.at_utc) this.baseAt = Date.now();
    this.status = status;
    this.confirm();
  },
  patch(change) { this.take(merged(this.status, change)); },
  confirm() {
    this.confirmedAt = Date.now();
    kept.set('dwellog-state', JSON.stringify({
      status: this.status, confirmedAt: this.confirmedAt, baseAt: this.baseAt,
    }));
  },
  // keptAt: when the browser's own store took the document, for want of a link; 0 = just fetched.
  begin(embedded, keptAt) {
    Object.assign(session, { role: embedded.role, name: embedded.name, csrf: embedded.csrf_token });
    if (!keptAt) {
      this.take(embedded.status);
      return;
    }
    const old = JSON.parse(kept.get('dwellog-state') || 'null');
    const newer = old && old.confirmedAt > keptAt && old.status.job === embedded.status.job;
    const { status, confirmedAt, baseAt } = newer ? old
      : { ...embedded, confirmedAt: keptAt, baseAt: keptAt };
    Object.assign(this, { status, confirmedAt, baseAt });
  },
};

const quietFor = 120000; // ms without a word from the logger, after which the state counts as old
const isOld = () => Date.now() - site.confirmedAt > quietFor;

// A request as every part makes it. Gives {status, data, etag}; status 0 = no link.
async function ask(method, address, { body, type = 'application/json', etag = '', key = '' } = {}) {
  const headers = { accept: 'application/json' };
  if (method !== 'GET') headers['x-csrf-token'] = session.csrf;
  if (body !== undefined) headers['content-type'] = type;
  if (key) headers['idempotency-key'] = `"${key}"`;
  if (etag) headers['if-none-match'] = etag;
  try {
    const answer = await fetch(address, { method, headers, body, signal: AbortSignal.timeout(30000) });
    const text = await answer.text();
    const isJson = (answer.headers.get('content-type') || '').includes('json');
    return { status: answer.status, data: isJson && text ? JSON.parse(text) : text, etag: answer.headers.get('etag') || '' };
  } catch {
    return { status: 0, data: '', etag: '' };
  }
}
function reasonOf(answer) {
  if (answer.status === 0) return t('failed.link');
  if (answer.status === 403) return t('failed.right');
  if (answer.data && answer.data.detail) return visible(answer.data.detail);
  return visible((answer.data && answer.data.title) || answer.status);
}
