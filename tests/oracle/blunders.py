#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Second opinion on blunders, and on what is left once they are freed.

Random field books, a third of them with skips that nobody wrote down, are
solved in another form: every length, observation and place asked for is
written down in terms of the quantities themselves, the walk as a function with
covariance q^2 s min(x - x0, x' - x0) within a leg (so there are no steps,
knots, bridges or pieces), and whatever is free (the begin of a run, a skip of
unknown length, the jump of an interval) as an unknown without a prior. Best
linear unbiased prediction with the bordered system [K X; X' 0] gives mean and
variance at each place; misclosures are tested with their covariance, inverted
anew after each interval, tie, scale or taped length that is freed. Evidence is
the difference of two normal log densities, or an integral by quadrature.
Reversed runs are left to the unit test.

usage: blunders.py --program stations_dump [--count N] [--seed S]
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

NAN = float("nan")
READINGS, START, TIE, SKIP, REZERO = range(5)
MISSING, TWICE, WRONG_FACE, REVERSED, SCALE, JUMP, MEASURED = range(7)
NOSE, TAIL, ENCODER, ELECTRODE = range(4)
TIE_U = START_U = 0.003
SKIP_U = 0.005
FACE_U = 0.015
LEAST_U = 1e-6
# Metres (means, standard uncertainties, misclosures) and pure numbers (z,
# chi-square, relative to their size).
BOUND_M, BOUND_Z, BOUND_E = 1e-9, 1e-6, 1e-6


class Quantity:
    """constant + sum of coefficients times random or free quantities."""

    def __init__(self, constant=0.0, terms=None):
        self.c, self.t = constant, dict(terms or {})

    def plus(self, other, k=1.0):
        terms = dict(self.t)
        for key, v in other.t.items():
            terms[key] = terms.get(key, 0.0) + k * v
        return Quantity(self.c + k * other.c, terms)


def one(key, v=1.0):
    return Quantity(0.0, {key: v})


class Case:
    def __init__(self, rng, blunder):
        self.rng = rng
        self.gate = 3.0 if blunder else 1e6
        self.taped, self.runs, self.queries = [], [], []
        self.var, self.q2 = {}, {}
        self.observed, self.order = [], []
        self.length = 40.0
        self.make_faces()
        for _ in range(rng.randint(0, 2)):
            self.make_taped()
        self.instruments, self.scale_of, self.scale_key = [], [], []
        self.run_no, self.instrument_no = 0, -1
        for _ in range(2):
            self.make_instrument()
            for _ in range(rng.randint(1, 2)):
                self.make_run(blunder and rng.random() < 0.7)

    def emit(self, kind, x=0.0, resume=None, face=0, distance=0.0,
             with_=ENCODER, u=NAN, length=NAN, gap=0):
        """An event of the last run, as the program reads it."""
        self.runs[-1][1].append(
            [kind, x, x if resume is None else resume, face, distance, with_,
             u, int(not math.isnan(length)), length, gap])

    def pick_u(self, default, scale):
        """What is written, and what it means."""
        kind = self.rng.random()
        if kind < 0.3:
            return NAN, default
        if kind < 0.4:
            return 0.0, 0.0
        u = self.rng.uniform(0.2, 3.0) * scale
        return u, u

    def make_faces(self):
        n = self.rng.randint(2, 8)
        at = sorted(self.rng.uniform(0.3, self.length - 0.3) for _ in range(n))
        self.faces, self.face_u = [], []
        for i, t in enumerate(at):
            side = -1 if i % 2 else 1
            u = self.rng.choice((0.0, 0.005, 0.03,
                                 self.rng.uniform(0.001, 0.1)))
            self.faces.append((t, side))
            self.var["face", i] = (u or FACE_U) ** 2
            self.face_u.append(u)

    def make_taped(self):
        a, b = self.rng.sample(range(len(self.faces)), 2)
        drawn = abs(self.faces[b][0] - self.faces[a][0])
        value = drawn + self.rng.gauss(0, 0.01)
        u, meant = self.pick_u(TIE_U, 0.003)
        self.taped.append([a, b, value, u])
        lo, hi = min(a, b), max(a, b)
        key = "taped", len(self.taped)
        self.var[key] = max(meant, LEAST_U) ** 2
        q = Quantity(drawn).plus(one(("face", hi))).plus(one(("face", lo)), -1)
        self.observed.append((q.plus(one(key)), value))
        self.order.append(len(self.observed) - 1)

    def make_instrument(self):
        r = self.rng
        self.instrument_no += 1
        self.scale = r.choice((1.0, r.uniform(0.9, 1.1)))
        self.scale_u = r.choice((0.005, 0.0, r.uniform(0.001, 0.02)))
        self.shared = r.random() < 0.6
        self.walk = r.choice((0.00125, r.uniform(0.0003, 0.004), 0.0))
        self.quantum = r.choice((0.0, 0.001, 0.005))
        self.nose, self.tail = r.uniform(0, 0.3), r.uniform(0, 0.3)
        self.lead = r.uniform(-0.1, 0.1)
        self.instruments.append(
            [self.scale, self.scale_u, int(self.shared), self.walk,
             self.quantum, self.nose, self.tail, self.lead])

    # One run -----------------------------------------------------------------

    def make_run(self, blunder):
        r = self.rng
        self.dir = r.choice((-1, 1))
        self.lead_sign = r.choice((-1, 1))
        self.tape = r.choice((-1, 0, 1))
        tape_u = (0.001, 0.004, 0.0)[self.tape]
        if self.tape >= 0:
            self.var["tape", self.tape] = tape_u ** 2
        self.runs.append(([self.instrument_no, self.dir, self.lead_sign,
                           self.tape, tape_u], []))
        run = self.run_no
        self.k = ("k", self.instrument_no) if self.shared else ("k", "run", run)
        self.var[self.k] = self.scale_u ** 2
        self.scale_key.append(self.k)
        self.scale_of.append(self.scale)
        self.leg, self.event, self.stretch = 0, 0, 0
        self.q2[run] = self.walk ** 2 * self.scale
        self.x = r.uniform(0, 5)
        self.base_x, self.base = self.x, one(("free", "begin", run))
        order = sorted(r.sample(range(len(self.faces)),
                                r.randint(1, len(self.faces))))
        if self.dir < 0:
            order.reverse()
        self.true = None
        self.last_tie, self.free_since = None, False
        steps = len(order)
        for i, face in enumerate(order):
            self.tie(face, START if i == 0 else TIE)
            self.unknown = False
            if i == 0 or r.random() < 0.2:
                self.readings()
            last = i + 1 == steps
            target = self.station(face if last else order[i + 1])
            if last:
                target = self.true + self.dir * r.uniform(0.5, 6)
            error = r.choice((-1, 1)) * r.uniform(0.3, 0.6) \
                if blunder and r.random() < 0.3 else 0.0
            self.travel_to(target + error, last)
            self.true = target
        self.run_no += 1

    def station(self, face):
        return self.faces[face][0]

    def here(self, x):
        """Outside length of the encoder contact at x of the present leg."""
        run, travel = self.run_no, (x - self.base_x) * self.scale
        q = self.base.plus(Quantity(self.dir * travel))
        q = q.plus(one(self.k, self.dir * travel))
        q = q.plus(one(("walk", run, self.leg, x), self.dir))
        return q.plus(one(("walk", run, self.leg, self.base_x), -self.dir))

    def tie(self, face, kind):
        r = self.rng
        t, side = self.faces[face]
        with_ = r.randrange(4)
        distance = r.choice((0.0, r.uniform(0, 0.5)))
        u, meant = self.pick_u(START_U if kind == START else TIE_U, 0.003)
        offset = (self.nose, -self.tail, 0.0, self.lead)[with_]
        target = t + side * distance - self.dir * self.lead_sign * offset
        if self.true is None:
            self.true = target
        else:  # the sensor is pushed to where the part named stands at it
            gone = self.dir * (target - self.true) + r.gauss(0, 0.004)
            self.x += max(gone, -0.3) / self.scale
            self.true = target
            # What will be passed again has two stations: not asked for.
            self.queries = [q for q in self.queries if q[2] < self.x or
                            (q[0], q[5]) != (self.run_no, self.leg)]
        self.emit(kind, self.x, None, face, distance, with_, u)
        key = "tie", self.run_no, self.event
        self.var[key] = max(meant ** 2 + self.quantum ** 2 / 12, LEAST_U ** 2)
        q = self.here(self.x).plus(one(("face", face)), -1).plus(one(key), -1)
        self.observed.append((q, target))
        at = len(self.observed) - 1
        if self.last_tie is not None:
            self.order.append((at, self.last_tie, self.dir, self.free_since,
                               self.run_no, self.event))
        self.last_tie, self.free_since = at, False
        self.event += 1

    def readings(self):
        self.emit(READINGS)
        self.event += 1
        self.now = self.stretch
        self.stretch += 1

    def ask(self, x):
        q = self.here(x).plus(Quantity(self.dir * self.lead_sign * self.lead))
        self.queries.append((self.run_no, self.now, x, q, self.event - 1,
                             self.leg))

    def travel_to(self, target, last):
        r = self.rng
        left = self.dir * (target - self.true)
        parts = r.randint(1, 3)
        for i in range(parts):
            step = left / (parts - i)
            rest = step
            if i + 1 < parts:
                rest = step - self.skip_length(step)
            begin = self.x
            self.x += max(rest, 0.0) * (1 + r.gauss(0, 0.002)) / self.scale
            for _ in range(2):
                self.ask(r.uniform(begin, self.x))
            left -= step
            if i + 1 < parts:
                self.reseat(self.planned, last)

    def skip_length(self, step):
        self.planned = 0.0
        if self.rng.random() < 0.7 and step > 0.8:
            self.planned = self.rng.uniform(0.1, 0.6)
        return self.planned

    def reseat(self, moved, last):
        r = self.rng
        if r.random() < 0.3:
            self.x -= r.uniform(0, 0.2)  # rolled back
        exit_ = self.here(self.x)
        resume = r.choice((self.x, 0.0, r.uniform(0, 3)))
        if moved == 0.0:
            self.emit(REZERO, self.x, resume)
            self.base = exit_
        elif not self.unknown and not last and r.random() < 0.3:
            self.emit(SKIP, self.x, resume)
            self.unknown = self.free_since = True
            self.base = exit_.plus(one(("free", self.run_no, self.event)))
        else:
            self.base = self.known_skip(exit_, moved, resume)
        self.event += 1
        self.leg += 1
        self.x = self.base_x = resume
        self.readings()

    def known_skip(self, exit_, moved, resume):
        gap = self.rng.random() < 0.3
        u, meant = self.pick_u(SKIP_U, 0.005)
        taped = moved + self.rng.gauss(0, 0.003)
        self.emit(SKIP, self.x, resume, u=u, length=taped, gap=int(gap))
        key = "skip", self.run_no, self.event
        self.var[key] = meant ** 2
        full = taped + (self.nose + self.tail if gap else 0.0)
        q = exit_.plus(Quantity(self.dir * full)).plus(one(key, self.dir))
        if self.tape >= 0:
            q = q.plus(one(("tape", self.tape), self.dir * taped))
        return q

    # The answer --------------------------------------------------------------

    def covariance(self, a, b):
        """Matrix of two lists of quantities, free ones left out."""
        walks, plain = {}, {}
        for side, items in enumerate((a, b)):
            for i, q in enumerate(items):
                for key, v in q.t.items():
                    if key[0] == "walk":
                        walks.setdefault(key[1:3], ([], []))[side].append(
                            (i, key[3], v))
                    elif key[0] != "free":
                        plain.setdefault(key, ([], []))[side].append((i, v))
        out = np.zeros((len(a), len(b)))
        for key, (left, right) in plain.items():
            for i, v in left:
                for j, w in right:
                    out[i, j] += v * w * self.var[key]
        for (run, _), (left, right) in walks.items():
            x0 = min([x for _, x, _ in left + right])
            x0 = min(x0, self.least.get((run, _), x0))
            for i, x, v in left:
                for j, y, w in right:
                    out[i, j] += v * w * self.q2[run] * (min(x, y) - x0)
        return out

    def design(self, items, free):
        out = np.zeros((len(items), len(free)))
        for i, q in enumerate(items):
            for key, v in q.t.items():
                if key[0] == "free":
                    out[i, free.index(key)] = v
        return out

    def misclosures(self):
        """Each with what it is about: a taped length, or an interval with its
        two ties; values and covariance in t, not in travel."""
        items, values, about = [], [], []
        for entry in self.order:
            if isinstance(entry, int):
                q, y = self.observed[entry]
                items.append(q)
                values.append(y - q.c)
                about.append({"taped": entry, "name": ("taped", entry),
                              "sign": 1.0})
                continue
            b, a, d, free, run, event = entry
            if free:
                continue
            (qb, yb), (qa, ya) = self.observed[b], self.observed[a]
            items.append(qb.plus(qa, -1.0))
            values.append((yb - ya) - (qb.c - qa.c))
            about.append({"name": (run, event), "sign": d, "run": run,
                          "ties": (a, b), "d": d,
                          "events": (self.event_of(a)[1], event)})
        return items, np.array(values), about

    def find_blunders(self):
        """What is beyond the gate is explained by the hypothesis with the most
        evidence, and freed; in turn. Then each is explained again with the
        others free: all of them, or, for one that is more likely than chance,
        those that are, too. One that then closes is taken back."""
        items, self.d, self.about = self.misclosures()
        self.items = items
        self.tests, self.first, self.doubted = {}, [], set()
        self.scales_free = {(): self.covariance(items, items)}
        self.given = dict(self.var)
        self.free()
        q, w = self.inverse()
        self.chi2, self.dof = float(self.d @ w), len(items)
        self.explain_all()
        for _ in range(4):
            if len(self.first) < 2 or not self.explain_again():
                break
            self.explain_all()
        self.free(*self.first)
        if self.alive:
            self.note_tests(*self.inverse(), self.alive)
        return self.freedom()

    def inverse(self):
        if not self.alive:
            return np.zeros((0, 0)), np.zeros(0)
        q = np.linalg.inv(self.s[np.ix_(self.alive, self.alive)])
        return q, q @ self.d[self.alive]

    def free(self, *groups):
        gone = {i for g in groups for i in g["touched"]}
        self.alive = [i for i in range(len(self.items)) if i not in gone]
        self.freed = {g["key"] for g in groups if g["kind"] == SCALE}
        self.var = dict(self.given)
        for key in self.freed:
            self.var[key] += 0.05 ** 2
        name = tuple(sorted(self.freed, key=repr))
        if name not in self.scales_free:
            self.scales_free[name] = self.covariance(self.items, self.items)
        self.s = self.scales_free[name]

    def explain(self):
        """The first of what does not close; None: all does."""
        if not self.alive:
            return None
        q, w = self.inverse()
        worst = self.worst(q, w)
        if worst <= self.gate:
            return None
        best = max(self.hypotheses(0.5 * worst ** 2),
                   key=lambda h: h["evidence"])
        best["touched"] = [] if best["kind"] == SCALE else [
            i for i in self.alive if best["h"].get(i)]
        self.note_tests(q, w, best["touched"])
        return best

    def explain_all(self):
        while True:
            self.free(*self.first)
            best = self.explain()
            if best is None:
                break
            self.first.append(best)

    def explain_again(self):
        """True: another one came first somewhere, or was taken back."""
        changed, i = False, 0
        while i < len(self.first):
            old = self.first[i]
            self.free(*(g for g in self.first if g is not old and (
                g["evidence"] > 0.0 or old["evidence"] <= 0.0)))
            best = self.explain()
            if best is None:
                self.first.remove(old)
                changed = True
                continue
            changed = changed or best["id"] != old["id"]
            self.first[i] = best
            # What it took from another one leaves that without a ground.
            lost = [g for g in self.first if g is not best and
                    (set(g["touched"]) & set(best["touched"]) or
                     (best["kind"] == SCALE and g.get("key") == best["key"]))]
            for g in lost:
                self.first.remove(g)
                changed = True
            i = self.first.index(best) + 1
        return changed

    def freedom(self):
        """Names of the jumps and of the taped lengths that are left out."""
        dropped = []
        for best in self.first:
            for i in best["touched"]:
                if best["kind"] == WRONG_FACE:
                    self.blame(i, best)
                dropped.append((*self.about[i]["name"], self.about[i]["sign"])
                               if "taped" not in self.about[i]
                               else self.about[i]["name"])
            if best["kind"] == SCALE:
                self.doubted |= {run for run, key in enumerate(self.scale_key)
                                 if key == best["key"]}
        return dropped

    def note_tests(self, q, w, which):
        for i, at in enumerate(self.alive):
            if at not in which:
                continue
            sign = self.about[at]["sign"]
            self.tests[self.about[at]["name"]] = (
                sign * self.d[at], sign * w[i] / q[i, i],
                sign * w[i] / math.sqrt(q[i, i]),
                (self.gate + 0.84) / math.sqrt(q[i, i]))

    def worst(self, q, w):
        worst = max(abs(w[i]) / math.sqrt(q[i, i]) for i in range(len(w)))
        for i in range(len(w) - 1):
            a, b = (self.about[self.alive[k]] for k in (i, i + 1))
            if "ties" in a and "ties" in b and a["ties"][1] == b["ties"][0]:
                h = np.zeros(len(w))
                h[i], h[i + 1] = 1.0, -1.0
                worst = max(worst, abs(h @ w) / math.sqrt(h @ q @ h))
        for key in set(self.scale_key) - self.freed:
            h = np.array([self.items[i].t.get(key, 0.0) for i in self.alive])
            if np.any(h):
                worst = max(worst,
                            abs(h @ w) / math.sqrt(h @ q @ h) / 1.1)
        return worst

    def hypotheses(self, least):
        """All that explain enough: kind, h (by misclosure, in t), evidence,
        misfit, length."""
        out = []
        for i in self.alive:
            a = self.about[i]
            if "taped" in a:
                out.append(self.guess(MEASURED, {i: 1.0}, 2e-3, True))
                continue
            out.append(self.guess(MISSING, {i: a["d"]}, 1e-2, False))
            out.append(self.guess(JUMP, {i: a["d"]}, 1e-4, True))
            out += self.skips(i, a)
        for tie in range(len(self.observed)):
            out += self.wrong_faces(tie)
        for key in sorted(set(self.scale_key) - self.freed, key=repr):
            h = {i: self.items[i].t.get(key, 0.0) for i in self.alive}
            out.append(self.stated(SCALE, h, 1e-3, 0.0, 0.05 ** 2))
            if out[-1]:
                out[-1]["key"] = key
        out = [h for h in out if h and h["gain"] >= least]
        for h in out:
            h["id"] = (h["kind"], h.get("key"), h.get("event"), h.get("tie"),
                       h.get("face"), *sorted(i for i in h["h"] if h["h"][i]))
        return out

    def skips(self, i, a):
        events = self.runs[a["run"]][1]
        head = self.runs[a["run"]][0]
        nose, tail = self.instruments[head[0]][5:7]
        out = []
        for e in range(a["events"][0] + 1, a["events"][1]):
            kind, _, _, _, _, _, u, known, length, gap = events[e]
            if kind != SKIP or not known:
                continue
            moved = length + (nose + tail if gap else 0.0)
            u = SKIP_U if math.isnan(u) else u
            out.append(self.stated(TWICE, {i: a["d"]}, 2e-3, -moved,
                                  u * u + (head[4] * length) ** 2))
            out[-1]["event"] = e
        return out

    def wrong_faces(self, tie):
        """Its place moves by b in t: the interval that it ends closes with b
        less, the one that it begins with b more."""
        event = self.event_of(tie)
        if event is None:
            return []
        h = {}
        for i in self.alive:
            ends = self.about[i].get("ties", ())
            if tie in ends:
                h[i] = -1.0 if ends[1] == tie else 1.0
        if not h:
            return []
        face, distance = self.runs[event[0]][1][event[1]][3:5]
        n, out = len(self.faces), []
        if len(h) == 2:
            out.append(self.guess(WRONG_FACE, h, 1e-4, True))
        for g in range(n):
            if g == face:
                continue
            (t, side), (u, other) = self.faces[face], self.faces[g]
            out.append(self.stated(
                WRONG_FACE, h, 2e-3 / (n - 1),
                (u + other * distance) - (t + side * distance),
                self.var["face", face] + self.var["face", g]))
            out[-1]["face"] = g
        for one_ in out:
            if one_:
                one_["tie"] = tie
        return out

    def log_density(self, mean, s):
        d = self.d[self.alive] - mean
        return -0.5 * (d @ np.linalg.solve(s, d) + np.linalg.slogdet(s)[1])

    def parts(self, h):
        column = np.array([h.get(i, 0.0) for i in self.alive])
        if not np.any(column):
            return None
        s = self.s[np.ix_(self.alive, self.alive)]
        size = column @ np.linalg.solve(s, column)
        slope = column @ np.linalg.solve(s, self.d[self.alive])
        return column, s, size, slope

    def stated(self, kind, h, odds, mean, variance):
        """The length is about `mean`: densities without and with it."""
        parts = self.parts(h)
        if parts is None:
            return None
        column, s, size, slope = parts
        more = s + variance * np.outer(column, column)
        with_ = self.log_density(mean * column, more)
        d = self.d[self.alive]
        chi2 = d @ np.linalg.solve(s, d)
        left = d - mean * column
        misfit = left @ np.linalg.solve(more, left)
        return {"kind": kind, "h": h, "gain": chi2 - misfit, "misfit": misfit,
                "evidence": math.log(odds) + with_ - self.log_density(0.0, s),
                "length": slope / size, "u": size ** -0.5}

    def guess(self, kind, h, odds, signed):
        """The length is exponential, 0.5 m on average: by quadrature."""
        parts = self.parts(h)
        if parts is None:
            return None
        column, s, size, slope = parts
        if not signed and slope <= 0.0:
            return None
        b, u = slope / size, size ** -0.5
        grid = np.linspace(b - 12.0 * u, b + 12.0 * u, 6001)
        if not signed:
            grid = np.linspace(max(grid[0], 0.0), grid[-1], 6001)
        # Both halves on their own: the prior has a kink at 0.
        cuts = [g for g in (grid[grid < 0.0], grid[grid >= 0.0]) if g.size]
        if len(cuts) == 2:
            cuts = [np.linspace(grid[0], 0.0, 6001),
                    np.linspace(0.0, grid[-1], 6001)]
        total = sum(self.simpson(
            2.0 * np.exp(-2.0 * np.abs(g)) * (0.5 if signed else 1.0) *
            np.exp(-0.5 * size * (g - b) ** 2), g) for g in cuts)
        d = self.d[self.alive]
        chi2 = d @ np.linalg.solve(s, d)
        return {"kind": kind, "h": h, "gain": slope * b,
                "misfit": chi2 - slope * b, "length": b, "u": u,
                "evidence": math.log(odds) + 0.5 * slope * b +
                math.log(total)}

    @staticmethod
    def simpson(f, x):
        if len(x) % 2 == 0:
            x, f = x[:-1], f[:-1]
        step = x[1] - x[0]
        return step / 3.0 * (f[0] + f[-1] + 4.0 * f[1:-1:2].sum() +
                             2.0 * f[2:-1:2].sum())

    def blame(self, i, best):
        """What a wrong tie explains beside it, in travel."""
        name, sign = self.about[i]["name"], self.about[i]["sign"]
        d, _, z, least = self.tests[name]
        self.tests[name] = (d, sign * best["h"][i] * best["length"], z, least)

    def solve(self):
        self.least = {}
        every = [q for q, _ in self.observed] + [q[3] for q in self.queries]
        for q in every:
            for key in q.t:
                if key[0] == "walk":
                    leg = key[1:3]
                    self.least[leg] = min(self.least.get(leg, key[3]), key[3])
        dropped = self.find_blunders()
        self.dropped = {d[:2] for d in dropped}
        jumps = [d for d in dropped if d[0] != "taped"]
        out = {d[1] for d in dropped if d[0] == "taped"}
        rows = []
        for i, (q, y) in enumerate(self.observed):
            if i not in out:
                rows.append((self.with_jumps(q, self.event_of(i), jumps), y))
        items = [q for q, _ in rows]
        free = sorted({k for q in items for k in q.t if k[0] == "free"},
                      key=repr)
        k = self.covariance(items, items)
        x = self.design(items, free)
        n, m = len(items), len(free)
        big = np.zeros((n + m, n + m))
        big[:n, :n], big[:n, n:], big[n:, :n] = k, x, x.T
        r = np.array([y - q.c for q, y in rows])
        asked = [one(("face", i)) for i in range(len(self.faces))]
        asked += [one(key) for key in self.scale_key]
        places = [self.with_jumps(q[3], (q[0], q[4]), jumps)
                  for q in self.queries]
        asked += places
        faces = asked[:len(self.faces)]
        asked += [p.plus(f, -1.0) for p in places for f in faces]
        kq = np.vstack([self.covariance(items, asked),
                        self.design(asked, free).T])
        weights = np.linalg.solve(big, kq)
        mean = weights[:n].T @ r
        own = self.covariance(asked, asked)
        cov = own - weights.T @ kq
        self.unpack(asked, mean, cov)

    def event_of(self, i):
        for key in self.observed[i][0].t:
            if key[0] == "tie":
                return key[1], key[2]
        return None

    @staticmethod
    def with_jumps(q, at, jumps):
        for run, event, d in jumps:
            if at and at[0] == run and at[1] >= event:
                q = q.plus(one(("free", "jump", run, event), d))
        return q

    def unpack(self, asked, mean, cov):
        f, runs = len(self.faces), self.run_no
        sd = np.sqrt(np.maximum(np.diag(cov), 0.0))
        self.shift, self.face_cov = mean[:f], cov[:f, :f]
        self.scales = [(s * (1 + m), s * u) for s, m, u in
                       zip(self.scale_of, mean[f:f + runs], sd[f:f + runs])]
        p, n = f + runs, len(self.queries)
        self.answers = []
        for i in range(n):
            rel = p + n + i * f
            self.answers.append((asked[p + i].c + mean[p + i], sd[p + i],
                                 sd[rel:rel + f]))

    def text(self):
        out = [len(self.faces), len(self.taped), len(self.runs), self.gate]
        out += [t for t, _ in self.faces] + self.face_u
        for words in self.instruments + self.taped:
            out += words
        for number, (head, events) in enumerate(self.runs):
            out += head + [len(events)]
            stretch = -1
            for event in events:
                out += event
                if event[0] == READINGS:
                    stretch += 1
                    at = [q[2] for q in self.queries
                          if q[:2] == (number, stretch)]
                    out += [len(at)] + at
        return " ".join(map(repr, out)) + "\n"


class Worst:
    def __init__(self):
        self.at = {}

    def see(self, name, difference, bound):
        difference = abs(difference)
        if math.isnan(difference):
            difference = math.inf
        self.at[name] = (max(difference, self.at.get(name, (0,))[0]), bound)

    def report(self):
        good = True
        for name, (value, bound) in self.at.items():
            over = not value <= bound
            good = good and not over
            print(f"{name}\t{value:.3g}\tbound {bound:g}"
                  + ("\tOVER" if over else ""))
        return good


def root(v):
    return math.sqrt(max(v, 0.0))


def numbers(lines):
    return [float(word) for word in next(lines).split()]


def compare(case, lines, worst):
    """`lines` is an iterator over the program's output."""
    chi2, dof = numbers(lines)
    worst.see("chi-square", (chi2 - case.chi2) / (1 + case.chi2), BOUND_Z)
    worst.see("degrees of freedom", dof - case.dof, 0)
    for a, b in zip(numbers(lines), case.shift, strict=True):
        worst.see("face shift, m", a - b, BOUND_M)
    z = numbers(lines)
    f = len(case.faces)
    got = np.array(numbers(lines)).reshape(f, f)
    sd = np.sqrt(np.maximum(np.diag(case.face_cov), 0.0))
    worst.see("face covariance / its standard deviation, m", float(np.max(
        np.abs(got - case.face_cov) / (1e-6 + np.maximum.outer(sd, sd)))),
        BOUND_M)
    got = numbers(lines)
    for a, u, expected in zip(got[::2], got[1::2], case.scales, strict=True):
        worst.see("scale", a - expected[0], BOUND_M)
        worst.see("scale, standard uncertainty", u - expected[1], BOUND_M)
    got = iter(numbers(lines))
    keys = [e[4:6] for e in case.order if not isinstance(e, int)]
    for key, a in zip(keys, z, strict=True):
        expected = case.tests.get(key, (0.0, 0.0, 0.0, math.inf))
        d, jump, least, closes = (next(got) for _ in range(4))
        worst.see("misclosure, m", d - expected[0], BOUND_M)
        worst.see("blunder, m", jump - expected[1], BOUND_M)
        worst.see("z", (a - expected[2]) / (1 + abs(expected[2])), BOUND_Z)
        if least != expected[3]:
            worst.see("least blunder", (least - expected[3]) / expected[3],
                      BOUND_Z)
        worst.see("intervals closed otherwise",
                  int((closes == 1) == (key in case.dropped or
                                        key[0] in case.doubted)), 0)
    got = numbers(lines)
    for i, h in enumerate(case.first):
        kind, evidence, misfit, length, u = got[5 * i:5 * i + 5]
        worst.see("first hypothesis, kinds that differ", kind - h["kind"], 0)
        worst.see("evidence", (evidence - h["evidence"]) /
                  (1 + abs(h["evidence"])), BOUND_E)
        worst.see("misfit", (misfit - h["misfit"]) / (1 + case.chi2), BOUND_E)
        worst.see("length of a hypothesis, m", length - h["length"], BOUND_M)
        worst.see("its standard uncertainty, m", u - h["u"], BOUND_M)
    worst.see("blunders more or less", len(got) - 5 * len(case.first), 0)
    for mean, u, relative in case.answers:
        place, world, *faces = numbers(lines)
        worst.see("station, m", place - mean, BOUND_M)
        worst.see("against the world, m", root(world) - u, BOUND_M)
        for a, b in zip(faces, relative, strict=True):
            worst.see("against a face, m", root(a) - b, BOUND_M)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    cases = [Case(rng, i % 3 == 2) for i in range(options.count)]
    done = subprocess.run([options.program, "--all"], text=True, check=True,
                          input="".join(c.text() for c in cases),
                          stdout=subprocess.PIPE)
    lines = iter(done.stdout.splitlines())
    worst = Worst()
    for case in cases:
        case.solve()
        compare(case, lines, worst)
    left = sum(1 for _ in lines)
    print(f"{len(cases)} cases, {sum(c.run_no for c in cases)} runs, "
          f"{sum(len(c.queries) for c in cases)} places, "
          f"{sum(len(c.dropped) for c in cases)} blunders")
    return 0 if worst.report() and left == 0 else 1


if __name__ == "__main__":
    sys.exit(main())
