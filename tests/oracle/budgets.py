#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on error budgets, in covariance form.

As in stations.py every observation and place is a Gaussian quantity of its own
and begins of runs and unknown skips are the trend of universal kriging. Here
the predictor's weights w are written out: the error of a place is
  place - sum w_i observation_i,
in which each prior error has a coefficient. An item of the budget is the sum of
squared coefficients times prior variances over its sort; the walk's comes from
its covariance function. There are no knots, steps, bridges or pieces. Some
cases have a skip that nobody wrote down and the program is made to accept.

Then, for one case, errors of one sort alone are drawn again and again, put into
the field book, and the program's stations scatter as its budget says.

usage: budgets.py --program stations_dump [--count N] [--seed S] [--draws N]
Prints the largest deviations; exit 1 if one is over its bound; 77 without
NumPy.
"""
import argparse
import copy
import math
import random
import subprocess
import sys

import stations as st
from stations import LONG, READINGS, SKIP, START, TIE, np

ITEMS = ("scale", "walk", "skips", "ties", "faces", "tapes", "corrections")
SORT = {"shared scale": 0, "scale": 0, "skip": 2, "face": 4, "tape": 5,
        "missing": 6}
JUMP_U = 1.0  # m, before a skip not written down is measured by its ties


# ---- weights ----------------------------------------------------------------

def weights(case, seen, noise, wanted):
    """[wanted][seen], with the trends fitted."""
    trend = sorted({k for q in seen for k in q.trend}, key=repr)
    h, g = (np.array([[q.trend.get(k, 0.0) for k in trend] for q in group],
                     dtype=LONG) for group in (seen, wanted))
    low = st.factor_of(st.covariance(case, seen, seen) + noise)
    c = st.covariance(case, wanted, seen)
    wh = st.forward(low, h)
    wc = st.forward(low, c.T)
    inner = wh.T @ wh
    w = wc + wh @ st.solve(inner, (g - wc.T @ wh).T)
    out = np.array(w, dtype=LONG)
    for i in reversed(range(len(low))):  # L' x = w
        out[i] = (out[i] - low[i + 1:, i] @ out[i + 1:]) / low[i, i]
    return out.T


def walk_variance(case, terms):
    total = LONG(0)
    for leg in {k[0] for k in terms}:
        inst = case["instruments"][case["runs"][leg[0]]["instrument"]]
        of = [(x, c) for (other, x), c in terms.items() if other == leg]
        least = min(x for x, _ in of)
        for x, c in of:
            for y, e in of:
                total += (c * e * LONG(inst["walk"]) ** 2 * inst["scale"] *
                          (LONG(min(x, y)) - least))
    return total


def budget(case, place, w, seen, noise, ties):
    prior, walk = {}, {}
    for q, k in [(place, LONG(1))] + [(q, -k) for q, k in zip(seen, w)]:
        for key, c in q.prior.items():
            prior[key] = prior.get(key, LONG(0)) + k * c
        for leg, x, c in q.walk:
            walk[leg, x] = walk.get((leg, x), LONG(0)) + k * c
    items = [LONG(0)] * len(ITEMS)
    for key, c in prior.items():
        items[SORT[key[0]]] += c * c * LONG(case["variance"][key])
    items[1] = walk_variance(case, walk)
    for i, k in enumerate(w):
        items[3 if i < ties else 5] += k * k * noise[i, i]
    return items


# ---- a skip that nobody wrote down -------------------------------------------

def forgetful_case(rng):
    """Three or four faces, one run ahead or back, a skip left out."""
    case = st.random_case(rng)
    n = len(case["faces"])
    inst = case["instruments"][0]
    inst["scale_u"], inst["quantum"] = 0.002, 0.0
    case["gate"] = 3.0
    d = rng.choice([1, -1])
    run = {"instrument": 0, "direction": d, "leading": rng.choice([1, -1]),
           "tape": 0, "events": [], "legs": []}
    case["runs"] = [run]
    case["tapes"] = [t for t in case["tapes"] if rng.random() < 0.5]
    case["tapes"] = [(a, b, abs(case["faces"][a] - case["faces"][b]), u)
                     for a, b, _, u in case["tapes"]]
    case["variance"] = {("tape", 0): 1e-6, ("tape", 1): 1e-6,
                        ("shared scale", 0): 4e-6, ("scale", 0): 4e-6}
    for i in range(n):
        case["variance"]["face", i] = 0.004 ** 2
    order = list(range(n))[::d]
    bad = rng.randrange(n - 1)
    x, first, leg = 0.0, 0.0, 0

    def event(kind, **more):
        e = {"kind": kind, "x": x, "resume": x, "face": 0, "distance": 0.0,
             "with": 2, "u": 0.003, "known": 0, "length": 0.0, "gap": 0,
             "leg": leg, "at": []}
        e.update(more)
        run["events"].append(e)

    event(START, face=order[0])
    event(READINGS)
    for i in range(1, n):
        way = abs(case["faces"][order[i]] - case["faces"][order[i - 1]])
        part, length = way * rng.uniform(0.2, 0.5), rng.uniform(0.2, 0.5)
        x += part / inst["scale"]
        event(SKIP, known=1, length=length, u=0.004)
        case["variance"]["skip", 0, leg] = 0.004 ** 2
        run["legs"].append((first, x, {"length": length, "gap": 0,
                                       "u": 0.004}))
        first, leg = x, leg + 1
        event(READINGS)
        missing = rng.uniform(0.3, 0.5) if i - 1 == bad else 0.0
        x += ((way - part - length - missing + rng.gauss(0, 0.001)) /
              inst["scale"])
        event(TIE, face=order[i])
    run["legs"].append((first, x, None))
    return case


def travelled(case, r, leg, x):
    run = case["runs"][r]
    scale = case["instruments"][run["instrument"]]["scale"]
    way = sum(last - first for first, last, _ in run["legs"][:leg])
    return scale * (way + x - run["legs"][leg][0])


def with_missing(case, accepted):
    """encoder() of stations.py, with the skip at a place not known."""
    r0, interval, length, x_from, x_to = accepted
    ties = [e for e in case["runs"][r0]["events"] if e["kind"] in (START, TIE)]
    a, b = (travelled(case, r0, e["leg"], e["x"])
            for e in ties[interval - 1:interval + 1])
    if x_to > x_from:
        a, b = (travelled(case, r0, ties[interval]["leg"], x)
                for x in (x_from, x_to))
    plain = st.encoder

    def part(r, leg, x):  # beyond a leg's ends it stays what it is there
        first, last, _ = case["runs"][r]["legs"][leg]
        x = min(max(x, first), last)
        f = (travelled(case, r, leg, x) - a) / (b - a)
        return min(max(f, 0.0), 1.0) if r == r0 else 0.0

    def encoder(case, r, leg, x):
        q, d = plain(case, r, leg, x), case["runs"][r]["direction"]
        q.mean += d * part(r, leg, x) * length
        q.put("prior", ("missing", r0), d * part(r, leg, x))
        return q

    case["variance"]["missing", r0] = JUMP_U ** 2
    return encoder, part


# ---- comparison ---------------------------------------------------------------

def expected(case, at, accepted):
    """Per place the budgets against the world and each face, [7] each."""
    plain, part, spread = st.encoder, None, LONG(0)
    try:
        if accepted[0] >= 0:
            st.encoder, part = with_missing(case, accepted)
        seen, noise, ties, _ = st.observations(case)
        n = len(case["faces"])
        places = [st.encoder(case, r, leg, x) for r, leg, x in at]
        missing = st.Quantity()
        if part:
            missing.put("prior", ("missing", accepted[0]), 1.0)
        faces = [st.face(case, i) for i in range(n)]
        w = weights(case, seen, noise, places + faces + [missing])
    finally:
        st.encoder = plain
    length = LONG(0)
    if part:
        length = LONG(accepted[2]) + w[-1] @ np.array(
            [-q.mean for q in seen], dtype=LONG)
    out = []
    for k, (r, leg, x) in enumerate(at):
        rows = []
        for i in range(-1, n):
            q, use = st.Quantity().add(places[k]), w[k]
            if i >= 0:
                q.add(faces[i], -1.0)
                use = use - w[len(at) + i]
            items = budget(case, q, use, seen, noise, ties)
            if part:
                f = LONG(part(r, leg, x))
                items[6] += length ** 2 * f * (1 - f)
            rows.append(items)
        out.append(rows)
    return out


def text_of(case):
    text = st.text_of(case)
    gate = case.get("gate", 1e9)
    head = text.split(" ", 4)
    head[3] = repr(gate)
    return " ".join(head)


def dump(program, cases):
    done = subprocess.run([program, "--budget"], text=True,
                          stdout=subprocess.PIPE, check=True,
                          input="".join(map(text_of, cases)))
    return [[float(w) for w in line.split()]
            for line in done.stdout.splitlines()]


def compare(program, cases, see):
    asked = [st.ask(rng, c) for rng, c in cases]
    rows = dump(program, [c for _, c in cases])
    places = corrected = placed = 0
    for (_, case), at in zip(cases, asked):
        n = len(case["faces"])
        del rows[:3]
        where = rows.pop(0)
        accepted = (int(where[0]), int(where[1]), *where[2:])
        corrected += accepted[0] >= 0
        placed += accepted[4] > accepted[3]
        for wanted in expected(case, at, accepted):
            place, theirs = rows.pop(0), rows.pop(0)
            for i, items in enumerate(wanted):
                mine = theirs[7 * i:7 * i + 7]
                total, variance = sum(items), place[1 + i]
                against = "the world" if i == 0 else "a face"
                see(f"sum against {against} is its variance",
                    abs(sum(mine) - variance), 1e-9 * variance + 1e-17)
                for name, a, b in zip(ITEMS, mine, items):
                    see(f"{name} against {against}", abs(a - b),
                        float(1e-9 * total) + 1e-17)
            places += 1
        assert n == len(theirs) // 7 - 1
    assert not rows
    return places, corrected, placed


# ---- one sort of errors at a time ----------------------------------------------

def disturbed(rng, case, sort):
    """The field book as errors of one sort would have left it; and where the
    faces really are less where they are drawn."""
    case = copy.deepcopy(case)
    var = case["variance"]
    stretch, tape = {}, {}
    shifts = [0.0] * len(case["faces"])
    if sort == "faces":
        shifts = [rng.gauss(0, math.sqrt(var["face", i]))
                  for i in range(len(shifts))]
        case["faces"] = [t - s for t, s in zip(case["faces"], shifts)]
    if sort == "tapes":
        case["tapes"] = [(a, b, v + rng.gauss(0, u), u)
                         for a, b, v, u in case["tapes"]]
    for r, run in enumerate(case["runs"]):
        inst = case["instruments"][run["instrument"]]
        key = (("shared scale", run["instrument"]) if inst["shared"] else
               ("scale", r))
        if key not in stretch:
            stretch[key] = rng.gauss(0, math.sqrt(var[key]))
        if run["tape"] not in tape and run["tape"] >= 0:
            tape[run["tape"]] = rng.gauss(
                0, math.sqrt(var["tape", run["tape"]]))
        for leg, (first, last, skip) in enumerate(run["legs"]):
            here = [e for e in run["events"] if e["leg"] == leg]
            xs = sorted({x for e in here for x in [e["x"]] + e["at"]} |
                        {first, last})
            new, at = {first: first}, xs.index(first)
            for step, rest in ((1, xs[at + 1:]), (-1, xs[:at][::-1])):
                old, moved = first, first
                for x in rest:
                    way = x - old
                    if sort == "scale":
                        way *= 1 - stretch[key]
                    if sort == "walk":
                        way -= rng.gauss(0, inst["walk"] * math.sqrt(
                            abs(way) * inst["scale"])) / inst["scale"]
                    old, moved = x, moved + way
                    new[x] = moved
            for e in here:
                e["x"], e["at"] = new[e["x"]], [new[x] for x in e["at"]]
                if e["kind"] == SKIP and e["known"]:
                    if sort == "skips":
                        e["length"] += rng.gauss(0, e["u"])
                    if sort == "tapes" and run["tape"] >= 0:
                        e["length"] /= 1 + tape[run["tape"]]
                if e["kind"] in (START, TIE) and sort == "ties":
                    u = math.hypot(e["u"], inst["quantum"] / math.sqrt(12))
                    e["distance"] += rng.gauss(0, u)
    return case, shifts


def scatter(program, case, draws, rng, see):
    """Ratio of what the program's stations scatter to what its budget says."""
    at = st.ask(rng, case)
    n = len(case["faces"])
    calm = dump(program, [case])
    checked = 0
    for index, sort in enumerate(ITEMS[:6]):
        made = [disturbed(rng, case, sort) for _ in range(draws)]
        rows = dump(program, [c for c, _ in made])
        size = 4 + 2 * len(at)
        for k in range(len(at)):
            row = 4 + 2 * k
            said = calm[row + 1]
            moved = [rows[i * size + row][0] - calm[row][0]
                     for i in range(draws)]
            faces = [[c["faces"][f] + rows[i * size + 1][f] for f in range(n)]
                     for i, (c, _) in enumerate(made)]
            for i in range(n + 1):
                variance = said[7 * i + index]
                if variance < 1e-8:
                    continue
                off = moved if i == 0 else [
                    m - (f[i - 1] - case["faces"][i - 1] - calm[1][i - 1])
                    for m, f in zip(moved, faces)]
                ratio = sum(o * o for o in off) / draws / variance
                see(f"scatter of {sort}, part of it", abs(ratio - 1),
                    5 * math.sqrt(2 / draws))
                checked += 1
    return checked


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--draws", type=int, default=400)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    worst = {}

    def see(name, deviation, bound):
        ratio = math.inf if math.isnan(deviation) else float(deviation / bound)
        if name not in worst or ratio > worst[name][0]:
            worst[name] = (ratio, float(deviation), float(bound))

    cases = [(rng, st.random_case(rng)) for _ in range(args.count)]
    forgetful = max(args.count // 4, 2)
    cases += [(rng, forgetful_case(rng)) for _ in range(forgetful)]
    places, corrected, placed = compare(args.program, cases, see)
    checked = 0
    while checked < 200:
        checked += scatter(args.program, st.random_case(rng), args.draws, rng,
                           see)
    if (corrected < forgetful // 2 or not 0 < placed < corrected or
            places < 5 * args.count):
        print(f"only {corrected} skips accepted, {placed} of them with their "
              f"place; {places} places")
        return 1
    print(f"{len(cases)} tendons, {places} places, {corrected} with an "
          f"accepted skip ({placed} between two run distances), "
          f"{checked} scatters, seed {args.seed}; largest "
          "deviations:")
    for name, (ratio, deviation, bound) in worst.items():
        print(f"  {name:40} {deviation:9.2e}  bound {bound:.2e}"
              f"{'' if ratio <= 1 else '  FAILED'}")
    return 0 if all(ratio <= 1 for ratio, _, _ in worst.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
