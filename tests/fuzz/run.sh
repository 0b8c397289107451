#!/bin/sh
# sh tests/fuzz/run.sh [--seconds N] [HARNESS...]
# Fuzzes each harness (all of them, where none is named) for so many seconds (60), one after the other, on a copy of its
# corpus. Needs clang++ and its libFuzzer and installs them on Debian 12. What is found stands in .build/fuzz/findings;
# the status is then 1.
set -eu
cd "$(dirname "$0")/../.."
. cli/packages.sh

seconds=60
names=
while [ $# -gt 0 ]; do
  case $1 in
    --seconds)
      [ $# -gt 1 ] || stop "--seconds: say how many"
      seconds=$2
      shift
      ;;
    -*) stop "usage: sh tests/fuzz/run.sh [--seconds N] [HARNESS...]" ;;
    *)
      [ -f "tests/fuzz/$1_fuzz.cpp" ] || stop "there is no harness $1"
      names="$names $1"
      ;;
  esac
  shift
done
if [ -z "$names" ]; then
  for harness in tests/fuzz/*_fuzz.cpp; do names="$names $(basename "$harness" _fuzz.cpp)"; done
fi

# shellcheck disable=SC2086
need_packages $build_packages clang libclang-rt-14-dev
say "Build:    .build/fuzz, with clang++, libFuzzer and sanitizers"
configure .build/fuzz -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_FLAGS_RELEASE="-O1 -g1" -DCMAKE_CXX_COMPILER=clang++ \
  -DSHOTASSAY_FUZZ=ON
build .build/fuzz --target fuzz

# copy_corpus HARNESS FOLDER: its own files, and those of data/examples that it reads.
copy_corpus() {
  rm -rf "$2"
  mkdir -p "$2"
  cp "tests/fuzz/corpus/$1/"* "$2"
  case $1 in
    sheet | comparison) cp data/examples/*.csv "$2" ;;
    budget) cp data/examples/*.json "$2" ;;
    claims) cp data/examples/claims.csv "$2" ;;
  esac
}

# What libFuzzer's log says of edges covered, executions and memory.
last_coverage() { sed -n 's/.*cov: \([0-9]*\).*/\1/p' "$1" | tail -n 1; }
statistic() { sed -n "s/^stat::$2: *//p" "$1"; }

found=0
mkdir -p .build/fuzz/findings .build/log
for name in $names; do
  log=.build/log/fuzz-$name
  copy_corpus "$name" ".build/fuzz/corpus-$name"
  status=0
  UBSAN_OPTIONS=print_stacktrace=1 ".build/fuzz/shotassay_${name}_fuzz" -seed=1 -max_len=4096 -timeout=20 \
    -rss_limit_mb=4096 -max_total_time="$seconds" -print_final_stats=1 -dict="tests/fuzz/$name.dict" \
    -artifact_prefix=".build/fuzz/findings/$name-" ".build/fuzz/corpus-$name" >"$log" 2>&1 || status=$?
  line="$name: $(statistic "$log" number_of_executed_units) executions, $(last_coverage "$log") edges, seed 1"
  if [ "$status" -eq 0 ]; then
    say "Fuzz:     $line, nothing found"
  else
    found=1
    say "Fuzz:     $line, FOUND: see $log and .build/fuzz/findings"
  fi
done
exit "$found"
