// Curves, drawn by the logger and put into the document so that its colours are the page's.

const charts = { hours: 72, room: '', loadedAt: 0, newest: '' };
const chartKinds = {
  'climate-temperature': ['room_air_temperature'],
  'climate-rh': ['room_air_rh'],
  core: ['stack_core_temperature'],
  slab: ['slab_rh'],
};
const reload = 300000; // ms between two drawings while readings go on coming

// Value of a channel for people, whatever its unit.
function valueText(channel) {
  if (typeof channel.value_celsius === 'number') return temperature(channel.value_celsius);
  if (typeof channel.value_percent_rh === 'number') return humidity(channel.value_percent_rh);
  if (typeof channel.value_volt === 'number') return `${channel.value_volt.toFixed(2)} V`;
  return '–';
}
function limitsOf(room, kind) {
  const limits = room.limits || {};
  if (kind === 'climate-temperature') return { low: limits.temperature_low_celsius, high: limits.temperature_high_celsius, show: temperature };
  if (kind === 'climate-rh') return { low: limits.relative_humidity_low_percent_rh, high: limits.relative_humidity_high_percent_rh, show: humidity };
  if (kind === 'slab') return { high: limits.slab_high_percent_rh, show: humidity };
  return { show: temperature };
}
// What the curve says, in words.
function chartWords(room, kind) {
  const { low, high, show } = limitsOf(room, kind);
  return channelsOf(room).filter((channel) => chartKinds[kind].includes(channel.role)).map((channel) => {
    const value = channel.value_celsius ?? channel.value_percent_rh;
    const parts = [`${visible(channel.id)}: ${t('chart.now', { value: valueText(channel) })}`];
    if (typeof high === 'number') {
      parts.push(typeof low === 'number' ? t('chart.band', { low: show(low), high: show(high) }) : t('chart.limit', { high: show(high) }));
      if (typeof value === 'number') {
        parts.push(T[(typeof low === 'number' && value < low) || value > high ? 'chart.outside' : 'chart.inside']);
      }
    }
    return h('li', null, parts.join(', '), channel.value_at_utc ? [', ', sentence('chart.age', 'age', age(channel.value_at_utc))] : null);
  });
}
function chartFigure(room, kind) {
  return h('figure', { id: `chart-${kind}` },
    h('figcaption', null, h('h3', null, T[`charts.${kind}`]), h('ul.words', null, chartWords(room, kind))),
    h('div.chart', { 'aria-hidden': 'true' }, h('p.quiet', null, T['charts.loading'])));
}
function spanButton(hours) {
  return h('button', {
    type: 'button', 'aria-pressed': String(charts.hours === hours),
    onclick: (event) => {
      charts.hours = hours;
      for (const button of event.target.parentNode.children) button.setAttribute('aria-pressed', String(button === event.target));
      loadCharts(true);
    },
  }, T[`charts.${hours}`]);
}
function chartsPart(room) {
  const kinds = Object.keys(chartKinds).filter((kind) => channelsOf(room).some((channel) => chartKinds[kind].includes(channel.role)));
  return h('section.charts', { 'aria-labelledby': 'charts' }, h('h2', { id: 'charts' }, T.charts),
    h('div.spans', { role: 'group', 'aria-label': T['charts.span'] }, [24, 72, 336, 0].map(spanButton)),
    h('p.quiet', null, T['charts.how'], ' ', units.imperial ? T['charts.metric'] : ''),
    h('div.figures', null, kinds.map((kind) => chartFigure(room, kind))));
}
async function loadChart(room, kind) {
  const place = document.querySelector(`#chart-${kind} .chart`);
  const answer = await ask('GET', `/api/v1/rooms/${encodeURIComponent(room)}/charts/${kind}.svg?hours=${charts.hours}`);
  if (!place.isConnected || charts.room !== room) return;
  // As part of HTML, which is what the logger draws it for: it names no namespace.
  const parsed = answer.status === 200 ? new DOMParser().parseFromString(answer.data, 'text/html').querySelector('svg') : null;
  if (parsed) place.replaceChildren(document.importNode(parsed, true));
  else if (!place.querySelector('svg')) {
    place.replaceChildren(h('p.quiet', null, T[answer.status === 404 || answer.status === 422 ? 'charts.none' : 'charts.failed']));
  }
  if (answer.status === 0 || answer.status >= 500) charts.loadedAt = Math.min(charts.loadedAt, Date.now() - reload + 20000);
}
// One after the other, so that a poor link carries the first one soon.
async function loadCharts(anew) {
  const room = roomById(charts.room);
  if (!room || document.hidden || !byId('charts')) return;
  const newest = newestReading(room);
  if (!anew && (newest === charts.newest || Date.now() - charts.loadedAt < reload)) return;
  Object.assign(charts, { loadedAt: Date.now(), newest });
  for (const kind of Object.keys(chartKinds)) if (byId(`chart-${kind}`)) await loadChart(room.id, kind);
}
// The words under a chart follow the newest reading; the curve is loaded in its own time.
function refreshChartWords(room) {
  for (const kind of Object.keys(chartKinds)) {
    const list = document.querySelector(`#chart-${kind} .words`);
    if (list) list.replaceChildren(...chartWords(room, kind));
  }
}
