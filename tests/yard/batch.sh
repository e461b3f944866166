#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# `oilwright batch` at the command line: exit codes, words, JSON, wrong calls, the reference.   batch.sh OILWRIGHT SOURCE_ROOT
set -u
ow=$1
root=$2
yard=$root/examples/orchard-yard.yaml
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
failed=0
export LC_ALL=C

# check NAME CODE TEXT CALL...: this exit code, and TEXT in stdout or stderr.
check() {
    name=$1
    code=$2
    text=$3
    shift 3
    "$ow" "$@" >"$dir/out" 2>"$dir/err"
    got=$?
    if [ "$got" -ne "$code" ]; then
        echo "FAILED $name: exit $got, wanted $code"
        head -5 "$dir/err"
        failed=1
    elif ! cat "$dir/out" "$dir/err" | grep -q -e "$text"; then
        echo "FAILED $name: no \"$text\" in"
        cat "$dir/out" "$dir/err" | head -12
        failed=1
    fi
}

check "good" 0 "come out dry and clean" batch "$yard"
check "cautions" 0 "Never leave heat on" batch "$yard"
check "decision" 0 "by its tests: rework" batch "$yard"
check "us" 0 "US gal" batch "$yard" --units us
check "litres" 0 "of 100 L come out" batch "$yard" --litres 100
check "litres with a unit" 0 "of 40 US gal come" batch "$yard" --litres "40 US gal" --units us
check "too many litres" 1 "% full" batch "$yard" --litres 400
check "week" 0 "What comes in sets the pace" batch "$yard" --week
check "week, labour" 0 "labour *[1-9]" batch "$yard" --week --set prices.labour=15
check "week, no labour" 0 "not counted" batch "$yard" --week
check "week, drums" 0 "holds it up" batch "$yard" --week --set week.pick-ups=20 --set "week.pick-up takes=1 min"
check "no cut-out" 1 "without a cut-out" batch "$yard" --set kettle.cut-out=no
check "humid air" 1 "too humid" batch "$yard" --set "climate.humidity=100 %" --set "climate.outdoor=30 degC" \
    --set "air drying.at=31 degC"
check "too hot" 1 "steam" batch "$yard" --set "air drying.at=120 degC"
check "rejected" 1 "reject" batch "$yard" --set "tests.acid value=12"
check "json" 0 '"format": "oilwright-batch"' batch "$yard" --json
check "json of a failure" 1 '"key": "cut_out"' batch "$yard" --json --set kettle.cut-out=no
if command -v python3 >/dev/null; then
    "$ow" batch "$yard" --json | python3 -c 'import json, sys; json.load(sys.stdin)' || {
        echo "FAILED json: not JSON"
        failed=1
    }
fi
check "help" 0 "Usage: oilwright batch" batch --help
check "help of help" 0 "Usage: oilwright batch" help batch
check "listed" 0 "batch  *a batch of oil" help
check "no file" 2 "which yard file" batch
check "no such file" 2 "cannot be opened" batch "$dir/none.yaml"
check "a rig is no yard" 2 "unknown key \"parts\"" batch "$root/examples/orchard-van.yaml"
check "wrong option" 2 "did you mean --litres" batch "$yard" --litre 3
check "wrong units" 2 "metric or us" batch "$yard" --units imperial
check "wrong litres" 2 "week\|batch" batch "$yard" --litres none
check "wrong set" 2 "did you mean \"kettle\"" batch "$yard" --set kettel.cut-out=no
check "two wrong sets" 2 "not a unit of time" batch "$yard" --set "week.days=9" --set "first rest.for=3 kg"
grep -q "1 to 7" "$dir/err" || {
    echo "FAILED two wrong sets: only one is told"
    failed=1
}

# The committed reference is what the program writes.
check "reference" 0 "# The yard file" reference yard
cmp -s "$dir/out" "$root/docs/yard-file.md" || {
    echo "FAILED docs/yard-file.md is stale: oilwright reference yard >docs/yard-file.md"
    failed=1
}
if [ -c /dev/full ]; then
    for flag in --json --week --units=us; do
        "$ow" batch "$yard" "$flag" >/dev/full 2>"$dir/err"
        [ $? -eq 3 ] || {
            echo "FAILED full disk, $flag"
            failed=1
        }
    done
fi
exit $failed
