#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: ifc.sh IFC_SAMPLE FOLDER
# The fixture's IFC file: written twice with the same bytes; through the
# checker of the published EXPRESS schema and rule tables, which must find
# nothing, and something in a damaged copy; into a web viewer's reader, which
# must find every element within 1 mm of its place, and a moved box at fault.
# The checker is looked for in $DUCTMARK_SHARED, else beside the repository.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
sample=$1
folder=$2
shared=${DUCTMARK_SHARED:-$here/../../../shared}
ran=0
for place in mapped unplaced; do
    rm -rf "$folder/$place" "$folder/$place.again"
    mkdir -p "$folder/$place" "$folder/$place.again"
    "$sample" "$folder/$place" "$place"
    "$sample" "$folder/$place.again" "$place"
    cmp "$folder/$place/model.ifc" "$folder/$place.again/model.ifc"
done

if [ -f "$shared/check/ifc_check.py" ] && command -v python3 >/dev/null; then
    check() {
        python3 -B "$shared/check/ifc_check.py" --strict \
            --bsi "$shared/standards/ifc/bsi-rules" "$1" \
            "$shared/standards/ifc/IFC4X3_ADD2.exp"
    }
    check "$folder/mapped/model.ifc"
    # Nothing but the coordinate reference system that nobody stated.
    check "$folder/unplaced/model.ifc" >"$folder/unplaced.txt" || true
    [ "$(cat "$folder/unplaced.txt")" = \
        "FILE -: GRF003: facility without coordinate reference system" ]
    sed 's/IFCTENDON(\(.*\),\$,\$)/IFCTENDON(\1,$)/' \
        "$folder/mapped/model.ifc" >"$folder/damaged.ifc"
    if check "$folder/damaged.ifc" >/dev/null; then
        echo "the checker took a damaged file for good"
        exit 1
    fi
    ran=1
else
    echo "SKIPPED: no $shared/check/ifc_check.py:" \
        "the file was NOT checked against the IFC schema"
fi

if command -v node >/dev/null && [ -d "$here/../node_modules/web-ifc" ]; then
    for place in mapped unplaced; do
        node "$here/ifc_place.mjs" "$folder/$place/model.ifc" \
            "$folder/$place/boxes.json"
    done
    sed 's/"box":\[-1/"box":[-2/' "$folder/mapped/boxes.json" \
        >"$folder/moved.json"
    if node "$here/ifc_place.mjs" "$folder/mapped/model.ifc" \
        "$folder/moved.json" >/dev/null; then
        echo "moved boxes were not noticed"
        exit 1
    fi
    ran=1
else
    echo "SKIPPED: node or tests/node_modules/web-ifc is missing:" \
        "places were NOT checked; run npm ci in tests/"
fi
[ $ran -eq 1 ] || exit 77
