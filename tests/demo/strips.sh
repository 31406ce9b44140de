#!/bin/sh
# SPDX-License-Identifier: MIT
# The strips of three jobs (metric, US units, curved): well-formed to xmllint,
# their text agrees with the tables, PNG files decode, and the same bytes come
# on one thread and on several, under a decimal-comma locale too.
# usage: strips.sh PROGRAM DEMO_INPUT CURVED_JOB FOLDER
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
rm -rf "$4"
mkdir -p "$4"

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
export_to "$4/demo" "$2/job.xml" --format csv,strip,strip-pdf --threads 1
LC_ALL=de_DE.UTF-8 export_to "$4/again" "$2/job.xml" \
    --format csv,strip,strip-pdf --threads 3
diff -r "$4/demo" "$4/again"
rm -rf "$4/again"
export_to "$4/us" "$2/us/job.xml" --format csv,strip,strip-png,strip-pdf
export_to "$4/curved" "$3" --format csv,strip,strip-png
xmllint --noout --nonet "$4"/*/strip-*.svg
python3 -B "$here/validate/strips.py" "$4/demo"
python3 -B "$here/validate/strips.py" "$4/us" "$4"/us/strip-*.png
python3 -B "$here/validate/strips.py" "$4/curved" "$4"/curved/strip-*.png

# The PDF holds the same words, if there is somebody to read them.
if command -v pdftotext >/dev/null; then
    pdftotext -layout "$4/us/strips.pdf" "$4/us.txt"
    grep -q 'T1-I01' "$4/us.txt"
    grep -q 'Tendons are highly stressed' "$4/us.txt"
fi
