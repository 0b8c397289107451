#!/bin/sh
# sh tests/package/bare_install.sh [BUILD]   as root: makes the Debian packages from a finished build (.build/release),
# installs them on a bare Debian 12 in a folder of its own, uses them there as a reader of README.md would, and removes
# them. Takes some minutes and asks the Debian archive for packages.
set -eu
cd "$(dirname "$0")/../.."
root=$(pwd -P)
cd "$root"
. cli/packages.sh

build=${1-.build/release}
[ "$(id -u)" -eq 0 ] || stop "bare_install: only root can make a bare system; run it as root"
[ -x "$build/shotassay" ] || stop "bare_install: nothing is built in $build; sh tests/run-all.sh builds"
need_packages dpkg-dev file mmdebstrap
# The folder is entered by apt's own user too.
work=$(mktemp -d)
chmod 755 "$work"
trap 'rm -rf "$work"' EXIT
trap 'exit 1' HUP INT TERM

say "Packages: made from $build"
quietly bare-cpack cpack -G DEB --config "$build/CPackConfig.cmake" -B "$work/packages" \
  -D CPACK_DEBIAN_COMPRESSION_TYPE=gzip

say "System:   Debian 12, minbase"
# From where this machine has its packages, the way it asks for them.
set --
for settings in /etc/apt/apt.conf.d/*; do
  if grep -q '^ *Acquire' "$settings" 2>/dev/null; then set -- "$@" "--aptopt=$settings"; fi
done
for sources in /etc/apt/sources.list /etc/apt/sources.list.d/debian.sources; do
  if [ -s "$sources" ]; then set -- "$@" bookworm "$work/system" "$sources" && break; fi
done
quietly bare-system mmdebstrap --quiet --variant=minbase "$@"

# inside COMMAND: run by the bare system's shell; what it prints is shown, what fails ends the script.
inside() { chroot "$work/system" env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C.UTF-8 HOME=/root TERM=dumb sh -euc "$1"; }
install_there() {
  quietly bare-install inside "export DEBIAN_FRONTEND=noninteractive; apt-get install --yes --no-install-recommends $*"
}
# expect WHAT COMMAND PATTERN: what COMMAND prints in the bare system has a line that fits.
expect() {
  told=$(inside "$2" 2>&1) || stop "bare_install: $1 failed
$told"
  printf '%s\n' "$told" | grep -q -e "$3" || stop "bare_install: $1: no \"$3\" in
$told"
  say "OK:       $1"
}
there() { inside "dpkg-query --show --showformat='\${Package}\n'" | LC_ALL=C sort; }

# Its maker leaves it without a list of what there is to install.
quietly bare-update inside "apt-get update"

mkdir "$work/system/packages"
cp "$work"/packages/*.deb "$work/system/packages"
there >"$work/before"
install_there '/packages/shotassay_*.deb'
there >"$work/after"
say "Program:  installed, with $(LC_ALL=C comm -13 "$work/before" "$work/after" | tr '\n' ' ')"
expect "a sheet is compared" "shotassay compare /usr/share/doc/shotassay/examples/bowstrings.csv" \
  '^With 18 strands the arrows flew 4\.2 fps slower than with 14 strands'
expect "every library is there" "! ldd /usr/bin/shotassay | grep 'not found'; echo none is missing" '^none is missing$'

install_there man-db bash-completion zsh fish
expect "the manual page is found" "man -w shotassay" '^/usr/share/man/man1/shotassay\.1\.gz$'
expect "a command's page is shown" "MANWIDTH=80 man shotassay-compare" '^ *shotassay compare \[OPTION'
expect "apropos knows it" "mandb --quiet; apropos chronograph" '^shotassay (1)'
expect "bash loads the completion" "bash -c '. /usr/share/bash-completion/bash_completion
  _completion_loader shotassay; complete -p shotassay'" '^complete -F _shotassay shotassay$'
# The variable is zsh's.
# shellcheck disable=SC2016
expect "zsh loads the completion" 'zsh -fc "autoload -Uz compinit; compinit -u; print \$_comps[shotassay]"' '^_shotassay$'
expect "fish completes" "fish -c \"complete -C 'shotassay co'\"" '^compare'

install_there g++ '/packages/libshotassay-dev_*.deb'
if there | grep -q -e '^libboost' -e eigen -e libfmt -e nlohmann -e random123 -e cli11 -e '^cmake' -e doctest; then
  stop "bare_install: the library has brought packages that a user does not need"
fi
# The back quotes are those of README.md.
# shellcheck disable=SC2016
sed -n '/^```cpp$/,/^```$/p' README.md | sed '1d;$d' >"$work/system/root/main.cpp"
[ -s "$work/system/root/main.cpp" ] || stop "bare_install: README.md shows no program"
# shellcheck disable=SC2016
printed=$(sed -n '/^```text$/,/^```$/p' README.md | sed '1d;$d')
expect "the program of README.md, with g++ alone" "cd && g++ -std=c++20 main.cpp -lshotassay -o main && ./main" "^$printed\$"

quietly bare-remove inside "apt-get purge --yes shotassay libshotassay-dev"
left=$(inside "find / -xdev -path /proc -prune -o -path /packages -prune -o -name '*shotassay*' -print | grep -v /var/cache/man || :")
[ -z "$left" ] || stop "bare_install: removed, yet there remain
$left"
say "OK:       removed, and nothing is left"
