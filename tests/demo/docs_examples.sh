#!/bin/sh
# SPDX-License-Identifier: MIT
# The examples of docs/formats.md are true: each ```xml block is valid against
# the schema of its root element (xmllint, a second reader), and together they
# are a job that the program runs. usage: docs_examples.sh ROOT FOLDER [PROGRAM]
set -eu
root=$1
folder=$2
program=${3:-}
rm -rf "$folder"
mkdir -p "$folder"

# Blocks go to <root element>.xml; the first ```csv block is readings.csv.
awk -v folder="$folder" '
    /^```/ {
        if (inside) { inside = 0; close(file) }
        else if ($0 == "```xml") { inside = 1; file = "" }
        else if ($0 == "```csv" && !csv++) {
            inside = 1; file = folder "/readings.csv"
        } else { inside = 2 }
        next
    }
    inside == 1 {
        if (file == "") {
            name = $1; sub(/^</, "", name); sub(/>.*/, "", name)
            file = folder "/" name ".xml"
        }
        print > file
    }' "$root/docs/formats.md"

count=0
bad=0
for file in "$folder"/*.xml; do
    [ -e "$file" ] || continue
    count=$((count + 1))
    xmllint --noout --nonet \
        --schema "$root/geometry/$(basename "$file" .xml).xsd" "$file" \
        2>"$folder/messages.txt" || { cat "$folder/messages.txt"; bad=1; }
done
echo "examples of docs/formats.md: $count"
[ "$count" -ge 6 ] || {
    echo "expected at least 6, one for each schema"
    exit 1
}
[ "$bad" -eq 0 ]
# The manual names every file that the program says it writes.
if [ -n "$program" ]; then
    for name in $("$program" export --format help |
        sed 's/.*(\(.*\))$/\1/'); do
        grep -Fq "$name" "$root/docs/ductmark.1" || {
            echo "not in ductmark.1: $name"
            exit 1
        }
    done
fi
[ -z "$program" ] || "$program" run "$folder/job.xml" --out "$folder/out" \
    --quiet
