#!/bin/sh
# SPDX-License-Identifier: MIT
# usage: curved.sh DUCTMARK JOB FOLDER
# A job on a curved bridge: delivered without a fault, the outputs agree on
# every tap, and each has its bridge station.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
rm -rf "$3"
"$1" run "$2" --out "$3" --quiet >"$3.txt"
python3 -B "$here/validate/agree.py" "$3"
python3 -B - "$3" <<'END'
import csv, sys
rows = list(csv.DictReader(open(sys.argv[1] + '/taps.csv')))
assert len(rows) == 2, rows
assert len({float(r['bridge_station_m']) < 1055 for r in rows}) == 2, rows
for row in rows:
    s, shown = float(row['bridge_station_m']), float(
        row['bridge_station_shown_m'])
    # The line begins at 1000 m; its equation jumps at 1055 m, between the taps.
    expected = s if s < 1055 else s - 1055 + 2000
    assert 1000 < s < 1180 and abs(shown - expected) < 2e-5, row
    assert 1.9 < abs(float(row['bridge_offset_m'])) < 2.5, row
END
