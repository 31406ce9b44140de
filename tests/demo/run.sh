#!/bin/sh
# SPDX-License-Identifier: MIT
# The demo through the program: exit 1 because one run does not close; the same
# bytes on one thread and on several, under a decimal-comma locale, and when it
# is run again over its own results. usage: run.sh PROGRAM FOLDER
set -eu
program=$1
folder=$2

expect() {
    code=$1
    shift
    got=0
    "$@" >"$folder/stdout.txt" 2>"$folder/stderr.txt" || got=$?
    [ "$got" -eq "$code" ] && return 0
    cat "$folder/stderr.txt"
    echo "exit $got, expected $code: $*"
    exit 1
}

job=$folder/input/job.xml
expect 1 "$program" run "$job" --out "$folder/out" --quiet
expect 1 "$program" run "$job" --out "$folder/out1" --quiet --threads 1
LC_ALL=de_DE.UTF-8 expect 1 "$program" run "$job" --out "$folder/out2" \
    --quiet --threads 3
expect 1 "$program" run "$job" --out "$folder/out1" --quiet
diff -r "$folder/out" "$folder/out1"
diff -r "$folder/out" "$folder/out2"
expect 0 "$program" run "$folder/input/us/job.xml" --out "$folder/us" --quiet
# The table for people is in the job's units, from the value of the table for
# programs: feet of both ends and their U, cubic inches.
expect 0 "$program" find "$folder/input/us/job.xml"
grep -q 'from, ft .*to, ft .*volume, in³' "$folder/stdout.txt"
row=$(awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i }
    $at["key"] == "T1-I01" {
        printf "%.3f ± %.3f  *%.3f ± %.3f .* %.1f / - / %.1f ",
            $at["from_m"] / 0.3048, $at["U_from_m"] / 0.3048,
            $at["to_m"] / 0.3048, $at["U_to_m"] / 0.3048,
            $at["volume_low_L"] * 1e-3 / 0.0254 ^ 3,
            $at["volume_high_L"] * 1e-3 / 0.0254 ^ 3 }' \
    "$folder/us/indications.csv")
grep -q "^T1-I01 .* $row" "$folder/stdout.txt"

# Room for the drill: another angle where a turn was made, none where not.
grep -q '^L3-I01-A,.*cable-tray stands in the drill.s way 9[0-9] mm from the duct; at 1:' \
    "$folder/out/taps.csv"
grep -q '^L7-I01-A,.*drain-casing stands in the drill.s way 9[0-9] mm from the duct; no other clock angle of the void has room' \
    "$folder/out/taps.csv"
[ "$(grep -c ',no room,' "$folder/out/taps.csv")" -eq 2 ]
# The same mesh 600 mm lower: ducts would run through the deck.
mkdir -p "$folder/mesh"
cp -r "$folder/input/." "$folder/mesh"
sed 's|href="girder.obj"|& z="-600 mm"|' "$job" >"$folder/mesh/job.xml"
expect 1 "$program" check "$folder/mesh/job.xml"
grep -q 'bridge.xml:[0-9]*: warning: L1: as drawn, the duct runs through girder.obj: deck-left from' \
    "$folder/stderr.txt"
# Room for the sensor's body of 100 mm: the tray (1 m longer than L3's void) and
# the casing are 93 mm over the duct at the crown; 2:30 is free. Both ends are
# those of the truth, which are world lengths along the leg.
expect 0 "$program" plan "$job" --clock 12,2:30
grep -q '^L3  *1  12:00  *[0-9.]*  *[0-9.]*  *92\.8  2:30   girder.obj: cable-tray$' \
    "$folder/stdout.txt"
grep -q '^L7  *3  12:00  *[0-9.]*  *[0-9.]*  *92\.8  2:30   girder.obj: drain-casing$' \
    "$folder/stdout.txt"
low=$(awk '$9 == "cable-tray" { print $4, $5 }' "$folder/stdout.txt")
void=$(awk -F, '$1 == "L3" && $2 == "void" { print $3 - 0.5, $4 + 0.5; exit }' \
    "$folder/input/truth.csv")
echo "$low $void" | awk '{ exit !(NF == 4 && ($1 - $3) ^ 2 < 1e-6 &&
                                  ($2 - $4) ^ 2 < 1e-6) }'
expect 0 "$program" plan "$job"
[ "$(grep -c ' none   girder.obj: ' "$folder/stdout.txt")" -eq 2 ]
# Without a height nothing of it but one line, with the mesh; and without a mesh
# not that.
sed 's| body-height="100 mm"||' "$folder/input/fieldbook.xml" \
    >"$folder/mesh/fieldbook.xml"
expect 0 "$program" plan "$folder/mesh/job.xml"
cp "$folder/stdout.txt" "$folder/no_height.txt"
sed '/<context /d' "$folder/mesh/job.xml" >"$folder/mesh/job_alone.xml"
expect 0 "$program" plan "$folder/mesh/job_alone.xml"
[ "$(diff "$folder/stdout.txt" "$folder/no_height.txt" | grep -c '^[<>] .')" -eq 1 ]
diff "$folder/stdout.txt" "$folder/no_height.txt" | grep -q \
    '^> clearance not looked at: the field book states no body-height'
cp "$folder/input/fieldbook.xml" "$folder/mesh/fieldbook.xml"

# A reader that somebody kills, while it reads a large mesh, is told by name,
# and nothing is written.
awk 'BEGIN { for (i = 0; i < 600000; i++) print "v", i % 500, i / 500, 0;
             for (i = 3; i <= 600000; i++) print "f", i - 2, i - 1, i }' \
    >"$folder/mesh/girder.obj"
"$program" run "$folder/mesh/job.xml" --out "$folder/mesh/killed" --quiet \
    >"$folder/stdout.txt" 2>"$folder/stderr.txt" &
parent=$!
child=
while [ -z "$child" ] && kill -0 $parent 2>/dev/null; do
    child=$(cat /proc/$parent/task/$parent/children 2>/dev/null || true)
done
[ -z "$child" ] || kill -9 "$child"
code=0
wait $parent || code=$?
if [ -e /proc/$$/task/$$/children ]; then
    [ "$code" -eq 2 ]
    grep -q "job.xml:[0-9]*: error: context: cannot read '.*girder.obj': the mesh reader was killed before it had done" \
        "$folder/stderr.txt"
    [ ! -e "$folder/mesh/killed" ]
else
    echo "this system does not name a process's children: no reader was killed"
fi

# A mesh that is none stops the job, by name.
echo "no mesh" >"$folder/mesh/girder.obj"
for command in check run plan; do
    expect 2 "$program" "$command" "$folder/mesh/job.xml"
    grep -q "job.xml:[0-9]*: error: context: cannot read '.*girder.obj'" \
        "$folder/stderr.txt"
done

# One that is too large, too, and nothing is written. Sparse: no room is taken.
truncate -s 1025M "$folder/mesh/girder.obj"
for command in check run plan; do
    expect 2 "$program" "$command" "$folder/mesh/job.xml" $(
        case $command in
        run) echo --out "$folder/mesh/large" ;;
        plan) echo --fieldbook "$folder/mesh/large" --date 2026-05-04 ;;
        esac)
    grep -q "job.xml:[0-9]*: error: '.*girder.obj' is too large: at most 1073741824 bytes" \
        "$folder/stderr.txt"
done
[ ! -e "$folder/mesh/large" ]
rm "$folder/mesh/girder.obj"

# A planned field book has the same bytes again, under any locale; schemas.sh
# looks at it.
plan() {
    rm -f "$1"
    expect 0 "$program" plan "$job" --clock 12,2:30 --fieldbook "$1" \
        --date 2026-05-04
}
plan "$folder/planned.xml"
LC_ALL=de_DE.UTF-8 plan "$folder/planned2.xml"
cmp "$folder/planned.xml" "$folder/planned2.xml"
rm -f "$folder/planned_alone.xml"
expect 0 "$program" plan "$folder/input/us/bridge.xml" --units us \
    --fieldbook "$folder/planned_alone.xml" --date 2026-05-04

# What an anchorage does reaches the model.
[ "$(grep -c 'IFCTENDONANCHOR(.*,\.FIXED_END\.)' "$folder/out/model.ifc")" -eq 16 ]
[ "$(grep -c 'IFCTENDONANCHOR(.*,\.TENSIONING_END\.)' \
    "$folder/out/model.ifc")" -eq 16 ]

# A register carries identities on: the same inputs with it give the same keys.
sed 's|<criteria href="criteria.xml"/>|&<register href="../out/register.xml"/>|' \
    "$job" >"$folder/input/job2.xml"
expect 1 "$program" run "$folder/input/job2.xml" --out "$folder/again" --quiet
cut -d, -f1,2 "$folder/out/indications.csv" >"$folder/keys1"
cut -d, -f1,2 "$folder/again/indications.csv" >"$folder/keys2"
cmp "$folder/keys1" "$folder/keys2"
# What was opened stays known without the book that says so: states, dates and
# openings are in the register, and go on from one to the next unchanged.
mkdir -p "$folder/later"
cp -r "$folder/input/." "$folder/later"
sed '/<opened /,/<\/fieldbook>/{/<\/fieldbook>/!d;}' \
    "$folder/input/fieldbook.xml" >"$folder/later/fieldbook.xml"
cp "$folder/input/job2.xml" "$folder/later/job2.xml"
expect 1 "$program" export "$folder/later/job2.xml" --out "$folder/later/out" \
    --format csv,register --quiet
opened() {
    grep -o 'key="[^"]*".*state="[^"]*".*\|<opened .*\|<pressure-volume .*\|<note>.*' \
        "$1" |
        sed 's/ clock="[^"]*" first/ first/; s/ from=.* first/ first/'
}
opened "$folder/out/register.xml" >"$folder/opened1"
opened "$folder/later/out/register.xml" >"$folder/opened2"
cmp "$folder/opened1" "$folder/opened2"
[ "$(grep -c '<opened ' "$folder/opened2")" -eq 7 ]
[ "$(grep -c '<pressure-volume ' "$folder/opened2")" -eq 2 ]
[ "$(grep -c 'state="confirmed" state-date="2026-04-28"' \
    "$folder/later/out/register.xml")" -eq 3 ]
[ "$(grep -c 'state="refuted" state-date="2026-04-28"' \
    "$folder/later/out/register.xml")" -eq 1 ]
[ "$(grep -c ',missed,' "$folder/later/out/openings.csv")" -eq 1 ]
# One run with a bad row: named, left out, all others delivered.
mkdir -p "$folder/bad"
cp -r "$folder/input/." "$folder/bad"
sed '200s/.*/s1,here,it,is/' "$folder/input/readings/L4-1.csv" \
    >"$folder/bad/readings/L4-1.csv"
expect 1 "$program" run "$folder/bad/job.xml" --out "$folder/badout" --quiet
grep -q 'L4-1.csv:200: error: column' "$folder/stderr.txt"
grep -q '^L3-I01,' "$folder/badout/indications.csv"
if grep -q '^L4-I' "$folder/badout/indications.csv"; then
    echo "indications from a run that cannot be read"
    exit 1
fi
# One run without its file.
rm "$folder/bad/readings/L4-1.csv"
expect 1 "$program" run "$folder/bad/job.xml" --out "$folder/badout" --quiet
grep -q 'fieldbook.xml:[0-9]*: error: cannot read .*L4-1.csv' \
    "$folder/stderr.txt"
# A run whose file has no segments is cut at its skips: the same stations, but
# for the rows at a skip itself, which may stand on either side of it.
sed '/readings\/L1-1.csv/{s/ segment="s1"//;/segment="/d;}' \
    "$folder/input/fieldbook.xml" >"$folder/bad/fieldbook.xml"
expect 1 "$program" map "$folder/bad/job.xml" --run L1-1
cut -d, -f5,6,7 "$folder/stdout.txt" | sort >"$folder/uncut.txt"
expect 1 "$program" map "$job" --run L1-1
cut -d, -f5,6,7 "$folder/stdout.txt" | sort >"$folder/cut.txt"
[ "$(comm -23 "$folder/uncut.txt" "$folder/cut.txt" | wc -l)" -eq 0 ]
left_out=$(comm -13 "$folder/uncut.txt" "$folder/cut.txt" | wc -l)
[ "$left_out" -ge 1 ] && [ "$left_out" -le 6 ]
# A fault in the bridge: nothing is written.
sed 's/x="10.000 m"/x="10,000 m"/' "$folder/input/bridge.xml" \
    >"$folder/bad/bridge.xml"
rm -rf "$folder/badout"
expect 2 "$program" run "$folder/bad/job.xml" --out "$folder/badout" --quiet
[ ! -e "$folder/badout" ]

echo "the same bytes whatever the threads and the locale; identities kept"
