#!/bin/sh
# sh header_alone.sh COMPILER HEADER: does a file that includes nothing but this public header compile, without a warning?
printf '#include <%s>\n' "$2" |
  "$1" -std=c++20 -fsyntax-only -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wnon-virtual-dtor -Werror \
    -I "$(dirname "$0")/../../lib/include" -x c++ -
