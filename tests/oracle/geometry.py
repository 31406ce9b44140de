#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on centrelines, frames and outside paths.

Random tendons are built here in a way of their own: the curve is the integral
of its unit tangent, which is turned (Rodrigues) about the normal of each
corner at the rate 1/R over the arc length; no centre, no sine formula of an
arc. The outside path is the integral of |d(point + r direction)/dt| with the
derivative of the whole frame by vector algebra. Gauss rules of 16 points on
short steps; nodes by Newton's method on the Legendre polynomial. No library.

usage: geometry.py --program geometry_dump [--count N] [--seed S]
Prints the largest deviations; exit 1 if one is over its bound.
"""
import argparse
import math
import random
import subprocess
import sys

from deviations import Worst, room


def add(a, b, k=1.0):
    return (a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2])


def mul(k, a):
    return (k * a[0], k * a[1], k * a[2])


def dot(a, b):
    return math.fsum((a[0] * b[0], a[1] * b[1], a[2] * b[2]))


def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0])


def norm(a):
    return math.hypot(*a)


def gauss_rule(n):
    rule = []
    for i in range(n):
        x = math.cos(math.pi * (i + 0.75) / (n + 0.5))
        for _ in range(100):
            p0, p1 = 1.0, x
            for k in range(2, n + 1):
                p0, p1 = p1, ((2 * k - 1) * x * p1 - (k - 1) * p0) / k
            d = n * (x * p1 - p0) / (x * x - 1)
            x, step = x - p1 / d, p1 / d
            if abs(step) < 1e-16:
                break
        rule.append((x, 2 / ((1 - x * x) * d * d)))
    return rule


RULE = gauss_rule(16)


def integrate(f, a, b):
    """Of a number or a triple, one rule."""
    m, h = 0.5 * (a + b), 0.5 * (b - a)
    values = [(w * h, f(m + h * x)) for x, w in RULE]
    if isinstance(values[0][1], tuple):
        return tuple(math.fsum(w * v[i] for w, v in values) for i in range(3))
    return math.fsum(w * v for w, v in values)


class Curve:
    """The tangent as a function of arc length, and integrals of it."""

    def __init__(self, points, radii, datum, limit):
        self.datum, self.limit, self.start = datum, limit, points[0]
        legs = [add(points[i + 1], points[i], -1.0)
                for i in range(len(points) - 1)]
        lengths = [norm(v) for v in legs]
        unit = [mul(1 / n, v) for v, n in zip(legs, lengths)]
        self.pieces = []  # begin, end, tangent at begin, axis, curvature
        t, before = 0.0, 0.0
        for i, u in enumerate(unit):
            after, angle = 0.0, 0.0
            if i + 1 < len(unit):
                chord = norm(add(unit[i + 1], u, -1.0))
                total = norm(add(unit[i + 1], u))
                angle = 2 * math.atan2(chord, total)
                if angle > 1e-9:
                    after = radii[i + 1] * chord / total
            straight = lengths[i] - before - after
            if straight < -1e-9:
                raise ValueError("overlap")
            if straight > 1e-9:
                self.pieces.append((t, t + straight, u, None, 0.0))
                t += straight
            if after > 0:
                axis = cross(u, unit[i + 1])
                axis = mul(1 / norm(axis), axis)
                self.pieces.append((t, t + radii[i + 1] * angle, u, axis,
                                    1 / radii[i + 1]))
                t += radii[i + 1] * angle
            before = after
        self.length = t
        self.knots = self._knots()

    def _turn(self, piece, t):
        begin, _, u, axis, kappa = piece
        if axis is None:
            return u, (0.0, 0.0, 0.0)
        a = kappa * (t - begin)
        tangent = add(mul(math.cos(a), u), cross(axis, u), math.sin(a))
        return tangent, mul(kappa, cross(axis, tangent))

    def bend_at(self, t):
        """Curvature; the greater one at a joint."""
        return max(k for a, b, _, _, k in self.pieces
                   if a - 1e-9 <= t <= b + 1e-9)

    def _steep(self, tangent):
        return abs(tangent[2]) > math.cos(self.limit)

    def _knots(self):
        """Piece by piece, short steps; where the axis passes the vertical
        limit a step ends."""
        knots = []
        for piece in self.pieces:
            begin, end, _, axis, kappa = piece
            n = 1 if axis is None else 1 + int((end - begin) * kappa / 0.03)
            cuts = [begin + (end - begin) * k / n for k in range(n)] + [end]
            for a, b in zip(cuts, cuts[1:]):
                state = self._steep(self._turn(piece, a)[0])
                if state != self._steep(self._turn(piece, b)[0]):
                    lo, hi = a, b
                    while True:
                        m = 0.5 * (lo + hi)
                        if not lo < m < hi:
                            break
                        if self._steep(self._turn(piece, m)[0]) == state:
                            lo = m
                        else:
                            hi = m
                    knots += [(a, lo, piece), (lo, b, piece)]
                else:
                    knots.append((a, b, piece))
        return knots

    def frame(self, piece, t, near):
        """Tangent, crown, right and their derivatives; `near` decides which
        vector stands up."""
        tangent, dt = self._turn(piece, t)
        up = (0.0, 0.0, 1.0)
        if self.datum and self._steep(self._turn(piece, near)[0]):
            up = mul(1 / norm(self.datum), self.datum)
        v = add(up, tangent, -dot(up, tangent))
        dv = add(mul(-dot(up, dt), tangent), dt, -dot(up, tangent))
        size = norm(v)
        crown = mul(1 / size, v)
        dcrown = mul(1 / size, add(dv, crown, -dot(crown, dv)))
        right = cross(tangent, crown)
        dright = add(cross(dt, crown), cross(tangent, dcrown))
        return tangent, crown, right, dcrown, dright

    def walk(self, r, phi, stations):
        """Per sorted station: point, crown, outside length, and that length
        without the slant of the line; the last is at the curve's end."""
        c, s = math.cos(phi), math.sin(phi)
        place, outside, axial = (0.0, 0.0, 0.0), 0.0, 0.0
        out, left = [], list(stations) + [self.length]
        for a, b, piece in self.knots:
            middle = 0.5 * (a + b)

            def rate(t):
                tangent, _, _, dc, dr = self.frame(piece, t, middle)
                return add(tangent, add(mul(c, dc), dr, s), r)

            def along(t):
                return dot(rate(t), self._turn(piece, t)[0])

            def part(end):
                return (integrate(lambda t: self._turn(piece, t)[0], a, end),
                        integrate(lambda t: norm(rate(t)), a, end),
                        integrate(along, a, end))

            while left and (left[0] < b or
                            (b == self.knots[-1][1] and left[0] <= b)):
                t = left.pop(0)
                p, l, x = part(t)
                crown = self.frame(piece, t, middle)[1]
                out.append((add(place, p), crown, outside + l, axial + x))
            p, l, x = part(b)
            place = add(place, p)
            outside += l
            axial += x
        if left:
            raise RuntimeError("stations left over")
        return out


def random_tendon(rng, steep):
    """Points, radii, datum, limit; lengths of a real box girder. Non-plumb
    bends throughout."""
    while True:
        n = rng.randint(3, 6)
        p, points = [0.0, 0.0, 2.0], []
        for _ in range(n):
            points.append(tuple(p))
            if steep and rng.random() < 0.5:
                p = [p[0] + rng.uniform(-0.4, 0.6), p[1] +
                     rng.uniform(-0.4, 0.4), p[2] + rng.uniform(4, 15)]
            else:
                run = rng.uniform(4, 25)
                p = [p[0] + run, p[1] + run * rng.uniform(-0.2, 0.2),
                     p[2] + run * rng.uniform(-0.35, 0.35)]
        radii = [rng.uniform(0.8, 8.0) for _ in points]
        if rng.random() < 0.3:
            origin = (rng.uniform(2e5, 8e5), rng.uniform(1e6, 6e6), 100.0)
            points = [add(q, origin) for q in points]
        datum = None
        if steep:
            datum = (rng.uniform(0.5, 2), rng.uniform(-0.5, 0.5), 0.0)
        limit = math.radians(rng.choice([5, 10, 15])) if steep else \
            math.radians(10)
        try:
            return points, radii, datum, limit, Curve(points, radii, datum,
                                                      limit)
        except ValueError:
            continue


def make_cases(count, seed):
    rng = random.Random(seed)
    cases = []
    for i in range(count):
        points, radii, datum, limit, curve = random_tendon(rng, i % 4 == 3)
        stations = sorted([0.0] + [rng.uniform(0, curve.length)
                                   for _ in range(4)] +
                          [rng.uniform(a, b)
                           for a, b, _, k, _ in curve.pieces if k
                           for _ in range(3)])
        r = rng.uniform(0.03, 0.12)
        phi = rng.choice([0.0, 0.5 * math.pi, math.pi, 1.5 * math.pi,
                          rng.uniform(-7, 7)])
        cases.append((points, radii, datum, limit, curve, stations, r, phi))
    return cases


def text_of(cases):
    lines = []
    for points, radii, datum, limit, _, stations, r, phi in cases:
        lines.append(f"{len(points)} {len(stations)} {r!r} {phi!r}")
        lines.append(" ".join(map(repr, ((1.0,) + datum) if datum
                                  else (0.0, 0.0, 0.0, 0.0))) + f" {limit!r}")
        lines += [" ".join(map(repr, p + (radius,)))
                  for p, radius in zip(points, radii)]
        lines.append(" ".join(map(repr, stations)))
    return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    cases = make_cases(args.count, args.seed)
    done = subprocess.run([args.program], input=text_of(cases), text=True,
                          stdout=subprocess.PIPE, check=True)
    rows = [[float(w) for w in line.split()]
            for line in done.stdout.splitlines()]
    worst, places = Worst(), 0
    slant = 0.0
    for points, radii, _, _, curve, stations, r, phi in cases:
        own = curve.walk(r, phi, stations)
        far = max(points[0]) > 1e5
        worst.where = ", map coordinates" if far else ""
        end, _, outside, _ = own.pop()
        worst.see("own end against the last point, m",
                  norm(add(add(points[-1], points[0], -1.0), end, -1.0)))
        length, whole = rows.pop(0)
        worst.see("length, m", abs(length - curve.length))
        worst.see("whole outside length, m", abs(whole - outside))
        for t, (place, crown, l, axial) in zip(stations, own):
            row = rows.pop(0)
            bound = room(*row[:3])
            worst.see("position, m",
                      norm(add(add(tuple(row[:3]), points[0], -1.0), place,
                               -1.0)), bound)
            worst.see("crown", norm(add(tuple(row[3:6]), crown, -1.0)))
            worst.see("outside length, m", abs(row[6] - l))
            worst.see("outside length and back, m", abs(row[7] - t))
            worst.see("single call, m", max(abs(row[8] - row[6]),
                                            abs(row[9] - row[7])))
            worst.see("position and back, m", abs(row[10] - t), bound)
            # One unit of place is R / (R - r) of station.
            worst.see("surface and back, m", abs(row[11] - t), bound,
                      1 / (1 - r * curve.bend_at(t)))
            worst.see("surface and back, distance, m", abs(row[12] - r),
                      bound)
            turn = abs(row[13] - phi) % (2 * math.pi)
            worst.see("clock and back, rad", min(turn, 2 * math.pi - turn),
                      max(1e-9, bound / r))
            slant = max(slant, l - axial)
            places += 1
    if rows or places < 5 * args.count:
        print("the program gave other lines than expected")
        return 1
    print(f"{len(cases)} tendons, {places} stations, seed {args.seed}; "
          "largest deviations:")
    good = worst.print()
    print(f"  part of the slant in the outside length, m: up to {slant:.2e}")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
