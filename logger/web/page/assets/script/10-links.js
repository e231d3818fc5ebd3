// Share links: made, copied and withdrawn by the owner.

function linkState(link) {
  if (link.withdrawn) return [T['links.withdrawn']];
  return sentence(Date.parse(link.expires_at_utc) < site.now() ? 'links.ended' : 'links.until', 'at', moment(link.expires_at_utc));
}
function linkItem(link) {
  const open = !link.withdrawn && Date.parse(link.expires_at_utc) >= site.now();
  return h('li', null, h('b', null, visible(link.label || link.id)), ' ', linkState(link), ', ',
    link.last_used_at_utc ? sentence('links.used', 'at', moment(link.last_used_at_utc)) : T['links.unused'], ' ',
    open ? h('button', {
      type: 'button',
      onclick: async () => {
        const answer = await ask('DELETE', `/api/v1/links/${encodeURIComponent(link.id)}`);
        sayLinks(answer.status < 300 && answer.status ? '' : t('failed', { reason: reasonOf(answer) }));
        loadLinks();
      },
    }, T['links.withdraw']) : null);
}
function sayLinks(text) {
  byId('links-result').textContent = text;
}
async function loadLinks() {
  const list = byId('links-list');
  if (!list) return;
  const answer = await ask('GET', '/api/v1/links');
  if (answer.status !== 200) return;
  const links = Array.isArray(answer.data) ? answer.data : answer.data.links || [];
  list.replaceChildren(...(links.length ? links.map(linkItem) : [h('li', null, T['links.none'])]));
}
async function copyLink(address, button) {
  try {
    await navigator.clipboard.writeText(address.value);
  } catch { // not to be had without TLS: selected, for the device's own copy
    address.select();
    document.execCommand('copy');
  }
  button.textContent = T['links.copied'];
}
function showLink(answer) {
  const address = h('input', { id: 'links-address', readonly: true, 'aria-label': T['links.made'], value: `${location.origin}/s/${answer.token}` });
  const button = h('button', { type: 'button', onclick: () => copyLink(address, button) }, T['links.copy']);
  byId('links-made').replaceChildren(h('p', null, T['links.made']), address, ' ', button);
}
async function makeLink(event) {
  event.preventDefault();
  const body = JSON.stringify({ label: byId('links-label').value.trim(), hours: Number(byId('links-hours').value) });
  const answer = await ask('POST', '/api/v1/links', { body });
  if (answer.status >= 200 && answer.status < 300) {
    showLink(answer.data);
    event.target.reset();
    sayLinks('');
  } else sayLinks(t('failed', { reason: reasonOf(answer) }));
  loadLinks();
}
function linksPart() {
  return h('section', { 'aria-labelledby': 'links' }, h('h2', { id: 'links' }, T.links), h('p', null, T['links.hint']),
    h('form', { onsubmit: makeLink },
      h('div.field', null, h('label', { for: 'links-label' }, T['links.label']), h('input', { id: 'links-label', maxlength: 100, required: true, autocomplete: 'off' })),
      choice('links-hours', 'links.hours', [24, 72, 168, 720].map((hours) => [hours, T[`links.${hours}`]])),
      h('button', { type: 'submit' }, T['links.make'])),
    h('div', { id: 'links-made' }), h('p.wrong', { id: 'links-result', role: 'status' }), h('ul.plain', { id: 'links-list' }));
}
