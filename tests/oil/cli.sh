#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# `oilwright oil` as a user calls it: answers, exit codes, refusals with the reason, JSON, CSV and SVG that are well formed.
# Usage: cli.sh PATH-TO-OILWRIGHT
set -u
o=$1
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
bad=0
LC_ALL=C
export LC_ALL

# expect CODE PATTERN ARGUMENTS...: the exit code, and a line that matches.
expect() {
    code=$1 pattern=$2
    shift 2
    "$o" oil "$@" >"$dir/out" 2>&1
    got=$?
    if [ $got -ne "$code" ] || ! grep -Eq -- "$pattern" "$dir/out"; then
        echo "oil $*: exit $got, wanted $code with \"$pattern\":"
        head -5 "$dir/out"
        bad=$((bad + 1))
    fi
}

expect 0 'viscosity at 40 degC|viscosity at 40 .C' rapeseed
expect 0 'not certified by it' rapeseed
expect 0 'unknown +sulphur' rapeseed
expect 0 'published: AOCS Cd 1c-85' --profile '16:0=4 18:0=2 18:1=62 18:2=22 18:3=9' sample
expect 0 'Readings' bucket --used --cup '4: 60 @ 25 degC' --point '38 mm2/s @ 40 degC'
expect 0 'ASTM D341 line' bucket --point 60@25 --point 38@40
expect 0 'Kendall' soybean --blend '30% diesel'
expect 0 'kerosene +[0-9]+ %.*flash point' rapeseed --target '15 mm2/s @ 10 degC'
expect 0 'petrol +no: petrol and spirits are refused' rapeseed --target '15 mm2/s @ 10 degC' --diluent petrol
expect 0 'EN 590' rapeseed --compare all
expect 0 'indicators only' rapeseed --spray '80 degC'
expect 0 'degF|.F' rapeseed --units us
expect 0 'diesel no. 1' --list
expect 0 'Usage' --help
expect 0 '1.989 mg KOH/g' test titration 2.5 0.1 7.05
expect 0 'goggles' test --help
# What people type.
expect 0 'viscosity at 40' rapeseed --point '35 mm2/s at 40 degC'
expect 0 'Readings' rapeseed --cup '4mm: 65 s @ 77 degF'
expect 0 'density at 15 .* 920 kg/m3.*measured' rapeseed --ascii --hydrometer '0.915 @ 22'
expect 0 'density at 15 .* 920 kg/m3.*measured' rapeseed --ascii --density 0.92
expect 0 'acid value +2.30 mg KOH/g' rapeseed --acid '2.3 mg KOH/g'
expect 0 'acid value +2.39 mg KOH/g' rapeseed --acid '1.2 %'
expect 0 'thickened by use' 'used canola oil'
expect 0 'thickened by use' WVO
expect 0 'viscosity at 40' 'Sunflower Oil'
expect 0 '1.989 mg KOH/g' test titration 2.5mL '0.1 N' 7.05g
expect 2 '"2.5g" is not a number of mL' test titration 2.5g 0.1 7.05
expect 2 '0.2 of what\?.*"0.2 %"' rapeseed --water 0.2
expect 2 '800 of what\?.*"800 ppm"' rapeseed --water 800
expect 2 'dynamic viscosity.*34.4 mm2/s' rapeseed --point '31 mPa s @ 40 degC'
expect 2 'another make of cup' rapeseed --cup 'dip cup 2: 40 s @ 25 degC'
expect 2 '4: 52 @ 25 degC' rapeseed --cup '4: 65'
# A laboratory sheet.
expect 0 'pass +sulphur +at most 10 mg/kg +4.00' rapeseed --lab 'sulphur 4 mg/kg'
expect 0 'close +oxidation stability .* 7.20' rapeseed --lab 'oxidation 7.2 h'
expect 0 'pass +phosphorus .* 0.500' rapeseed --lab 'P <1 mg/kg'
expect 2 'understood of mg/kg alone' rapeseed --lab 'flash <230 degC'
expect 0 'FAIL +calcium .* 4.00' rapeseed --lab 'Ca = 4 ppm' --lab 'flash 250 degC'
expect 0 'flashes below 101 degC' rapeseed --lab 'flash point 90 degC'
expect 0 'net heat +36.8 MJ/kg +36.5 to 37.0; measured' rapeseed --lab 'net heat 36.8 MJ/kg'
expect 2 'no value "density"' rapeseed --lab 'density 912'
expect 2 'flash point is 5000 degC' rapeseed --lab 'flash 5000 degC'
expect 2 '"4 mg" is not a sulphur' rapeseed --lab 'sulphur 4 mg'
# How sure the temperature of the pump's limit and the least diluent are.
expect 0 '20 mm2/s at [0-9.]+ degC .90 %: [0-9.]+ degC to [0-9.]+ degC.: above' rapeseed --ascii
expect 0 '20 mm2/s at [0-9.]+ degC .90 %: [0-9.]+ degC to [0-9.]+ degC.' used --ascii
expect 0 'limit is kept everywhere' diesel --limit '2000 mm2/s'
expect 0 'the oil itself may lie from' used --target '15 mm2/s @ 40 degC'
# What was said of the oil is not lost in its blend.
expect 0 'FAIL +water .* 733' rapeseed --water 900ppm --blend '20% diesel' --compare en590
expect 2 'did you mean "rapeseed"' rapseed
expect 2 'petrol and spirits are no fuel' rapeseed --blend '10% petrol'
expect 2 'sum to 140 %' sample --profile '18:1=100 18:2=40'
expect 2 'unknown acid' sample --profile '18:7=100'
expect 2 'rises with heat' odd --point 30@40 --point 35@80
expect 2 'took -5 s' odd --cup '4: -5 s @ 20 degC'
expect 2 'did you mean --point' --pint 3
expect 2 'a value must follow' rapeseed --point
expect 2 'metric or us' rapeseed --units imperial
expect 2 'Usage'
expect 2 'may be negative' test titration -1 0.1 7
expect 3 'cannot be written' rapeseed --svg "$dir/none/chart.svg"

# Every line of the report keeps to ASCII when asked.
"$o" oil rapeseed --ascii --spray '80 degC' --blend '20% diesel' >"$dir/ascii" || bad=$((bad + 1))
if LC_ALL=C grep -q '[^ -~]' "$dir/ascii"; then
    echo "--ascii: other characters"
    bad=$((bad + 1))
fi
# CSV: one header and every record with as many fields.
"$o" oil palm --csv >"$dir/csv" || bad=$((bad + 1))
awk -F, 'NR == 1 { n = NF } NF != n { bad = 1 } END { exit bad || NR < 10 || n != 12 }' "$dir/csv" || {
    echo "--csv: ragged"
    bad=$((bad + 1))
}
if command -v python3 >/dev/null; then
    "$o" oil corn --json --compare all --target '10 mm2/s @ 20 degC' --spray '70 degC' --point 30@45 --blend '20% diesel' >"$dir/json" &&
        python3 - "$dir/json" <<'P' || { echo "--json: not as promised"; bad=$((bad + 1)); }
import json, sys
j = json.load(open(sys.argv[1]))
assert j["format"] == "oilwright oil" and j["format_version"] == 1
assert len(j["standards"]) == 3 and len(j["least_diluent"]) == 4 and len(j["readings"]) == 1
p = j["properties"]
assert all(a["temperature_k"] < b["temperature_k"] and a["kinematic_m2_s"] >= b["kinematic_m2_s"] for a, b in zip(p, p[1:]))
assert all(r["kinematic_low_m2_s"] < r["kinematic_m2_s"] < r["kinematic_high_m2_s"] for r in p)
assert j["spray"]["label"] == "indicator"
assert p[-1]["pours"] is True and all(r["pours"] for r in p if r["is_valid"])
assert len(j["blend_rules"]) == 4 and len(j["profile_models"]) == 4
P
    "$o" oil 'a<b&c' --point 30@40 --svg "$dir/chart.svg" >/dev/null &&
        python3 - "$dir/chart.svg" <<'P' || { echo "--svg: not well formed"; bad=$((bad + 1)); }
import sys, xml.dom.minidom
d = xml.dom.minidom.parse(sys.argv[1])
text = "".join(n.firstChild.data for n in d.getElementsByTagName("text"))
assert "injection pump limit" in text and "a<b&c" in text
assert len(d.getElementsByTagName("circle")) == 1 and len(d.getElementsByTagName("polygon")) == 1
# Outside what is known, on both sides of it, the line is drawn as a guess.
assert len([n for n in d.getElementsByTagName("polyline") if n.getAttribute("class") == "guess"]) == 2
P
fi
[ $bad -eq 0 ] && echo "all as expected"
exit $((bad > 0))
