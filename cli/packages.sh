# shellcheck shell=sh
# Sourced by cli/first-run.sh and tests/run-all.sh, with the source root as current directory: which Debian packages
# the project stands on, how they are put in place, and how a step is run without its noise.

# Read by the scripts that source this file.
# shellcheck disable=SC2034
{
  build_packages="cmake g++ make libboost-dev libeigen3-dev libcli11-dev libfmt-dev nlohmann-json3-dev librandom123-dev
    libmuparser-dev"
  test_packages="doctest-dev r-base-core r-cran-jsonlite r-cran-boot python3 python3-numpy python3-scipy python3-mpmath
    python3-jsonschema locales chromium poppler-utils tidy dpkg-dev file pkgconf mandoc zsh fish"
  check_packages="clang libclang-rt-14-dev clang-format shellcheck"
  deep_packages="clang-tidy"
}

say() { printf '%s\n' "$*"; }
stop() {
  printf '%s\n' "$*" >&2
  exit 1
}

# quietly NAME COMMAND...: what the command prints goes to .build/log/NAME and is shown when the command fails.
quietly() {
  log=.build/log/$1
  shift
  if ! mkdir -p .build/log 2>/dev/null || ! rm -f "$log" 2>/dev/null || [ ! -w .build/log ]; then
    stop "Cannot write in $PWD/.build, where everything is built."
  fi
  if "$@" >"$log" 2>&1; then return 0; fi
  cat "$log" >&2
  stop "Failed: $*"
}

missing_packages() {
  for package; do
    case $(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null) in
      installed*) ;;
      *) printf ' %s' "$package" ;;
    esac
  done
}

# What to put before a command so that it runs as root: nothing, or sudo; fails when there is no way.
root_prefix() {
  if [ "$(id -u)" -eq 0 ]; then return 0; fi
  command -v sudo >/dev/null && printf sudo
}

# need_packages PACKAGE...: installs those that are missing, or says how to and stops.
need_packages() {
  missing=$(missing_packages "$@")
  if [ -z "$missing" ]; then
    say "Packages: all $# in place"
    return 0
  fi
  say "Packages: missing$missing"
  if ! command -v apt-get >/dev/null; then
    stop "There is no apt-get here to install them with. On Debian 12 the command is
    apt-get install --no-install-recommends$missing
On another system install what corresponds, then build with
    cmake -S . -B .build/release && cmake --build .build/release"
  fi
  if ! prefix=$(root_prefix); then
    stop "Installing them needs root, and there is no sudo here. As root:
    apt-get update && apt-get install --no-install-recommends$missing"
  fi
  say "Packages: installing them (apt-get, takes a minute or more)"
  # The names are words of our own lists and sudo may be absent: both are meant to be split. A source that cannot be
  # refreshed need not matter; if it does, the installation says so.
  # shellcheck disable=SC2086
  {
    $prefix apt-get update >/dev/null 2>&1 || :
    quietly packages $prefix env DEBIAN_FRONTEND=noninteractive \
      apt-get install --yes --no-install-recommends $missing
  }
}

# need_locale NAME SOURCE: the locale of that name exists or is made.
need_locale() {
  if locale -a 2>/dev/null | grep -qi "^$1\.utf-\{0,1\}8\$"; then return 0; fi
  if ! prefix=$(root_prefix); then
    stop "The locale $1.UTF-8 is missing, and making it needs root. As root:
    localedef -i $1 -f UTF-8 $1.UTF-8"
  fi
  say "Locale: making $1.UTF-8"
  # shellcheck disable=SC2086
  quietly locale $prefix localedef -i "$1" -f UTF-8 "$1.UTF-8"
}

# configure FOLDER OPTION...: makes the folder a CMake build of this tree; one left over from another place is made anew.
configure() {
  folder=$1
  shift
  if [ -f "$folder/CMakeCache.txt" ] && ! grep -qxF "CMAKE_HOME_DIRECTORY:INTERNAL=$PWD" "$folder/CMakeCache.txt"; then
    rm -rf "$folder"
  fi
  quietly "configure-$(basename "$folder")" cmake -S . -B "$folder" "$@"
}

# build FOLDER [OPTION...]
build() {
  folder=$1
  shift
  quietly "build-$(basename "$folder")" cmake --build "$folder" --parallel "$(nproc)" "$@"
}
