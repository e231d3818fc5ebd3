#!/bin/bash
# Prints what an image takes and fails past the budget: code and constants, with what they set in
# RAM at start, at most 24 KiB; static RAM, rings of the lines included, at most 8 KiB; the stack by
# the compiler's own account at most what the linker script keeps for it.
# Usage: size_check.sh IMAGE FOLDER_OF_OBJECTS
set -euo pipefail
code_budget=$((24 * 1024))
ram_budget=$((8 * 1024))
read -r text data bss _ < <(arm-none-eabi-size "$1" | tail -n 1)
code=$((text + data))
ram=$((data + bss))
echo "code $code of $code_budget bytes, static RAM $ram of $ram_budget bytes"
echo "largest, bytes:"
arm-none-eabi-nm --size-sort --print-size --radix=d --demangle "$1" | tail -n 8 |
  awk '{ size = $2 + 0; $1 = $2 = $3 = ""; printf "%6d %s\n", size, $0 }'
"$(dirname "$0")/stack_bound.sh" "$2"
[ "$code" -gt 4096 ] || { echo "only $code bytes of code: this is no image of the box"; exit 1; }
[ "$code" -le "$code_budget" ] || { echo "code is over its budget"; exit 1; }
[ "$ram" -le "$ram_budget" ] || { echo "static RAM is over its budget"; exit 1; }
