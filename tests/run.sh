#!/usr/bin/env bash
# Builds and runs every test. --long adds clang++, thread sanitizer, clang-tidy and the long campaigns.
set -eu
cd "$(dirname "$0")/.."
long=no
case "${1:-}" in
  "") ;;
  --long) long=yes ;;
  *) echo "usage: bash tests/run.sh [--long]" >&2; exit 1 ;;
esac
. .ci/packages.sh
install_missing $core_packages $test_packages
# Without these the tests that need them report themselves as skipped.
for optional in "$target_packages" "$server_packages" "$browser_packages"; do
  (install_missing $optional) || echo "dwellog: going on without the packages above"
done
[ $long = yes ] && install_missing $long_packages
mkdir -p build
full="-DDWELLOG_TIME_STAMPS=ON -DDWELLOG_DELIVERY=ON -DDWELLOG_TLS=ON"
started=$(date +%s)
elapsed() { echo "dwellog: $1 after $(($(date +%s) - started)) s"; }

echo "dwellog: building into build/"
configure_and_build build -DDWELLOG_TESTS=ON -DDWELLOG_BENCHMARKS=OFF $full
elapsed "built"
failed=0
ctest --test-dir build --output-on-failure -j2 || failed=1
elapsed "tests run"

echo "dwellog: format check"
git ls-files '*.cpp' '*.hpp' | xargs clang-format --dry-run -Werror || failed=1

echo "dwellog: building what parses and stores with address and undefined-behaviour sanitizers"
configure_and_build build/sanitize -DDWELLOG_TESTS=ON $full -DDWELLOG_SANITIZE=ON -DCMAKE_BUILD_TYPE=Debug
ctest --test-dir build/sanitize --output-on-failure -j2 -LE whole_program || failed=1
elapsed "sanitized tests run"

if [ $long = yes ]; then
  . tests/long.sh
else
  echo "dwellog: not run here, only with --long: clang++ build, thread sanitizer, clang-tidy, the 50 + 50 kills and cuts, long random campaigns"
fi
[ $failed = 0 ] || { echo "dwellog: tests FAILED" >&2; exit 1; }
elapsed "all passed"
