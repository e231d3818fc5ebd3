#!/bin/bash
# Our moist air against the npm package psychrolib 1.1.1 on a grid; exit 77 (skipped) with one line
# where Node, npm or the package is not to be had. The package is installed into WORK_FOLDER.
# Usage: psychrolib_peer.sh GRID_PROGRAM WORK_FOLDER
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
grid_program=$1
work=$2
version=1.1.1
skip() { echo "skipped: $*"; exit 77; }

command -v node > /dev/null || skip "node is not installed (Debian package nodejs)"
mkdir -p "$work"
installed() {
  grep -qs "\"version\": \"$version\"" "$work/node_modules/psychrolib/package.json"
}
if ! installed; then
  command -v npm > /dev/null || skip "npm is not installed (Debian package npm)"
  timeout 60 npm install --prefix "$work" --no-audit --no-fund --ignore-scripts --silent \
    "psychrolib@$version" > "$work/npm.log" 2>&1 || skip "npm could not install psychrolib $version"
  installed || skip "npm installed another version than psychrolib $version"
fi
"$grid_program" > "$work/grid.csv"
NODE_PATH="$work/node_modules" node "$here/peer/psychrolib_compare.js" "$work/grid.csv"
