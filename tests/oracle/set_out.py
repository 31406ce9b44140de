#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on the measures that a crew marks a tap by.

Random bridges (bridge_files.py) with alignments, station equations, sag and
faces that lean any way; jobs that request taps at a tape from a face, in metric
and US units. Some free lengths were run between two touchable faces with an
encoder that finds them longer or shorter than drawn, so that both faces move.
From the same numbers every measure is made again by numerical integration
(set_out_site.py); sagging lengths are catenaries there, where the library takes
flat arcs. Compared are taps.csv, and what the sheets print in mm and in feet and
inches. Needs NumPy; exit 77 without.

usage: set_out.py --program ductmark [--count N] [--seed S] [--spoil]
Prints the largest differences; exit 1 if one is over 0.1 mm, or if there are
fewer taps than two a bridge. --spoil: every number compared, 0.2 mm off (a printed
one by 2 mm or 2/8 in), must be noticed.
"""
import argparse
import csv
import math
import os
import random
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction

from deviations import Worst
from set_out_site import BIT, MARK_U, TIE_U, WALL, Case, hours

sys.path.insert(1, os.path.join(os.path.dirname(os.path.abspath(__file__)),
                                '..', 'validate'))
from sheets import part_of, svg_pages_of

BOUND = 1e-4  # m
K = 2.0  # the job's coverage factor


def export(program, case, folder):
    case.write(folder)
    done = subprocess.run(
        [program, 'export', folder + '/job.xml', '--format', 'csv,sheet',
         '--out', folder + '/out', '--quiet'], text=True, capture_output=True)
    if done.returncode > 1:
        raise RuntimeError(done.stderr)
    with open(folder + '/out/taps.csv', encoding='utf-8', newline='') as f:
        rows = {r['id']: r for r in csv.DictReader(f)}
    pages = svg_pages_of(folder + '/out')
    parts = {}
    for name, row in rows.items():
        found = [part_of(p, row) for p in pages if part_of(p, row)]
        parts[name] = found[0] if len(found) == 1 else ''
    return rows, parts


FT_IN = r'(?:(\d+) ft )?(?:(\d+)(?: |(?= in)))?(?:(\d)/(\d) )?in'
MM = r'(\d+) mm'


def both_units(us):
    return FT_IN + r' \(' + MM + r'\)' if us else MM + r' \(' + FT_IN + r'\)'


def printed(m, us):
    """mm and eighths of an inch, from a match of both_units."""
    v = [int(x) if x else None for x in m.groups()]
    mm = v[-1] if us else v[0]
    feet, whole, top, bottom = v[:4] if us else v[1:5]
    eighths = 96 * (feet or 0) + 8 * (whole or 0)
    if top:
        eighths += Fraction(8 * top, bottom)
    return mm, eighths


class Check:
    """Compares, and counts what it compared."""

    def __init__(self):
        self.worst, self.bad, self.count = Worst(), [], 0

    def number(self, what, row, column, own, unit=1.0):
        """A value of the table against one's own; unit: metres in one of
        the column's."""
        said = row[column]
        self.count += 1
        if said == '':
            self.worst.see(what, math.inf, BOUND)
            self.bad.append((row['id'], column, 'empty'))
            return
        value = float(said) * unit
        self.worst.see(what, abs(value - float(own)), BOUND)
        if not abs(value - float(own)) <= BOUND:
            self.bad.append((row['id'], column, said, float(own)))

    def word(self, row, column, own):
        self.count += 1
        if row[column] != own:
            self.worst.see('words of ' + column, math.inf, BOUND)
            self.bad.append((row['id'], column, row[column], own))

    def paper(self, what, tap, text, before, own, us, after=''):
        """Whole mm and whole eighths: nearer than half a step to one's own."""
        m = re.search(before + both_units(us) + after, text)
        self.count += 1
        if m is None:
            self.worst.see(what, math.inf, BOUND)
            self.bad.append((tap.id, what, 'not on the sheet'))
            return
        mm, eighths = printed(m, us)
        inch = 0.0254 / 8
        over = max(abs(mm / 1000 - own) - 0.0005,
                   abs(float(eighths) * inch - own) - inch / 2, 0.0)
        self.worst.see(what, over, BOUND)
        if not over <= BOUND:
            self.bad.append((tap.id, what, m.group(0), own))


def compare(case, row, text, check):
    tap = next(t for t in case.taps if t.id == row['id'])
    o = case.built.origin
    n, us = check.number, case.us
    n('tendon station', row, 'station_m', tap.t)
    for i, axis in enumerate('xyz'):
        shift = float(o[i]) if i < 2 else 0.0
        n('mark: X Y Z', row, axis + '_m', shift + tap.mark[i])
        n('axis: X Y Z', row, 'axis_%s_m' % axis, shift + tap.axis[i])
    # Round the duct an angle is a length.
    n('clock angle, on the outside', row, 'clock_deg',
      tap.r * math.radians(tap.clock), tap.r * math.radians(1))
    check.word(row, 'clock_looking_ahead', hours(tap.clock))
    check.word(row, 'clock_looking_back', hours(360 - tap.clock))
    check.word(row, 'tape_line', hours(tap.line))
    check.word(row, 'mark_face', tap.face.name)
    meet = 0.0
    for side in ("back", "ahead"):
        f, length = tap.tapes.get(side, (None, None))
        check.word(row, side + '_face', f.name if f else '')
        if not f:
            check.word(row, side + '_tape_m', '')
            continue
        n('tape from a face', row, side + '_tape_m', length)
        u = MARK_U
        if f is not tap.face and not f.tied:
            u = math.hypot(MARK_U, f.u, tap.face.u)
        elif f is not tap.face:
            u = math.hypot(MARK_U, TIE_U, TIE_U)
        n('U of a tape', row, 'U_%s_tape_m' % side, K * u)
        meet += K * u
        way = 'AHEAD' if side == "back" else 'BACK'
        check.paper('on the sheet: tape', tap, text,
                    r'from face %s \([^)]*\), going %s: ' % (f.name, way),
                    length, us)
    n('U against the world', row, 'U_world_m', K * math.hypot(
        MARK_U, tap.face.u))
    if tap.apart is not None:
        n('faces apart', row, 'faces_apart_m', tap.apart)
        n('within what both tapes meet', row, 'U_tapes_meet_m', meet)
        check.paper('on the sheet: faces apart', tap, text, 'Faces apart ',
                    tap.apart, us)
    n('round the duct from the tape line', row, 'around_from_tape_line_mm',
      tap.around, 1e-3)
    crown = tap.from_crown
    if tap.clock == 180:  # either way round
        crown = math.copysign(crown, float(row['around_from_crown_mm']))
    n('round the duct from the crown', row, 'around_from_crown_mm', crown,
      1e-3)
    if abs(tap.around) > 6e-4:
        check.paper('on the sheet: round the duct', tap, text,
                    'Round the duct ', abs(tap.around), us,
                    ' to the %s looking ahead' % (
                        'RIGHT' if tap.around > 0 else 'LEFT'))
    m = re.search(r'looking ahead ([\d:]+) / looking back ([\d:]+)', text)
    check.count += 1
    if m is None or m.groups() != (hours(tap.clock), hours(360 - tap.clock)):
        check.worst.see('on the sheet: clock', math.inf, BOUND)
        check.bad.append((tap.id, 'clock on the sheet', m and m.groups()))
    wall = case.wall_min or WALL
    n('least wall', row, 'wall_min_mm', wall, 1e-3)
    if row['advice'] == 'tap':
        n('depth stop', row, 'depth_stop_mm', wall + case.allowance, 1e-3)
        n('bit', row, 'bit_mm', BIT, 1e-3)
    elif row['depth_stop_mm'] or row['bit_mm'] or row['p_contact']:
        check.bad.append((tap.id, 'a stop or bit without a drill', row))
    if tap.bridge:
        station, offset = tap.bridge
        n('bridge station', row, 'bridge_station_m', station)
        n('bridge offset', row, 'bridge_offset_m', offset)
        shown = station
        if case.equation and shown > case.equation[0]:
            shown += case.equation[1] - case.equation[0]
        n('bridge station as shown', row, 'bridge_station_shown_m', shown)


MUST = ('depth stop', 'bridge station as shown', 'faces apart',
        'on the sheet: tape', 'on the sheet: faces apart',
        'on the sheet: round the duct')
SPOILED = re.compile(r'_m$|_mm$|^clock_deg$')
LEFT = {'aim_from_m', 'aim_to_m', 'drill_free_m', 'drill_gap_m',
        'strand_gap_mm', 'strand_gap_least_mm', 'found_depth_mm'}


def spoil(case, row, text):
    """Copies with one number off, each of which must be found."""
    tap = next(t for t in case.taps if t.id == row['id'])
    for column, said in row.items():
        if not SPOILED.search(column) or column in LEFT or not said:
            continue
        if column.startswith('bridge') and not tap.bridge:
            continue
        off = 0.2 if column.endswith('_mm') else \
            math.degrees(2e-4 / tap.r) if column == 'clock_deg' else 2e-4
        for sign in (-1, 1):
            yield (column, dict(row, **{column: repr(float(said) +
                                                     sign * off)}), text)
    for before in ('going AHEAD: ', 'going BACK: ', 'Faces apart ',
                   'Round the duct '):
        m = re.search(before + both_units(case.us), text)
        if m is None or (before[0] == 'R' and abs(tap.around) < 6e-4):
            continue
        for digit in re.finditer(r'\d+(?= mm|/8 in)', m.group()):
            at = m.start() + digit.start()
            wrong = str(int(digit.group()) + 2)
            yield before, row, text[:at] + wrong + text[
                m.start() + digit.end():]


def check_spoiled(case, rows, parts):
    count, missed = 0, []
    for name, row in rows.items():
        for what, copy, text in spoil(case, row, parts[name]):
            check = Check()
            compare(case, copy, text, check)
            count += 1
            if not check.bad:
                missed.append((name, what))
    return count, missed


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--spoil", action="store_true")
    args = parser.parse_args()
    rng = random.Random(args.seed)
    cases = [Case(rng, i) for i in range(args.count)]
    check, taps, spoiled, missed = Check(), 0, 0, []
    with tempfile.TemporaryDirectory() as work, ThreadPoolExecutor(2) as pool:
        results = list(pool.map(
            lambda i: export(args.program, cases[i], f'{work}/{i:04d}'),
            range(len(cases))))
    for case, (rows, parts) in zip(cases, results):
        if set(rows) != {t.id for t in case.taps}:
            print('the table has other taps than were requested:',
                  sorted(rows), [t.id for t in case.taps])
            return 1
        for name, row in rows.items():
            compare(case, row, parts[name], check)
            taps += 1
        if args.spoil:
            n, lost = check_spoiled(case, rows, parts)
            spoiled += n
            missed += lost
    moved = sum(len(c.runs) for c in cases)
    leaning = [s["more"][side].lean for c in cases
               for t in c.bridge["tendons"] for s in t["supports"]
               for side in s["faces"] if s["more"][side].lean > 0]
    print(f"{len(cases)} bridges ({sum(c.us for c in cases)} in US units), "
          f"{len(leaning)} faces that lean up to {max(leaning):.0f} deg, "
          f"{moved} pairs moved by a run, {taps} taps, {check.count} values, "
          f"seed {args.seed}; largest differences, m:")
    good = check.worst.print()
    for fault in check.bad[:20]:
        print('  ', *fault)
    if args.spoil:
        print(f"  {spoiled} numbers changed, {len(missed)} not noticed")
        for m in missed[:10]:
            print('  ', *m)
        good = good and spoiled > 0 and not missed
    if taps < 2 * args.count or not moved or not all(
            what in check.worst.seen for what in MUST):
        print('too few taps or runs, or a measure that no tap has')
        return 1
    return 0 if good and not check.bad else 1


if __name__ == "__main__":
    sys.exit(main())
