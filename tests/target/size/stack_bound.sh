#!/bin/bash
# The bound of an image's stack against the reserve of the linker script, 4 KiB.
# Usage: stack_bound.sh FOLDER_OF_OBJECTS
set -euo pipefail
here=$(dirname "$0")
python3 "$here/stack_bound.py" "$1" "$here/indirect_calls.txt" 4096
