#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on voids below a level surface: quadrature, no closed form.

Random bores and depths at both ends, some beyond the bore on either side. The
area of a section is the integral of the chord 2 sqrt(r^2 - y^2) over the depth
(Gauss-Legendre after the substitution y = r sin u, which takes the root out of
the end); the volume that of the area over the length, split where the depth
passes 0 and 2 r. Needs NumPy; exit 77 without it.

usage: voids.py --program voids_dump [--count N] [--seed S]
Prints the largest relative deviations; exit 1 if one is over its bound.
"""
import argparse
import subprocess
import sys

try:
    import numpy as np
except ImportError:
    print("skipped: no NumPy")
    sys.exit(77)

BOUND = 1e-9
X, W = np.polynomial.legendre.leggauss(40)


def integral(f, a, b, pieces=1):
    total = 0.0
    for k in range(pieces):
        lo, hi = a + (b - a) * k / pieces, a + (b - a) * (k + 1) / pieces
        total += 0.5 * (hi - lo) * np.dot(W, f(0.5 * (lo + hi) + 0.5 * (hi - lo) * X))
    return total


def area(r, depth):
    """Chords from the crown (y = r) down to y = r - depth."""
    depth = min(max(depth, 0.0), 2 * r)
    low = np.arcsin(max(-1.0, min(1.0, (r - depth) / r)))
    return integral(lambda u: 2 * r * np.cos(u) * r * np.cos(u), low, np.pi / 2)


def volume(r, d1, d2, length):
    if d1 > d2:
        d1, d2 = d2, d1
    if d2 - d1 == 0:
        return length * area(r, d1)
    cuts = sorted({d1, d2, *[d for d in (0.0, 2 * r) if d1 < d < d2]})
    total = 0.0
    for lo, hi in zip(cuts, cuts[1:]):
        # depth = r (1 - cos q) within the bore: smooth at both of its ends
        if hi <= 0:
            continue
        if lo >= 2 * r:
            total += np.pi * r * r * (hi - lo)
            continue
        a, b = np.arccos(1 - lo / r), np.arccos(max(-1.0, 1 - hi / r))
        total += integral(lambda q: np.array([
            area(r, r * (1 - np.cos(x))) * r * np.sin(x) for x in q]), a, b)
    return total * length / (d2 - d1)


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--program", required=True)
    p.add_argument("--count", type=int, default=1000)
    p.add_argument("--seed", type=int, default=1)
    args = p.parse_args()
    rng = np.random.default_rng(args.seed)
    rows = []
    for i in range(args.count):
        r = rng.uniform(0.02, 0.12)
        d = rng.uniform(0.0, 2.0 * r, 2)
        if i % 4 == 0:  # a hoof: one end is the tip
            d[rng.integers(2)] = 0.0
        elif i % 4 == 1:  # cut at one end or both
            d = rng.uniform(-1.0 * r, 3.0 * r, 2)
        rows.append((r, d[0], d[1], rng.uniform(0.05, 5.0)))
    text = "".join("%.17g %.17g %.17g %.17g\n" % row for row in rows)
    out = subprocess.run([args.program], input=text, capture_output=True,
                         text=True, check=True).stdout.split("\n")
    worst = {"area": 0.0, "half angle": 0.0, "volume": 0.0}
    for row, line in zip(rows, out):
        r, d1, d2, length = row
        got_area, got_half, got_volume = map(float, line.split())
        bore = np.pi * r * r
        # The chord at that depth spans the half angle: sin = half chord / r.
        y = r - min(max(d1, 0.0), 2 * r)
        half = np.arctan2(np.sqrt(max(r * r - y * y, 0.0)), y)
        worst["area"] = max(worst["area"], abs(got_area - area(r, d1)) / bore)
        worst["half angle"] = max(worst["half angle"], abs(got_half - half))
        want = volume(r, d1, d2, length)
        worst["volume"] = max(worst["volume"],
                              abs(got_volume - want) / max(want, 1e-6 * bore * length))
    print("random voids by quadrature: %d" % len(rows))
    for name, value in worst.items():
        print("  %-10s largest deviation %.2e, bound %.0e%s" %
              (name, value, 1e-7 if name == "half angle" else BOUND,
               "" if name == "half angle" else ", relative"))
    bad = (worst["area"] > BOUND or worst["volume"] > BOUND
           or worst["half angle"] > 1e-7)
    sys.exit(1 if bad else 0)


main()
