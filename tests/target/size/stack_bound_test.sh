#!/bin/bash
# stack_bound.py on small call graphs: a bound known by hand, and everything it must refuse.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

node() { echo "node: { title: \"$1\" label: \"$1\\nx.cpp:1:1\\n$2\" }"; }
edge() { echo "edge: { sourcename: \"$1\" targetname: \"$2\" label: \"x.cpp:1:1\" }"; }

graph() {
  node reset_handler '8 bytes (static)'
  node shallow '100 bytes (static)'
  node deep '16 bytes (static)'
  node deeper '96 bytes (static)'
  node target '40 bytes (static)'
  node tick '4 bytes (static)'
  node dog '12 bytes (static)'
  edge reset_handler shallow
  edge reset_handler deep
  edge deep deeper
  edge deeper __indirect_call
}
rules=$'indirect deeper target\ninterrupt tick\nnmi dog'

# expect WORDS LIMIT RULES < GRAPH: the output holds the words; "stack bound: " begins a refusal.
expect() {
  rm -f "$work"/*
  cat > "$work/x.ci"
  echo "$3" > "$work/rules"
  output=$(python3 "$here/stack_bound.py" "$work" "$work/rules" "$2" 2>&1) && status=0 || status=$?
  case $1 in "stack bound: "*) wanted=1 ;; *) wanted=0 ;; esac
  [[ $output == *"$1"* && $status -eq $wanted ]] || {
    echo "expected \"$1\" and status $wanted, got $status and:"
    echo "$output"
    exit 1
  }
}

# 8 + 16 + 96 + 40, an interrupt of 4 and an NMI of 12 with 36 for each exception frame.
expect "stack bound 248 of 248 bytes" 248 "$rules" < <(graph)
expect "stack bound: over the reserve" 247 "$rules" < <(graph)
expect "stack bound: recursion: deep -> deeper -> target -> deep" 4096 "$rules" \
  < <(graph; edge target deep)
expect "stack bound: shallow calls something unknown" 4096 "$rules" \
  < <(graph; edge shallow __indirect_call)
expect "stack bound: the rules name target, which no function has" 4096 "$rules" \
  < <(graph | grep -v 'title: "target"')
expect "stack bound: the rules name shallow, which calls nothing indirectly" 4096 \
  "$rules"$'\nindirect shallow target' < <(graph)
expect "stack bound: shallow calls memcpy, whose frame is not known" 4096 "$rules" \
  < <(graph; edge shallow memcpy)
expect "stack bound 248 of" 4096 "$rules"$'\nexternal memcpy 0' < <(graph; edge shallow memcpy)
expect "stack bound: target has a frame of unknown size (dynamic)" 4096 "$rules" \
  < <(graph | sed '/title: "target"/s/static/dynamic/')
expect "stack bound: tick is there, against the rules" 4096 "$rules"$'\nabsent tick' < <(graph)
echo "ten graphs judged as expected"
