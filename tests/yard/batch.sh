#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# `oilwright batch` at the command line: exit codes, words, JSON, wrong calls, the reference.   batch.sh OILWRIGHT SOURCE_ROOT
. "$2/tests/support/check.sh"
yard=$root/examples/orchard-yard.yaml

check "good" 0 "come out dry and clean" "$ow" batch "$yard"
check "cautions" 0 "Never leave heat on" "$ow" batch "$yard"
check "decision" 0 "by its tests: rework" "$ow" batch "$yard"
check "us" 0 "US gal" "$ow" batch "$yard" --units us
check "litres" 0 "of 100 L come out" "$ow" batch "$yard" --litres 100
check "litres with a unit" 0 "of 40 US gal come" "$ow" batch "$yard" --litres "40 US gal" --units us
check "too many litres" 1 "% full" "$ow" batch "$yard" --litres 400
check "week" 0 "What comes in sets the pace" "$ow" batch "$yard" --week
check "week, labour" 0 "labour *[1-9]" "$ow" batch "$yard" --week --set prices.labour=15
check "week, no labour" 0 "not counted" "$ow" batch "$yard" --week
check "week, drums" 0 "holds it up" "$ow" batch "$yard" --week --set week.pick-ups=20 --set "week.pick-up takes=1 min"
check "no cut-out" 1 "without a cut-out" "$ow" batch "$yard" --set kettle.cut-out=no
check "humid air" 1 "too humid" "$ow" batch "$yard" --set "climate.humidity=100 %" --set "climate.outdoor=30 degC" \
    --set "air drying.at=31 degC"
check "too hot" 1 "steam" "$ow" batch "$yard" --set "air drying.at=120 degC"
check "rejected" 1 "reject" "$ow" batch "$yard" --set "tests.acid value=12"
check "json" 0 '"format": "oilwright-batch"' "$ow" batch "$yard" --json
check "json of a failure" 1 '"key": "cut_out"' "$ow" batch "$yard" --json --set kettle.cut-out=no
if command -v python3 >/dev/null; then
    "$ow" batch "$yard" --json | python3 -c 'import json, sys; json.load(sys.stdin)' || {
        fail "json: not JSON"
    }
fi
check "help" 0 "Usage: oilwright batch" "$ow" batch --help
check "help of help" 0 "Usage: oilwright batch" "$ow" help batch
check "listed" 0 "batch  *a batch of oil" "$ow" help
check "no file" 2 "which yard file" "$ow" batch
check "no such file" 2 "cannot be opened" "$ow" batch "$dir/none.yaml"
check "a rig is no yard" 2 "unknown key \"parts\"" "$ow" batch "$root/examples/orchard-van.yaml"
check "wrong option" 2 "did you mean --litres" "$ow" batch "$yard" --litre 3
check "wrong units" 2 "metric or us" "$ow" batch "$yard" --units imperial
check "wrong litres" 2 "week\|batch" "$ow" batch "$yard" --litres none
check "wrong set" 2 "did you mean \"kettle\"" "$ow" batch "$yard" --set kettel.cut-out=no
check "two wrong sets" 2 "not a unit of time" "$ow" batch "$yard" --set "week.days=9" --set "first rest.for=3 kg"
grep -q "1 to 7" "$dir/err" || {
    fail "two wrong sets: only one is told"
}

# The committed reference is what the program writes.
check "reference" 0 "# The yard file" "$ow" reference yard
cmp -s "$dir/out" "$root/docs/yard-file.md" || {
    fail "docs/yard-file.md is stale: oilwright reference yard >docs/yard-file.md"
}
if [ -c /dev/full ]; then
    for flag in --json --week --units=us; do
        "$ow" batch "$yard" "$flag" >/dev/full 2>"$dir/err"
        [ $? -eq 3 ] || {
            fail "full disk, $flag"
        }
    done
fi
exit $failed
