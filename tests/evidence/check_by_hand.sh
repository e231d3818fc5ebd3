#!/bin/bash
# Checks a certificate with openssl and coreutils alone, as docs/certificate-format.md tells.
# Usage: check_by_hand.sh CERTIFICATE PUBLIC_KEY READINGS; exit 0 when all holds, 1 when not.
set -euo pipefail
certificate=$1 key=$2 readings=$3
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

bytes_of_hex() { tr 'a-f' 'A-F' | basenc -d --base16; }
sha256_hex() { sha256sum | cut -c1-64; }
must_be() { # WHAT EXPECTED FOUND
  [ -n "$2" ] && [ "$2" = "$3" ] || { echo "$1: differs"; exit 1; }
  echo "$1: as signed"
}

# 1. The signature over the header.
sed 's/.*,"header":\(.*\),"signature":"[0-9a-f]*"}$/\1/' "$certificate" > "$work/header"
sed 's/.*,"signature":"\([0-9a-f]*\)"}$/\1/' "$certificate" | bytes_of_hex > "$work/signature"
{ printf 302a300506032b6570032100; sed 's/^dwellog-public-key-1 //' "$key" | tr -d '\n'; } |
  bytes_of_hex > "$work/key.der"
openssl pkeyutl -verify -pubin -keyform DER -inkey "$work/key.der" -rawin \
  -in "$work/header" -sigfile "$work/signature" || exit 1

# 2. Fields against their digests in the header: a text, and what is said of the readings.
digest_of() { sed 's/.*"fields":{[^}]*"'"$1"'":"\([0-9a-f]*\)".*/\1/' "$work/header"; }
fact() { # PATH PATTERN_OF_VALUE -> the bytes that were hashed
  sed -n 's/.*"'"$1"'":{"salt":"\([0-9a-f]*\)","value":\('"$2"'\)}.*/["'"$1"'","\1",\2]/p' \
    "$certificate" | tr -d '\n'
}
must_be "room.id" "$(digest_of room.id)" "$(fact room.id '"[^"]*"' | sha256_hex)"
must_be "readings" "$(digest_of readings)" "$(fact readings '{[^}]*}' | sha256_hex)"

# 3. The tree over the readings' lines: pairs are hashed together, an odd one goes up as it is.
level=()
while IFS= read -r line; do
  level+=("$({ printf '\0'; printf %s "$line"; } | sha256_hex)")
done < <(tail -n +2 "$readings")
while [ "${#level[@]}" -gt 1 ]; do
  above=()
  for ((i = 0; i < ${#level[@]}; i += 2)); do
    if [ $((i + 1)) -lt "${#level[@]}" ]; then
      above+=("$({ printf '\1'; printf %s "${level[i]}${level[i + 1]}" | bytes_of_hex; } | sha256_hex)")
    else
      above+=("${level[i]}")
    fi
  done
  level=("${above[@]}")
done
must_be "root of the readings" \
  "$(fact readings '{[^}]*}' | sed 's/.*"root_sha256":"\([0-9a-f]*\)".*/\1/')" "${level[0]:-none}"
