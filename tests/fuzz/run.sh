#!/usr/bin/env bash
# Fuzzes each target (default 10,000,000 executions, page_requests and job_text a fiftieth), minimises what was
# reached and measures which lines of the parsers it covers. --keep puts the minimised corpus in the
# place of the kept one.
# Exit status: 0 done; 1 a finding, a line coverage below 90 % of a parser, or wrong usage; 4 no build.
set -eu
cd "$(dirname "$0")/../.."
executions=10000000
keep=no
for argument in "$@"; do
  case "$argument" in
    --keep) keep=yes ;;
    *[!0-9]* | "") echo "usage: bash tests/fuzz/run.sh [EXECUTIONS] [--keep]" >&2; exit 1 ;;
    *) executions=$argument ;;
  esac
done
. .ci/packages.sh
install_missing $core_packages $test_packages clang llvm-14 libclang-rt-14-dev

targets="device_requests master_replies register_values page_requests job_text"
parsers="firmware-sim/core/modbus_frame.cpp firmware-sim/core/record_codec.cpp
  firmware-sim/core/probe_box.cpp logger/ingest/box_records.cpp
  logger/ingest/registers/register_map.cpp logger/web/handler/request/target.cpp
  logger/web/handler/request/credentials.cpp logger/app/job/reader/keys/json_tree.cpp
  logger/app/job/reader/keys/key_check.cpp"
longest_input=300  # bytes: any frame, or many records

# build FOLDER PREFIX CMAKE-ARGUMENT...: the program PREFIX_target of each target.
build() {
  folder=$1
  prefix=$2
  shift 2
  mkdir -p build
  launcher=""
  command -v ccache >/dev/null && launcher="-DCMAKE_CXX_COMPILER_LAUNCHER=ccache"
  if ! cmake -S . -B "$folder" -G Ninja $launcher -DCMAKE_CXX_COMPILER=clang++ -DDWELLOG_TESTS=ON "$@" \
      >"$folder.configure.log" 2>&1; then
    echo "dwellog: cmake could not configure $folder, see $folder.configure.log" >&2
    exit 4
  fi
  if ! ninja -C "$folder" $(for target in $targets; do echo "${prefix}_$target"; done); then
    echo "dwellog: the build in $folder failed" >&2
    exit 4
  fi
}

# fuzz TARGET: on top of the kept corpus and of what earlier runs found.
fuzz() {
  found=build/fuzz/corpus/$1
  log=build/fuzz/$1.log
  mkdir -p "$found" build/fuzz/findings
  runs=$executions
  # Each of these is a whole request with files of its own behind it, or a whole job.
  case "$1" in page_requests | job_text) runs=$((executions / 50)) ;; esac
  if ! "build/fuzz/tests/fuzz/fuzz_$1" -runs="$runs" -max_len=$longest_input \
      -artifact_prefix="build/fuzz/findings/$1-" -print_final_stats=1 \
      "$found" "tests/fuzz/corpus/$1" >"$log" 2>&1; then
    grep -E 'property broken|ERROR|runtime error|Test unit written' "$log" >&2 || tail -n 3 "$log" >&2
    echo "dwellog: fuzzing $1 found something, see $log" >&2
    exit 1
  fi
  echo "dwellog: $1: $(sed -n 's/^stat::number_of_executed_units: *//p' "$log") executions," \
    "$(sed -n 's/^stat::average_exec_per_sec: *//p' "$log") a second, no finding"
}

minimise() {
  smallest=build/fuzz/minimised/$1
  rm -rf "$smallest"
  mkdir -p "$smallest"
  "build/fuzz/tests/fuzz/fuzz_$1" -merge=1 -max_len=$longest_input "$smallest" \
    "tests/fuzz/corpus/$1" "build/fuzz/corpus/$1" >"build/fuzz/$1.merge.log" 2>&1
  echo "dwellog: $1: minimised corpus of $(ls "$smallest" | wc -l) inputs," \
    "$(cat "$smallest"/* | wc -c) bytes"
  if [ $keep = yes ]; then
    rm -rf "tests/fuzz/corpus/$1"
    cp -r "$smallest" "tests/fuzz/corpus/$1"
  fi
}

# Debian names the tools with their version, other systems may not.
llvm() {
  tool=$1
  shift
  if command -v "$tool-14" >/dev/null; then "$tool-14" "$@"; else "$tool" "$@"; fi
}

coverage() {
  objects=""
  for target in $targets; do
    LLVM_PROFILE_FILE=build/fuzz/$target.profraw \
      "build/fuzz-coverage/tests/fuzz/replay_$target" "build/fuzz/minimised/$target" >/dev/null
    # llvm-cov takes the first program as it is, the others as -object.
    objects="${objects:+$objects -object }build/fuzz-coverage/tests/fuzz/replay_$target"
  done
  llvm llvm-profdata merge -o build/fuzz/all.profdata $(for target in $targets; do echo "build/fuzz/$target.profraw"; done)
  llvm llvm-cov report $objects -instr-profile=build/fuzz/all.profdata $parsers |
    awk '/\.cpp / { printf "dwellog: %-34s %4d lines, %6s covered\n", $1, $8, $10
                    files++; if ($10 + 0 < 90) low = 1 }
         END { exit low || files == 0 }'
}

build build/fuzz fuzz -DDWELLOG_FUZZ=ON
build build/fuzz-coverage replay -DCMAKE_BUILD_TYPE=Debug \
  -DCMAKE_CXX_FLAGS="-fprofile-instr-generate -fcoverage-mapping"
for target in $targets; do
  fuzz "$target"
  minimise "$target"
done
coverage || { echo "dwellog: a parser is covered below 90 % of its lines" >&2; exit 1; }
