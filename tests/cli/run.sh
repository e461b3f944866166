#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs the command itself: exit codes, words on stderr, overrides, lost output.   run.sh OILWRIGHT SOURCE_ROOT
. "$2/tests/support/check.sh"

cat >"$dir/good.yaml" <<'RIG'
name: small van
oil: diesel
climate: {ambient: 10 degC}
drive:
  legs:
    - {name: idle, for: 1 min}
    - {name: lane, speed: 40 km/h, for: 2 min}
parts:
  - tank: tank
  - hose: supply hose
    length: 2 m
  - lift pump: lift pump
  - filter: filter
  - injection pump: injection pump
  - hose: return hose
    length: 2 m
  - injectors: injectors
lines:
  - [tank, supply hose, lift pump, filter, injection pump, return hose, tank]
  - [injectors, return hose]
RIG
sed -e 's/length: 2 m/length: 2 parsec/' -e 's/- filter:/- fitler:/' "$dir/good.yaml" >"$dir/bad.yaml"

check "no verb" 2 "Usage" "$ow"
check "help" 0 "morning" "$ow" help
check "help of a verb" 0 "--soak" "$ow" help morning
check "version" 0 "^oilwright [0-9]" "$ow" --version
check "unknown verb" 2 "did you mean morning" "$ow" mornig good.yaml
check "unknown verb, far" 2 "oilwright help" "$ow" zzzzzzz
check "no rig" 2 "which rig file" "$ow" morning
check "two rigs" 2 "one rig file" "$ow" morning "$dir/good.yaml" other.yaml
check "unknown option" 2 "did you mean --units" "$ow" morning "$dir/good.yaml" --unit=us
check "option without value" 2 "needs a value" "$ow" morning "$dir/good.yaml" --until
check "units" 2 "metric or us" "$ow" morning "$dir/good.yaml" --units furlongs
check "missing file" 2 "No such file" "$ow" morning "$dir/none.yaml"
check "directory" 2 "directory" "$ow" morning "$dir"
check "soak" 2 "not a temperature" "$ow" morning "$dir/good.yaml" --soak warm
check "soak range" 2 "out of range" "$ow" morning "$dir/good.yaml" --soak "500 degC"
check "set without value" 2 "--set" "$ow" morning "$dir/good.yaml" --set ambient
check "set unknown part" 2 "no section or part" "$ow" morning "$dir/good.yaml" --set "hoze.bore=3 mm"
check "set range" 2 "supply hose" "$ow" morning "$dir/good.yaml" --set "supply hose.bore=3 km"
check "oil unknown" 2 "no oil" "$ow" morning "$dir/good.yaml" --oil unobtainium
check "oil that thickens" 2 "" "$ow" morning "$dir/good.yaml" --oil "5 @ 40 degC, 50 @ 100 degC"
check "oil, share missing" 2 "share" "$ow" morning "$dir/good.yaml" --oil "diesel + rapeseed"
check "two outputs" 2 "both want" "$ow" morning "$dir/good.yaml" --json --csv -

check "good rig" 0 "^Starts after" "$ow" morning "$dir/good.yaml"
if LC_ALL=C grep -q '[^ -~]' "$dir/out"; then
    fail "plain ASCII in the C locale"
fi
check "us units" 0 "degF" "$ow" morning "$dir/good.yaml" --units us
check "quiet" 0 "^Starts after" "$ow" morning "$dir/good.yaml" --quiet
[ "$(wc -l <"$dir/out")" -le 6 ] || fail "quiet is short"
check "until" 1 "No answer" "$ow" morning "$dir/good.yaml" --until "2 s"
check "set" 0 "soaked at 5 degC" "$ow" morning "$dir/good.yaml" --set "climate.ambient=41 degF"
check "soak given" 0 "soaked at 0 degC" "$ow" morning "$dir/good.yaml" --soak "32 degF"
check "oil blend" 1 "" "$ow" morning "$dir/good.yaml" --oil "95% rapeseed + 5% diesel" --soak "-5 degC"
check "cold oil cannot start" 1 "^Will not start" "$ow" morning "$dir/good.yaml" --oil rapeseed --soak "-5 degC"
check "nedc" 0 "" "$ow" morning "$dir/good.yaml" --drive nedc --until "3 min"
check "nedc in capitals" 0 "" "$ow" morning "$dir/good.yaml" --drive NEDC --until "3 min"
check "json" 0 '"headline"' "$ow" morning "$dir/good.yaml" --json
check "csv on stdout" 0 "^time (s),engine" "$ow" morning "$dir/good.yaml" --csv -
check "csv in a file" 0 "^Starts" "$ow" morning "$dir/good.yaml" --csv "$dir/series.csv"
[ -s "$dir/series.csv" ] || fail "csv file is there"
check "csv nowhere" 3 "cannot be written" "$ow" morning "$dir/good.yaml" --csv "$dir/no/such/place.csv"

# All faults of a file, each with its line.
"$ow" morning "$dir/bad.yaml" >"$dir/out" 2>"$dir/err"
if [ $? -ne 2 ] || ! grep -q "bad.yaml:11:" "$dir/err" || ! grep -q "bad.yaml:13:" "$dir/err" || ! grep -q "bad.yaml:16:" "$dir/err" ||
    ! grep -q "filter" "$dir/err" || [ -s "$dir/out" ]; then
    fail "all faults of a file"
    cat "$dir/err"
fi

if [ "$(id -u)" -ne 0 ]; then
    cp "$dir/good.yaml" "$dir/locked.yaml"
    chmod 000 "$dir/locked.yaml"
    check "unreadable file" 2 "Permission denied" "$ow" morning "$dir/locked.yaml"
fi

# Output that is lost: full disk and a reader that went away.
if [ -w /dev/full ]; then
    for option in "" --json "--csv -" --help; do
        # shellcheck disable=SC2086
        "$ow" morning "$dir/good.yaml" $option >/dev/full 2>"$dir/err"
        if [ $? -ne 3 ] || ! grep -q "cannot be written" "$dir/err"; then
            fail "full disk with \"$option\""
        fi
    done
fi
{ "$ow" morning "$dir/good.yaml" --csv - 2>"$dir/err"; echo $? >"$dir/code"; } | true
if [ "$(cat "$dir/code")" -ne 3 ] || ! grep -q "cannot be written" "$dir/err"; then
    # The report may fit into the pipe before the reader goes: then nothing was lost.
    [ "$(cat "$dir/code")" -eq 0 ] || fail "broken pipe"
fi

# The examples: an answer for each, in 80 columns, in both unit systems.
for rig in "$root"/examples/*.yaml; do
    grep -q '^parts:' "$rig" || continue # yard and cost files stand there too
    for units in metric us; do
        "$ow" morning "$rig" --units $units >"$dir/out" 2>"$dir/err"
        code=$?
        if [ $code -gt 1 ] || [ "$(awk 'length($0) > 80' "$dir/out" | wc -l)" -ne 0 ] || [ "$(wc -l <"$dir/out")" -gt 56 ]; then
            fail "$rig ($units): exit $code, $(wc -l <"$dir/out") lines"
            cat "$dir/err"
        fi
    done
done
# What these two are made to show.
check "the heated van drives" 0 "^Starts after" "$ow" morning "$root/examples/orchard-van.yaml"
check "the lift pump starves, and where" 1 "starves: from .*" "$ow" morning "$root/examples/orchard-van-lift-pump.yaml"
grep -q "air comes out" "$dir/out" || fail "the table says where air comes out"
exit $failed
