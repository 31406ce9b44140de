# SPDX-License-Identifier: MIT
"""Random bridge files for the second opinions: an alignment or none, tendons
whose points are given partly in x, y, z and partly by station, some with sag;
all units. Numbers are exact fractions of a metre, so that a file can be written
again in another unit. Invented; no real bridge."""
import copy
import math
from fractions import Fraction

UNITS = {"m": Fraction(1), "mm": Fraction(1, 1000), "ft": Fraction(3048, 10000),
         "in": Fraction(254, 10000), "us-ft": Fraction(1200, 3937)}
STRAND = (Fraction(1745, 1000), Fraction(154))  # kg/m, kN: one of many


def decimal(value, places):
    """A fraction as decimal text, rounded."""
    n = round(value * 10 ** places)
    digits = f"{abs(n):0{places + 1}d}"
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".")
    return ("-" if n < 0 else "") + text


class Length:
    """A length as it stands in a file: metres, and the unit it is given in."""

    def __init__(self, metres, unit="m", places=6):
        self.unit = unit
        n = round(Fraction(metres) / UNITS[unit] * 10 ** places)
        self.metres = Fraction(n, 10 ** places) * UNITS[unit]

    def text(self, unit=None):
        unit = unit or self.unit
        # A file has 9 digits before the point.
        if abs(self.metres) / UNITS[unit] >= 10 ** 9:
            unit = "m"
        return f"{decimal(self.metres / UNITS[unit], 15)} {unit}"

    def __float__(self):
        return float(self.metres)


def any_length(rng, metres):
    unit = rng.choice(list(UNITS))
    if unit == "mm" and abs(metres) > 9e5:
        unit = "m"
    return Length(metres, unit)


def radius_of(rng, k):
    return any_length(rng, 1 / abs(k)) if k else None


def random_alignment(rng, elements, far):
    """`elements`: length, k0, k1; made into what a file can say."""
    x, y = (rng.uniform(2e5, 8e5), rng.uniform(1e6, 6e6)) if far else \
        (rng.uniform(-50, 50), rng.uniform(-50, 50))
    start = [any_length(rng, v) for v in (rng.uniform(-500, 9000), x, y)]
    plan = []
    radii = {}
    for length, k0, k1 in elements:
        for k in (k0, k1):
            radii.setdefault(abs(k), radius_of(rng, k))
        parts = [(length, k0, k1)]
        if k0 * k1 < 0:
            share = abs(k0) / (abs(k0) + abs(k1))
            parts = [(length * share, k0, 0.0), (length * (1 - share), 0.0, k1)]
        for n, a, b in parts:
            turn = "right" if a + b > 0 else "left"
            plan.append((any_length(rng, n), radii.get(abs(a)),
                         radii.get(abs(b)), turn))
    return {"start": start, "plan": plan, "pvis": [],
            "bearing": Fraction(rng.randint(-1800000, 3600000), 10000)}


def curvatures(element):
    _, r0, r1, turn = element
    hand = 1 if turn == "right" else -1
    return (hand / float(r0) if r0 else 0.0, hand / float(r1) if r1 else 0.0)


def random_profile(rng, begin, end):
    n = rng.randint(2, 4)
    pvis, s, z = [], begin - 5.0, rng.uniform(0, 300)
    step = (end - begin + 10.0) / (n - 1)
    for i in range(n):
        length = rng.uniform(0.2, 0.9) * step if 0 < i < n - 1 else 0.0
        pvis.append(tuple(any_length(rng, v) for v in (s, z, length)))
        s += step
        z += step * rng.uniform(-0.05, 0.05)
    return pvis


def faces_of(rng, first, last):
    sides = [s for s, is_there in (("back", not first), ("ahead", not last))
             if is_there and rng.random() < 0.8]
    return {side: (any_length(rng, rng.uniform(0.2, 1.2)),
                   any_length(rng, rng.uniform(0.0, 0.5)))
            for side in sides}


def support(rng, form, numbers, first, last):
    return {"form": form, "numbers": [any_length(rng, v) for v in numbers],
            "radius": None if first or last else
            any_length(rng, rng.uniform(1.5, 6.0)),
            "faces": faces_of(rng, first, last)}


def text_of_support(s, name, first, last, unit):
    names = {"world": ("x", "y", "z"), "height": ("station", "offset", "height"),
             "above": ("station", "offset", "above")}[s["form"]]
    point = " ".join(f'{n}="{v.text(unit)}"'
                     for n, v in zip(names, s["numbers"]))
    tag = "anchorage" if first or last else "deviator"
    extra = "" if first or last else \
        f' type="DEV" radius="{s["radius"].text(unit)}"'

    def more(side):
        return s["more"][side].attributes if "more" in s else ""

    rows = [f'    <{tag} id="{name}" {point}{extra}>']
    rows += [f'      <face id="{name}-{side}" side="{side}" '
             f'offset="{face.text(unit)}"{more(side)}/>'
             for side, (face, _) in s["faces"].items()]
    rows += [f'      <readable side="{side}" offset="{read.text(unit)}"/>'
             for side, (_, read) in s["faces"].items()]
    return rows + [f"    </{tag}>"]


def text_of_alignment(a, unit):
    station, x, y = (v.text(unit) for v in a["start"])
    rows = ['  <alignment id="A">', "    <horizontal>",
            f'      <start station="{station}" x="{x}" y="{y}" '
            f'bearing="{decimal(a["bearing"], 12)} deg"/>']
    for length, r0, r1, turn in a["plan"]:
        size = f'length="{length.text(unit)}"'
        if r0 is None and r1 is None:
            rows.append(f"      <line {size}/>")
        elif r0 is r1:
            rows.append(f'      <arc {size} radius="{r0.text(unit)}" '
                        f'turn="{turn}"/>')
        else:
            ends = "".join(f' radius-{name}="{r.text(unit)}"'
                           for name, r in (("start", r0), ("end", r1)) if r)
            rows.append(f'      <clothoid {size}{ends} turn="{turn}"/>')
    rows.append("    </horizontal>")
    if a["pvis"]:
        rows.append("    <vertical>")
        for s, z, length in a["pvis"]:
            curve = f' curve-length="{length.text(unit)}"' \
                if length.metres else ""
            rows.append(f'      <pvi station="{s.text(unit)}" '
                        f'height="{z.text(unit)}"{curve}/>')
        rows.append("    </vertical>")
    return rows + ["  </alignment>"]


def text_of(bridge, unit=None):
    """The file; `unit`: all lengths in that one."""
    rows = ['<bridge version="1" uid="5b0f6d1e-8a53-4c1b-9f0e-3d2a7c41e001" '
            'id="R" name="random, invented">']
    m = bridge["map"]
    if m:
        rows.append('  <map-conversion ' + " ".join(
            f'{n}="{m[n].text(unit)}"'
            for n in ("eastings", "northings", "height")) +
            f' x-axis-abscissa="{decimal(m["abscissa"], 12)}"'
            f' x-axis-ordinate="{decimal(m["ordinate"], 12)}"'
            f' scale="{decimal(m["scale"], 12)}"/>')
    if bridge["alignment"]:
        rows += text_of_alignment(bridge["alignment"], unit)
    else:
        rows.append('  <direction bearing="'
                    f'{decimal(bridge["direction"], 12)} deg"/>')
    rows += [f'  <duct-type id="D" od="{bridge["od"].text(unit)}" wall="6 mm" '
             'material="hdpe"/>',
             '  <deviator-type id="DEV" kind="flared" radius="3 m"/>']
    for k, tendon in enumerate(bridge["tendons"]):
        hang = "" if not tendon["weight"] else \
            f' weight="{decimal(tendon["weight"], 6)} kg/m"' \
            f' force="{decimal(tendon["force"], 6)} kN"'
        rows.append(f'  <tendon id="T{k + 1}"{hang}>')
        last = len(tendon["supports"]) - 1
        for i, s in enumerate(tendon["supports"]):
            rows += text_of_support(s, f"S{i}", i == 0, i == last, unit)
        rows += ['    <duct-length duct-type="D"/>', "  </tendon>"]
    return "\n".join(rows + ["</bridge>", ""])


def random_map(rng):
    turn = rng.uniform(-math.pi, math.pi)
    fraction = lambda v: Fraction(round(v * 10 ** 9), 10 ** 9)
    return {"eastings": Length(rng.uniform(2e5, 8e5)),
            "northings": Length(rng.uniform(1e6, 6e6)),
            "height": Length(rng.uniform(-50, 900)),
            "abscissa": fraction(math.cos(turn)),
            "ordinate": fraction(math.sin(turn)),
            "scale": fraction(rng.uniform(0.9996, 1.0004))}


def copy_of(bridge):
    return copy.deepcopy(bridge)
