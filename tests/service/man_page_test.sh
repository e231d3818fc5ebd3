#!/bin/sh
# man_page_test.sh PAGE PROGRAM: the manual page names every command and option of --help and has no
# fault that man knows of.
set -eu
command -v man >/dev/null || exit 77
page=$1 program=$2
failed=0
fail() { echo "$1"; failed=1; }

# As a reader sees it, one word a line.
words=$(mktemp)
trap 'rm -f "$words"' EXIT
gzip -dc "$page" | MANWIDTH=200 MANROFFOPT=-c LC_ALL=C man --warnings -l - 2>"$words.warnings" |
  tr -s ' ,:=|[]()' '\n' >"$words"
if [ -s "$words.warnings" ]; then
  fail "man warns: $(cat "$words.warnings")"
fi
rm -f "$words.warnings"

counted=0
expect() {
  counted=$((counted + 1))
  grep -qxF -e "$1" "$words" || fail "$2 is not on the page: $1"
}
options_of() {
  sed -n 's/^  \(-[^ ]*\).*/\1/p' | tr ',' '\n' | grep -v '^-h$'
}
for option in $("$program" --help | options_of); do
  expect "$option" "an option"
done
for command in $("$program" --help | sed -n '/^Subcommands:/,/^$/s/^  \([a-z][a-z-]*\) .*/\1/p'); do
  expect "$command" "a command"
  for option in $("$program" "$command" --help | options_of | grep -v '^--help$'); do
    expect "$option" "an option of $command"
  done
done
[ "$counted" -ge 3 ] || fail "only $counted words looked for: --help was not understood"
[ "$failed" = 0 ] && echo "$counted commands and options are on the page"
exit "$failed"
