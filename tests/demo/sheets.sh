#!/bin/sh
# SPDX-License-Identifier: MIT
# The work sheets of five jobs (metric, US units, one that is hard on the pages,
# one with places opened and without room in both units): their text agrees with the
# table of taps, in PDF and SVG; the PDF opens and has the paper's size; the
# same bytes come on one thread and on several, under a decimal-comma locale
# too. usage: sheets.sh PROGRAM DEMO_INPUT FOLDER
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
command -v pdftotext >/dev/null && command -v pdfinfo >/dev/null || {
    echo "no pdftotext, pdfinfo"
    exit 77
}
rm -rf "$3"
mkdir -p "$3"

export_to() {
    out=$1
    shift
    got=0
    "$program" export "$@" --out "$out" --quiet >"$out.txt" 2>&1 || got=$?
    [ "$got" -le 1 ] || {
        cat "$out.txt"
        exit 1
    }
}

program=$1
export_to "$3/demo" "$2/job.xml" --format csv,sheet,sheet-pdf --threads 1
LC_ALL=de_DE.UTF-8 export_to "$3/again" "$2/job.xml" \
    --format csv,sheet,sheet-pdf --threads 3
diff -r "$3/demo" "$3/again"
rm -rf "$3/again"
export_to "$3/us" "$2/us/job.xml" --format csv,sheet,sheet-pdf
python3 -B "$here/demo/sheets_hard.py" "$2" "$3/input"
export_to "$3/hard" "$3/input/job.xml" --format csv,sheet,sheet-pdf
for units in metric us; do
    python3 -B "$here/demo/sheets_hard.py" "$2" "$3/input-$units" opened $units
    export_to "$3/opened-$units" "$3/input-$units/job.xml" \
        --format csv,sheet,sheet-pdf
done
# What the demo does not have.
for said in 'NO ROOM FOR THE DRILL' 'found void, confirmed' \
    'found sound, refuted' 'neither confirmed nor refuted' ' inlet TAP'; do
    for units in metric us; do
        pdftotext -raw "$3/opened-$units/sheets.pdf" - | tr '\n' ' ' |
            grep -q "$said" || {
            echo "no '$said' in $units"
            exit 1
        }
    done
done
xmllint --noout --nonet "$3"/*/sheet*.svg "$3"/*/labels*.svg
pdfinfo "$3/demo/sheets.pdf" | grep -q '^Page size: *595.* x 841.*(A4)'
pdfinfo "$3/us/sheets.pdf" | grep -q '^Page size: *612 x 792 pts (letter)'
for way in demo hard opened-metric opened-us; do
    python3 -B "$here/validate/sheets.py" "$3/$way" DEMO 2026-05-04
done
python3 -B "$here/validate/sheets.py" "$3/us" DEMO-US 2026-05-04
