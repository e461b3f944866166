#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# `oilwright cost` at the command line: exit codes, words, golden report, JSON, CSV, width, lost output.   cost.sh OILWRIGHT ROOT
. "$2/tests/support/check.sh"
cost=$root/examples/orchard-costs.yaml
check "help" 0 "Usage: oilwright cost" "$ow" cost --help
check "help by name" 0 "Usage: oilwright cost" "$ow" help cost
check "no file" 2 "which cost file" "$ow" cost
check "missing file" 2 "cannot be opened" "$ow" cost "$dir/none.yaml"
check "unknown option" 2 "did you mean --samples" "$ow" cost "$cost" --sampels 64
check "samples" 2 "whole number from 64" "$ow" cost "$cost" --samples 12
check "units" 2 "metric or us" "$ow" cost "$cost" --units si
check "two outputs" 2 "both want" "$ow" cost "$cost" --json --csv -
check "dates without a logbook" 2 "give --log too" "$ow" cost "$cost" --from 2026-01-01
check "set, unknown" 2 'did you mean "loss"' "$ow" cost "$cost" --set "yard.los=5 %"
check "set, both told" 2 "out of range" "$ow" cost "$cost" --set "yard.loss=99 %" --set "fuel.diesel price=abc"
grep -q "cannot be read here" "$dir/err" || fail "all changes are told together"
check "set, the yard plan" 2 "with --yard" "$ow" cost "$cost" --set "yard.plan=x.yaml"
check "yard" 0 '"yard": "Yard plan .*orchard yard.*: 10 figures' "$ow" cost "$cost" --json --yard "$root/examples/orchard-yard.yaml"
check "yard missing" 2 "cannot be opened" "$ow" cost "$cost" --yard "$dir/none.yaml"
OILWRIGHT_BOOK=$dir/year.book "$ow" log demo >"$dir/out" || fail "no demo logbook"
check "all vehicles, said so" 0 "all 2 vehicles together" "$ow" cost "$cost" --log "$dir/year.book"
check "one vehicle, said so" 0 "years, orchard van alone" "$ow" cost "$cost" --log "$dir/year.book" --vehicle "orchard van"
# A name given a year later is no year driven.
before=$("$ow" cost "$cost" --log "$dir/year.book" 2>"$dir/err" | grep "km a year")
OILWRIGHT_BOOK=$dir/year.book "$ow" log vehicle "new van" >"$dir/out" || fail "no new vehicle"
[ "$before" = "$("$ow" cost "$cost" --log "$dir/year.book" 2>"$dir/err" | grep "km a year")" ] || fail "a new name changes the year"
# Miles a gallon: the lower number stands first.
check "miles a gallon" 0 "between 2[0-9.]* mpg (US) and 2" "$ow" log --book "$dir/year.book" --units us vehicle "orchard van"
"$ow" log --book "$dir/year.book" --units us vehicle "orchard van" | tr '\n' ' ' |
    awk '{ if (!match($0, /between +[0-9.]+ mpg \(US\) and +[0-9.]+/)) exit 1; split(substr($0, RSTART, RLENGTH), w, " +"); exit !(w[2] < w[5]) }' || fail "miles a gallon are not in order"
check "log missing" 2 "" "$ow" cost "$cost" --log "$dir/none.db"
check "reference" 0 "^# The cost file" "$ow" reference cost

check "the example pays" 0 "^On likely figures it pays back in" "$ow" cost "$cost"
[ "$(wc -l <"$dir/out")" -le 66 ] || fail "the report is one page: $(wc -l <"$dir/out") lines"
if grep -q '[^ -~]' "$dir/out"; then
    fail "plain ASCII in the C locale"
fi
check "dear oil does not" 1 "never pays back: a year on oil costs" "$ow" cost "$cost" --set "collection.oil price=2 per L"
grep -q "It would pay with one of" "$dir/out" || fail "what would make it pay"
check "much spent, little driven" 1 "does not pay back within 8 years" "$ow" cost "$cost" --set "distance.a year=3000 km" \
    --set "labour.counted=no" --set "vehicle.parts=5000"
check "no oil" 1 "no distance is driven on oil" "$ow" cost "$cost" --set "fuel.share on oil=0 %"
check "json" 0 '"format": "oilwright-cost"' "$ow" cost "$cost" --json
if command -v node >/dev/null; then
    node -e '
const d = JSON.parse(require("fs").readFileSync(process.argv[1], "utf8"));
const sum = d.lines.reduce((a, l) => a + l.year, 0);
const ok = Math.abs(sum - d.sides.counted.cost_year) < 1e-5 && d.inputs.length === 43 && d.notes.length === 5 &&
  d.study.bands.counted.npv.points[0] < d.study.bands.counted.npv.points[2] && d.sides.counted.flows.length === 9;
process.exit(ok ? 0 : 1);' "$dir/out" || fail "the JSON holds together"
fi
check "csv" 0 '^"collection driving",no,' "$ow" cost "$cost" --csv -
[ "$(wc -l <"$dir/out")" -eq 26 ] || fail "csv: head, 22 lines, 3 sums"
check "csv in a file" 0 "pays back" "$ow" cost "$cost" --csv "$dir/lines.csv"
[ -s "$dir/lines.csv" ] || fail "csv file is there"
check "csv nowhere" 3 "cannot be written" "$ow" cost "$cost" --csv "$dir/no/such/place.csv"

# In 80 columns with long names, both unit systems, all defaults.
printf 'name: a rather long name for a van of the co-operative and trailer\n' >"$dir/bare.yaml"
for file in "$cost" "$dir/bare.yaml"; do
    for units in metric us; do
        for set in "finance.years=8" "collection.oil price=3 per L" "vehicle.parts=99999" "labour.rate=900 per h" "yard.permits=999999 a year" \
            "fuel.diesel price=50 per L"; do
            "$ow" cost "$file" --units $units --samples 256 --set "$set" >"$dir/out" 2>/dev/null
            code=$?
            wide=$(awk 'length($0) > 80' "$dir/out" | wc -l)
            if [ $code -gt 1 ] || [ "$wide" -ne 0 ]; then
                fail "$file $units $set: exit $code, $wide lines over 80 columns"
                awk 'length($0) > 80' "$dir/out" | head -3
            fi
        done
    done
done
check "defaults are warned of" 0 "warning: .*diesel price is not given: 1.50 per L is assumed" "$ow" cost "$dir/bare.yaml"

# A second file is no rig file, and the co-operative has one money.
check "two cost files" 2 'at most 1 file; what is ' "$ow" cost "$dir/bare.yaml" "$dir/bare.yaml"
check "two yard files" 2 'at most 1 file; what is ' "$ow" batch "$dir/bare.yaml" "$dir/bare.yaml"
check "likely figures at an end of the band" 0 '^together are the cheap end' "$ow" cost "$root/examples/orchard-costs.yaml"
check "cost report's money" 0 'Money in crowns\.' "$ow" cost "$root/examples/orchard-costs.yaml"
check "batch report's money" 0 ' crowns without labour' "$ow" batch "$root/examples/orchard-yard.yaml"

# The small report, to the letter: figures without ranges, so that only words and sums can differ.
cat >"$dir/small.yaml" <<'COST'
name: small van
currency: crowns
fuel: {diesel price: 1.5 per L, diesel use: 8 L/100 km, energy ratio: 0.95, share on oil: 90 %, purge diesel: 0 L, trips: 300}
distance: {a year: 15000 km}
collection: {volume: 50 L, distance: 10 km, cost per distance: 0.30 per km, time: 30 min}
yard:
  {electricity: 0.08 kWh/L, electricity price: 0.3 per kWh, work: 2 h per 100 L, filters: 0.02 per L, loss: 8 %,
   waste fee: 0.2 per L, batch: 200 L, tests: 1.5, additives: 0 per L, equipment: 400, equipment life: 8, permits: 0}
vehicle:
  {parts: 900, conversion work: 25 h, filter price: 15, filter life on oil: 8000 km, oil change price: 60,
   oil change on oil: 7500 km, upkeep: 0.005 per km, upkeep work: 5 h, engine risk: 1 %, engine damage: 2000, resale loss: 0}
labour: {rate: 15 per h}
finance: {discount rate: 4 %, diesel price growth: 0 %}
COST
"$ow" cost "$dir/small.yaml" >"$dir/out" 2>"$dir/err"
cmp -s "$dir/out" "$root/tests/money/golden.txt" || {
    fail "the small report"
    diff "$root/tests/money/golden.txt" "$dir/out" | head -20
}

if [ -w /dev/full ]; then
    for option in "" --json "--csv -" --help; do
        # shellcheck disable=SC2086
        "$ow" cost "$cost" $option >/dev/full 2>"$dir/err"
        if [ $? -ne 3 ] || ! grep -q "cannot be written" "$dir/err"; then
            fail "full disk with \"$option\""
        fi
    done
fi
exit $failed
