#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What must not matter does not: the library against itself.

A tendon, an alignment or a bridge file is reversed, moved and turned, written
in another unit, or given a map conversion; results must change as these do and
no further. Reversing: t becomes L - t, back becomes ahead, clock angles change
sign, offsets too. Moving and turning is about the vertical. Needs NumPy; exit
77 without it.

usage: properties.py --programs FOLDER [--count N] [--seed S]
FOLDER holds geometry_dump, alignments_dump, bridges_dump; N tendons, N/2
alignments, N/4 bridge files. Prints the largest deviations; exit 1 if one is
over its bound: 1e-9 m, or eight units in the last place, four for each of the
two that are compared.
"""
import argparse
import math
import os
import random
import subprocess
import sys
from fractions import Fraction

import alignments
from alignments import LD, np
from deviations import TOLERANCE, Worst, room
import bridge_files as files
import bridges
import geometry

TURN = 2 * math.pi


def both(*coordinates):
    """Bound for two results, each of which has its own rounding."""
    one = room(*coordinates)
    return 2 * one if one > TOLERANCE else TOLERANCE


def angle(a, b):
    return abs((a - b + math.pi) % TURN - math.pi)


def apart(a, b):
    return math.sqrt(math.fsum((x - y) ** 2 for x, y in zip(a, b)))


class Move:
    """Turned counterclockwise about `centre`, which comes to `to`. Exact to
    the last digit of the result."""

    def __init__(self, rng, centre, far):
        self.degrees = Fraction(rng.randint(-1790000, 1790000), 10000)
        turn = LD(self.degrees.numerator) / LD(self.degrees.denominator) * \
            (4 * np.arctan(LD(1))) / 180
        self.angle = float(turn)
        self.c, self.s = np.cos(turn), np.sin(turn)
        self.centre = tuple(LD(v) for v in centre)
        self.to = tuple(LD(v) for v in (
            (rng.uniform(2e5, 8e5), rng.uniform(1e6, 6e6), 300.0) if far else
            (rng.uniform(-500, 500), rng.uniform(-500, 500),
             rng.uniform(-50, 50))))

    def direction(self, v):
        return (float(self.c * v[0] - self.s * v[1]),
                float(self.s * v[0] + self.c * v[1]), v[2])

    def exact(self, p):
        x, y, z = (LD(v) - c for v, c in zip(p, self.centre))
        return (self.to[0] + (self.c * x - self.s * y),
                self.to[1] + (self.s * x + self.c * y), self.to[2] + z)

    def point(self, p):
        return tuple(float(v) for v in self.exact(p))


def run(program, text):
    done = subprocess.run([program], input=text, text=True,
                          stdout=subprocess.PIPE, check=True)
    return [[float(w) for w in line.split()]
            for line in done.stdout.splitlines()]


# ---- tendons: points, radii, datum, limit, curve, stations, r, phi

def split(cases, rows):
    out = []
    for case in cases:
        n = 1 + len(case[5])
        out.append(rows[:n])
        rows = rows[n:]
    if rows:
        raise RuntimeError("rows left over")
    return out


def tendons(program, count, seed, worst):
    rng = random.Random(seed)
    cases = geometry.make_cases(count, seed)
    plain = split(cases, run(program, geometry.text_of(cases)))
    turned, moved, moves = [], [], []
    for case, rows in zip(cases, plain):
        points, radii, datum, limit, curve, stations, r, phi = case
        length = rows[0][0]
        turned.append((points[::-1], radii[::-1], datum, limit, curve,
                       [length - t for t in stations[::-1]], r, -phi))
        m = Move(rng, points[0], rng.random() < 0.3)
        moves.append(m)
        moved.append(([m.point(p) for p in points], radii,
                      m.direction(datum) if datum else None, limit, curve,
                      stations, r, phi))
    for case, rows, back in zip(cases, plain, split(
            turned, run(program, geometry.text_of(turned)))):
        reversed_tendon(case, rows, back, worst)
    for case, m, rows, other in zip(cases, moves, plain, split(
            moved, run(program, geometry.text_of(moved)))):
        moved_tendon(case, m, rows, other, worst)


def reversed_tendon(case, rows, back, worst):
    far = max(case[0][0]) > 1e5
    worst.where = ", map coordinates" if far else ""
    (length, whole), (length_back, whole_back) = rows[0], back[0]
    bound = both(*rows[1][:3])
    worst.see("tendon reversed: length, m", abs(length - length_back), bound)
    worst.see("tendon reversed: outside length, m", abs(whole - whole_back),
              bound)
    for a, b in zip(rows[1:], reversed(back[1:])):
        worst.see("tendon reversed: place, m", apart(a[:3], b[:3]), bound)
        worst.see("tendon reversed: crown", apart(a[3:6], b[3:6]), bound)
        worst.see("tendon reversed: outside length, m",
                  abs(whole - a[6] - b[6]), bound)
        worst.see("tendon reversed: clock, rad", angle(a[13], -b[13]),
                  bound / case[6])
        worst.see("tendon reversed: foot, m", abs(length - a[10] - b[10]),
                  bound)


def moved_tendon(case, m, rows, other, worst):
    far = max(case[0][0]) > 1e5 or m.to[0] > 1e5
    worst.where = ", map coordinates" if far else ""
    bound = both(*rows[1][:3], *other[1][:3])
    for a, b in zip(rows[0], other[0]):
        worst.see("tendon moved: lengths, m", abs(a - b), bound)
    for a, b in zip(rows[1:], other[1:]):
        worst.see("tendon moved: place, m", apart(m.point(a[:3]), b[:3]),
                  bound)
        worst.see("tendon moved: crown",
                  apart(m.direction(a[3:6]), b[3:6]), bound)
        worst.see("tendon moved: outside length, m", abs(a[6] - b[6]), bound)
        worst.see("tendon moved: foot, m", abs(a[10] - b[10]), bound)
        worst.see("tendon moved: clock, rad", angle(a[13], b[13]),
                  bound / case[6])


# ---- alignments

class Changed(alignments.Case):
    """A case with other numbers, for its text alone."""

    def __init__(self, like, s, x, y, bearing, elements):
        self.line = alignments.Line.__new__(alignments.Line)
        self.line.s, self.line.x, self.line.y = s, x, y
        self.line.bearing, self.line.elements = bearing, elements
        self.pvis, self.equations = like.pvis, []
        self.stations, self.points = like.stations, like.points


def reversed_case(case, end, place):
    """From its end on; `place` is what the library says of that."""
    line = case.line
    c = Changed(case, line.s, place[0], place[1], place[3] + math.pi,
                [(n, -k1, -k0) for n, k0, k1 in line.elements[::-1]])
    c.pvis = [(line.s + (end - s), z, n) for s, z, n in case.pvis[::-1]]
    c.stations = [(line.s + (end - s), -offset, z)
                  for s, offset, z in case.stations]
    return c


def moved_case(case, m):
    line = case.line
    x, y, _ = m.point((line.x, line.y, 0.0))
    c = Changed(case, line.s, x, y, line.bearing - m.angle, line.elements)
    c.points = [m.point(p + (0.0,))[:2] for p in case.points]
    return c


def split_alignments(cases, rows):
    out = []
    for c in cases:
        n = 1 + len(c.stations) + len(c.points)
        out.append(rows[:n])
        rows = rows[n:]
    if rows:
        raise RuntimeError("rows left over")
    return out


def lines(program, count, seed, worst):
    rng = random.Random(seed)
    cases = [alignments.Case(rng) for _ in range(count)]
    for c in cases:
        c.equations = []
        # Its end, for the begin of the reversed one.
        c.stations.insert(0, (c.line.s + float(c.line.length), 0.0, 0.0))
    plain = split_alignments(cases, run(program, "".join(c.text()
                                                         for c in cases)))
    turned = [reversed_case(c, rows[0][0], rows[1])
              for c, rows in zip(cases, plain)]
    moves = [Move(rng, (c.line.x, c.line.y, 0.0), rng.random() < 0.3)
             for c in cases]
    for m in moves:
        m.to = m.to[:2] + (LD(0),)
    moved = [moved_case(c, m) for c, m in zip(cases, moves)]
    back = split_alignments(turned, run(program, "".join(c.text()
                                                         for c in turned)))
    other = split_alignments(moved, run(program, "".join(c.text()
                                                         for c in moved)))
    for c, m, a, b, d in zip(cases, moves, plain, back, other):
        compare_lines(c, a, b, None, worst)
        compare_lines(c, a, d, m, worst)


def compare_feet(name, a, b, station, sign, bound, worst):
    """Feet: s, offset, inside, certain; where both are sure."""
    if not (a[3] and b[3]) or abs(a[1]) > 1e4:
        return
    if abs(b[0] - station) > 1e-3:
        # Of two nearly as near, the rounding decides.
        worst.see(name + ": offset, m", abs(abs(b[1]) - abs(a[1])) - 1e-6,
                  bound)
        return
    worst.see(name + ": offset, m", abs(b[1] - sign * a[1]), bound)


def compare_lines(case, rows, other, m, worst):
    line = case.line
    name = "alignment moved" if m else "alignment reversed"
    sign = 1 if m else -1
    far = line.x or (m and m.to[0] > 1e5)
    worst.where = ", map coordinates" if far else ""
    end = rows[0][0]
    worst.see(name + ": length, m", abs(other[0][0] - end))
    n = len(case.stations)
    for query, a, b in zip(case.stations, rows[1:1 + n], other[1:1 + n]):
        bound = both(*a[:2], *b[:2])
        place, at = (a[0], a[1], 0.0), (a[6], a[7], 0.0)
        if m:
            place, at = m.point(place), m.point(at)
        worst.see(name + ": place, m", apart(place[:2], b[:2]), bound)
        worst.see(name + ": point at an offset, m", apart(at[:2], b[6:8]),
                  bound)
        worst.see(name + ": bearing, rad",
                  angle(b[3], a[3] - m.angle if m else a[3] + math.pi))
        if not math.isnan(a[2]):
            worst.see(name + ": height, m", abs(a[2] - b[2]))
            if all(abs(p[0] - query[0]) > 1e-6 for p in case.pvis):
                worst.see(name + ": grade", abs(a[5] - sign * b[5]))
        station = a[9] if m else line.s + (end - a[9])
        compare_feet(name, a[9:13], b[9:13], station, sign, bound, worst)
    for a, b in zip(rows[1 + n:], other[1 + n:]):
        station = a[0] if m else line.s + (end - a[0])
        compare_feet(name, a, b, station, sign,
                     both(line.x, line.y, *((m.to[0], m.to[1]) if m else ())),
                     worst)


# ---- bridge files

def fine(metres):
    """A length to the last digit that a file holds."""
    if isinstance(metres, Fraction):
        return files.Length(metres, "m", 15)
    whole = math.floor(metres)
    return files.Length(Fraction(whole) + Fraction(float(metres - LD(whole))),
                        "m", 15)


def moved_bridge(bridge, m):
    b = files.copy_of(bridge)
    rise = Fraction(float(m.to[2]))
    turn_of = lambda deg: (deg - m.degrees + 180) % 360 - 180
    if b["alignment"]:
        a = b["alignment"]
        x, y, _ = m.exact([bridges.exact(v) for v in a["start"][1:]] + [0])
        a["start"] = [a["start"][0], fine(x), fine(y)]
        a["bearing"] = turn_of(a["bearing"])
        a["pvis"] = [(s, fine(z.metres + rise), n) for s, z, n in a["pvis"]]
    else:
        b["direction"] = turn_of(b["direction"])
    for s in (s for t in b["tendons"] for s in t["supports"]):
        v = s["numbers"]
        if s["form"] == "world":
            x, y, _ = m.exact([bridges.exact(n) for n in v])
            s["numbers"] = [fine(x), fine(y), fine(v[2].metres + rise)]
        elif s["form"] == "height":
            s["numbers"] = v[:2] + [fine(v[2].metres + rise)]
    return b


def reversed_bridge(bridge):
    b = files.copy_of(bridge)
    if b["alignment"]:
        a, built = b["alignment"], bridges.Built(bridge)
        begin = a["start"][0].metres
        end = begin + sum(e[0].metres for e in a["plan"])
        x, y, bearing, _ = built.line.at(built.line.length)
        degrees = Fraction(float(bearing)) * Fraction(
            180 / math.pi) + 180
        a["start"] = [a["start"][0], fine(x + built.origin[0]),
                      fine(y + built.origin[1])]
        a["bearing"] = (degrees + 180) % 360 - 180
        hand = {"left": "right", "right": "left"}
        a["plan"] = [(n, r1, r0, hand[turn])
                     for n, r0, r1, turn in a["plan"][::-1]]
        a["pvis"] = [(fine(begin + (end - s.metres)), z, n)
                     for s, z, n in a["pvis"][::-1]]
    else:
        b["direction"] = (b["direction"] + 360) % 360 - 180
    side = {"back": "ahead", "ahead": "back"}
    for t in b["tendons"]:
        t["supports"].reverse()
        for s in t["supports"]:
            s["faces"] = {side[k]: v for k, v in s["faces"].items()}
            if s["form"] != "world":
                v = s["numbers"]
                s["numbers"] = [fine(begin + (end - v[0].metres)),
                                fine(-v[1].metres), v[2]]
    return b


class Tendon:
    """Rows of a dump, sorted into what they are of."""

    def __init__(self, rows):
        self.head = rows.next("tendon")
        self.supports, self.faces, self.places = [], [], []
        while rows.upcoming() in ("support", "face", "place"):
            word = rows.upcoming()
            getattr(self, word + "s").append(rows.next(word))


def tendons_of(dump):
    rows = bridges.Rows(dump)
    rows.next("bridge")
    out = []
    while rows.upcoming():
        out.append(Tendon(rows))
    return out


def same(name, a, b, bound, worst):
    """NaN where there is nothing: on both sides or on none."""
    if math.isnan(a) or math.isnan(b):
        worst.see(name, 0 if math.isnan(a) and math.isnan(b) else 1)
    else:
        worst.see(name, abs(a - b), bound)


class Change:
    """What a change of a file does to what is read from it."""

    def __init__(self, name, move=None, stations=None):
        self.name = name + ": "
        self.point = move.point if move else lambda p: p
        self.direction = move.direction if move else lambda v: v
        self.stations = stations  # sum of both ends; None: not reversed
        self.mirrored = stations is not None
        self.step = -1 if self.mirrored else 1
        self.lines = (0, 2, 1, 3) if self.mirrored else (0, 1, 2, 3)
        self.readable = ((6, 7), (7, 6)) if self.mirrored else ((6, 6), (7, 7))

    def station(self, s):
        return self.stations - s if self.mirrored else s


def compare_supports(change, a, b, t, bound, worst):
    name = change.name
    for p, q in zip(a.supports, b.supports[::change.step]):
        worst.see(name + "support, m", apart(change.point(p[:3]), q[:3]),
                  bound)
        same(name + "support's station, m", t(p[3]), q[3], bound, worst)
        same(name + "deflection, rad", p[4], q[4], bound, worst)
        if not math.isnan(p[5]) and not math.isnan(q[5]):
            # A slight bend has no sure plane.
            worst.see(name + "plane of a bend, rad",
                      angle(change.step * p[5], q[5]),
                      bound / max(1e-9, min(1.0, p[4])))
        for i, j in change.readable:
            same(name + "readable end, m", t(p[i]), q[j], bound, worst)
        if math.isnan(p[8]):
            continue
        # Of two feet nearly as near the rounding decides.
        near = abs(change.station(p[8]) - q[8]) < 1e-3
        if near:
            same(name + "bridge station, m", change.station(p[8]), q[8],
                 bound, worst)
        worst.see(name + "offset, m", abs(change.step * p[9] - q[9]) if near
                  else abs(abs(p[9]) - abs(q[9])) - 1e-6, bound)


def compare_bridges(change, a, b, worst):
    """Tendon a against b, which was read from the changed file."""
    coordinates = [v for s in (a, b) for r in s.supports for v in r[:3]]
    worst.where = ", map coordinates" if max(map(abs, coordinates)) > 1e5 \
        else ""
    bound, length, name = both(*coordinates), a.head[0], change.name
    t = (lambda v: length - v) if change.mirrored else lambda v: v
    same(name + "lengths, m", a.head[0], b.head[0], bound, worst)
    compare_supports(change, a, b, t, bound, worst)
    for p, q in zip(a.faces, b.faces[::change.step]):
        same(name + "face's station, m", t(p[0]), q[0], bound, worst)
        for k, line in enumerate(change.lines):
            same(name + "face's station, m", t(p[1 + k]), q[1 + line], bound,
                 worst)
        worst.see(name + "face's origin, m",
                  apart(change.point(p[5:8]), q[5:8]), bound)
        worst.see(name + "face's normal",
                  apart(change.direction(p[8:11]), q[8:11]), bound)
    for p, q in zip(a.places, b.places[::change.step]):
        worst.see(name + "place, m", apart(change.point(p[1:4]), q[1:4]),
                  bound)
        worst.see(name + "crown", apart(change.direction(p[4:7]), q[4:7]),
                  bound)
        for k, line in enumerate(change.lines):
            whole = a.head[1 + k]
            same(name + "outside length, m", whole - p[7 + k]
                 if change.mirrored else p[7 + k], q[7 + line], bound, worst)


def changes_of(bridge, rng):
    """Changed files, and what each change does."""
    out = [(files.text_of(bridge, unit), Change("file in another unit"))
           for unit in files.UNITS]
    a = bridge["alignment"]
    centre, ends = (0, 0, 0), 0.0
    if a:
        begin = a["start"][0].metres
        ends = float(2 * begin + sum(e[0].metres for e in a["plan"]))
        centre = [bridges.exact(v) for v in a["start"][1:]] + [0]
    m = Move(rng, centre, rng.random() < 0.3)
    out.append((files.text_of(moved_bridge(bridge, m)),
                Change("file moved", m)))
    out.append((files.text_of(reversed_bridge(bridge)),
                Change("file reversed", None, ends)))
    with_map = files.copy_of(bridge)
    with_map["map"] = files.random_map(rng)
    out.append((files.text_of(with_map), Change("file with a map")))
    return out


def bridge_files(program, count, seed, worst):
    rng = random.Random(seed)
    texts, changes = [], []
    for _ in range(count):
        bridge = bridges.random_bridge(rng)
        texts.append(files.text_of(bridge))
        changed = changes_of(bridge, rng)
        texts += [text for text, _ in changed]
        changes.append([change for _, change in changed])
    dumps = bridges.run_dump(program, texts)
    for group in changes:
        plain = tendons_of(dumps.pop(0))
        for change in group:
            other = tendons_of(dumps.pop(0))
            if len(other) != len(plain):
                raise RuntimeError("another number of tendons")
            for a, b in zip(plain, other):
                if [len(a.faces), len(a.supports), len(a.places)] != \
                        [len(b.faces), len(b.supports), len(b.places)]:
                    raise RuntimeError("other rows")
                compare_bridges(change, a, b, worst)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--programs", required=True)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    worst = Worst()
    n = args.count
    path = lambda name: os.path.join(args.programs, name)
    tendons(path("geometry_dump"), n, args.seed, worst)
    lines(path("alignments_dump"), max(1, n // 2), args.seed, worst)
    bridge_files(path("bridges_dump"), max(1, n // 4), args.seed, worst)
    print(f"{n} tendons, {max(1, n // 2)} alignments, {max(1, n // 4)} bridge "
          f"files changed, seed {args.seed}; largest deviations:")
    return 0 if worst.print() else 1


if __name__ == "__main__":
    sys.exit(main())
