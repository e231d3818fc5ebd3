#!/bin/bash
# Runs a command when every tool it needs is installed, else says which is not and skips (77).
# Usage: with_tools.sh TOOL... -- COMMAND [ARGUMENT...]
set -eu
while [ "$1" != -- ]; do
  command -v "$1" >/dev/null || { echo "skipped: $1 is not installed"; exit 77; }
  shift
done
shift
exec "$@"
