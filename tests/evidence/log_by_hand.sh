#!/bin/bash
# Rebuilds the root of an evidence log from a log file and the readings with coreutils alone, and
# checks the checkpoint over it with openssl, as docs/evidence-log.md tells.
# Usage: log_by_hand.sh READINGS LOG CHECKPOINT PUBLIC_KEY; exit 0 when all holds, 1 when not.
set -euo pipefail
readings=$1 log=$2 checkpoint=$3 key=$4
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

bytes_of_hex() { tr 'a-f' 'A-F' | basenc -d --base16; }
hex_of_text() { printf %s "$1" | basenc --base16 -w0 | tr 'A-F' 'a-f'; }
sha256_hex() { sha256sum | cut -c1-64; }
leaf_hash() { { printf '\0'; printf %s "$1" | bytes_of_hex; } | sha256_hex; }
node_hash() { { printf '\1'; printf %s "$1$2" | bytes_of_hex; } | sha256_hex; }
fail() { echo "$1"; exit 1; }

# Fields of a leaf in hex. Negative numbers are two's complement.
u8() { printf %02x "$1"; }
u16() { printf %04x "$1"; }
u32() { printf %08x $(($1 & 0xffffffff)); }
u64() { printf %016x "$1"; }
text() { u32 ${#1}; hex_of_text "$1"; }

record_leaf() { # the fields of a line of the readings
  local statuses=$8 raw=("${@:9}") channel
  printf 03; text "$1"; u32 "$2"; u64 "$3"; u64 "$4"; printf %s "$7"
  for channel in 0 1 2 3 4 5 6 7; do
    u8 "${statuses:7-channel:1}"
    u32 "${raw[channel]:-0}"
  done
}

# Complete subtrees that are not part of a larger one yet, largest first.
hashes=() levels=() entries=0
add() { # LEVEL HASH
  local level=$1 hash=$2
  entries=$((entries + (1 << level)))
  while [ "${#levels[@]}" -gt 0 ] && [ "${levels[-1]}" -eq "$level" ]; do
    hash=$(node_hash "${hashes[-1]}" "$hash")
    unset 'hashes[-1]' 'levels[-1]'
    level=$((level + 1))
  done
  hashes+=("$hash") levels+=("$level")
}
root() { # smallest first
  local root=${hashes[-1]} i
  for ((i = ${#hashes[@]} - 2; i >= 0; i--)); do
    root=$(node_hash "${hashes[i]}" "$root")
  done
  echo "$root"
}

{
  read -r format size
  [ "$format" = dwellog-log-1 ] || fail "not a log file"
  while read -r what a b c d e f; do
    case $what in
      records)
        for ((sequence = c; sequence < c + d; sequence++)); do
          line=$(grep "^$a,$b,$sequence," "$readings") || fail "no reading $a $b $sequence"
          IFS=, read -ra fields <<< "$line"
          add 0 "$(leaf_hash "$(record_leaf "${fields[@]}")")"
        done ;;
      record) add 0 "$(leaf_hash "$a")" ;;
      exchange) add 0 "$(leaf_hash "02$(text "$a")$(u32 "$b")$(u64 "$c")$(u64 "$d")$(u64 "$e")")" ;;
      gap) add 0 "$(leaf_hash "04$(text "$a")$(u32 "$b")$(u64 "$c")$(u64 "$d")$(u8 "$e")$(u64 "$f")")" ;;
      hash) add "$a" "$b" ;;
      *) fail "line \"$what\" is unknown" ;;
    esac
  done
} < "$log"
[ "$entries" -eq "$size" ] || fail "$entries entries, expected $size"

stated() { sed -n "s/.*\"$1\":\"\\{0,1\\}\\([0-9a-f]*\\).*/\\1/p" "$checkpoint"; }
[ "$(stated size)" = "$size" ] || fail "the checkpoint is of another size"
[ "$(stated root)" = "$(root)" ] || fail "root $(root), the checkpoint states $(stated root)"
echo "root: as the checkpoint states"

sed 's/^{"checkpoint":\(.*\),"signature":"[0-9a-f]*"}$/\1/' "$checkpoint" | tr -d '\n' > "$work/signed"
stated signature | tr -d '\n' | bytes_of_hex > "$work/signature"
{ printf 302a300506032b6570032100; sed 's/^dwellog-public-key-1 //' "$key" | tr -d '\n'; } |
  bytes_of_hex > "$work/key.der"
openssl pkeyutl -verify -pubin -keyform DER -inkey "$work/key.der" -rawin \
  -in "$work/signed" -sigfile "$work/signature" || exit 1
