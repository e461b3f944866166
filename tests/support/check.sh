# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=sh disable=SC2034
# For tests of the command itself, called with OILWRIGHT SOURCE_ROOT and sourcing this: . "$2/tests/support/check.sh"
# Gives $ow, $root, a scratch folder $dir that goes at the end, and the checks below; end with: exit "$failed".
set -u
ow=$1
root=$2
dir=$(mktemp -d) || exit 1
trap 'chmod -R u+rw "$dir"; rm -rf "$dir"' EXIT
failed=0
export LC_ALL=C

fail() { # WORDS
    echo "FAILED $1"
    failed=1
}
# check NAME CODE TEXT CALL...: runs the call, wants this exit code and TEXT, when there is one, in stdout or stderr.
check() {
    name=$1
    code=$2
    text=$3
    shift 3
    "$@" >"$dir/out" 2>"$dir/err"
    got=$?
    if [ "$got" -ne "$code" ]; then
        fail "$name: exit $got, wanted $code"
        head -5 "$dir/err"
    elif [ -n "$text" ] && ! cat "$dir/out" "$dir/err" | grep -q -e "$text"; then
        fail "$name: no \"$text\" in"
        cat "$dir/out" "$dir/err" | head -20
    fi
}
narrow() { # NAME COLUMNS: the last output is ASCII and no wider
    if [ -n "$(tr -d '\n -~' <"$dir/out")" ]; then
        fail "$1: not plain ASCII"
    fi
    widest=$(awk '{ if (length($0) > m) m = length($0) } END { print m + 0 }' "$dir/out")
    [ "$widest" -le "$2" ] || fail "$1: $widest columns"
}
