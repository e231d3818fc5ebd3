# Sourced by tests that follow a paper by hand: an example, and altered copies of it in $work.
set -euo pipefail
for tool in openssl basenc sha256sum; do
  command -v "$tool" > /dev/null || { echo "skipped: $tool is not installed"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fresh() { cp "$example"/* "$work/"; }
# REQUIRES: the script has set $example and a function `check`, which looks at $work.
must_fail() { # FILE SED_EXPRESSION
  fresh
  sed -i "$2" "$work/$1"
  cmp -s "$work/$1" "$example/$1" && { echo "nothing was altered in $1"; exit 1; }
  if check > "$work/out" 2>&1; then
    echo "altered $1 ($2) went unseen"
    exit 1
  fi
}
