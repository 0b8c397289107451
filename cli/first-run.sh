#!/bin/sh
# From a bare Debian 12 to a first answer: packages, a Release build in .build/release, one comparison.
set -eu
cd "$(dirname "$0")/.."
root=$(pwd -P)
cd "$root"
. cli/packages.sh

# shellcheck disable=SC2086
need_packages $build_packages
if [ -x .build/release/shotassay ]; then
  say "Build:    .build/release, where files have changed"
else
  say "Build:    .build/release, for the first time (takes a few minutes)"
fi
configure .build/release -DCMAKE_BUILD_TYPE=Release
build .build/release --target shotassay_program

say "Program:  .build/release/shotassay compare data/examples/bowstrings.csv"
say
.build/release/shotassay compare data/examples/bowstrings.csv
