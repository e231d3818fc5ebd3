#!/bin/bash
# The log file of the example leads by hand to the root of its checkpoint, and no altered copy does.
set -euo pipefail
here=$(dirname "$0")
for tool in openssl basenc sha256sum; do
  command -v "$tool" > /dev/null || { echo "skipped: $tool is not installed"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
check() {
  bash "$here/log_by_hand.sh" "$work/readings.csv" "$work/room.log" "$work/checkpoint.json" \
    "$here/example/certificate-key.pub"
}
fresh() { cp "$here"/example_log/* "$work/"; }
must_fail() { # FILE SED_EXPRESSION
  fresh
  sed -i "$2" "$work/$1"
  cmp -s "$work/$1" "$here/example_log/$1" && { echo "nothing was altered in $1"; exit 1; }
  if check > "$work/out" 2>&1; then
    echo "altered $1 ($2) went unseen"
    exit 1
  fi
}

fresh
check
must_fail readings.csv '2s/,1950,/,1951,/'
must_fail readings.csv '2d'
must_fail room.log '/^exchange/s/0 20000$/1 20000/'
must_fail room.log '/^gap/s/ 3 / 2 /'
must_fail room.log '$d'
must_fail checkpoint.json 's/"simulated":true/"simulated":false/'
must_fail checkpoint.json 's/"size":1/"size":2/'
echo "the example holds, and seven altered copies do not"
