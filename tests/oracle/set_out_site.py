# SPDX-License-Identifier: MIT
"""Random bridges and jobs for set_out.py, and the measures of each requested
tap, made in a way of its own. The centreline is the integral of its unit
tangent; a length on the duct's outside that of the norm of the derivative of
axis + r direction(clock), by central differences; faces by Newton's method on
their planes. Invented; no real bridge."""
import math
import os

import bridge_files as files
import bridges as b
import geometry as g

# Defaults of a job's settings (docs/formats.md); the ties of the runs here.
MARK_U, FACE_U, BIT, TIE_U = 0.002, 0.015, 0.008, 1e-5
WALL = 0.006  # bridge_files.py
CRITERIA = ('<criteria version="1" id="C" owner="nobody" date="2026-03-02">'
            '<grade label="look" tap="true"/><rule grade="look"/></criteria>\n')
BOOK = '''<fieldbook version="1" uid="5b0f6d1e-8a53-4c1b-9f0e-3d2a7c41e002"
 survey="random" date="2026-03-02" bridge="5b0f6d1e-8a53-4c1b-9f0e-3d2a7c41e001">
<instrument id="I"><encoder u="0" walk="0 mm" quantum="0 mm"/>
<body nose="140 mm" tail="100 mm"/><channel id="C" lead="0 mm"
 footprint-along="100 mm" footprint-around="60 mm" depth="15 mm"/></instrument>
<calibration duct-type="D" instrument="I"><air value="900"/>
<reference value="1500"/></calibration>
<columns run-distance="x" unit="m"><value column="c" channel="C"/></columns>
'''


class Wire:
    """A centreline known by its unit tangent."""

    def __init__(self, start, pieces):
        self.start = start
        self.knots, self.places = [], [(0.0, 0.0, 0.0)]
        for begin, end, tangent in pieces:
            turn = g.norm(g.add(tangent(end), tangent(begin), -1.0))
            n = 1 + int(max(turn / 0.05, (end - begin) / 4.0))
            cuts = [begin + (end - begin) * k / n for k in range(n)] + [end]
            self.knots += [(p, q, tangent) for p, q in zip(cuts, cuts[1:])]
        for p, q, tangent in self.knots:
            self.places.append(g.add(self.places[-1],
                                     g.integrate(tangent, p, q)))

    def knot(self, t):
        for i, (_, end, _) in enumerate(self.knots):
            if t <= end:
                return i
        return len(self.knots) - 1

    @staticmethod
    def outwards(u, phi):
        """Direction of a clock angle, looking along u."""
        crown = g.add((0.0, 0.0, 1.0), u, -u[2])
        crown = g.mul(1 / g.norm(crown), crown)
        return g.add(g.mul(math.cos(phi), crown), g.cross(u, crown),
                     math.sin(phi))

    def at(self, t, r=0.0, phi=0.0):
        """Place and unit tangent."""
        i = self.knot(t)
        a, end, tangent = self.knots[i]
        inner = min(max(t, a), end)
        p = g.add(self.start, g.add(self.places[i],
                                    g.integrate(tangent, a, inner)))
        u = tangent(inner)
        return g.add(g.add(p, u, t - inner), self.outwards(u, phi), r), u

    def outside(self, r, phi, begin, end):
        """Along the duct's outside on a clock line; < 0 where end < begin."""
        if end < begin:
            return -self.outside(r, phi, end, begin)
        total = []
        for a, q, tangent in self.knots:
            lo, hi = max(a, begin), min(q, end)
            if lo >= hi:
                continue

            def rate(t, h=1e-4):
                out = g.add(self.outwards(tangent(t + h), phi),
                            self.outwards(tangent(t - h), phi), -1.0)
                return g.norm(g.add(tangent(t), out, r / (2 * h)))

            total.append(g.integrate(rate, lo, hi))
        return math.fsum(total)

    def nearest(self, p):
        """Near enough to begin with."""
        ends = [self.knots[0][0]] + [k[1] for k in self.knots]
        return min(zip(self.places, ends), key=lambda k: g.norm(
            g.add(g.add(self.start, k[0]), p, -1.0)))[1]


def turned(u, axis, a):
    """Rodrigues, u square to the axis."""
    return g.add(g.mul(math.cos(a), u), g.cross(axis, u), math.sin(a))


def wire_of(built, tendon):
    points, radii = b.polygon(built, tendon)
    if not tendon["weight"]:
        duct = b.Duct(points, radii)
        return Wire(points[0], [
            (piece[0], piece[1],
             lambda t, piece=piece: duct._turn(piece, t)[0])
            for piece in duct.pieces])
    hung = b.Hanging(points, radii, float(tendon["weight"]),
                     1e3 * float(tendon["force"]))
    pieces = []
    for begin, end, leg, _, bend in hung.pieces:
        if bend:
            u, axis, radius = bend
            pieces.append((begin, end,
                           lambda t, u=u, axis=axis, radius=radius, a=begin:
                           turned(u, axis, (t - a) / radius)))
        else:
            pieces.append((begin, end, lambda t, leg=leg, a=begin:
                           hung._direction(leg, hung.begin[leg] + hung.w *
                                           (t - a) / hung.H[leg])))
    return Wire(points[0], pieces)


class Face:
    def __init__(self, name, side, wire, point, offset, normal, u):
        self.name, self.side, self.u = name, side, u
        self.normal = normal
        self.origin = g.add(point, normal, float(offset))
        self.near = wire.nearest(self.origin)
        self.shift, self.tied = 0.0, False

    def on(self, wire, r, phi):
        """Its station on a clock line, moved by what the distances told."""
        return b.cross(wire, self.origin, self.normal, self.near, r,
                       phi) + self.shift


class Said:
    """What a bridge file says of a face: normal, touchable, u."""

    def __init__(self, rng, square):
        self.attributes, self.lean, normal = '', 0.0, square
        if rng.random() < 0.7:
            normal = [round(v + rng.uniform(-0.3, 0.3), 6) for v in square]
            self.attributes += ' normal="%s"' % ' '.join(
                '%.6f' % v for v in normal)
        self.normal = g.mul(1 / g.norm(normal), normal)
        if normal is not square:
            self.lean = math.degrees(math.acos(g.dot(self.normal, square)))
        self.touchable = rng.random() < 0.9
        if not self.touchable:
            self.attributes += ' touchable="false"'
        self.u = FACE_U
        if rng.random() < 0.5:
            self.u = rng.randint(5, 30) / 1000
            self.attributes += ' u="%d mm"' % round(1000 * self.u)


def dress(rng, built):
    """Planes that lean, faces that no tape can start from, own bounds."""
    for tendon in built.bridge["tendons"]:
        for s in tendon["supports"]:
            p = tuple(float(v) for v in built.point(s))
            s["more"] = {
                side: Said(rng, g.mul(1 if side == "ahead" else -1,
                                      built.ahead(s, p)))
                for side in s["faces"]}


def run_of(rng, number, tendon, wire, r, back, ahead):
    """A run between two faces that finds them e farther apart: each moves by
    its part of the sum of the variances."""
    line = math.radians(rng.choice([0, 90, 180, 270]))
    drawn = wire.outside(r, line, back.on(wire, r, line),
                         ahead.on(wire, r, line))
    # Within the gate: beyond it no face would move.
    u = math.hypot(back.u, ahead.u)
    x = round(drawn + rng.uniform(-2.5, 2.5) * u, 5)
    share = back.u ** 2 / (back.u ** 2 + ahead.u ** 2)
    e = x - drawn
    back.shift, ahead.shift = -e * share, e * (1 - share)
    # What is left of each is common to both.
    back.u = ahead.u = back.u * ahead.u / math.hypot(back.u, ahead.u)
    back.tied = ahead.tied = True
    return f'''<run id="R{number}" tendon="{tendon}" instrument="I"
 direction="ahead" leading="nose" clock="{math.degrees(line):.0f} deg">
<check kind="air" value="900"/><check kind="reference" value="1500"/>
<start x="0 m" at="{back.name}" with="encoder" u="0.01 mm"/>
<readings href="r{number}.csv"/>
<tie x="{x} m" at="{ahead.name}" with="encoder" u="0.01 mm"/></run>
'''


def clock_text(rng):
    """As a job gives it, and in degrees."""
    if rng.random() < 0.5:
        minutes = rng.randrange(720)
        return '%d:%02d' % (minutes // 60 or 12, minutes % 60), minutes / 2
    tenths = rng.randrange(3600)
    return '%.1f deg' % (tenths / 10), tenths / 10


def tape_line(clock):
    """docs/taps.md, setting out, 2."""
    off = min(clock, 360 - clock)
    if off <= 90:
        return 0
    return 180 if off > 135 else 90 if clock < 180 else 270


class Tap:
    """One request, and what it leads to."""

    def __init__(self, rng, number, tendon, wire, r, faces, support_t):
        """`faces`: back and ahead of a free length, None where there is none;
        `support_t`: the stations that it lies between."""
        named = rng.choice([f for f in faces if f])
        self.id, self.tendon, self.face = 'Q%d' % number, tendon, named
        self.clock_text, self.clock = clock_text(rng)
        phi = math.radians(self.clock)
        at = named.on(wire, r, phi)
        ends = [f.on(wire, r, 0.0) if f else t + way * 1.5
                for f, t, way in zip(faces, support_t, (1, -1))]
        room = ends[1] - ends[0]
        self.distance = files.any_length(rng, rng.uniform(0.25, room - 0.25))
        want = float(self.distance)
        way = 1 if named.side == "ahead" else -1
        t = at + way * want
        for _ in range(40):
            step = want - way * wire.outside(r, phi, at, t)
            t += way * step
            if abs(step) < 1e-11:
                break
        self.t, self.r = t, r
        self.axis = wire.at(t)[0]
        self.mark = wire.at(t, r, phi)[0]
        self.line = tape_line(self.clock)
        lam = math.radians(self.line)
        self.tapes = {}
        cuts = []
        for f, side, sign in zip(faces, ("back", "ahead"), (1, -1)):
            if f:
                cut = f.on(wire, r, lam)
                cuts.append(cut)
                self.tapes[side] = (f, sign * wire.outside(r, lam, cut, t))
        self.apart = wire.outside(r, lam, *cuts) if len(cuts) == 2 else None
        around = (self.clock - self.line + 180) % 360 - 180
        self.around = r * math.radians(around)
        self.from_crown = r * math.radians((self.clock + 180) % 360 - 180)

    def text(self):
        return (f'<tap-request id="{self.id}" tendon="{self.tendon}" '
                f'face="{self.face.name}" distance="{self.distance.text()}" '
                f'clock="{self.clock_text}" by="engineer" reason="invented"/>')


def hours(degrees):
    minutes = round(2 * degrees) % 720
    return '%d:%02d' % (minutes // 60 or 12, minutes % 60)


class Case:
    """A bridge, its job and the taps of it."""

    def __init__(self, rng, number):
        self.us = number % 2 == 1
        while True:
            self.bridge = b.random_bridge(rng)
            self.built = b.Built(self.bridge)
            dress(rng, self.built)
            self.equation = None
            self.runs, self.taps = [], []
            for k, tendon in enumerate(self.bridge["tendons"]):
                self._tendon(rng, 'T%d' % (k + 1), tendon)
            if len(self.taps) >= 2 and self.runs:
                break
        a = self.bridge["alignment"]
        if a and rng.random() < 0.6:
            at = float(a["start"][0]) + rng.uniform(0, 40)
            self.equation = (round(at, 3), round(at + rng.uniform(-90, 90), 3))
        for tap in self.taps:
            tap.bridge = None
            if self.built.line and not self.built.passes_twice(tap.axis):
                tap.bridge = [float(v) for v in
                              self.built.foot(tap.axis)[:2]]
        self.wall_min = rng.choice([None, 0.0053, 0.0057])
        self.allowance = rng.choice([0.0, 0.0, 0.001, 0.0025])

    def _tendon(self, rng, name, tendon):
        wire, r = wire_of(self.built, tendon), 0.5 * float(self.bridge["od"])
        faces, at = [], []
        for i, s in enumerate(tendon["supports"]):
            p = tuple(float(v) for v in self.built.point(s))
            own = {}
            for side, (offset, _) in s["faces"].items():
                said = s["more"][side]
                if said.touchable:
                    own[side] = Face('S%d-%s' % (i, side), side, wire, p,
                                     offset, said.normal, said.u)
            faces.append(own)
            at.append(wire.nearest(p))
        for i in range(len(faces) - 1):
            pair = [faces[i].get("ahead"), faces[i + 1].get("back")]
            if not any(pair):
                continue
            # One run a tendon: more would tie the faces to each other.
            if all(pair) and not any(n == name for n, _ in self.runs) and \
                    rng.random() < 0.6:
                self.runs.append((name, run_of(rng, len(self.runs), name, wire,
                                               r, *pair)))
            self.taps.append(Tap(rng, len(self.taps), name, wire, r, pair,
                                 at[i:i + 2]))

    def write(self, folder):
        os.mkdir(folder)
        text = files.text_of(self.bridge)
        least = '' if self.wall_min is None else \
            ' wall-min="%g mm"' % (1000 * self.wall_min)
        text = text.replace('wall="6 mm"', 'wall="6 mm"' + least)
        text = text.replace('  <deviator-type', '  <strand-type id="S" '
                            'diameter="15.24 mm" area="140 mm2"/>\n'
                            '  <deviator-type', 1)
        text = text.replace('<tendon id=', '<tendon strands="7" '
                            'strand-type="S" id=')
        if self.equation:
            text = text.replace(
                '  </alignment>', '    <station-equation back="%.3f m" '
                'ahead="%.3f m"/>\n  </alignment>' % self.equation)
        unit = "us" if self.us else "metric"
        job = [f'<job version="1" uid="5b0f6d1e-8a53-4c1b-9f0e-3d2a7c41e003" '
               f'date="2026-03-03" units="{unit}">',
               '<bridge href="bridge.xml"/><fieldbook href="book.xml"/>'
               '<criteria href="criteria.xml"/>',
               '<settings tap-merge="0 mm" '
               f'stop-allowance="{1000 * self.allowance:g} mm"/>']
        job += [t.text() for t in self.taps] + ['</job>\n']
        for name, said in (("bridge.xml", text), ("job.xml", "\n".join(job)),
                           ("book.xml", BOOK + ''.join(
                               r for _, r in self.runs) + '</fieldbook>\n'),
                           ("criteria.xml", CRITERIA),
                           *(("r%d.csv" % i, "x,c\n" + ''.join(
                               '%.3f,1500\n' % (1 + 0.01 * j)
                               for j in range(40)))
                             for i in range(len(self.runs)))):
            with open(os.path.join(folder, name), 'w', encoding='utf-8') as f:
                f.write(said)
