#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: tables.sh WRITE_FIXTURE FOLDER
# The fixture's taps in four formats must agree; and must not, once one of
# them is changed by 0.2 mm, or one file does not say whom a tap serves.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
if ! command -v python3 >/dev/null; then
    echo "SKIPPED: python3 is missing: taps were NOT compared"
    exit 77
fi
rm -rf "$2"
"$1" "$2" glb ifc csv json
python3 -B "$here/agree.py" "$2"
cp "$2/summary.json" "$2/kept"
sed 's/"tap":"[^"]*"/"tap":null/; s/"tap": "[^"]*"/"tap": null/' "$2/kept" \
    >"$2/summary.json"
if python3 -B "$here/agree.py" "$2" >/dev/null; then
    echo "an indication without its tap was not noticed"
    exit 1
fi
mv "$2/kept" "$2/summary.json"
sed 's/IFCLENGTHMEASURE(9.300000)/IFCLENGTHMEASURE(9.300200)/' \
    "$2/model.ifc" >"$2/changed" && mv "$2/changed" "$2/model.ifc"
if python3 -B "$here/agree.py" "$2" >/dev/null; then
    echo "a tap moved by 0.2 mm was not noticed"
    exit 1
fi
