#!/bin/sh
# sh tests/accuracy/digits.sh [--build .build/accuracy] [--update]
#
# How many digits do our statistics and distribution functions have, and those of others? NIST's certified sets for all
# sides in one run, then the distribution functions on a grid of mpmath's values. Prints versions and tables in Markdown,
# with --update into docs/accuracy.md as well; progress goes to the standard error. Exit status 1 where a peer has more
# certified digits than ours or a function falls short of what its header promises. Installs what it needs on Debian 12.
set -eu
cd "$(dirname "$0")/../.."
. cli/packages.sh
. tests/page_part.sh

here=tests/accuracy
page=docs/accuracy.md
python="/usr/bin/python3 -B"

folder=.build/accuracy update=false
while [ $# -gt 0 ]; do
  case $#:$1 in
    1:--build) stop "$1 needs a value" ;;
    *:--build) folder=$2 && shift ;;
    *:--update) update=true ;;
    *) stop "Unknown: $1" ;;
  esac
  shift
done

{
  # shellcheck disable=SC2086
  need_packages $build_packages $test_packages r-base-core python3-statsmodels
  say "Build:    $folder"
  configure "$folder" -DCMAKE_BUILD_TYPE=Release -DSHOTASSAY_TESTS=ON
  build "$folder" --target accuracy
} >&2
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
references="data/reference/distributions.csv data/reference/gamma.csv"
missed=0

versions() {
  compiler=$(sed -n 's/^CMAKE_CXX_COMPILER:[A-Z]*=//p' "$folder/CMakeCache.txt")
  say "- Ours: $("$compiler" --version | head -n 1), CMake's Release build, $(uname -m)"
  say "- R $(Rscript --vanilla -e 'cat(format(getRversion()))')"
  $python -c 'import platform, numpy, scipy, statsmodels
print(f"- SciPy {scipy.__version__}, NumPy {numpy.__version__}, statsmodels {statsmodels.__version__} on Python",
      platform.python_version())'
  say
}

say "Certified sets" >&2
mkdir "$scratch/sets"
$python "$here/sets.py" "$scratch/sets"
"$folder/tests/shotassay_certified" "$scratch"/sets/*.csv >"$scratch/ours"
# R warns that some sets lie nearly on a plane, which is what they are for.
Rscript --vanilla "$here/certified.R" "$scratch"/sets/*.csv >"$scratch/R" 2>"$scratch/warnings"
$python "$here/certified.py" "$scratch"/sets/*.csv >"$scratch/python"
{
  versions
  $python "$here/tables.py" digits "$scratch/ours" "$scratch/R" "$scratch/python" || missed=1
} >"$scratch/certified"

say "Distribution functions (SciPy's take a minute)" >&2
"$folder/tests/shotassay_distributions" distributions.csv gamma.csv >"$scratch/ours"
# The names are words of our own list, meant to be split.
# shellcheck disable=SC2086
{
  Rscript --vanilla "$here/distributions.R" $references >"$scratch/R"
  $python "$here/distributions.py" $references >"$scratch/python"
  $python "$here/tables.py" distributions $references "$scratch/ours" "$scratch/R" "$scratch/python" \
    >"$scratch/distributions" || missed=1
}

say "Power of Welch's test (a minute)" >&2
"$folder/tests/shotassay_power_errors" 2 >"$scratch/power_errors"

for topic in certified distributions power_errors; do
  cat "$scratch/$topic"
  say
  if ! $update; then continue; fi
  case $topic in power_errors) page=docs/methods/welch_power.md ;; esac
  put_part "$page" digits.sh "$topic" "$scratch/$topic"
done
exit "$missed"
