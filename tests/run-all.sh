#!/bin/sh
# sh tests/run-all.sh            Release build and all tests.
# sh tests/run-all.sh --checks   formatting, shell scripts, headers alone, the tests again by clang++ with sanitizers.
# sh tests/run-all.sh --deep     what takes hours: wrong lines, accuracy, coverage, speed, fuzzing, memcheck; see docs.
# Each installs what it needs on Debian 12; the first two end with the lines of ctest. The third writes its tables into
# docs, goes on when a part fails and tells at the end which did.
set -eu
cd "$(dirname "$0")/.."
root=$(pwd -P)
cd "$root"
. cli/packages.sh

# The slowest test takes seconds in a Release build; under sanitizers it is given room, and then it is stuck.
run_tests() { ctest --test-dir "$1" --output-on-failure --timeout 1200 -j2; }

tests_in_release() {
  say "Build:    .build/release, with tests"
  configure .build/release -DCMAKE_BUILD_TYPE=Release -DSHOTASSAY_TESTS=ON
  build .build/release
  run_tests .build/release
}

our_files() { find cli lib tests -name '*.[ch]pp' -type f | LC_ALL=C sort; }

formatting() {
  our_files | quietly formatting xargs clang-format --dry-run --Werror --ferror-limit=1
  say "Format:   OK, $(our_files | wc -l) C++ files"
}

shell_scripts() {
  scripts=$(find cli tests .ci \( -name '*.sh' -o -path .ci/run \) -type f | LC_ALL=C sort)
  for script in $scripts; do
    case $script in
      *.sh) quietly shell sh -n "$script" ;;
      *) quietly shell bash -n "$script" ;;
    esac
  done
  # shellcheck disable=SC2086
  quietly shell shellcheck --external-sources $scripts
  say "Shell:    OK, $(printf '%s\n' "$scripts" | wc -l) scripts"
}

headers_alone() {
  for compiler in g++ clang++; do
    (cd lib/include && find shotassay -name '*.hpp' | LC_ALL=C sort) | quietly "headers-$compiler" \
      xargs -P "$(nproc)" -n 1 sh tests/structure/header_alone.sh "$compiler"
    say "Headers:  OK, each compiles alone with $compiler"
  done
}

# The other compiler and the sanitizers in one build: each would find its own faults alone as well, in twice the time.
tests_under_clang_and_sanitizers() {
  say "Build:    .build/sanitize, with clang++, address and undefined-behaviour sanitizers"
  # No NDEBUG: assertions of the standard library and of Eigen are part of the check.
  configure .build/sanitize -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_FLAGS_RELEASE="-O1 -g1 -D_GLIBCXX_ASSERTIONS" \
    -DCMAKE_CXX_COMPILER=clang++ -DSHOTASSAY_SANITIZE=ON -DSHOTASSAY_TESTS=ON
  build .build/sanitize
  UBSAN_OPTIONS=print_stacktrace=1 run_tests .build/sanitize
}

clang_tidy() {
  configure .build/tidy -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_EXPORT_COMPILE_COMMANDS=ON
  find cli lib -name '*.cpp' -type f | LC_ALL=C sort |
    quietly tidy xargs -P "$(nproc)" -n 4 clang-tidy --quiet -p .build/tidy
  say "Tidy:     OK, with the checks of .clang-tidy"
}

wrong_lines() {
  /usr/bin/python3 -B tests/mutation/mutate.py --library .build/release/lib/libshotassay.a --jobs "$(nproc)" --update
}

# part NAME COMMAND...: runs it, says how long it took, remembers a failure.
part() {
  name=$1
  shift
  say "Part:     $name"
  began=$(date +%s)
  if ("$@"); then outcome=OK; else outcome=FAILED failed="$failed $name"; fi
  say "Part:     $name: $outcome after $((($(date +%s) - began + 30) / 60)) minutes"
}

deep() {
  failed=
  part tests tests_in_release
  # Speed first, while nothing else has warmed the machine; then what ends within minutes, then what takes hours.
  part speed sh tests/bench/beside.sh --update all
  part accuracy sh tests/accuracy/digits.sh --update
  part clang-tidy clang_tidy
  if [ "$(id -u)" -eq 0 ]; then
    part bare-install sh tests/package/bare_install.sh
  else
    say "Part:     bare-install: left out, only root can make a bare system"
  fi
  part wrong-lines wrong_lines
  part coverage sh tests/coverage/tables.sh --update --threads "$(nproc)"
  part simulated-anew /usr/bin/python3 -B tests/coverage/interval_check.py
  part fuzzing sh tests/fuzz/run.sh --seconds 1800
  part memcheck sh tests/cli/under_valgrind.sh
  if [ -n "$failed" ]; then stop "Failed:  $failed"; fi
}

case $#:${1-} in
  0:) packages="$build_packages $test_packages" ;;
  1:--checks) packages="$build_packages $test_packages $check_packages" ;;
  1:--deep) packages="$build_packages $test_packages $check_packages $deep_packages" ;;
  *)
    say "usage: sh tests/run-all.sh [--checks | --deep]" >&2
    exit 2
    ;;
esac
# shellcheck disable=SC2086
need_packages $packages
need_locale de_DE

case ${1-} in
  --checks)
    formatting
    shell_scripts
    headers_alone
    tests_under_clang_and_sanitizers
    ;;
  --deep) deep ;;
  *) tests_in_release ;;
esac
