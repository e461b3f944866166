#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The studies at the command line: exit codes, text and JSON of each verb, wrong calls. Usage: verbs.sh OILWRIGHT EXAMPLES
oilwright=$1
examples=$2
failed=0
expect() { # code, text that must stand in the output, then the call
    code=$1
    text=$2
    shift 2
    out=$("$oilwright" "$@" 2>&1)
    got=$?
    if [ "$got" -ne "$code" ]; then
        echo "oilwright $*: ended with $got, expected $code"
        failed=1
    fi
    case $out in
    *"$text"*) ;;
    *)
        echo "oilwright $*: \"$text\" is missing in:"
        echo "$out" | head -5
        failed=1
        ;;
    esac
}
van=$examples/orchard-van.yaml
two=$examples/pickup-two-tanks.yaml
expect 1 'rear pump does not turn' faults "$van"
expect 1 'off the shelf' faults "$van" --threads 1 --units us
expect 1 '"format": "oilwright-faults"' faults "$van" --json
expect 1 'thermostat of sump plug 1 welded shut' faults "$van" --all
told=$(mktemp)
"$oilwright" faults "$van" --json --progress-fd 5 5>"$told" >/dev/null
if [ "$(wc -l <"$told")" -lt 20 ] || [ "$(tail -1 "$told")" != 1.0000 ] || ! sort -c "$told"; then
    echo "faults --progress-fd: not a rising share up to 1"
    failed=1
fi
"$oilwright" size "$van" --for 'ready in 90 s at -10 degC' --json --progress-fd 5 5>"$told" >/dev/null
if [ "$(wc -l <"$told")" -lt 20 ] || ! sort -c "$told"; then
    echo "size --progress-fd: not a rising share"
    failed=1
fi
tells() { # VERB RIG LINES: a rising share up to 1, in at least so many lines
    "$oilwright" "$1" "$2" --json --progress-fd 5 5>"$told" >/dev/null
    if [ "$(wc -l <"$told")" -lt "$3" ] || [ "$(tail -1 "$told")" != 1.0000 ] || ! sort -c "$told"; then
        echo "$1 --progress-fd: not a rising share up to 1 in $3 lines"
        failed=1
    fi
}
tells bleed "$van" 3
tells filter "$van" 20
tells filter "$two" 20
tells tanks "$two" 3
for verb in bleed filter tanks; do
    expect 2 'open descriptor' "$verb" "$two" --progress-fd 9
done
rm -f "$told"
expect 2 'open descriptor' faults "$van" --progress-fd 9
expect 2 'open descriptor' size "$van" --for 'ready in 90 s' --progress-fd no
expect 0 'Solid fuel' bleed "$van"
expect 0 '"way": "hand_primer"' bleed "$van" --json --prefilled
expect 0 'oil filter' bleed "$two" --filter 'oil filter'
expect 0 'large filter' filter "$van"
expect 0 '"law": "cake"' filter "$van" --dirt '50 mg/kg' --json
expect 1 'No filter carries fuel' filter "$examples/orchard-van-lift-pump.yaml" --oil palm --set 'climate.ambient=-20 degC'
expect 1 'a new filter already' filter "$examples/orchard-van-lift-pump.yaml"
expect 0 'The purge takes' tanks "$two"
expect 0 '"starts_on": "diesel"' tanks "$two" --json
expect 2 'one fluid only' tanks "$van"
expect 2 'no filter of that name; its filters: oil filter, diesel filter' bleed "$two" --filter nothing
expect 2 '--threads is a whole number' faults "$van" --threads none
expect 2 '--dirt is milligrams' filter "$van" --dirt clean
expect 2 'which rig file' faults
expect 2 'did you mean --prefilled' bleed "$van" --prefiled
for call in "faults $van" "bleed $van" "filter $van" "tanks $two" "wire $van" "compare $van $two" 'oil rapeseed'; do
    out=$("$oilwright" $call --json 2>/dev/null)
    for key in '"cautions":' '"format": "oilwright' '"format_version": 1'; do
        case $out in
        *"$key"*) ;;
        *)
            echo "oilwright $call --json: $key is missing"
            failed=1
            ;;
        esac
    done
done
# A vehicle that fails unbroken says so before it counts failures.
expect 1 'already breaks a limit' faults "$examples/orchard-van-lift-pump.yaml"
for verb in faults bleed filter tanks; do
    expect 0 'Usage: oilwright' "$verb" --help
    expect 2 'cannot be opened' "$verb" "$examples/none.yaml"
done
exit $failed
