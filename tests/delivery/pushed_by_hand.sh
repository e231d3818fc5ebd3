#!/bin/bash
# Checks the signed line of a pushed status page with openssl and coreutils alone, as docs/afar.md tells.
# Usage: pushed_by_hand.sh PAGE PUBLIC_KEY; prints what was signed; exit 0 when the signature is the key's.
set -euo pipefail
page=$1 key=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

bytes_of_hex() { tr 'a-f' 'A-F' | basenc -d --base16; }

sed -n 's/.*<script type="application\/json" id="signed">\({"pushed":.*"}\)$/\1/p' "$page" > "$work/line"
sed 's/^{"pushed":\(.*\),"signature":"[0-9a-f]*"}$/\1/' "$work/line" | tr -d '\n' > "$work/pushed"
sed 's/.*,"signature":"\([0-9a-f]*\)"}$/\1/' "$work/line" | tr -d '\n' | bytes_of_hex > "$work/signature"
{ printf 302a300506032b6570032100; sed 's/^dwellog-public-key-1 //' "$key" | tr -d '\n'; } |
  bytes_of_hex > "$work/key.der"
openssl pkeyutl -verify -pubin -keyform DER -inkey "$work/key.der" -rawin \
  -in "$work/pushed" -sigfile "$work/signature" >&2 || exit 1
cat "$work/pushed"
