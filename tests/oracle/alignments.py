#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on alignments: station to point and back.

Random lines of up to 1 km are integrated here in a way of their own: bearing
and coordinates by composite Gauss rules of 20 points on steps of at most 0.25
m, in the machine's long double (64 bits of mantissa where it has them), nodes
by Newton's method on the Legendre polynomial. Heights: a parabola is the
quadratic Bezier curve of its three points, no formula with grades. Feet: every
least distance among samples 0.25 m apart, refined by bisection on how far the
point lies ahead. Needs NumPy; exit 77 without it.

usage: alignments.py --program alignments_dump [--count N] [--seed S]
Prints the largest deviations; exit 1 if one is over its bound.
"""
import argparse
import math
import random
import subprocess
import sys

try:
    import numpy as np
except ImportError:
    print("skipped: no NumPy")
    sys.exit(77)

from deviations import Worst, room

GRID = 0.25
LD = np.longdouble


def gauss_rule(n):
    rule = []
    for i in range(n):
        x = LD(math.cos(math.pi * (i + 0.75) / (n + 0.5)))
        for _ in range(8):
            p0, p1 = LD(1), x
            for k in range(2, n + 1):
                p0, p1 = p1, ((2 * k - 1) * x * p1 - (k - 1) * p0) / k
            d = n * (x * p1 - p0) / (x * x - 1)
            x = x - p1 / d
        rule.append((x, 2 / ((1 - x * x) * d * d)))
    nodes, weights = zip(*rule)
    return np.array(nodes, LD), np.array(weights, LD)


NODES, WEIGHTS = gauss_rule(20)


class Line:
    """An alignment, sampled every 0.25 m or closer; the begin is the origin."""

    def __init__(self, s, x, y, bearing, elements):
        self.s, self.x, self.y, self.bearing = s, x, y, bearing
        self.elements = elements
        joints = [LD(0)]
        for length, _, _ in elements:
            joints.append(joints[-1] + LD(length))
        self.joints = np.array(joints, LD)
        self.length = self.joints[-1]
        self._sample()

    def curvature(self, u, i):
        """In element i; u from the begin, an array or a number."""
        length, k0, k1 = (LD(v) for v in self.elements[i])
        part = (u - self.joints[i]) / length
        return k0 * (1 - part) + k1 * part

    def _turned(self, i, a, u):
        """Bearing gained from a to u in element i: the mean curvature is that
        of the middle, curvature being linear."""
        return self.curvature((a + u) / 2, i) * (u - a)

    def _way(self, i, a, bearing, u):
        """From a, where the bearing is given, to u; arrays."""
        half = (u - a) / 2
        at = (a + half)[..., None] + half[..., None] * NODES
        b = bearing[..., None] + self._turned(i, a[..., None], at)
        return ((np.sin(b) * WEIGHTS).sum(-1) * half,
                (np.cos(b) * WEIGHTS).sum(-1) * half)

    def _sample(self):
        us, xs, ys, bs, which = [], [], [], [], []
        x, y, b = LD(0), LD(0), LD(self.bearing)
        for i, (length, k0, k1) in enumerate(self.elements):
            n = 1 + int(length / GRID)
            n = max(n, 1 + int(max(abs(k0), abs(k1)) * length / 0.05))
            u = self.joints[i] + LD(length) * np.arange(n, dtype=LD) / n
            ends = np.append(u[1:], self.joints[i + 1])
            turn = self._turned(i, u, ends)
            before = b + np.concatenate(([LD(0)], np.cumsum(turn)[:-1]))
            wx, wy = self._way(i, u, before, ends)
            us.append(u)
            xs.append(x + np.concatenate(([LD(0)], np.cumsum(wx)[:-1])))
            ys.append(y + np.concatenate(([LD(0)], np.cumsum(wy)[:-1])))
            bs.append(before)
            which.append(np.full(n, i))
            x, y, b = x + wx.sum(), y + wy.sum(), b + turn.sum()
        last = len(self.elements) - 1
        self.u = np.concatenate(us + [self.joints[-1:]])
        self.px = np.concatenate(xs + [np.array([x], LD)])
        self.py = np.concatenate(ys + [np.array([y], LD)])
        self.b = np.concatenate(bs + [np.array([b], LD)])
        self.which = np.concatenate(which + [np.array([last])])

    def at(self, u, side=0):
        """x, y from the begin, bearing, curvature at u from the begin; the
        ends prolonged. `side`: -1, the element before a joint."""
        u = LD(u)
        inner = min(max(u, LD(0)), self.length)
        k = int(np.searchsorted(self.u, inner, side="right")) - 1
        if side < 0 and k > 0 and self.u[k] == inner:
            k -= 1
        i = int(self.which[k])
        a = self.u[k]
        wx, wy = self._way(i, np.array([a]), np.array([self.b[k]]),
                           np.array([inner]))
        b = self.b[k] + self._turned(i, a, inner)
        rest = u - inner
        kappa = self.curvature(inner, i) if rest == 0 else LD(0)
        return (self.px[k] + wx[0] + rest * np.sin(b),
                self.py[k] + wy[0] + rest * np.cos(b), b, kappa)

    def ahead(self, u, dx, dy):
        """How far (dx, dy) lies ahead of the place at u and to its right."""
        x, y, b, _ = self.at(u)
        return ((dx - x) * np.sin(b) + (dy - y) * np.cos(b),
                (dx - x) * np.cos(b) - (dy - y) * np.sin(b))

    def feet(self, dx, dy):
        """All feet on the line and its ends, by least distance: (distance, u,
        offset, inside)."""
        d2 = (self.px - dx) ** 2 + (self.py - dy) ** 2
        f = (dx - self.px) * np.sin(self.b) + (dy - self.py) * np.cos(self.b)
        found = []
        if f[0] < 0:
            found.append(self._end(LD(0), dx, dy))
        if f[-1] > 0:
            found.append(self._end(self.length, dx, dy))
        inner = np.nonzero((d2[1:-1] <= d2[:-2]) & (d2[1:-1] <= d2[2:]))[0] + 1
        spans = {(int(k) - 1, int(k) + 1) for k in inner}
        spans |= {(int(k), int(k) + 1)
                  for k in np.nonzero((f[:-1] >= 0) & (f[1:] <= 0))[0]}
        for k, m in spans:
            foot = self._refine(self.u[k], self.u[m], dx, dy)
            if foot:
                found.append(foot)
        return sorted(found)

    def _end(self, u, dx, dy):
        along, right = self.ahead(u, dx, dy)
        return (float(np.hypot(along, right)), u + along, right, False)

    def _refine(self, a, b, dx, dy):
        if self.ahead(a, dx, dy)[0] < 0 or self.ahead(b, dx, dy)[0] > 0:
            return None
        while b - a > 1e-15:
            m = (a + b) / 2
            if not a < m < b:
                break
            if self.ahead(m, dx, dy)[0] > 0:
                a = m
            else:
                b = m
        right = self.ahead(a, dx, dy)[1]
        return (float(abs(right)), a, right, True)


def profile_at(pvis, s):
    """Height and grade by Bezier curves; None without points."""
    if not pvis:
        return None
    pvis = [tuple(LD(v) for v in p) for p in pvis]
    s = LD(s)
    if len(pvis) == 1:
        return pvis[0][1], LD(0)

    def on(i, at):
        """Height at `at` on the grade from point i to the next."""
        (s0, z0, _), (s1, z1, _) = pvis[i], pvis[i + 1]
        return z0 + (z1 - z0) * ((at - s0) / (s1 - s0))

    for i in range(1, len(pvis) - 1):
        at, z, length = pvis[i]
        if abs(s - at) * 2 <= length and length > 0:
            begin, end = at - length / 2, at + length / 2
            w = (s - begin) / length
            za, zb = on(i - 1, begin), on(i, end)
            return ((1 - w) ** 2 * za + 2 * w * (1 - w) * z + w * w * zb,
                    2 * ((1 - w) * (z - za) + w * (zb - z)) / length)
    i = max(0, min(len(pvis) - 2,
                   sum(1 for p in pvis if p[0] <= s) - 1))
    (s0, z0, _), (s1, z1, _) = pvis[i], pvis[i + 1]
    return on(i, s), (z1 - z0) / (s1 - s0)


def random_elements(rng):
    """Lines, arcs of both hands, clothoids in, out and between; curvature
    jumps now and then, as in old drawings. Up to 1 km."""
    elements, total, k = [], 0.0, 0.0
    tight = rng.random() < 0.3
    target = rng.uniform(100, 1000)
    while total < target and len(elements) < 40:
        radius = rng.uniform(15, 60) if tight else \
            math.exp(rng.uniform(math.log(60), math.log(3000)))
        next_k = rng.choice([-1, 1]) / radius
        kind = rng.random()
        if kind < 0.45:     # a clothoid from where we are
            end = 0.0 if k and rng.random() < 0.5 else next_k
            least = rng.uniform(0.05, 0.6) / abs(end - k or 1.0)
            element = (min(max(least * abs(end - k) * radius, 5.0), 250.0), k,
                       end)
        elif kind < 0.8 and k:
            element = (min(rng.uniform(0.1, 4.8) / abs(k), 300.0), k, k)
        elif rng.random() < 0.7 or k == 0.0:
            element = (rng.uniform(2, 150), 0.0, 0.0)
        else:
            element = (rng.uniform(5, 80), next_k, next_k)
        if total + element[0] > 1000:
            break
        elements.append(element)
        total += element[0]
        k = element[2]
    return elements or [(200.0, 0.0, 1 / 300)]


def random_profile(rng, begin, end):
    n = rng.choice([0, 1, 2, 3, 4, 6])
    if n < 2:
        return [(rng.uniform(begin, end), rng.uniform(0, 500), 0.0)] * n
    cuts = sorted(rng.uniform(begin, end) for _ in range(n))
    pvis, z = [], rng.uniform(0, 500)
    for i, s in enumerate(cuts):
        if i and s - cuts[i - 1] < 1.0:
            return random_profile(rng, begin, end)
        z += rng.uniform(-0.08, 0.08) * (s - cuts[i - 1] if i else 0.0)
        length = 0.0
        if 0 < i < n - 1 and rng.random() < 0.8:
            room = min(s - cuts[i - 1], cuts[i + 1] - s)
            length = rng.uniform(0.2, 1.0) * room
        pvis.append((s, z, length))
    return pvis


def random_equations(rng, begin, end):
    cuts = sorted(rng.uniform(begin, end) for _ in range(rng.choice([0, 0, 1,
                                                                     3])))
    out, at, shown = [], begin, begin
    for s in cuts:
        back = shown + (s - at)
        at, shown = s, rng.uniform(-5000, 5000)
        out.append((s, back, shown))
    return out


class Case:
    def __init__(self, rng):
        elements = random_elements(rng)
        begin = rng.choice([0.0, rng.uniform(-2000, 20000)])
        x, y = 0.0, 0.0
        if rng.random() < 0.3:
            x, y = rng.uniform(2e5, 8e5), rng.uniform(1e6, 6e6)
        self.line = Line(begin, x, y, rng.uniform(-3.5, 6.5), elements)
        end = begin + float(self.line.length)
        self.pvis = random_profile(rng, begin - 20, end + 20)
        self.equations = random_equations(rng, begin, end)
        joints = [begin + float(j) for j in self.line.joints]
        stations = [begin - rng.uniform(0, 30), end + rng.uniform(0, 30)]
        stations += joints
        stations += [rng.uniform(begin, end) for _ in range(12)]
        self.stations = [(s, rng.choice([0.0, rng.uniform(-14, 14)]),
                          rng.uniform(-10, 60)) for s in stations]
        self.points = [self._point(rng) for _ in range(10)]

    def _point(self, rng):
        """Anywhere near the line, or about a centre of curvature."""
        u = rng.uniform(-0.05, 1.05) * float(self.line.length)
        px, py, b, k = (float(v) for v in self.line.at(u))
        offset = rng.uniform(-60, 60)
        if k and rng.random() < 0.5:
            offset = rng.uniform(0.9, 1.4) / k
        return (self.line.x + px + offset * math.cos(b),
                self.line.y + py - offset * math.sin(b))

    def text(self):
        line = self.line
        rows = [(len(line.elements), len(self.pvis), len(self.equations),
                 len(self.stations), len(self.points)),
                (line.s, line.x, line.y, line.bearing)]
        rows += line.elements + self.pvis + self.equations
        rows += self.stations + self.points
        return "\n".join(" ".join(map(repr, row)) for row in rows) + "\n"


def check_station(case, query, row, worst):
    line = case.line
    s, offset, height = query
    u = LD(s) - LD(line.s)
    x, y, b, _ = line.at(u)
    bound = room(row[0], row[1])
    worst.see("position, m", np.hypot(LD(row[0]) - LD(line.x) - x,
                                      LD(row[1]) - LD(line.y) - y), bound)
    worst.see("bearing, rad", abs(row[3] - b))
    # At a joint it may be that of either side.
    worst.see("curvature, 1/m", min(abs(row[4] - line.at(u + shift)[3])
                                    for shift in (-1e-9, 0, 1e-9)))
    profile = profile_at(case.pvis, s)
    if profile is None:
        worst.see("height, m", 0 if math.isnan(row[2]) else 1)
        worst.see("grade", 0 if math.isnan(row[5]) else 1)
    else:
        worst.see("height, m", abs(row[2] - profile[0]))
        kinks = [p for p in case.pvis if abs(p[0] - s) < 1e-6]
        if not kinks:
            worst.see("grade", abs(row[5] - profile[1]))
    worst.see("point at an offset, m",
              np.hypot(LD(row[6]) - LD(line.x) - x - offset * np.cos(b),
                       LD(row[7]) - LD(line.y) - y + offset * np.sin(b)),
              bound)
    worst.see("point's height, m", abs(row[8] - height))
    zone = sum(1 for e in case.equations if e[0] <= s)
    shown = s
    if zone:
        at, _, ahead = case.equations[zone - 1]
        shown = ahead + (s - at)
    worst.see("station as displayed, m", abs(row[13] - shown) +
              abs(row[14] - zone))
    worst.see("displayed and back, m", abs(row[15] - s))


def check_there_and_back(case, query, row, worst):
    """Only where no other foot is as near: in bends the line comes near to
    itself. True if it was compared."""
    line = case.line
    s, offset, _ = query
    u = LD(s) - LD(line.s)
    k = max(0.0, float(line.at(u)[3] * offset),
            float(line.at(u, -1)[3] * offset))
    feet = line.feet(LD(row[6]) - LD(line.x), LD(row[7]) - LD(line.y))
    if k > 0.95 or abs(feet[0][1] - u) > 1e-6 or \
            any(f[0] - feet[0][0] < 2e-6 for f in feet
                if abs(f[1] - u) > 1e-6):
        return False
    bound = room(row[6], row[7])
    worst.see("there and back, station, m", abs(row[9] - s), bound,
              1 / (1 - k))
    worst.see("there and back, offset, m", abs(row[10] - offset), bound)
    worst.see("there and back, certain", 0 if row[12] else 1)
    return True


def check_foot(case, p, foot, worst):
    """Against all feet found in another way."""
    line = case.line
    feet = line.feet(LD(p[0]) - LD(line.x), LD(p[1]) - LD(line.y))
    s, offset, inside, certain = foot
    best = feet[0]
    bound = room(*p)
    u = LD(s) - LD(line.s)
    distance = abs(LD(offset)) if inside else \
        np.hypot(offset, min(abs(u), abs(u - line.length)))
    worst.see("nearest: distance, m", abs(distance - best[0]), bound)
    rivals = [f for f in feet[1:] if abs(f[1] - best[1]) > 2e-6 and
              f[0] - best[0] < 2e-6]
    k = max(abs(float(line.at(best[1])[3])), abs(float(line.at(best[1], -1)[3])))
    near_centre = k * best[0] > 0.9 and best[3]
    if rivals:
        if min(f[0] for f in rivals) - best[0] < 0.5e-6:
            worst.see("nearest: doubt where two are near", 1 if certain else 0)
        return
    if min(abs(best[1]), abs(best[1] - line.length)) > bound:
        worst.see("nearest: inside", 0 if bool(inside) == best[3] else 1)
    if near_centre:
        return
    worst.see("nearest: station, m", abs(u - best[1]), bound,
              1 / max(0.1, 1 - k * best[0]))
    worst.see("nearest: offset, m", abs(offset - best[2]), bound)
    worst.see("nearest: certain", 0 if certain else 1)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    cases = [Case(rng) for _ in range(args.count)]
    done = subprocess.run([args.program], input="".join(c.text()
                                                        for c in cases),
                          text=True, stdout=subprocess.PIPE, check=True)
    rows = [[float(w) for w in line.split()]
            for line in done.stdout.splitlines()]
    worst = Worst()
    stations = back = points = 0
    for case in cases:
        worst.where = ", map coordinates" if case.line.x else ""
        end = rows.pop(0)[0]
        worst.see("station of the end, m",
                  abs(LD(end) - LD(case.line.s) - case.line.length))
        for query in case.stations:
            row = rows.pop(0)
            check_station(case, query, row, worst)
            back += check_there_and_back(case, query, row, worst)
            check_foot(case, row[6:8], row[9:13], worst)
            stations += 1
        for p in case.points:
            check_foot(case, p, rows.pop(0), worst)
            points += 1
    if rows or back < stations // 2:
        print("the program gave other lines than expected")
        return 1
    print(f"{len(cases)} alignments, {stations} stations ({back} there and "
          f"back), {points} points, seed {args.seed}; largest deviations:")
    return 0 if worst.print() else 1


if __name__ == "__main__":
    sys.exit(main())
