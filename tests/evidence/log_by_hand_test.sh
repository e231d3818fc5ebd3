#!/bin/bash
# The log file of the example leads by hand to the root of its checkpoint, and no altered copy does.
here=$(dirname "$0")
example=$here/example_log
. "$here/altered_copies.sh"
check() {
  bash "$here/log_by_hand.sh" "$work/readings.csv" "$work/room.log" "$work/checkpoint.json" \
    "$here/example/certificate-key.pub"
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
