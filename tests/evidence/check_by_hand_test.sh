#!/bin/bash
# The hand check holds for the example, and fails when anything it looks at was altered.
here=$(dirname "$0")
example=$here/example
. "$here/altered_copies.sh"
check() { bash "$here/check_by_hand.sh" "$work/certificate.json" "$work/certificate-key.pub" "$work/readings.csv"; }

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
