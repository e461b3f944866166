#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds the whole simulation again without optimisation and compares every digit of its records.
# usage: digits.sh <optimised program> <source root>; CC is the compiler.
set -eu
program=$1 root=$2
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
# The floating-point options are those of the build; only the optimisation differs.
${CC:-cc} -std=c17 -O0 -w -ffp-contract=off -fno-math-errno -fno-trapping-math -D_POSIX_C_SOURCE=200809L \
    -I"$root/include" -I"$root/src" -I"$root/tests/morning" -o "$dir/digits" \
    "$root/tests/morning/digits.c" "$root/tests/morning/digest.c" "$root/tests/morning/support_rigs.c" \
    "$root"/src/base/*.c "$root"/src/oil/*.c "$root"/src/rig/*.c "$root"/src/flow/*.c "$root"/src/heat/*.c \
    "$root"/src/power/*.c "$root"/src/morning/*.c $(pkg-config --cflags --libs yaml-0.1 gsl) -ludunits2 -lm -lpthread
"$program" >"$dir/fast"
"$dir/digits" >"$dir/plain"
cat "$dir/fast"
diff "$dir/fast" "$dir/plain"
