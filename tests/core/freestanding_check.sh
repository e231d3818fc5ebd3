#!/bin/bash
# Checks that firmware-sim/core stands alone: compiled freestanding without exceptions and RTTI it
# needs nothing but mem* and the compiler's own runtime, has no static data, includes only headers
# that a freestanding C++20 library has, and can be included header by header.
# Usage: freestanding_check.sh PROJECT_ROOT COMPILER
set -euo pipefail
root=$1
compiler=$2
core=$root/firmware-sim/core
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
complain() {
  echo "freestanding check: $*"
  failed=1
}

allowed_headers='algorithm|array|bit|cstddef|cstdint|limits|optional|span|type_traits|utility'
foreign=$(grep -HnE '^ *# *include' "$core"/*.hpp "$core"/*.cpp |
  grep -vE "include (<($allowed_headers)>|\"firmware-sim/core/[a-z_]+\.hpp\")$" || true)
[ -z "$foreign" ] || complain "include outside the allow-list: $foreign"

flags=(-std=c++20 -Os -ffreestanding -fno-exceptions -fno-rtti -fno-threadsafe-statics
  -fno-stack-protector -Wall -Wextra -Wconversion -Wshadow -Werror "-I$root")
count=0
for header in "$core"/*.hpp; do
  echo "#include \"firmware-sim/core/$(basename "$header")\"" |
    "$compiler" "${flags[@]}" -fsyntax-only -x c++ - ||
    complain "$(basename "$header") does not compile alone"
done
for source in "$core"/*.cpp; do
  "$compiler" "${flags[@]}" -c "$source" -o "$work/$(basename "$source").o" ||
    complain "$(basename "$source") does not compile freestanding"
  count=$((count + 1))
done
[ "$count" -ge 5 ] || complain "only $count sources found in $core"
[ "$failed" -eq 0 ] || exit 1

# Linked together, so that what one source takes from another does not show.
ld -r -o "$work/core.o" "$work"/*.cpp.o
undefined=$(nm -u "$work/core.o" | awk '{print $2}' |
  grep -vE '^(mem(cpy|move|set|cmp)|__(popcount|clz|ctz|u?div|u?mod|mul|ashl|ashr|lshr)[a-z]i[0-9])$' ||
  true)
[ -z "$undefined" ] || complain "needs symbols from outside: $undefined"
statics=$(nm "$work/core.o" | awk '$2 ~ /^[bBdD]$/ {print $3}')
[ -z "$statics" ] || complain "has static data: $statics"
size "$work/core.o"
exit "$failed"
