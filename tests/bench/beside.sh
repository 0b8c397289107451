#!/bin/sh
# sh tests/bench/beside.sh [--rounds 5] [--build .build/bench] [--update] TOPIC... | all
#
# How long do ours and what others use take for the same question? TOPIC.lines says what is compared. In each round
# every question is put to each side in turn, backwards in every second round; a side is warmed up first and its start
# is not counted. Topic growth has no peer: growth.py lets time and memory grow. Prints machine, versions and a table in
# Markdown, with --update into docs/performance.md as well; progress goes to the standard error. Installs what it needs
# on Debian 12. Not an everyday test.
set -eu
cd "$(dirname "$0")/../.."
. cli/packages.sh
. tests/page_part.sh

seconds=0.2 # of CPU time for each measurement
here=tests/bench
page=docs/performance.md
python="/usr/bin/python3 -B"

all="process methods plan audit_table growth"
rounds=5 folder=.build/bench update=false topics=
while [ $# -gt 0 ]; do
  case $#:$1 in
    1:--rounds | 1:--build) stop "$1 needs a value" ;;
    *:--rounds) rounds=$2 && shift ;;
    *:--build) folder=$2 && shift ;;
    *:--update) update=true ;;
    *:all) topics="$topics $all" ;;
    *) topics="$topics $1" ;;
  esac
  shift
done
for topic in ${topics:-nothing}; do
  case " $all " in
    *" $topic "*) ;;
    *) stop "Say what to compare: $all, or all" ;;
  esac
done

# ask SIDE QUESTION...: nanoseconds of CPU time for one answer, and the answer.
ask() {
  side=$1
  shift
  case $side in
    ours)
      # Columns: name, iterations, real and CPU time, unit, four that stay empty, whether it failed, why, the answer.
      "$folder/tests/shotassay_${topic}_bench" --benchmark_filter="^$1/process_time\$" \
        --benchmark_min_time="$seconds" --benchmark_format=csv 2>/dev/null |
        awk -F, '/^"/ { print $4, $NF }'
      ;;
    R) Rscript --vanilla "$here/$topic.R" "$1" "$seconds" ;;
    statsmodels | SciPy | NumPy | pandas | Python) $python "$here/$topic.py" "$1" "$seconds" ;;
    process)
      case $1 in
        shotassay) program=$folder/shotassay ;;
        *) program=$folder/tests/shotassay_$1 ;;
      esac
      shift
      $python "$here/process.py" "$seconds" "$program" "$@"
      ;;
    *) stop "$lines names a side that is unknown: $side" ;;
  esac
}

# What is asked, once each, in the order of the lines: a question of ours, then the peers'.
questions() { awk -F'|' '!/^#/ && NF { for (i = 1; i <= 3; i += 2) if (!seen[$i = trim($i)]++) print $i }
  function trim(text) { gsub(/^ +| +$/, "", text); return text }' "$lines"; }

measure() {
  : >"$measured"
  round=1
  while [ "$round" -le "$rounds" ]; do
    say "$topic: round $round of $rounds" >&2
    questions | if [ $((round % 2)) -eq 1 ]; then cat; else tac; fi >"$measured.order"
    while read -r question; do
      # The words of a question are meant to be split.
      # shellcheck disable=SC2086
      result=$(ask $question </dev/null)
      case $result in
        *\ *) printf '%s\t%s\t%s\t%s\n' "$round" "$question" "${result% *}" "${result#* }" >>"$measured" ;;
        *) stop "No answer to: $question" ;;
      esac
    done <"$measured.order"
    round=$((round + 1))
  done
}

load() { cut -d' ' -f1 /proc/loadavg; }

machine() {
  compiler=$(sed -n 's/^CMAKE_CXX_COMPILER:[A-Z]*=//p' "$folder/CMakeCache.txt")
  cpu=$(lscpu | sed -n 's/^Model name: *//p')
  model=$(lscpu | awk '/^CPU family:/ { family = $NF } /^Model:/ { print "family " family ", model " $NF }')
  system=$(sed -n 's/^PRETTY_NAME="\(.*\)"/\1/p' /etc/os-release)
  say "- Machine: $cpu ($model), $(nproc --all) cores, $system; one thread on every side"
  say "- Ours: $("$compiler" --version | head -n 1), CMake's Release build"
  case $topic in
    process | growth) ;;
    *)
      say "- R $(Rscript --vanilla -e 'of <- function(name) paste(name, format(packageVersion(name)))
cat(format(getRversion()), "with", of("boot"), of("coin"), of("data.table"), sep = " ")')"
      $python -c 'import platform, numpy, pandas, scipy, statsmodels
print(f"- Python {platform.python_version()} with NumPy {numpy.__version__}, SciPy {scipy.__version__},",
      f"statsmodels {statsmodels.__version__}, pandas {pandas.__version__}")'
      ;;
  esac
  case $topic in
    growth) say "- once each; load average $load_before before, $(load) after" ;;
    *) say "- $rounds rounds, $seconds s or more of CPU time a measurement; load average $load_before before, $(load) after" ;;
  esac
}

{
  # shellcheck disable=SC2086
  need_packages $build_packages $test_packages libbenchmark-dev r-base-core r-cran-boot r-cran-coin \
    r-cran-data.table python3-statsmodels python3-pandas
  say "Build:    $folder"
  configure "$folder" -DCMAKE_BUILD_TYPE=Release -DSHOTASSAY_TESTS=ON
  build "$folder" --target bench --target shotassay_power_simulation
} >&2
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
measured=$scratch/measured
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
for topic in $topics; do
  lines=$here/$topic.lines
  load_before=$(load)
  if [ "$topic" = growth ]; then
    $python "$here/growth.py" "$folder/shotassay" "$folder/tests/shotassay_power_simulation" >"$scratch/table"
  else
    measure
    $python "$here/table.py" "$lines" "$measured" >"$scratch/table"
  fi
  {
    machine
    say
    cat "$scratch/table"
  } >"$scratch/result"
  cat "$scratch/result"
  $update || continue
  put_part "$page" beside.sh "$topic" "$scratch/result"
done
