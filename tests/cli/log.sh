#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The verb `log` from a new book to its restore: entries, questions, views, files. Usage: log.sh OILWRIGHT SOURCE
oilwright=$(realpath "$1") || exit 1
golden=$2/tests/cli/golden-log.txt
examples=$2/examples
dir=$(mktemp -d) || exit 1
trap 'chmod -R u+w "$dir"; rm -rf "$dir"' EXIT
LC_ALL=C.UTF-8
TZ=UTC
export LC_ALL TZ
unset OILWRIGHT_BOOK
cd "$dir" || exit 1
failed=0
expect() { # code, text that must stand in the output, then the call
    code=$1
    text=$2
    shift 2
    "$oilwright" log "$@" >said.tmp 2>&1
    got=$?
    out=$(tr -s '\n ' '  ' <said.tmp)
    rm said.tmp
    if [ "$got" -ne "$code" ]; then
        echo "log $*: ended with $got, expected $code: $out"
        failed=1
    fi
    case $out in
    *"$text"*) ;;
    *)
        echo "log $*: \"$text\" is missing in:"
        echo "$out" | head -5
        failed=1
        ;;
    esac
}
same() { # what, one, other
    if [ "$2" != "$3" ]; then
        echo "$1: differs"
        failed=1
    fi
}

# Nothing is made by a question, a view, help or a dry run.
expect 0 'Usage: oilwright log' --help
expect 2 'what happened?'
expect 2 'What happened?' hello
expect 2 'there is no logbook oilwright.book yet' levels
expect 2 'From whom was it?' pickup 60 L
expect 0 'Would be written: New source Hill Cafe.' --dry-run source Hill Cafe
expect 2 'did you mean --units' --unit us levels
expect 2 'metric or us' --units both levels
[ -z "$(ls)" ] || { echo "a question made a file: $(ls)"; failed=1; }

# A short story; the first entry makes the book.
expect 0 'A new logbook: oilwright.book' source Hill Cafe at Upper Lane 6 km
expect 0 'Entry 2: New vessel drum 2' vessel 'drum 2' 200 L raw
expect 0 'Entry 3: New vessel day tank' vessel day tank 300 L clean
expect 0 'Entry 4: New vehicle van' vehicle van rig van.yaml
expect 0 'nothing has happened yet' totals
expect 0 'To take it back: oilwright log undo 5' pickup 'hill cafe' 60L drum2
expect 0 'Pick-up of 50 L' -2d pickup hill cafe 50 L drum 2 paid 4.50 note two tins
expect 2 '"hill caffe" is not in the book: did you mean Hill Cafe?' pickup hill caffe 60 L drum 2
expect 2 'Is it a new source?' pickup 'Castle Inn' 60 L drum 2
expect 0 'into drum 2, on ' yesterday pickup hill cafe 10 L drum 2
expect 0 'Entry 7 is taken back: Pick-up of 10 L' undo 7 wrong drum
expect 2 'was taken back by entry 8' undo 7
expect 0 'New batch b1 of 100 L from drum 2' batch b1 from drum 2 100 L in drum 2
expect 0 '5 L taken off as sludge' settle b1 3 days 5 L sludge
expect 2 'Is 600 ppm the water or the solids?' test b1 600 ppm
expect 0 'acid value 1.8 mg/g, water 600 mg/kg, decision keep' test b1 water 600 ppm acid 1.8 keep
expect 0 'keep, acid 1.8 mg/g, water 600 mg/kg' batches
"$oilwright" log batches | grep -q 'is over' && { echo "within the limits of DIN 51605, yet called over"; failed=1; }
# What was kept against a limit of DIN 51605 (acid 2.0 mg KOH/g, water 750, solids 24 mg/kg) is told, and stays kept.
expect 0 'decision keep' test b1 water 600 ppm acid 2.6 keep
expect 0 'Test of b1: water 12000 mg/kg' test b1 water 1.2 %
expect 0 'acid 2.6 mg/g, water 12000 mg/kg; but acid 2.6 mg KOH/g is over 2, water 12000 mg/kg is over 750 (DIN 51605)' batches
expect 0 'Entry' test b1 water 600 ppm
expect 0 'keep, acid 2.6 mg/g, water 600 mg/kg; but acid 2.6 mg KOH/g is over 2 (DIN 51605)' batches
expect 0 'is taken back: Test of b1' undo 12
expect 0 'Move of 95 L from b1 into day tank' move 95 b1 'day tank'
expect 0 'New fuel filter in van at 182300 km' filter van 182300 fitted
expect 0 'at 182350 km, tank full' fill van 40L from day tank at 182350 km full
expect 0 'Odometer of van: 182420 km' km van 182420
expect 0 'at 182900 km, tank full' fill van 38 L day tank full 182900
expect 0 'gauge before -12 kPa' filter van 182990 -12kPa plugged
expect 0 'Odometer of van: 183300 km' km van 183300
expect 0 '(8 kg at 1 kg/L)' waste sludge 8kg to county 4471
expect 0 'Expense of 34.20 for electricity' expense electricity 34.20
expect 2 'in the future' 2999-01-01 km van 182990

# Views, as text and JSON; names are forgiven as in entries.
expect 0 'drum 2' levels
expect 0 'US gal' levels --units us
expect 0 'Batch b1' batch b1
expect 0 'Hill Cafe' trace van
expect 0 'warning' fill van 40 L from day tank
expect 0 'below nothing: measure it' levels
expect 0 'Where it went: pick-up 5 from Hill Cafe' trace pickup 5
expect 0 'What is in day tank' trace daytank
expect 2 'cannot be traced' trace 11
expect 2 'did you mean drum 2' trace dram 2
expect 0 'Uses ' vehicle van
expect 0 'From 1 own change, 1 still in place' filters van
expect 0 'battery' due
expect 0 'collected' totals --from 2000-01-01
expect 0 'Waste handed over' list --kind waste
expect 2 'did you mean waste' list --kind wast
expect 2 '--limit is 1 to 1000' list --limit 0
expect 2 'is a day such as' list --since never
expect 0 '(taken back)' list --all --limit 100
expect 0 'two tins' list --find tins
expect 2 'wants no more words' levels now
for view in levels sources batches vehicles filters due list totals 'batch b1' 'vehicle van' 'trace van'; do
    # shellcheck disable=SC2086
    expect 0 '"format": "oilwright-log"' --json $view
done
expect 0 '"understood": true' --json km van 183400
expect 2 '"suggestion": "van"' --json km vn 183000

# The study beside the log.
filter=$("$oilwright" filter "$examples/orchard-van.yaml" --log oilwright.book --vehicle van 2>&1)
case $filter in
*'By the logbook of van'*"times the"*) ;;
*) echo "filter --log: $filter" | tail -5; failed=1 ;;
esac
"$oilwright" filter "$examples/orchard-van.yaml" --log none.book >/dev/null 2>&1 && { echo "filter took no book"; failed=1; }
"$oilwright" filter "$examples/orchard-van.yaml" --vehicle van >/dev/null 2>&1 && { echo "filter took --vehicle alone"; failed=1; }

# Out and in again: the same lists, byte for byte.
expect 0 'The logbook is whole' check
before=$("$oilwright" log list --all --limit 1000 --json)
expect 0 'CSV file' export out
expect 2 '' export out
expect 0 'CSV file' export out --replace
expect 0 'entries are new' --book copy.book import out
same 'list of the imported book' "$before" "$("$oilwright" log --book copy.book list --all --limit 1000 --json)"
expect 0 'entries are new, ' --book copy.book import out
expect 0 'A whole copy' backup save.book
expect 0 'Entry' km van 184000
expect 0 'is the logbook now' restore save.book
same 'list of the restored book' "$before" "$("$oilwright" log list --all --limit 1000 --json)"
expect 0 'The logbook is whole' rebuild
expect 2 'wants a folder' export

# A file that is none, one that may not be written, a screen that is full.
echo 'no logbook' >text.book
expect 2 '' --book text.book levels
expect 2 '' --book text.book km van 1000
expect 2 'check the folder' --book nowhere/there.book source Inn
"$oilwright" log levels >/dev/full 2>/dev/null
[ $? -eq 3 ] || { echo "a full output is not told"; failed=1; }
mkdir locked
"$oilwright" log --book locked/l.book source Inn >/dev/null
chmod 755 "$dir"
chmod 444 locked/*
chmod 555 locked
as=
if [ "$(id -u)" -eq 0 ]; then
    # root may write anywhere
    as='setpriv --reuid 65534 --regid 65534 --clear-groups'
    $as true 2>/dev/null || as=none
fi
if [ "$as" != none ]; then
    out=$($as "$oilwright" log --book locked/l.book source Cafe 2>&1)
    code=$?
    [ $code -eq 3 ] || [ $code -eq 2 ] || { echo "read-only: ended with $code: $out"; failed=1; }
    chmod 755 locked
    case $("$oilwright" log --book locked/l.book sources) in *Cafe*) echo "read-only: written"; failed=1 ;; esac
fi

# The invented year: always the same, told in 80 columns.
OILWRIGHT_BOOK=year.book
export OILWRIGHT_BOOK
expect 0 'invented orchard co-operative' demo
expect 2 '' demo
expect 0 'The logbook is whole: every sum agrees' check
{
    for view in levels sources batches vehicles filters totals 'list --limit 8' 'trace pickup' 'batch b12' 'vehicle orchard van'; do
        echo "== $view"
        # shellcheck disable=SC2086
        "$oilwright" log $view
    done
} >got.txt 2>&1
if [ "$3" = --write ]; then
    cp got.txt "$golden"
fi
diff -u "$golden" got.txt || failed=1
sed 's/°/o/g' got.txt | awk 'length($0) > 80 { print "over 80 columns: " $0; bad = 1 } END { exit bad }' || failed=1
# What was spent is the sum of the lines below it.
same 'sum of what was spent' '' "$("$oilwright" log totals | awk '/^  spent/ { all = $2; next } /^    [a-z]/ { for (i = 1; i <= NF; i++) if ($i ~ /^-?[0-9.]+$/) sum += $i }
    END { if (all == 0 || (all - sum) ^ 2 > 1e-6) print all, sum }')"
# An odometer that is replaced takes no learned use away, in either view.
used() { "$oilwright" log "$@" | grep -o '[0-9.]* L/100 km' | head -1; }
was=$(used vehicle 'orchard van')
"$oilwright" log fill orchard van 20 L from day tank at 40 km full >said.tmp 2>&1
same 'odometer that runs back' 2 $?
grep -q 'the odometer would run back' said.tmp || { echo "an odometer that runs back is not told"; failed=1; }
"$oilwright" log km orchard van 12 new >said.tmp 2>&1 || cat said.tmp
grep -q 'New odometer of orchard van: counts on from 12.0 km' said.tmp || { cat said.tmp; failed=1; }
"$oilwright" log fill orchard van 20 L from day tank at 40 km full >said.tmp 2>&1 || cat said.tmp
grep -q 'Fill of 20 L' said.tmp || { cat said.tmp; failed=1; }
"$oilwright" log due | tr -s '\n ' '  ' | grep -q 'orchard van, oil change, [0-9]* km left, [-0-9]*: 3690 km and' ||
    { echo "the way since the oil change does not count on"; "$oilwright" log due | grep 'orchard van, oil'; failed=1; }
expect 0 'orchard van: odometer 40 km (188577 km in all)' vehicle orchard van
expect 0 '"counted_m": 188577000.0' --json vehicles
same 'use of a vehicle, two views' "$was" "$("$oilwright" log vehicles | grep 'orchard van' | grep -o '[0-9.]* L/100 km')"
# A day is the day of the clock on the wall, east and west, in summer and in winter (rules given, no tables needed).
for zone in 'NZST-12NZDT,M9.5.0,M4.1.0/3' 'EST5EDT,M3.2.0,M11.1.0' 'UTC0'; do
    rm -f zone.book
    for day in '2026-01-01 00:30' 2026-03-08 '2026-06-30 23:45' '2026-11-01 01:30' 2025-12-31; do
        TZ=$zone "$oilwright" log --book zone.book source "s $day" "$day" >said.tmp 2>&1 || cat said.tmp
        grep -q "on ${day%% *}" said.tmp || { echo "$zone: $day is told as another day:"; cat said.tmp; failed=1; }
    done
    same "days in $zone" '2025-12-31 2026-01-01 2026-03-08 2026-06-30 2026-11-01 ' \
        "$(TZ=$zone "$oilwright" log --book zone.book list | awk '{print $2}' | sort | tr '\n' ' ')"
    TZ=$zone "$oilwright" log --book zone.book source dawn yesterday 00:10 >said.tmp 2>&1 || cat said.tmp
    same "since yesterday in $zone" 1 "$(TZ=$zone "$oilwright" log --book zone.book list --since yesterday | wc -l)"
    "$oilwright" log --book zone.book undo 6 >said.tmp 2>&1 || cat said.tmp
    same "since in $zone" 3 "$(TZ=$zone "$oilwright" log --book zone.book list --since 2026-03-08 | wc -l)"
done
rm -f said.tmp zone.book*
expect 0 'Expense of 10' expense electricity 10
expect 0 'Expense of 11' yesterday expense electricity 11
expect 0 'is taken back: Expense of 11' undo last
expect 0 'is taken back: Expense of 10' undo last
LC_ALL=C "$oilwright" log batch b12 | LC_ALL=C grep -q '[^ -~]' && { echo "not plain in the C locale"; failed=1; }
exit $failed
