#!/bin/sh
# sh tests/run-all.sh            Release build and all tests.
# sh tests/run-all.sh --checks   formatting, shell scripts, headers alone, sanitizers, the tests again under Clang.
# Both install what they need on Debian 12 and end with the lines of ctest.
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

sanitizers() {
  say "Build:    .build/sanitize, address and undefined-behaviour sanitizers"
  # No NDEBUG: assertions of the standard library and of Eigen are part of the check.
  configure .build/sanitize -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_FLAGS_RELEASE="-O1 -g1 -D_GLIBCXX_ASSERTIONS" \
    -DCMAKE_CXX_COMPILER=g++ -DSHOTASSAY_SANITIZE=ON -DSHOTASSAY_TESTS=ON
  build .build/sanitize
  UBSAN_OPTIONS=print_stacktrace=1 run_tests .build/sanitize
}

tests_under_clang() {
  say "Build:    .build/clang, with clang++"
  configure .build/clang -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_COMPILER=clang++ -DSHOTASSAY_TESTS=ON
  build .build/clang
  run_tests .build/clang
}

case $#:${1-} in
  0:) packages="$build_packages $test_packages" ;;
  1:--checks) packages="$build_packages $test_packages $check_packages" ;;
  *)
    say "usage: sh tests/run-all.sh [--checks]" >&2
    exit 2
    ;;
esac
# shellcheck disable=SC2086
need_packages $packages
need_locale de_DE

if [ "${1-}" = --checks ]; then
  formatting
  shell_scripts
  headers_alone
  sanitizers
  tests_under_clang
else
  tests_in_release
fi
