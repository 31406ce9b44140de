#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: tables.sh WRITE_FIXTURE FOLDER
# The fixture's taps in four formats must agree; and must not, once one of
# them is changed by 0.2 mm.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
if ! command -v python3 >/dev/null; then
    echo "SKIPPED: python3 is missing: taps were NOT compared"
    exit 77
fi
rm -rf "$2"
"$1" "$2" glb ifc csv json
python3 -B "$here/agree.py" "$2"
sed 's/IFCLENGTHMEASURE(9.300000)/IFCLENGTHMEASURE(9.300200)/' \
    "$2/model.ifc" >"$2/changed" && mv "$2/changed" "$2/model.ifc"
if python3 -B "$here/agree.py" "$2" >/dev/null; then
    echo "a tap moved by 0.2 mm was not noticed"
    exit 1
fi
