#!/bin/sh
# SPDX-License-Identifier: MIT
# xmllint, as a second reader, finds the demo's inputs, and the register and the
# field books that were written, valid against the schemas. usage: schemas.sh GEOMETRY FOLDER
set -eu
geometry=$1
folder=$2
for where in "$folder/input" "$folder/input/us"; do
    for name in bridge fieldbook criteria job; do
        xmllint --noout --nonet --schema "$geometry/$name.xsd" \
            "$where/$name.xml"
    done
done
xmllint --noout --nonet --schema "$geometry/register.xsd" \
    "$folder/out/register.xml"
for name in planned planned_alone; do
    xmllint --noout --nonet --schema "$geometry/fieldbook.xsd" \
        "$folder/$name.xml"
done
