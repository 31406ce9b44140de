#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on reconciled distances, in covariance form.

The library chains knots, writes the walk as steps between them, and solves
normal equations in information form. Here every observation and every place
asked for is a Gaussian quantity of its own: its covariance with any other
comes from the priors and from the walk's covariance function
q^2 min(x - x0, x' - x0); nothing is chained, there are no pieces. Begins of
runs and skips of unknown length are the trend of universal kriging, solved by
generalised least squares, so that diffuse is exact and not a large number.
Misclosures, z and chi-square come from the same covariances.

usage: stations.py --program stations_dump [--count N] [--seed S]
Prints the largest deviations; exit 1 if one is over its bound; 77 without
NumPy.
"""
import argparse
import math
import random
import subprocess
import sys

try:
    import numpy as np
except ImportError:
    print("no NumPy: skipped")
    sys.exit(77)

READINGS, START, TIE, SKIP, REZERO = range(5)
LEAST = 1e-6  # m, no tie or tape is taken to be better


LONG = np.longdouble  # exact ties cost the covariance form ten digits


def factor_of(v):
    """Cholesky's lower factor; numpy.linalg has no long double."""
    low = np.zeros_like(v)
    for j in range(len(v)):
        low[j:, j] = v[j:, j] - low[j:, :j] @ low[j, :j]
        low[j:, j] /= np.sqrt(low[j, j])
    return low


def forward(low, b):
    out = np.array(b, dtype=LONG)
    for i in range(len(low)):
        out[i] = (out[i] - low[i, :i] @ out[:i]) / low[i, i]
    return out


def solve(v, b):
    low = factor_of(v)
    out = forward(low, b)
    for i in reversed(range(len(low))):
        out[i] = (out[i] - low[i + 1:, i] @ out[i + 1:]) / low[i, i]
    return out


class Quantity:
    """mean + trend + independent priors + walks."""

    def __init__(self, mean=0.0):
        self.mean = mean
        self.trend, self.prior, self.walk = {}, {}, []

    def add(self, other, k=1.0):
        self.mean += k * other.mean
        for mine, its in ((self.trend, other.trend),
                          (self.prior, other.prior)):
            for key, c in its.items():
                mine[key] = mine.get(key, 0.0) + k * c
        self.walk += [(leg, x, k * c) for leg, x, c in other.walk]
        return self

    def put(self, store, key, c):
        getattr(self, store)[key] = getattr(self, store).get(key, 0.0) + c


def encoder(case, r, leg, x):
    """Outside length of the encoder contact of run r at x in one leg."""
    run = case["runs"][r]
    q, inst = Quantity(), case["instruments"][run["instrument"]]
    d = 1.0 if run["direction"] > 0 else -1.0
    scale = (("shared scale", run["instrument"]) if inst["shared"] else
             ("scale", r))
    q.put("trend", ("begin", r), 1.0)
    for k, (first, last, skip) in enumerate(run["legs"][:leg + 1]):
        end = x if k == leg else last
        way = inst["scale"] * (end - first)
        q.mean += d * way
        q.put("prior", scale, d * way)
        q.walk += [((r, k), end, d), ((r, k), first, -d)]
        if k == leg or skip is None:
            continue
        if skip["length"] is None:
            q.put("trend", ("skip", r, k), d)
            continue
        q.mean += d * skip["length"]
        if skip["gap"]:
            q.mean += d * (inst["nose"] + inst["tail"])
        q.put("prior", ("skip", r, k), d)
        if run["tape"] >= 0:
            q.put("prior", ("tape", run["tape"]), d * skip["length"])
    return q


def covariance(case, a, b):
    n = np.zeros((len(a), len(b)), dtype=LONG)
    keys = {k for q in a + b for k in q.prior}
    for key in keys:
        n += LONG(case["variance"][key]) * np.outer(
            np.array([q.prior.get(key, 0.0) for q in a], dtype=LONG),
            np.array([q.prior.get(key, 0.0) for q in b], dtype=LONG))
    for i, p in enumerate(a):
        for j, q in enumerate(b):
            for leg, x, c in p.walk:
                for other, y, e in q.walk:
                    if leg == other:
                        inst = case["instruments"][
                            case["runs"][leg[0]]["instrument"]]
                        n[i, j] += (LONG(c * e) * inst["walk"] ** 2 *
                                    inst["scale"] *
                                    (LONG(min(x, y)) - case["least"][leg]))
    return n


def face(case, i):
    q = Quantity()
    q.put("prior", ("face", i), 1.0)
    return q


def observations(case):
    """Ties and tapes as quantities that are seen to be zero."""
    out, variance, owner = [], [], []
    for r, run in enumerate(case["runs"]):
        inst = case["instruments"][run["instrument"]]
        d, lead = run["direction"], run["leading"]
        for e in run["events"]:
            if e["kind"] not in (START, TIE):
                continue
            offset = (inst["nose"], -inst["tail"], 0.0,
                      inst["lead"])[e["with"]]
            side = -1.0 if e["face"] % 2 else 1.0
            seen = case["faces"][e["face"]] + side * e["distance"]
            q = encoder(case, r, e["leg"], e["x"])
            q.mean += d * lead * offset - seen
            q.add(face(case, e["face"]), -1.0)
            out.append(q)
            variance.append(max(e["u"] ** 2 + inst["quantum"] ** 2 / 12,
                                LEAST ** 2))
            owner.append(r)
    ties = len(out)
    for a, b, value, u in case["tapes"]:
        sign = 1.0 if case["faces"][b] > case["faces"][a] else -1.0
        q = Quantity(abs(case["faces"][b] - case["faces"][a]) - value)
        q.add(face(case, b), sign).add(face(case, a), -sign)
        out.append(q)
        variance.append(max(u ** 2, LEAST ** 2))
    return out, np.diag(np.array(variance, dtype=LONG)), ties, owner


def krige(case, wanted):
    """Mean and covariance of the quantities wanted."""
    seen, noise, _, _ = observations(case)
    trend = sorted({k for q in seen for k in q.trend}, key=repr)
    h = np.array([[q.trend.get(k, 0.0) for k in trend] for q in seen], dtype=LONG)
    g = np.array([[q.trend.get(k, 0.0) for k in trend] for q in wanted],
                 dtype=LONG)
    v = covariance(case, seen, seen) + noise
    c = covariance(case, wanted, seen)
    low = factor_of(v)
    wh, wc = forward(low, h), forward(low, c.T)
    wz = forward(low, [-q.mean for q in seen])
    inner = wh.T @ wh
    beta = solve(inner, wh.T @ wz)
    rest = g - wc.T @ wh
    mean = (np.array([q.mean for q in wanted]) + g @ beta +
            wc.T @ (wz - wh @ beta))
    cov = (covariance(case, wanted, wanted) - wc.T @ wc +
           rest @ solve(inner, rest.T))
    return mean, cov


def closures(case):
    """z per interval (0 where a skip of unknown length lies in it), chi2,
    dof."""
    seen, noise, ties, owner = observations(case)
    rows, which, count = [], [], 0
    for i in range(1, ties):
        if owner[i] != owner[i - 1]:
            continue
        row = np.zeros(len(seen), dtype=LONG)
        row[i], row[i - 1] = 1.0, -1.0
        difference = Quantity().add(seen[i]).add(seen[i - 1], -1.0)
        if not any(abs(c) > 1e-9 for c in difference.trend.values()):
            rows.append(row)
            which.append(count)
        count += 1
    for i in range(ties, len(seen)):
        rows.append(np.eye(len(seen), dtype=LONG)[i])
        which.append(None)
    z = np.zeros(count)
    if not rows:
        return z, 0.0, 0
    m = np.array(rows)
    d = m @ np.array([q.mean for q in seen], dtype=LONG)
    s = solve(m @ (covariance(case, seen, seen) + noise) @ m.T,
              np.eye(len(rows), dtype=LONG))
    for k, i in enumerate(which):
        if i is not None:
            # The run's own direction decides the sign; compare sizes.
            z[i] = abs((s @ d)[k]) / math.sqrt(s[k, k])
    return z, d @ s @ d, len(rows)


def random_run(rng, case, r):
    """Walks a true sensor along the tendon, face by face."""
    faces = case["faces"]
    which = rng.randrange(2)
    run = {"instrument": which, "direction": rng.choice([1, -1]),
           "leading": rng.choice([1, -1]), "tape": rng.randint(-1, 1),
           "events": [], "legs": []}
    inst, d = case["instruments"][which], run["direction"]
    order = list(range(len(faces)))[::d]
    order = order[rng.randrange(len(order)):] if rng.random() < 0.3 else order
    x, leg, first = rng.uniform(-1, 2), 0, None
    place = None

    def event(kind, **more):
        e = {"kind": kind, "x": x, "resume": x, "face": 0, "distance": 0.0,
             "with": 2, "u": 0.003, "known": 0, "length": 0.0, "gap": 0,
             "leg": leg, "at": []}
        e.update(more)
        run["events"].append(e)

    def travel(way):
        nonlocal x, place
        place += d * way
        x += way / inst["scale"] + rng.gauss(0, 0.003)

    def tie(kind, i):
        part = rng.randrange(4)
        offset = (inst["nose"], -inst["tail"], 0.0, inst["lead"])[part]
        side = -1.0 if i % 2 else 1.0
        at = place + d * run["leading"] * offset
        event(kind, face=i, distance=side * (at - faces[i]) +
              rng.gauss(0, 0.004), u=rng.choice([0, 0.002, 0.006]), **{
                  "with": part})

    def readings():
        event(READINGS)

    for n, i in enumerate(order):
        if place is None:
            place = faces[i] + rng.uniform(-0.3, 0.3)
            first = x
            tie(START, i)
            readings()
            continue
        way, unknown = abs(faces[i] - place), False
        for _ in range(rng.randint(0, 3)):
            part = way * rng.uniform(0.1, 0.3)
            travel(part)
            kind = rng.choice([SKIP, SKIP, SKIP, REZERO])
            length, gap = rng.uniform(0.1, 0.6), rng.random() < 0.3
            resume = rng.choice([x, 0.0, x + 1.0])
            skip = None
            if kind == SKIP:
                known = unknown or rng.random() < 0.8
                unknown = unknown or not known
                u = rng.choice([0.003, 0.008])
                event(SKIP, resume=resume, known=int(known), length=length,
                      gap=int(gap), u=u)
                skip = {"length": length if known else None, "gap": gap,
                        "u": u}
                place += d * (length + (inst["nose"] + inst["tail"]
                                        if gap else 0.0))
            else:
                event(REZERO, resume=resume)
            run["legs"].append((first, x, skip))
            x, leg, first = resume, leg + 1, resume
            readings()
            way = abs(faces[i] - place)
        travel(d * (faces[i] - place) + rng.uniform(-0.2, 0.2))
        if rng.random() < 0.8 or unknown:
            tie(TIE, i)
            if rng.random() < 0.2:  # rolled back, tied again
                travel(rng.uniform(-0.4, -0.05))
                tie(TIE, i)
    run["legs"].append((first, x, None))
    return run


def random_case(rng):
    while True:
        n = rng.randint(2, 5)
        faces = sorted(rng.uniform(0, 40) for _ in range(n))
        if min(b - a for a, b in zip(faces, faces[1:])) > 3:
            break
    case = {"faces": faces, "runs": [], "tapes": [], "variance": {},
            "least": {}}
    case["instruments"] = [
        {"scale": rng.choice([1.0, 0.998]),
         "scale_u": rng.choice([0.0005, 0.005]),
         "shared": rng.random() < 0.5, "walk": rng.choice([0.0005, 0.002]),
         "quantum": rng.choice([0.0, 0.005]), "nose": rng.uniform(0, 0.2),
         "tail": rng.uniform(0, 0.2), "lead": rng.uniform(-0.1, 0.1)}
        for _ in range(2)]
    var = case["variance"]
    for i in range(n):
        var["face", i] = rng.choice([0.002, 0.015, 0.05]) ** 2
    for t in range(2):
        var["tape", t] = rng.choice([2e-4, 2e-3]) ** 2
    for r in range(rng.randint(1, 3)):
        run = random_run(rng, case, r)
        case["runs"].append(run)
        u = case["instruments"][run["instrument"]]["scale_u"]
        var["scale", r] = u ** 2
        for k, (_, _, skip) in enumerate(run["legs"]):
            if skip:
                var["skip", r, k] = skip["u"] ** 2
    for i in range(2):
        var["shared scale", i] = case["instruments"][i]["scale_u"] ** 2
    for _ in range(rng.randint(0, 2)):
        a, b = rng.sample(range(n), 2)
        case["tapes"].append((a, b, abs(faces[a] - faces[b]) +
                              rng.gauss(0, 0.01), rng.choice([0.003, 0.01])))
    return case


def ask(rng, case):
    """Places in every stretch, and the least x of every leg."""
    asked = []
    for r, run in enumerate(case["runs"]):
        for e in run["events"]:
            if e["kind"] != READINGS:
                continue
            first, last, _ = run["legs"][e["leg"]]
            e["at"] = sorted([first, last] + [
                rng.uniform(first - 0.8, last + 2) for _ in range(5)])
            asked += [(r, e["leg"], x) for x in e["at"]]
            xs = [o["x"] for o in run["events"] if o["leg"] == e["leg"] and
                  o["kind"] in (START, TIE)]
            case["least"][r, e["leg"]] = min(xs + e["at"])
    return asked


def text_of(case):
    head = [len(case["faces"]), len(case["tapes"]), len(case["runs"]), 1e9]
    head += case["faces"]
    head += [math.sqrt(case["variance"]["face", i])
             for i in range(len(case["faces"]))]
    for i in case["instruments"]:
        head += [i["scale"], i["scale_u"], int(i["shared"]), i["walk"],
                 i["quantum"], i["nose"], i["tail"], i["lead"]]
    for tape in case["tapes"]:
        head += tape
    for run in case["runs"]:
        head += [run["instrument"], run["direction"], run["leading"],
                 run["tape"], math.sqrt(case["variance"].get(
                     ("tape", run["tape"]), 0.0)), len(run["events"])]
        for e in run["events"]:
            head += [e["kind"], e["x"], e["resume"], e["face"], e["distance"],
                     e["with"], e["u"], e["known"], e["length"], e["gap"]]
            if e["kind"] == READINGS:
                head += [len(e["at"])] + e["at"]
    return " ".join(map(repr, head)) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    cases = [random_case(rng) for _ in range(args.count)]
    asked = [ask(rng, c) for c in cases]
    done = subprocess.run([args.program], text=True, stdout=subprocess.PIPE,
                          input="".join(map(text_of, cases)), check=True)
    rows = [[float(w) for w in line.split()]
            for line in done.stdout.splitlines()]
    worst, places = {}, 0

    def see(name, deviation, bound):
        ratio = math.inf if math.isnan(deviation) else deviation / bound
        if name not in worst or ratio > worst[name][0]:
            worst[name] = (ratio, deviation, bound)

    for case, at in zip(cases, asked):
        n = len(case["faces"])
        wanted = [face(case, i) for i in range(n)]
        for r, leg, x in at:
            run = case["runs"][r]
            q = encoder(case, r, leg, x)
            q.mean += (run["direction"] * run["leading"] *
                       case["instruments"][run["instrument"]]["lead"])
            wanted.append(q)
        mean, cov = krige(case, wanted)
        z, chi2, dof = closures(case)
        theirs = rows.pop(0)
        see("dof", abs(theirs[1] - dof), 0.5)
        see("chi2, relative", abs(theirs[0] - chi2) / (1 + chi2), 1e-9)
        for i, shift in enumerate(rows.pop(0)):
            see("face shift, m", abs(shift - mean[i]), 1e-9)
        theirs = rows.pop(0)
        see("number of intervals", abs(len(theirs) - len(z)), 0.5)
        for a, b in zip(theirs, z):
            see("z, relative", abs(abs(a) - b) / (1 + b), 1e-9)
        for k in range(len(at)):
            row, i = rows.pop(0), n + k
            see("station, m", abs(row[0] - mean[i]), 1e-9)
            see("variance in the world, relative",
                abs(row[1] - cov[i, i]) / cov[i, i], 1e-9)
            for j in range(n):
                v = cov[i, i] - 2 * cov[i, j] + cov[j, j]
                see("variance against a face, m^2", abs(row[2 + j] - v),
                    1e-9 * v + 1e-17)
            places += 1
    if rows or len(worst) != 8 or places < 5 * args.count:
        print("the program gave other lines than expected")
        return 1
    print(f"{len(cases)} tendons, {places} places, seed {args.seed}; "
          "largest deviations:")
    for name, (ratio, deviation, bound) in worst.items():
        print(f"  {name:34} {deviation:9.2e}  bound {bound:.2e}"
              f"{'' if ratio <= 1 else '  FAILED'}")
    return 0 if all(ratio <= 1 for ratio, _, _ in worst.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
