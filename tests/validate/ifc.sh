#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: ifc.sh IFC_SAMPLE FOLDER [DEMO | JOB.xml]
# IFC files of the fixture, of the jobs of the demo in folder DEMO, or of a job:
# written
# twice with the same bytes; through the checker of the published EXPRESS
# schema and rule tables, which must find nothing, and something in a damaged
# copy; into a web viewer's reader, which must find every element within 1 mm
# of its place, and moved boxes at fault. The checker is looked for in
# $DUCTMARK_SHARED, else beside the repository.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
sample=$1
folder=$2
demo=${3:-}
shared=${DUCTMARK_SHARED:-$here/../../../shared}
mkdir -p "$folder"
ran=0

# write NAME WHAT [OTHER]: both files must be the same, and as OTHER.
write() {
    rm -rf "$folder/$1" "$folder/$1.again"
    "$sample" "$folder/$1" "$2"
    "$sample" "$folder/$1.again" "$2"
    cmp "$folder/$1/model.ifc" "$folder/$1.again/model.ifc"
    cmp "$folder/$1/model.ifc" "${3:-$folder/$1/model.ifc}"
}

check() {
    python3 -B "$shared/check/ifc_check.py" --strict \
        --bsi "$shared/standards/ifc/bsi-rules" "$1" \
        "$shared/standards/ifc/IFC4X3_ADD2.exp"
}

if [ -f "$demo" ]; then
    write job "$demo"
    names=job
    first=job
elif [ -n "$demo" ]; then
    write job "$demo/input/job.xml" "$demo/out/model.ifc"
    write us "$demo/input/us/job.xml" "$demo/us/model.ifc"
    names='job us'
    first=job
else
    write mapped mapped
    write unplaced unplaced
    names='mapped unplaced'
    first=mapped
fi

if [ -f "$shared/check/ifc_check.py" ] && command -v python3 >/dev/null; then
    for name in $names; do
        [ "$name" = unplaced ] || check "$folder/$name/model.ifc"
    done
    if [ -z "$demo" ]; then
        # Nothing but the coordinate reference system that nobody stated.
        check "$folder/unplaced/model.ifc" >"$folder/unplaced.txt" || true
        [ "$(cat "$folder/unplaced.txt")" = \
            "FILE -: GRF003: facility without coordinate reference system" ]
    fi
    sed 's/IFCTENDON(\(.*\),\$,\$)/IFCTENDON(\1,$)/' \
        "$folder/$first/model.ifc" >"$folder/damaged.ifc"
    if check "$folder/damaged.ifc" >/dev/null 2>&1; then
        echo "the checker took a damaged file for good"
        exit 1
    fi
    ran=1
else
    echo "SKIPPED: no $shared/check/ifc_check.py:" \
        "the files were NOT checked against the IFC schema"
fi

if command -v node >/dev/null && [ -d "$here/../node_modules/web-ifc" ]; then
    for name in $names; do
        node "$here/ifc_place.mjs" "$folder/$name/model.ifc" \
            "$folder/$name/boxes.json"
    done
    sed 's/"box":\[\(-\{0,1\}\)/"box":[\11/' "$folder/$first/boxes.json" \
        >"$folder/moved.json"
    if node "$here/ifc_place.mjs" "$folder/$first/model.ifc" \
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
