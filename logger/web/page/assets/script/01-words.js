// Texts, times, units: everything a person reads passes through here.

// The same as the server does with texts of others: what is invisible or turns the order of its
// neighbours round is shown as the replacement character (Unicode Standard Annex 9).
const hidden = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g;
const visible = (text) => String(text).replace(hidden, '\ufffd');

function t(key, values = {}) {
  return T[key].replace(/\{(\w+)\}/g, (hole, name) => (name in values ? visible(values[name]) : hole));
}
const known = (key, otherwise) => (key in T ? T[key] : visible(otherwise));
const plain = (name) => visible(name).replaceAll('_', ' ').replace(/ rh$/, ' RH');

const localTime = new Intl.DateTimeFormat('en-GB', {
  weekday: 'short', day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit', timeZoneName: 'short',
});
const localDay = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric' });
const momentText = (utc) => localTime.format(new Date(utc));

function ageText(milliseconds) {
  const minutes = Math.floor(milliseconds / 60000);
  if (minutes < 1) return t('age.now');
  if (minutes < 120) return t('age.minutes', { count: minutes });
  if (minutes < 48 * 60) return t('age.hours', { count: Math.floor(minutes / 60) });
  return t('age.days', { count: Math.floor(minutes / 1440) });
}

// What a browser keeps may be switched off altogether; then it is as if nothing had been kept.
const kept = {
  get(key) {
    try { return localStorage.getItem(key); } catch { return null; }
  },
  set(key, value) {
    try { localStorage.setItem(key, value); return true; } catch { return false; }
  },
  remove(key) {
    try { localStorage.removeItem(key); } catch { /* nothing is kept */ }
  },
};

const units = {
  imperial: kept.get('dwellog-units') === 'imperial',
  choose(imperial) {
    this.imperial = imperial;
    kept.set('dwellog-units', imperial ? 'imperial' : 'metric');
  },
};
const fahrenheit = (celsius) => celsius * 1.8 + 32;
const celsiusFrom = (shown) => (units.imperial ? (shown - 32) / 1.8 : shown);
const degrees = () => (units.imperial ? '°F' : '°C');
function temperature(celsius) {
  return units.imperial ? `${fahrenheit(celsius).toFixed(1)} °F` : `${celsius.toFixed(1)} °C`;
}
// Down and up, as the gate's own sentence: neither looks complete when it is not.
const hoursDone = (hours) => (Math.floor(hours * 10 + 1e-8) / 10).toFixed(1);
const hoursLeft = (hours) => (Math.ceil(hours * 10 - 1e-8) / 10).toFixed(1);
const humidity = (percent) => `${percent.toFixed(1)} %RH`;
function area(squareMetres) {
  return units.imperial ? `${Math.round(squareMetres * 10.7639)} ft²` : `${squareMetres} m²`;
}
// Sentences come from the logger in metric units. A temperature is turned, a difference only scaled.
// One temperature with a decimal is a reading that was rounded: turned it may miss the last digit that
// stands elsewhere, so it is told as "about". Two of them are the limits of a band.
function inUnits(sentence) {
  const text = visible(sentence);
  if (!units.imperial) return text;
  const turned = (number) => fahrenheit(Number(number)).toFixed(1);
  return text
    .replace(/(-?\d+(?:\.\d+)?)( to |, )?(-?\d+(?:\.\d+)?)? °C/g, (all, first, between, second) => (
      second === undefined ? (first.includes('.') ? t('about', { value: `${turned(first)} °F` }) : `${turned(first)} °F`)
        : `${turned(first)}${between}${turned(second)} °F`))
    .replace(/(\d+(?:\.\d+)?) K\b/g, (all, number) => `${(Number(number) * 1.8).toFixed(1)} °F`);
}
function fileSize(bytes) {
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
