#!/bin/sh
# man_page.sh PROGRAM NAME VERSION PROSE: a manual page of section 1 on standard output, made of what
# PROGRAM --help and the --help of each of its commands say, and of the sections in PROSE.
set -eu
program=$1 name=$2 version=$3 prose=$4

# Roff of one --help text; `command` is empty for the program itself.
roff_of_help() {
  awk -v name="$name" -v command="$1" '
    function safe(text) {
      gsub(/\\/, "\\e", text); gsub(/-/, "\\-", text)
      if (text ~ /^[.\x27]/) text = "\\&" text
      return text
    }
    # An entry begins two columns in; its description in column 30, or on the next line.
    function entry(line,   left, right, at) {
      sub(/^  /, "", line)
      at = match(line, /  +/)
      left = at ? substr(line, 1, at - 1) : line
      right = at ? substr(line, at + RLENGTH) : ""
      sub(/ REQUIRED/, " (required)", left)
      print ".TP"
      print ".B " safe(left)
      if (right != "") print safe(right)
    }
    NR == 1 { summary = $0; next }
    /^Usage: / {
      if (command != "") {
        print ".SS " safe(substr($0, 8))
        if (summary != "") print safe(summary) "."
      }
      next
    }
    /^[A-Z][A-Za-z ]*:$/ { section = $0; next }
    section == "Subcommands:" { next }
    section != "" && /^  [^ ]/ { if ($1 != "-h,--help" || command == "") entry($0); next }
    section != "" && /^   / { sub(/^ +/, ""); print safe($0); next }
    /^[^ ]/ { section = "footer" }
  '
}

"$program" --help >/dev/null  # a pipe would hide that it fails
summary=$("$program" --help | head -n 1 | sed 's/\.$//')
# Lower case, as the name section has it.
summary=$(printf '%s' "$summary" | awk '{ print tolower(substr($0, 1, 1)) substr($0, 2) }')
printf '.TH %s 1 "" "dwellog %s" "dwellog"\n' "$(printf '%s' "$name" | tr a-z A-Z)" "$version"
printf '.SH NAME\n%s \\- %s\n' "$name" "$summary"
printf '.SH SYNOPSIS\n.B %s\n' "$name"
commands=$("$program" --help | sed -n '/^Subcommands:/,/^$/s/^  \([a-z][a-z-]*\) .*/\1/p')
if [ -n "$commands" ]; then
  printf '.I COMMAND\n[\\fIOPTION\\fR ...] [\\fIARGUMENT\\fR ...]\n'
else
  "$program" --help | sed -n "s/^Usage: [^ ]* //p" | sed 's/-/\\-/g'
fi
printf '.SH OPTIONS\n'
"$program" --help | roff_of_help ""
if [ -n "$commands" ]; then
  printf '.SH COMMANDS\n'
  for command in $commands; do
    "$program" "$command" --help | roff_of_help "$command"
  done
fi
cat "$prose"
