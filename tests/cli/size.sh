#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The verbs size, compare and reference: exit codes, words, JSON, width, lost output.   size.sh OILWRIGHT SOURCE_ROOT
. "$2/tests/support/check.sh"

van=$root/examples/orchard-van.yaml
lift=$root/examples/orchard-van-lift-pump.yaml
blend=$root/examples/van-blend.yaml
pickup=$root/examples/pickup-two-tanks.yaml

check "size help" 0 "ready in 90 s at -10 degC" "$ow" size --help
check "size without rig" 2 "which rig file" "$ow" size --for "no air"
check "size without target" 2 "for what target" "$ow" size "$van"
check "size, target unknown" 2 "is no target" "$ow" size "$van" --for "warm feet"
check "size, choice unknown" 2 "did you mean boost chamber" "$ow" size "$van" --for "no air" --vary "bost chamber.power"
check "size, option unknown" 2 "did you mean --vary" "$ow" size "$van" --for "no air" --very "boost chamber.power"
check "size, --by wrong" 2 "cost or change" "$ow" size "$van" --for "no air" --by luck
check "size, --point wrong" 2 "above 0" "$ow" size "$van" --for "no air" --point 0
check "size, no file" 2 "nowhere.yaml" "$ow" size "$dir/nowhere.yaml" --for "no air"
check "size, found" 0 "changes* do" "$ow" size "$van" --for "ready in 90 s at -10 degC" --vary "boost chamber.power" \
    --vary "boost chamber.metal mass"
narrow "size, found" 100
grep -q "Which limit binds" "$dir/out" || fail "size says which limit binds"
grep -q "=>" "$dir/out" || fail "size marks the answer on the front"
grep -q "Caution" "$dir/out" || fail "size shows cautions"
check "size, as it is" 0 "Nothing has to change" "$ow" size "$van" --for "ready in 3 min" --vary "boost chamber.power" --no-front
check "size, impossible" 1 "Not possible" "$ow" size "$van" --for "ready in 3 s at -20 degC" --vary "boost chamber.power"
check "size, derived" 1 "supply line.bore" "$ow" size "$lift" --for "no air at -5 degC"
check "size, US units" 0 "14 degF" "$ow" size "$van" --for "ready in 3 min at 14 degF" --vary "boost chamber.power" --units us
check "size, JSON" 0 '"outcome": "found"' "$ow" size "$blend" --for "all limits at -10 degC" --vary "oil.blend=diesel" --json
check "size, --set" 0 "" "$ow" size "$van" --for "no air" --vary "supply hose.bore" --set "climate.ambient=5 degC" --quiet

check "compare help" 0 "side by side" "$ow" compare --help
check "compare one" 2 "Two at least" "$ow" compare "$van"
check "compare too many" 2 "at most 8" "$ow" compare "$van" "$van" "$van" "$van" "$van" "$van" "$van" "$van" "$van"
check "compare, no file" 2 "nowhere.yaml" "$ow" compare "$van" "$dir/nowhere.yaml"
check "compare two" 0 "is best in" "$ow" compare "$van" "$lift"
narrow "compare two" 100
check "compare four" 0 "parts without a way round" "$ow" compare "$van" "$lift" "$pickup" "$blend" --soak "0 degC" --units us
narrow "compare four" 100
check "compare, none holds" 1 "" "$ow" compare "$lift" "$lift" --soak "-10 degC" --set "climate.ambient=-10 degC"
check "compare, JSON" 0 '"single_points"' "$ow" compare "$van" "$pickup" --json
check "compare, drive" 0 "They tie" "$ow" compare "$van" "$van" --drive legs
check "compare, cycle" 1 "They tie" "$ow" compare "$lift" "$lift" --drive nedc
check "compare, drive wrong" 2 "" "$ow" compare "$van" "$van" --drive round

# The committed reference is what the program writes.
check "reference" 0 "# The rig file" "$ow" reference
cmp -s "$dir/out" "$root/docs/rig-file.md" || fail "docs/rig-file.md is stale: oilwright reference >docs/rig-file.md"
check "reference with an argument" 2 "what is .all" "$ow" reference all
check "reference cost" 0 "# The cost file" "$ow" reference cost
cmp -s "$dir/out" "$root/docs/cost-file.md" || fail "docs/cost-file.md is stale: oilwright reference cost >docs/cost-file.md"

if [ -c /dev/full ]; then
    for verb in "reference" "compare $van $lift" "size $van --for no_air"; do
        # shellcheck disable=SC2086
        set -- $(echo "$verb")
        [ "$1" = size ] && set -- size "$van" --for "no air" --vary "supply hose.bore" --no-front
        "$ow" "$@" >/dev/full 2>"$dir/err"
        [ $? -eq 3 ] || fail "$1 onto a full disk"
    done
fi
[ "$failed" -eq 0 ] && echo "all passed"
exit "$failed"
