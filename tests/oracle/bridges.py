#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on bridge files, from the XML to stations and points.

Random bridges are written as files (bridge_files.py) and read by the library;
here their points are computed from the same numbers: alignments as in
alignments.py, centrelines, crowns and outside paths as in geometry.py, faces by
Newton's method on them. Tendons with sag hang as catenaries between their bends
(closed form by arc length), which the library takes as flat arcs. Needs NumPy;
exit 77 without it.

usage: bridges.py --program bridges_dump [--count N] [--seed S]
Prints the largest deviations; exit 1 if one is over its bound.
"""
import argparse
import bisect
import math
import os
import random
import subprocess
import sys
import tempfile

from alignments import LD, Line, np, profile_at, random_elements
from deviations import Worst, room
import bridge_files as files
import geometry as g

LINES = (0.0, 0.9, -0.9, math.pi)
SAG_TOLERANCE = 1e-6
GRAVITY = 9.80665  # m/s2, standard: NIST SP 811


def exact(length):
    """A length in long double."""
    return LD(length.metres.numerator) / LD(length.metres.denominator)


class Duct(g.Curve):
    """A centreline of straight legs and arcs that can be asked anywhere."""

    def __init__(self, points, radii):
        super().__init__(points, radii, None, math.radians(10))
        self.first = points[0]
        self.places = [(0.0, 0.0, 0.0)]
        for a, b, piece in self.knots:
            step = g.integrate(lambda t: self._turn(piece, t)[0], a, b)
            self.places.append(g.add(self.places[-1], step))

    def at(self, t, r=0.0, phi=0.0):
        """Point on a clock line, and the tangent; the ends prolonged."""
        i = bisect.bisect_right([k[0] for k in self.knots], t) - 1
        i = min(max(i, 0), len(self.knots) - 1)
        a, b, piece = self.knots[i]
        inner = min(max(t, a), b)
        way = g.integrate(lambda s: self._turn(piece, s)[0], a, inner)
        tangent, crown, right, _, _ = self.frame(piece, inner, 0.5 * (a + b))
        p = g.add(g.add(self.first, g.add(self.places[i], way)), tangent,
                  t - inner)
        out = g.add(g.mul(math.cos(phi), crown), right, math.sin(phi))
        return g.add(p, out, r), tangent


def cross(curve, origin, normal, t, r, phi):
    """Where a plane cuts a clock line of a curve, from a guess."""
    for _ in range(60):
        p, tangent = curve.at(t, r, phi)
        step = g.dot(normal, g.add(origin, p, -1.0)) / \
            g.dot(normal, tangent)
        t += step
        if abs(step) < 1e-13:
            break
    return t


class Hanging:
    """Catenaries between bends. The line of each bend's end goes through the
    point that is given; the level part of the force is that of the chord."""

    def __init__(self, points, radii, weight, force):
        self.points, self.radii = points, radii
        self.w = weight * GRAVITY
        n = len(points) - 1
        legs = [g.add(points[i + 1], points[i], -1.0) for i in range(n)]
        self.level = [math.hypot(v[0], v[1]) for v in legs]
        self.way = [(v[0] / q, v[1] / q) for v, q in zip(legs, self.level)]
        self.rise = [v[2] for v in legs]
        self.H = [force * q / g.norm(v) for v, q in zip(legs, self.level)]
        self.begin = [z / q for z, q in zip(self.rise, self.level)]  # slopes
        self.s = [g.norm(v) for v in legs]
        for _ in range(60):
            self._relax()
        self._join()

    def _direction(self, i, slope):
        q = math.hypot(1.0, slope)
        return (self.way[i][0] / q, self.way[i][1] / q, slope / q)

    def _end(self, i):
        return self.begin[i] + self.w * self.s[i] / self.H[i]

    def _bend(self, i):
        """Angle at point i, and its tangent length."""
        if i == 0 or i == len(self.s):
            return 0.0, 0.0
        u, v = self._direction(i - 1, self._end(i - 1)), \
            self._direction(i, self.begin[i])
        d = 2 * math.atan2(g.norm(g.add(v, u, -1.0)), g.norm(g.add(v, u)))
        return d, self.radii[i] * math.tan(d / 2)

    def _fall(self, i, s):
        """Level and plumb distance after s on the catenary of leg i."""
        c, a = self.H[i] / self.w, self.begin[i]
        b = a + s / c
        x = c * (math.asinh(b) - math.asinh(a))
        # sec b - sec a, without the difference of two large numbers
        z = s * (a + b) / (math.hypot(1.0, a) + math.hypot(1.0, b))
        return x, z

    def _relax(self):
        for i in range(len(self.s)):
            ta, tb = self._bend(i)[1], self._bend(i + 1)[1]
            x, z = self._fall(i, self.s[i])
            a, b = self.begin[i], self._end(i)
            ca, cb = math.hypot(1.0, a), math.hypot(1.0, b)
            miss_x = self.level[i] - ta / ca - tb / cb - x
            miss_z = self.rise[i] - ta * a / ca - tb * b / cb - z
            self.s[i] += miss_x * ca
            self.begin[i] += (miss_z - miss_x * (a + b) / 2) / self.level[i]

    def _join(self):
        self.pieces, t = [], 0.0  # begin, end, leg or None, place, bend
        for i in range(len(self.s)):
            d, ta = self._bend(i)
            u = self._direction(i, self.begin[i])
            if d > 0.0:
                before = self._direction(i - 1, self._end(i - 1))
                start = g.add(self.points[i], before, -ta)
                axis = g.cross(before, u)
                axis = g.mul(1 / g.norm(axis), axis)
                length = self.radii[i] * d
                self.pieces.append((t, t + length, None, start,
                                    (before, axis, self.radii[i])))
                t += length
            self.pieces.append((t, t + self.s[i], i,
                                g.add(self.points[i], u, ta), None))
            t += self.s[i]
        self.length = t

    def at(self, t):
        for a, b, leg, start, bend in self.pieces:
            if t <= b or b == self.length:
                break
        if bend:
            u, axis, radius = bend
            angle = (t - a) / radius
            p = g.add(start, u, radius * math.sin(angle))
            return g.add(p, g.cross(axis, u), radius * (1 - math.cos(angle)))
        x, z = self._fall(leg, t - a)
        return g.add(start, (x * self.way[leg][0], x * self.way[leg][1], z))


class Built:
    """A bridge of bridge_files.py as geometry; points from `origin` on."""

    def __init__(self, bridge):
        a = bridge["alignment"]
        self.line = None
        self.origin = (LD(0), LD(0))
        if a:
            s, x, y = (exact(v) for v in a["start"])
            self.origin, self.s = (x, y), s
            bearing = LD(a["bearing"].numerator) / LD(
                a["bearing"].denominator) * (4 * np.arctan(LD(1))) / 180
            self.line = Line(0.0, 0.0, 0.0, bearing,
                             [(float(e[0]),) + files.curvatures(e)
                              for e in a["plan"]])
            self.pvis = [tuple(exact(v) for v in p) for p in a["pvis"]]
        self.bridge = bridge

    def point(self, support):
        """From the origin; z as it is."""
        v = [exact(n) for n in support["numbers"]]
        if support["form"] == "world":
            return v[0] - self.origin[0], v[1] - self.origin[1], v[2]
        x, y, b, _ = self.line.at(v[0] - self.s)
        z = v[2]
        if support["form"] == "above":
            z += profile_at(self.pvis, v[0])[0]
        return x + v[1] * np.cos(b), y - v[1] * np.sin(b), z

    def foot(self, p):
        """Station, offset, and the direction of the bridge there."""
        best = self.line.feet(LD(p[0]), LD(p[1]))[0]
        b = self.line.at(best[1])[2]
        return best[1] + self.s, best[2], (float(np.sin(b)), float(np.cos(b)),
                                           0.0)

    def is_plain(self, support):
        """Its station is the nearest and no other is nearly as near, so that x
        and y say as much."""
        feet = self.line.feet(*self.point(support)[:2])
        given = exact(support["numbers"][0]) - self.s
        return abs(feet[0][1] - given) < 1e-3 and \
            all(abs(f[1] - given) < 1e-3 or f[0] > feet[0][0] + 1e-3
                for f in feet)

    def passes_twice(self, p):
        feet = self.line.feet(LD(p[0]), LD(p[1]))
        return any(abs(f[1] - feet[0][1]) > 1e-3 and f[0] < feet[0][0] + 2e-6
                   for f in feet)

    def ahead(self, support, p):
        """Direction of the bridge: at the station given, else the nearest."""
        if self.line and support["form"] == "world":
            return self.foot(p)[2]
        if self.line:
            b = self.line.at(exact(support["numbers"][0]) - self.s)[2]
            return float(np.sin(b)), float(np.cos(b)), 0.0
        b = math.radians(float(self.bridge["direction"]))
        return (math.sin(b), math.cos(b), 0.0)


def random_tendon(rng, built, begin, end):
    """None where it came out too bent. Points in all forms; the numbers of a
    world point are those of a place along the alignment, rounded."""
    forms = ["world"]
    if built.line:
        forms += ["height", "height"] + (["above"] if built.pvis else [])
    n = rng.randint(2, 6)
    s, supports = rng.uniform(begin, begin + 10), []
    # Each far above the one before: ducts that meet are refused.
    offset = rng.uniform(-5, 5)
    z = rng.uniform(2, 4) + 60 * len(built.bridge["tendons"])
    for i in range(n):
        if s > end:
            return None
        form = rng.choice(forms)
        place = files.support(rng, "above" if built.line and built.pvis
                              else "height", (s, offset, z), i == 0,
                              i == n - 1)
        if not built.line:
            b = built.ahead(None, None)
            numbers = (s * b[0] + offset * b[1], s * b[1] - offset * b[0], z)
        elif form == "world" and built.is_plain(place):
            x, y, z_here = built.point(place)
            numbers = (float(x + built.origin[0]), float(y + built.origin[1]),
                       float(z_here))
        else:
            form = form if form == "above" else "height"
            numbers = (s, offset, z if form == "above" else
                       float(built.point(place)[2]))
        supports.append(files.support(rng, form, numbers, i == 0, i == n - 1))
        run = rng.uniform(8, 25)
        s += run
        offset += run * rng.uniform(-0.04, 0.04)
        z += run * rng.uniform(-0.15, 0.15)
    tendon = {"supports": supports, "weight": None, "force": None}
    if rng.random() < 0.4:
        strands = rng.randint(7, 31)
        tendon["weight"], tendon["force"] = (strands * v for v in files.STRAND)
    try:
        Duct(*polygon(built, tendon))
    except ValueError:
        return None
    return tendon


def polygon(built, tendon):
    points = [tuple(float(v) for v in built.point(s))
              for s in tendon["supports"]]
    return points, [float(s["radius"]) if s["radius"] else 0.0
                    for s in tendon["supports"]]


def random_bridge(rng):
    bridge = {"alignment": None, "direction": None, "map": None, "tendons": [],
              "od": files.any_length(rng, rng.uniform(0.08, 0.2))}
    begin, end = 0.0, 150.0
    if rng.random() < 0.85:
        elements = []
        while sum(e[0] for e in elements) < 60 or \
                any(abs(k) > 1 / 40 for e in elements for k in e[1:]):
            elements = random_elements(rng)
        a = files.random_alignment(rng, elements, rng.random() < 0.3)
        begin = float(a["start"][0])
        end = begin + sum(float(e[0]) for e in a["plan"])
        if rng.random() < 0.8:
            a["pvis"] = files.random_profile(rng, begin, end)
        bridge["alignment"] = a
    else:
        bridge["direction"] = files.Fraction(rng.randint(0, 3600000), 10000)
    if rng.random() < 0.5:
        bridge["map"] = files.random_map(rng)
    built = Built(bridge)
    for _ in range(20):
        tendon = random_tendon(rng, built, begin, end)
        if tendon:
            bridge["tendons"].append(tendon)
        if len(bridge["tendons"]) == 3:
            break
    return bridge if bridge["tendons"] else random_bridge(rng)


def run_dump(program, texts):
    """Rows of each file: a list of (word, numbers)."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [os.path.join(folder, f"{i:05d}.xml")
                 for i in range(len(texts))]
        for path, text in zip(paths, texts):
            with open(path, "w", encoding="utf-8") as f:
                f.write(text)
        done = subprocess.run([program] + paths, text=True,
                              stdout=subprocess.PIPE, check=True)
    out = []
    for line in done.stdout.splitlines():
        word, *numbers = line.split()
        if word in ("bridge", "refused"):
            out.append([])
        out[-1].append((word, [float(v) for v in numbers]))
    return out


class Rows:
    def __init__(self, rows):
        self.rows, self.i = rows, 0

    def next(self, word):
        got, numbers = self.rows[self.i] if self.i < len(self.rows) else \
            ("nothing", [])
        if got != word:
            raise RuntimeError(f"expected {word}, got {got} {numbers}")
        self.i += 1
        return numbers

    def upcoming(self):
        return self.rows[self.i][0] if self.i < len(self.rows) else None


def apart(row, origin, p):
    return math.sqrt(sum(float(LD(a) - LD(o) - LD(b)) ** 2
                         for a, o, b in zip(row, origin, p)))


def check_map(bridge, row, worst):
    point, on_map, back = row[1:4], row[11:14], row[14:17]
    bound = room(*on_map, *point)
    worst.see("map and back, m", apart(back, (0, 0, 0), point), bound)
    m = bridge["map"]
    if not m:
        worst.see("no map conversion, m", apart(on_map, (0, 0, 0), point))
        return
    a, o = (LD(m[n].numerator) / LD(m[n].denominator)
            for n in ("abscissa", "ordinate"))
    size = np.hypot(a, o)
    a, o = a / size, o / size
    k = LD(m["scale"].numerator) / LD(m["scale"].denominator)
    x, y, z = (LD(v) for v in point)
    expected = (exact(m["eastings"]) + k * (x * a - y * o),
                exact(m["northings"]) + k * (x * o + y * a),
                exact(m["height"]) + k * z)
    worst.see("map point, m", apart(on_map, (0, 0, 0), expected), bound)


def check_supports(built, tendon, rows, origin, worst):
    for s in tendon["supports"]:
        row = rows.next("support")
        p = built.point(s)
        bound = room(*row[:3])
        worst.see("point of a support, m", apart(row[:3], origin, p), bound)
        if not built.line:
            continue
        station, offset, _ = built.foot(p)
        if built.passes_twice(p):
            # Either station will do; both are as far.
            worst.see("offset of a support, m",
                      abs(abs(row[9]) - abs(offset)), max(bound, 2e-6))
            continue
        worst.see("station of a support, m", abs(row[8] - station), bound)
        worst.see("offset of a support, m", abs(row[9] - offset), bound)
        if s["form"] != "world":
            given, aside, _ = (exact(v) for v in s["numbers"])
            # Elsewhere the line comes nearer.
            if abs(given - station) < 1e-6:
                worst.see("as given and back, m",
                          max(abs(row[8] - given), abs(row[9] - aside)), bound)


def check_straight(built, tendon, rows, origin, head, worst):
    """Faces and places of a tendon without sag."""
    duct = Duct(*polygon(built, tendon))
    r = 0.5 * float(built.bridge["od"])
    bound = room(*rows.rows[rows.i - 1][1][:3])
    worst.see("length, m", abs(head[0] - duct.length), bound)
    expected = []
    for s in tendon["supports"]:
        p = tuple(float(v) for v in built.point(s))
        for side, (offset, _) in s["faces"].items():
            normal = g.mul(1 if side == "ahead" else -1, built.ahead(s, p))
            o = g.add(p, normal, float(offset))
            near = nearest_to(duct, o)
            expected.append([o, normal] + [cross(duct, o, normal, near, *line)
                                           for line in [(0.0, 0.0)] +
                                           [(r, phi) for phi in LINES]])
    for o, normal, *stations in sorted(expected, key=lambda f: f[2]):
        row = rows.next("face")
        worst.see("origin of a face, m", apart(row[5:8], origin, o), bound)
        worst.see("normal of a face", apart(row[8:11], (0, 0, 0), normal))
        for got, own in zip(row[:5], stations):
            worst.see("station of a face, m", abs(got - own), bound)
    places = []
    while rows.upcoming() == "place":
        places.append(rows.next("place"))
    stations = [min(p[0], duct.length) for p in places]
    for k, phi in enumerate(LINES):
        own = duct.walk(r, phi, stations)
        worst.see("outside length, m", abs(head[1 + k] - own.pop()[2]), bound)
        for row, (place, crown, outside, _) in zip(places, own):
            worst.see("outside length, m", abs(row[7 + k] - outside), bound)
            worst.see("crown", apart(row[4:7], (0, 0, 0), crown),
                      max(1e-9, bound))
            worst.see("place, m", apart(row[1:4], origin,
                                        g.add(duct.first, place)), bound)
    for row in places:
        check_map(built.bridge, row, worst)
    return len(places)


def nearest_to(duct, p):
    """A station near p, to begin with."""
    steps = [duct.length * i / 400 for i in range(401)]
    return min(steps, key=lambda t: g.norm(g.add(duct.at(t)[0], p, -1.0)))


def check_hanging(built, tendon, rows, origin, head, worst):
    points, radii = polygon(built, tendon)
    own = Hanging(points, radii, float(tendon["weight"]),
                  1e3 * float(tendon["force"]))
    worst.see("sag: length, m", abs(head[0] - own.length), SAG_TOLERANCE)
    while rows.upcoming() == "face":
        row = rows.next("face")
        p = own.at(row[0])
        worst.see("sag: face on the axis, m",
                  abs(sum(n * float(LD(o) - LD(shift) - LD(v))
                          for n, o, shift, v in zip(row[8:11], row[5:8],
                                                    origin, p))),
                  SAG_TOLERANCE)
    count = 0
    while rows.upcoming() == "place":
        row = rows.next("place")
        worst.see("sag: place, m", apart(row[1:4], origin, own.at(row[0])),
                  SAG_TOLERANCE)
        count += 1
    return count


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    bridges = [random_bridge(rng) for _ in range(args.count)]
    dumps = run_dump(args.program, [files.text_of(b) for b in bridges])
    worst = Worst()
    tendons = hanging = places = 0
    for bridge, dump in zip(bridges, dumps):
        built, rows = Built(bridge), Rows(dump)
        origin = built.origin + (LD(0),)
        worst.where = ", map coordinates" if abs(origin[1]) > 1e5 else ""
        rows.next("bridge")
        for tendon in bridge["tendons"]:
            head = rows.next("tendon")
            check_supports(built, tendon, rows, origin, worst)
            check = check_hanging if tendon["weight"] else check_straight
            places += check(built, tendon, rows, origin, head, worst)
            tendons += 1
            hanging += tendon["weight"] is not None
        if rows.upcoming():
            raise RuntimeError("rows left over")
    if len(dumps) != len(bridges) or hanging == 0:
        print("the program gave other lines than expected")
        return 1
    print(f"{len(bridges)} bridge files, {tendons} tendons ({hanging} with "
          f"sag), {places} places, seed {args.seed}; largest deviations:")
    return 0 if worst.print() else 1


if __name__ == "__main__":
    sys.exit(main())
