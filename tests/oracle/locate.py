#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Places told by `ductmark locate`, there and back, for every pair of kinds.

Random tendon stations are told in all words; then, for each pair of kinds A
and B, rows of A are told as B and back as A, in units drawn at random, and
must be the same lengths again. What has a short formula (map conversion, feet,
stations as shown, distances in space, points at a station on the alignment's
straight) is computed here once more. Standard library only.

    locate.py --program DUCTMARK --geometry FOLDER --demo FOLDER [--count N]
"""
import argparse
import csv
import io
import math
import os
import random
import re
import subprocess
import sys
import tempfile

UNITS = {"m": ("_m", 1.0), "mm": ("_mm", 0.001), "ft": ("_ft", 0.3048),
         "us-ft": ("_us_ft", 1200.0 / 3937.0), "in": ("_in", 0.0254)}
TEXT = ("tendon", "face", "zone", "run", "segment")
# Columns of a kind as they come in; as they are called when they come out.
KINDS = {
    "station": ("tendon", "station"),
    "bridge": ("tendon", "bridge_station"),
    "shown": ("tendon", "bridge_station_shown", "zone"),
    "offset": ("tendon", "bridge_station", "bridge_offset", "height"),
    "xyz": ("tendon", "x", "y", "z"),
    "map": ("tendon", "east", "north", "map_height"),
    "tape": ("tendon", "face", "tape"),
    "run": ("tendon", "run", "segment", "run_distance"),
}
TO = {"shown": "bridge"}
# What one unit in the ninth decimal of that unit adds, and rounding at map
# coordinates: 1e-8 m is ten times the decimals in metres.
TOLERANCE = 1e-8
MAP = (512000.25, 5400000.5, 12.0, 0.8, 0.6, 0.99988)


def run(args, kind, to, units, fields, rows):
    """Locates rows (lists of cells, as `fields` names them, plus clock)."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(list(fields) + ["clock_deg"])
    writer.writerows(rows)
    done = subprocess.run(
        [args.program, "locate", "--from", kind, "--to", "station," + to,
         "--units", units, args.file],
        input=text.getvalue(), capture_output=True, text=True, check=False)
    located = list(csv.DictReader(io.StringIO(done.stdout)))
    # The demo's job leaves an interval out on purpose: its exit code is 1.
    if done.returncode not in args.exits or len(located) != len(rows) or \
            any(r["problem"] for r in located):
        sys.exit(f"locate --from {kind} --to {to}: exit {done.returncode}\n"
                 + done.stderr)
    return located


def cell(row, name, units):
    """A located cell: the new column where the header had that name."""
    name += "" if name in TEXT else UNITS[units][0]
    return row.get("located_" + name, row.get(name))


def names(kind, units):
    return [n if n in TEXT else n + UNITS[units][0] for n in KINDS[kind]]


def take(row, kind, units, side):
    """The cells of a kind from a located row; None: it has no such words."""
    if kind == "tape":
        face = row.get(f"{side}_face")
        if not face:
            return None
        return [cell(row, "tendon", units), face,
                cell(row, f"{side}_tape", units)]
    cells = [cell(row, n, units) for n in KINDS[kind]]
    if kind == "run" and not cells[1]:
        return None
    return cells


def metres(kind, cells, units):
    return [float(c) * UNITS[units][1]
            for n, c in zip(KINDS[kind], cells) if n not in TEXT]


class Worst:
    def __init__(self):
        self.value = {}
        self.rows = 0
        self.failed = 0

    def add(self, what, difference):
        self.value[what] = max(self.value.get(what, 0.0), difference)
        self.rows += 1
        if not difference <= TOLERANCE:
            self.failed += 1


def pair(args, rng, first, second, places, worst):
    """rows of `first` -> `second` -> `first`."""
    there, back = rng.choice(list(UNITS)), rng.choice(list(UNITS))
    begin = rng.choice(list(UNITS))
    side = rng.choice(("back", "ahead"))
    told = run(args, "station", TO.get(first, first), begin,
               ["tendon", "station_m"], places)
    rows = [(take(r, first, begin, side), p[-1]) for r, p in zip(told, places)]
    rows = [(c, clock) for c, clock in rows if c]
    out = run(args, first, TO.get(second, second), there, names(first, begin),
              [c + [clock] for c, clock in rows])
    mid = [(c, clock, take(r, second, there, side))
           for (c, clock), r in zip(rows, out)]
    mid = [(c, clock, m) for c, clock, m in mid if m]
    if not mid:
        sys.exit(f"{first} to {second}: no row to compare")
    again = run(args, second, TO.get(first, first), back,
                names(second, there), [m + [clock] for _, clock, m in mid])
    for (c, _, _), r in zip(mid, again):
        got = take(r, first, back, side)
        if got is None or [x for n, x in zip(KINDS[first], got) if n in TEXT] \
                != [x for n, x in zip(KINDS[first], c) if n in TEXT]:
            # A face at the very place, or a run beside another.
            worst.add(f"{first}-{second} words", math.inf)
            continue
        a, b = metres(first, c, begin), metres(first, got, back)
        worst.add(f"{first}-{second}", math.dist(a, b))


def known(args, places, worst):
    """What has a short formula of its own."""
    rows = run(args, "station", "xyz,map,offset,bridge", "m",
               ["tendon", "station_m"], places)
    feet = run(args, "station", "map", "us-ft", ["tendon", "station_m"],
               places)
    east, north, height, a, o, k = MAP
    for r, f in zip(rows, feet):
        x, y, z = (float(r[n]) for n in ("x_m", "y_m", "z_m"))
        on_map = (east + k * (x * a - y * o), north + k * (x * o + y * a),
                  height + k * z)
        got = [float(r[n]) for n in ("east_m", "north_m", "map_height_m")]
        worst.add("map formula", math.dist(on_map, got))
        got = [float(f[n]) * 1200.0 / 3937.0
               for n in ("east_us_ft", "north_us_ft", "map_height_us_ft")]
        worst.add("map in US feet", math.dist(on_map, got))
        s, shown = float(r["bridge_station_m"]), float(r["bridge_station_shown_m"])
        at, jump = args.equation[0], args.equation[1] - args.equation[0]
        ahead = s >= at
        worst.add("station shown", abs(shown - s - (jump if ahead else 0.0)))
        if r["zone"] != ("1" if ahead else "0"):
            worst.add("zone", math.inf)
        if s <= 1020.0:  # the straight it begins with: 52.5 deg from north
            b, off = math.radians(52.5), float(r["bridge_offset_m"])
            px = 250 + (s - 1000) * math.sin(b) + off * math.cos(b)
            py = 1200 + (s - 1000) * math.cos(b) - off * math.sin(b)
            worst.add("on the straight", math.dist((px, py), (x, y)))


def taps(args, worst):
    """Tapes of the tap points, which another module places and rounds to
    10 um (twice here: station and tape)."""
    done = subprocess.run([args.program, "tap", args.file, "--csv"],
                          capture_output=True, text=True, check=False)
    table = list(csv.DictReader(io.StringIO(done.stdout)))
    rows = []
    for tap in table:
        hours, minutes = tap["tape_line"].split(":")
        clock = 30.0 * (int(hours) % 12) + 0.5 * int(minutes)
        rows.append([tap["tendon"], tap["station_m"], str(clock)])
    located = run(args, "station", "tape", "m", ["tendon", "station_m"], rows)
    for tap, row in zip(table, located):
        for side in ("back", "ahead"):
            if tap[f"{side}_face"] != row[f"{side}_face"]:
                worst.add("tap faces", math.inf)
            elif row[f"{side}_face"]:
                off = abs(float(tap[f"{side}_tape_m"])
                          - float(row[f"{side}_tape_m"]))
                worst.add("tap tapes beyond rounding", max(0.0, off - 1.1e-5))
    if not table:
        sys.exit("the demo has no tap points to compare")


def lengths(args):
    """Tendons with their lengths: a station far beyond the end tells it."""
    with open(args.file, encoding="utf-8") as f:
        text = f.read()
    job = re.search(r'<bridge href="([^"]*)"', text)
    if job:
        bridge = os.path.join(os.path.dirname(args.file), job.group(1))
        with open(bridge, encoding="utf-8") as f:
            text = f.read()
    ids = [part.split('"')[1] for part in text.split("<tendon ")[1:]]
    table = "tendon,station_m\n" + "".join(f"{i},1e6\n" for i in ids)
    done = subprocess.run([args.program, "locate", args.file], input=table,
                          capture_output=True, text=True, check=False)
    found = {}
    for row in csv.DictReader(io.StringIO(done.stdout)):
        found[row["tendon"]] = float(row["problem"].split(" m of ")[1]
                                     .removesuffix(" m"))
    return found


def places_on(rng, tendons, count):
    rows = []
    for _ in range(count):
        tendon = rng.choice(list(tendons))
        rows.append([tendon, f"{rng.uniform(0.01, tendons[tendon] - 0.01):.9f}",
                     f"{rng.uniform(0, 360):.6f}"])
    return rows


def compare(args, kinds, rng, worst):
    tendons = lengths(args)
    for first in kinds:
        for second in kinds:
            if first != second:
                pair(args, rng, first, second,
                     places_on(rng, tendons, args.count), worst)
    return tendons


def curved(args, folder):
    """The curved reference bridge with a map conversion of its own."""
    source = os.path.join(args.geometry, "reference", "curved_two_spans.xml")
    with open(source, encoding="utf-8") as f:
        text = f.read()
    catalogue = os.path.join(args.geometry, "catalogue")
    text = text.replace("../catalogue", os.path.abspath(catalogue))
    text = re.sub(r"<(crs|map-conversion) [^>]*/>", "", text)
    args.equation = [float(v) for v in re.search(
        r'<station-equation back="(\S+) m" ahead="(\S+) m"', text).groups()]
    begin = text.index("<alignment")
    text = (text[:begin] + '<crs epsg="25832" vertical-epsg="7837"/>'
            f'<map-conversion eastings="{MAP[0]} m" northings="{MAP[1]} m" '
            f'height="{MAP[2]} m" x-axis-abscissa="{MAP[3]}" '
            f'x-axis-ordinate="{MAP[4]}" scale="{MAP[5]}"/>' + text[begin:])
    path = os.path.join(folder, "bridge.xml")
    with open(path, "w", encoding="utf-8") as f:
        f.write(text)
    return path


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", required=True)
    parser.add_argument("--geometry", required=True,
                        help="the repository's folder of that name")
    parser.add_argument("--demo", required=True)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    worst = Worst()
    with tempfile.TemporaryDirectory() as folder:
        args.file, args.exits = curved(args, folder), (0,)
        tendons = compare(args, [k for k in KINDS if k != "run"], rng, worst)
        known(args, places_on(rng, tendons, args.count), worst)
    args.file, args.exits = os.path.join(args.demo, "job.xml"), (0, 1)
    compare(args, ["station", "xyz", "map", "tape", "run"], rng, worst)
    taps(args, worst)
    args.file = os.path.join(args.geometry, "..", "tests", "data", "curved",
                             "job.xml")
    compare(args, ["station", "shown", "offset", "tape", "run"], rng, worst)
    taps(args, worst)
    for what, value in sorted(worst.value.items(), key=lambda v: -v[1])[:8]:
        print(f"{what}: {value:.2g} m")
    print(f"{worst.rows} rows, {worst.failed} beyond {TOLERANCE:g} m")
    sys.exit(1 if worst.failed or worst.rows < 10 * args.count else 0)


if __name__ == "__main__":
    main()
