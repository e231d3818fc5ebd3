#!/usr/bin/env bash
# The main job on an invented site: builds, then runs six simulated days through the real daemon, a
# real pseudo-terminal and the real database, and ends with a verdict, a certificate and its check.
set -eu
cd "$(dirname "$0")/.."
. .ci/packages.sh
install_missing $core_packages
mkdir -p build
echo "dwellog: building into build/ (a few minutes the first time)"
configure_and_build build -DDWELLOG_TESTS=OFF -DDWELLOG_BENCHMARKS=OFF -DDWELLOG_TIME_STAMPS=OFF -DDWELLOG_DELIVERY=OFF -DDWELLOG_TLS=OFF

dwellog=build/logger/app/dwellog
folder=build/demo
job=$folder/job
rm -rf "$folder"
mkdir -p "$folder"

echo
echo "== A job folder, as a new user makes it"
$dwellog new "$job" --name "Demo house (invented)" --port "$folder/box-1.tty" --box-serial 1001
# What the user would edit: when the slab was poured and could dry, how the cartons lie, room and gaps,
# how accurate the sensors are, and a program that receives the alerts. All invented.
sed -i -e 's|// "slab_poured_at": "[^"]*"|"slab_poured_at": "2025-12-15"|' \
       -e '/For `dwellog outlook`/,/"service_high/s|^ *// *"|      "|' \
       -e '/For `dwellog plan`/,/"laying_on/s|^ *// *"|      "|' -e 's|"laying_on": "[^"]*"|"laying_on": "2026-03-08"|' \
       -e 's|"drying_from": "[^"]*"|"drying_from": "2026-01-05"|' \
       -e 's|"cartons_high": 4, "cartons_wide": 1|"cartons_high": 2, "cartons_wide": 2|' \
       -e 's|"role": "\([a-z_]*temperature\)" }|"role": "\1", "accuracy": { "limits_kelvin": 0.3, "source": "paper of the sensor" } }|' \
       -e 's|"role": "\([a-z_]*_rh\)" }|"role": "\1", "accuracy": { "limits_percent_rh": 2, "source": "paper of the sensor" } }|' \
       -e "s|\"command\": \[\]|\"command\": [\"sh\", \"-c\", \"cat >> $folder/alerts.jsonl\"]|" "$job/job.json"
$dwellog check "$job"

echo
echo "== The plan (rows, cut list, stacks and questions beside the order: $folder/job-pack.pdf)"
$dwellog plan "$job" --pdf "$folder/job-pack.pdf" >"$folder/plan.txt"
sed -n '/^Order/,/^Cautions/{/^Cautions/!p}' "$folder/plan.txt"

echo
echo "== What a person sees and does on the site (invented)"
noted() { $dwellog note "$job" "$@" --by "A. Sample" >>"$folder/notes.log"; }
noted delivery --at 2026-03-02T08:00:00Z --carton-celsius 4 --remark "14 closed cartons, flat, two stacks"
for gate in room_kind heating_kind flat clean solid old_glue_removed vapour_barrier conditioned; do
  noted gate $gate met --at 2026-03-02T08:15:00Z
done
noted placement slab-rh --at 2026-03-02T07:00:00Z --remark "sleeve at 40 % of 100 mm"
noted placement core-t --at 2026-03-02T08:00:00Z
for channel in air-t core-t slab-t; do
  noted calibration $channel --at 2026-02-10T00:00:00Z --due 2027-02-10T00:00:00Z --uncertainty 0.2 \
    --reference "two points, ice and 30 degC bath"
done
for channel in air-rh slab-rh; do
  noted calibration $channel --at 2026-02-10T00:00:00Z --due 2027-02-10T00:00:00Z --uncertainty 1.5 \
    --reference "salts MgCl2 and NaCl at 20 degC"
done
echo "$(wc -l <"$folder/notes.log") notes recorded"

echo
echo "== Six days: cold cartons, a heater that fails one night, a cable unplugged for an hour, a drying slab"
started=$(date +%s)
build/firmware-sim/sim/probe-box-sim --scenario heater-failure --port "$folder/box-1.tty" \
  --box 1:1001 --time-socket "$folder/time.sock" --clients 1 --progress &
simulator=$!
trap 'kill $simulator 2>/dev/null || true' EXIT
waited=0
while [ ! -S "$folder/time.sock" ]; do
  if ! kill -0 $simulator 2>/dev/null || [ $waited -ge 100 ]; then
    echo "dwellog: the simulator did not start" >&2
    exit 4
  fi
  waited=$((waited + 1))
  sleep 0.1
done
if ! $dwellog run "$job" --simulated-time "$folder/time.sock" >"$folder/run.log" 2>&1; then
  tail -n 3 "$folder/run.log" >&2
  exit 4
fi
wait $simulator
trap - EXIT
echo "six days in $(($(date +%s) - started)) s; log: $folder/run.log"

echo
echo "== Alerts that were delivered while it ran"
if [ -s "$folder/alerts.jsonl" ]; then
  sed -e 's/.*"at_utc":"\([^"]*\)".*"text":"\([^"]*\)".*/  \1  \2/' "$folder/alerts.jsonl"
fi

echo
echo "== Status"
$dwellog status "$job" || true

echo
echo "== Outlook: what to expect and what to do"
$dwellog outlook "$job"

echo
echo "== Certificate"
$dwellog certify "$job"

echo
echo "== Verified, offline, with the public key from another hand"
$dwellog verify "$job/certificates/living-room-1.json" --key "$job/certificate-key.pub" \
  --readings "$job/certificates/living-room-1.readings.csv" --log "$job/certificates/living-room-1.log"
