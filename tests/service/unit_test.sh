#!/bin/sh
# unit_test.sh UNIT DWELLOG: the unit has no fault that systemd knows of, and shuts the logger in as far
# as was decided. Skipped (77) where systemd's tools are missing.
set -eu
command -v systemd-analyze >/dev/null || exit 77
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
# The program is not installed where the unit will find it.
sed "s|/usr/bin/dwellog|$2|" "$1" >"$folder/dwellog@.service"
systemd-analyze verify --man=no --recursive-errors=no "$folder/dwellog@.service"
sed -i 's|^WatchdogSec=.*|&\nWatchdogSeconds=1|' "$folder/dwellog@.service"
if systemd-analyze verify --man=no --recursive-errors=no "$folder/dwellog@.service" 2>&1 | grep -q WatchdogSeconds; then
  :
else
  echo "a wrong key was not found, so this check proves nothing"
  exit 1
fi
# Exposure from 0 (none) to 100; what is left is the network and the serial devices.
systemd-analyze security --offline=true --no-pager --threshold=30 "$1" | tail -n 1
