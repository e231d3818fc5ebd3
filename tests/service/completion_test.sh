#!/bin/bash
# completion_test.sh FOLDER-OF-COMPLETIONS DWELLOG DWELLOG-VERIFY: what bash would offer.
set -u
source "$1/dwellog.bash"
source "$1/dwellog-verify.bash"
failed=0
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
mkdir "$scratch/house one"
touch "$scratch/certificate.json"
cd "$scratch" || exit 1
compopt() { :; }  # works inside a real completion only

# offers FUNCTION WORD...: the completions of the last word, one a line.
offers() {
  local complete=$1
  shift
  COMP_WORDS=("$@")
  COMP_CWORD=$(($# - 1))
  COMPREPLY=()
  "$complete" "$1" "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"
  ((${#COMPREPLY[@]})) && printf '%s\n' "${COMPREPLY[@]}"
}
expect() {
  local wanted=$1
  shift
  if ! offers "$@" | grep -qxF -e "$wanted"; then
    echo "not offered after \`${*:2}\`: $wanted; offered: $(offers "$@" | tr '\n' ' ')"
    failed=1
  fi
}
refuse() {
  local unwanted=$1
  shift
  if offers "$@" | grep -qxF -e "$unwanted"; then
    echo "offered after \`${*:2}\`: $unwanted"
    failed=1
  fi
}

for command in $("$2" --help | sed -n '/^Subcommands:/,/^$/s/^  \([a-z][a-z-]*\) .*/\1/p'); do
  expect "$command" _dwellog "$2" ""
done
expect status _dwellog "$2" sta
refuse check _dwellog "$2" sta
expect --units _dwellog "$2" status --
expect imperial _dwellog "$2" status --units ""
expect letter _dwellog "$2" certify job --paper l
refuse metric _dwellog "$2" certify job --paper ""
expect --passphrase-file _dwellog "$2" certify job --pass
expect rotate _dwellog "$2" keys job rot
expect "house one" _dwellog "$2" status ho
expect certificate.json _dwellog "$2" verify cert
expect certificate.json _dwellog_verify "$3" cert
expect --key _dwellog_verify "$3" --k
[ "$failed" = 0 ] && echo "completion offers what the programs take"
exit "$failed"
