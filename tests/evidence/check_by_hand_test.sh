#!/bin/bash
# The hand check holds for the example, and fails when anything it looks at was altered.
set -euo pipefail
here=$(dirname "$0")
for tool in openssl basenc sha256sum; do
  command -v "$tool" > /dev/null || { echo "skipped: $tool is not installed"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
check() { bash "$here/check_by_hand.sh" "$work/certificate.json" "$work/certificate-key.pub" "$work/readings.csv"; }
fresh() { cp "$here"/example/* "$work/"; }
must_fail() { # FILE SED_EXPRESSION
  fresh
  sed -i "$2" "$work/$1"
  cmp -s "$work/$1" "$here/example/$1" && { echo "nothing was altered in $1"; exit 1; }
  if check > "$work/out" 2>&1; then
    echo "altered $1 ($2) went unseen"
    exit 1
  fi
}

fresh
check
must_fail certificate.json 's/"simulated":true/"simulated":false/'
must_fail certificate.json 's/"value":"room-1"/"value":"room-2"/'
must_fail certificate.json 's/"records":13/"records":14/'
must_fail certificate-key.pub 's/1 ./1 0/'
must_fail readings.csv '5s/,1950,/,1951,/'
must_fail readings.csv '5d'
must_fail readings.csv '$d'
echo "the example holds, and seven altered copies do not"
