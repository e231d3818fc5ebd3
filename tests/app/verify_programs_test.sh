#!/bin/bash
# verify_programs_test.sh DWELLOG DWELLOG_VERIFY: the small program says word for word what the large
# one says, with the same exit status, and is linked with neither a database nor network code.
set -euo pipefail
dwellog=$1
small=$2
example=tests/evidence/example
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() { echo "$*"; exit 1; }

both() { # STATUS ARGUMENT...
  expected=$1
  shift
  large_status=0
  small_status=0
  "$dwellog" verify "$@" > "$work/large" 2>&1 || large_status=$?
  "$small" "$@" > "$work/small" 2>&1 || small_status=$?
  sed -i 's/^dwellog-verify: /dwellog: /' "$work/small"
  cmp -s "$work/large" "$work/small" || fail "other words for: $*: $(diff "$work/large" "$work/small")"
  [ "$large_status" = "$expected" ] || fail "dwellog verify $*: status $large_status, not $expected"
  [ "$small_status" = "$expected" ] || fail "dwellog-verify $*: status $small_status, not $expected"
}

certificate=$example/certificate.json
key=$example/certificate-key.pub
readings=$example/readings.csv
sed 's/Client B/Client X/' "$certificate" > "$work/altered.json"
{ cat "$certificate"; echo; } > "$work/longer.json"
sed '5s/,1950,/,1951,/' "$readings" > "$work/altered.csv"
sed 's/1 ./1 0/' "$key" > "$work/other.pub"
both 0 "$certificate" --key "$key" --readings "$readings"
both 0 "$certificate" --key "$key"
both 3 "$certificate" --readings "$readings"
both 2 "$work/altered.json" --key "$key"
both 2 "$certificate" --key "$work/other.pub"
both 2 "$certificate" --key "$key" --readings "$work/altered.csv"
both 1 "$work/longer.json" --key "$key"
both 1 "$certificate" --key "$readings"
both 1 "$work/none.json"
both 1 "$certificate" --readings "$work/none.csv"
both 1 "$work"
status=0
"$small" --no-such > "$work/out" 2>&1 || status=$?
[ "$status" = 1 ] && [ "$(wc -l < "$work/out")" = 1 ] || fail "a wrong option: status $status"
"$small" --version | grep '^dwellog-verify, rules of dwellog [0-9.]*, reads dwellog-certificate-' > "$work/out" ||
  fail "--version says: $("$small" --version)"

# What it must not hold; the large program, which does, shows that the search finds it.
unwanted_libraries='sqlite|curl|ssl|cairo|pango|mosquitto|qrencode'
unwanted_symbols='sqlite3_|asio|curl_| SSL_|connect@|socket@|getaddrinfo'
ldd "$dwellog" | grep -E "$unwanted_libraries" > "$work/found" || fail "the search for libraries finds nothing"
nm -C "$dwellog" | grep -E "$unwanted_symbols" > "$work/found" || fail "the search for symbols finds nothing"
if ldd "$small" | grep -E "$unwanted_libraries"; then fail "dwellog-verify is linked with the above"; fi
if nm -C "$small" | grep -E "$unwanted_symbols"; then fail "dwellog-verify holds the above"; fi
echo "eleven cases word for word, and no database or network code"
