// Compares the lines of psychrolib_grid (file named as the first argument) with psychrolib of npm.
// Prints the largest differences; exit 1 when one is above its tolerance or the grid is too small.
'use strict';
const fs = require('fs');
const psychrolib = require('psychrolib');
psychrolib.SetUnitSystem(psychrolib.SI);

// Absolute, in the unit named; relative where "relative". The peer solves dew point and wet bulb
// to 0.001 K.
const tolerances = {
  vapour_relative: 1e-9,
  point_kelvin: 0.001,
  ratio_relative: 1e-9,
  wet_bulb_kelvin: 0.0015,
};
const worst = {};
function note(name, difference, line) {
  // Written so that a difference that is not a number counts as the worst.
  if (!(name in worst) || !(difference <= worst[name].difference)) worst[name] = { difference, line };
}
const relative = (ours, peers) => Math.abs(ours / peers - 1);

const lines = fs.readFileSync(process.argv[2], 'utf8').trim().split('\n');
for (const line of lines) {
  const [dryBulb, rh, air, vapour, point, ratio, wetBulb] = line.split(',').map(Number);
  // Below freezing the peer's RH is over ice and ours over water, so the vapour carries over.
  const frozen = dryBulb <= 0.01;
  const peerVapour = frozen ? vapour : psychrolib.GetVapPresFromRelHum(dryBulb, rh);
  const peerRatio = psychrolib.GetHumRatioFromVapPres(peerVapour, air);
  note('vapour_relative', relative(vapour, peerVapour), line);
  note('point_kelvin', Math.abs(point - psychrolib.GetTDewPointFromVapPres(dryBulb, peerVapour)), line);
  note('ratio_relative', relative(ratio, peerRatio), line);
  note('wet_bulb_kelvin',
    Math.abs(wetBulb - psychrolib.GetTWetBulbFromHumRatio(dryBulb, peerRatio, air)), line);
}
let failed = lines.length < 1000;
console.log(`${lines.length} airs compared with psychrolib`);
for (const [name, tolerance] of Object.entries(tolerances)) {
  const { difference, line } = worst[name];
  const over = !(difference <= tolerance);
  failed = failed || over;
  console.log(`${name}: ${difference.toExponential(2)} of ${tolerance}${over ? ' TOO MUCH at ' + line : ''}`);
}
process.exit(failed ? 1 : 0);
