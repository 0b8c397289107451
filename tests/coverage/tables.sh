#!/bin/sh
# sh tests/coverage/tables.sh [--quick] [--update] [--build .build/coverage] [--tests 25000] [--seed 1] [--threads 1] [TABLE...]
#
# How often does each interval hold the truth? Makes the tables of docs/coverage.md, all of them if none is named, and
# prints them; with --update into the page as well. --quick draws few tests and is for seeing that everything runs.
# The same bytes for any number of threads. Installs what it needs on Debian 12. Not an everyday test.
set -eu
cd "$(dirname "$0")/../.."
. cli/packages.sh
. tests/page_part.sh

page=docs/coverage.md
folder=.build/coverage tests=25000 seed=1 threads=1 quick=false update=false named=
while [ $# -gt 0 ]; do
  case $#:$1 in
    1:--build | 1:--tests | 1:--seed | 1:--threads) stop "$1 needs a value" ;;
    *:--build) folder=$2 && shift ;;
    *:--tests) tests=$2 && shift ;;
    *:--seed) seed=$2 && shift ;;
    *:--threads) threads=$2 && shift ;;
    *:--quick) quick=true tests=100 ;;
    *:--update) update=true ;;
    *) named="$named $1" ;;
  esac
  shift
done
if $quick && $update; then stop "--quick draws too few tests for the page"; fi

{
  # shellcheck disable=SC2086
  need_packages $build_packages $test_packages
  say "Build:    $folder"
  configure "$folder" -DCMAKE_BUILD_TYPE=Release -DSHOTASSAY_TESTS=ON
  build "$folder" --target shotassay_interval_coverage
} >&2
program=$folder/tests/shotassay_interval_coverage
if [ -z "$named" ]; then
  named=$(sed -n 's/^<!-- made by tables.sh \(.*\) -->$/\1/p' "$page")
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
for table in $named; do
  say "Table:    $table" >&2
  nice -n 19 "$program" "$table" "$tests" "$seed" "$threads" >"$scratch/result" 2>"$scratch/checks"
  # How far the simulation is from sums over every outcome, where there are such sums.
  sed 's/^/  /' "$scratch/checks" >&2
  say
  cat "$scratch/result"
  if $update; then
    put_part "$page" tables.sh "$table" "$scratch/result"
  fi
done
