// Elements of the document. Text only ever becomes text.

// h('p.age', {title: ''}, child, ...): children are nodes, texts, lists of them, or nothing.
function h(kind, attributes, ...children) {
  const [name, ...classes] = kind.split('.');
  const element = document.createElement(name);
  if (classes.length) element.className = classes.join(' ');
  for (const [key, value] of Object.entries(attributes || {})) {
    if (key.startsWith('on')) element.addEventListener(key.slice(2), value);
    else if (value === true) element.setAttribute(key, '');
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== ''));
  return element;
}
function drawing(name, attributes, ...children) {
  const element = document.createElementNS('http://www.w3.org/2000/svg', name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}
// Of a verdict or the state of a gate; shape and words tell them apart, not colour alone.
const signs = { ready: 'ready', met: 'ready', 'not ready': 'not', 'not met': 'not' };
const signOf = (state) => signs[state] || 'unknown';
function sign(state, size) {
  return drawing('svg', { class: `${size} k-${signOf(state)}`, 'aria-hidden': 'true', focusable: 'false' },
    drawing('use', { href: `#s-${signOf(state)}` }));
}
const utcText = (utc) => `${utc.slice(0, 16).replace('T', ' ')} UTC`;
// A moment in the phone's zone, with UTC for who hovers or reads the element.
function moment(utc) {
  return h('time', { datetime: utc, title: utcText(utc) }, momentText(utc));
}
// Text with one part that is an element: "issued {at}".
function sentence(key, name, element, values = {}) {
  const [before, after] = T[key].split(`{${name}}`);
  const filledIn = (part) => part.replace(/\{(\w+)\}/g, (hole, value) => visible(values[value]));
  return [filledIn(before), element, filledIn(after || '')];
}
// How long ago something was, kept right by tick(), which runs every few seconds.
function age(utc) {
  const element = h('time.ago', { 'data-at': Date.parse(utc), datetime: utc, title: `${momentText(utc)}, ${utcText(utc)}` });
  element.textContent = ageText(site.now() - Date.parse(utc));
  return element;
}
const byId = (id) => document.getElementById(id);

// Builds a part anew only when what it shows has changed, so focus, what is being typed and what
// was unfolded stay.
function part(parent, key, shows, make) {
  const signature = JSON.stringify(shows);
  let old = null;
  for (const child of parent.children) if (child.dataset.part === key) old = child;
  if (old && old.dataset.shows === signature) return old;
  const fresh = make();
  fresh.dataset.part = key;
  fresh.dataset.shows = signature;
  if (!old) parent.append(fresh);
  else {
    const focused = old.contains(document.activeElement) ? document.activeElement.id : '';
    old.replaceWith(fresh);
    if (focused && byId(focused)) byId(focused).focus();
  }
  return fresh;
}
// Leaves of a parent's parts only those that are still meant, in that order. What is in its place is
// not touched: moving an element takes the focus from it.
function keepParts(parent, keys) {
  for (const child of [...parent.children]) if (!keys.includes(child.dataset.part)) child.remove();
  keys.forEach((key, index) => {
    const child = [...parent.children].find((one) => one.dataset.part === key);
    if (parent.children[index] !== child) parent.insertBefore(child, parent.children[index]);
  });
}
