#!/bin/sh
# sh tests/cli/under_valgrind.sh [TEST...]
# The tests of the program (all of tests/cli, or those named, such as compare or output) with every run of it under
# valgrind's memcheck: bytes read before they were written, beyond their end or after they were given back, and memory
# that is lost. Takes hours. Needs valgrind and installs it on Debian 12. The status is 1 when valgrind or a test
# complains; what valgrind says stands in .build/valgrind.
set -eu
cd "$(dirname "$0")/../.."
root=$(pwd -P)
. cli/packages.sh

# shellcheck disable=SC2086
need_packages $build_packages $test_packages valgrind
need_locale de_DE
configure .build/release -DCMAKE_BUILD_TYPE=Release -DSHOTASSAY_TESTS=ON
build .build/release --target shotassay_program

tests=$*
if [ -z "$tests" ]; then
  for file in tests/cli/*_test.py; do tests="$tests $(basename "$file" _test.py)"; done
fi
logs=$root/.build/valgrind
complaints='Invalid (read|write|free)|uninitialised|definitely lost|Mismatched free|Source and destination overlap|Jump to'
wrap="valgrind -q"
leaks="--leak-check=full --show-leak-kinds=definite --errors-for-leak-kinds=definite"
failed=0
for name in $tests; do
  rm -rf "${logs:?}/$name"
  mkdir -p "$logs/$name"
  result=passed
  # A run that a signal ends between taking memory and noting where has lost it, and it does not matter.
  case $name in
    interrupted) leak_check=--leak-check=no ;;
    *) leak_check=$leaks ;;
  esac
  log=$logs/$name.tests
  /usr/bin/python3 -B "tests/cli/${name}_test.py" --program .build/release/shotassay \
    --wrap "$wrap $leak_check --error-exitcode=99 --log-file=$logs/$name/%p" >"$log" 2>&1 || result="FAILED: see $log"
  found=$(grep -lEr "$complaints" "$logs/$name" | wc -l)
  say "Valgrind: $name: $(find "$logs/$name" -type f | wc -l) runs, complaints in $found; tests $result"
  if [ "$found" -gt 0 ] || [ "$result" != passed ]; then failed=1; fi
done
exit "$failed"
