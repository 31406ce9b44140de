#!/bin/sh
# SPDX-License-Identifier: MIT
# The demo's bad run: the line that the program prints is pasted into the job,
# with who decided and why; the run then closes and every output says so.
# usage: accept.sh PROGRAM DEMO_INPUT WORK_FOLDER
set -eu
program=$1
input=$2
out=$3
rm -rf "$out"
mkdir -p "$out"
cp -R "$input" "$out/in"
fail() {
    echo "accept.sh: $1" >&2
    exit 1
}
code=0
"$program" check "$out/in/job.xml" >/dev/null 2>"$out/said.txt" || code=$?
[ "$code" = 1 ] || fail "check: exit $code, expected 1"
line=$(sed -n 's/.*\(<accept run="R6-1" .*\/>\).*/\1/p' "$out/said.txt")
case $line in
'<accept run="R6-1" hypothesis="skip-not-written" interval="3" length='*) ;;
*) fail "the bad run is said to be: $line" ;;
esac

# As printed it names nobody.
paste() {
    awk -v line="$1" '/<(tap-request|tap-exclude|output)|<\/job>/ && !done {
        print line; done = 1 } { print }' "$out/in/job.xml" >"$out/in/$2"
}
paste "$line" nobody.xml
code=0
"$program" check "$out/in/nobody.xml" >/dev/null 2>"$out/nobody.txt" || code=$?
[ "$code" = 2 ] || fail "without a name: exit $code, expected 2"

by=$(printf '%s' "$line" | sed 's/by=""/by="A. Body"/
    s/reason=""/reason="collar on the photographs"/')
paste "$by" job_accept.xml
"$program" run "$out/in/job_accept.xml" --out "$out/o" >"$out/summary.txt" \
    2>"$out/run.txt" || fail "accepted: exit $?, expected 0"
said="accepted by A. Body: collar on the photographs"
for file in summary.txt o/tendons.csv o/indications.csv o/taps.csv \
    o/coverage.csv o/coverage_lines.csv o/summary.json o/register.xml \
    o/model.ifc o/model.glb o/heat.glb o/model.ply o/model.obj o/model.dae; do
    grep -q -a -F "$said" "$out/$file" || fail "$file does not say so"
done
python3 -B - "$out/o/tendons.csv" <<'END' || fail "R6 is not reconciled"
import csv, sys
row = next(r for r in csv.DictReader(open(sys.argv[1])) if r['id'] == 'R6')
assert float(row['not_reconciled_m']) == 0 and float(row['tested_m']) > 20, row
END

# In each row of the tables that is of that tendon, and in no other.
python3 -B - "$out/o" "$said" <<'END' || fail "a row does not say so"
import csv, sys
for name in ('tendons', 'indications', 'taps', 'coverage', 'coverage_lines'):
    rows = list(csv.DictReader(open(f'{sys.argv[1]}/{name}.csv')))
    mine = [r for r in rows if (r.get('tendon') or r['id']) == 'R6']
    assert mine and all(sys.argv[2] in r['accepted'] for r in mine), name
    assert sum(r['accepted'] != '' for r in rows) == len(mine), name
END

# All intervals close now, and each says what it would show.
python3 -B - "$out/o/summary.json" <<'END' || fail "intervals do not say so"
import json, sys
all_ = [v for t in json.load(open(sys.argv[1]))['tendons']
        for v in t['intervals']]
assert len(all_) > 20 and all(v['reconciled'] for v in all_), all_
# Behind a skip of unknown length nothing would show.
shown = [v for v in all_ if v['leastBlunder'] is not None]
assert len(shown) > 0.8 * len(all_), all_
# The accepted length is free: only a far greater one would show beside it.
bad = [v for v in shown if abs(v['z']) > 4 or not 0.01 < v['leastBlunder'] < (
    4 if (v['run'], v['fromFace']) == ('R6-1', 'D1-a') else 0.2)]
assert not bad, bad
END

# A job that names the register reads its comments over.
sed 's|<criteria href="criteria.xml"/>|&<register href="../o/register.xml"/>|' \
    "$out/in/job_accept.xml" >"$out/in/next.xml"
"$program" check "$out/in/next.xml" >/dev/null 2>"$out/next.txt" ||
    fail "the register is not read again"

# One that fits nothing, and one of a run that is not there.
paste "$(printf '%s' "$by" | sed 's/interval="3"/interval="2"/')" wrong.xml
paste "$(printf '%s' "$by" | sed 's/R6-1/R6-9/')" other.xml
for job in wrong other; do
    code=0
    "$program" run "$out/in/$job.xml" --out "$out/$job" >/dev/null \
        2>"$out/$job.txt" || code=$?
    [ "$code" = 2 ] || fail "$job.xml: exit $code, expected 2"
    grep -q "$job.xml:[0-9]*: error: accept: " "$out/$job.txt" ||
        fail "$job.xml: its line is not named"
    [ ! -e "$out/$job/tendons.csv" ] || fail "$job.xml: a file was written"
done
