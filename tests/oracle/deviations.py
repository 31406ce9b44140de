# SPDX-License-Identifier: MIT
"""What the second opinions share: bounds, and the table of the largest
deviations."""
import math
import sys

TOLERANCE = 1e-9


def room(*coordinates):
    """1e-9 m, or four units in the last place where that is more."""
    return max(TOLERANCE, 4 * max(math.ulp(abs(float(v)))
                                  for v in coordinates))


class Worst:
    """Largest deviations by name, each against its bound."""

    def __init__(self):
        self.seen = {}
        self.where = ""  # added to the names of metres and angles

    def see(self, name, deviation, bound=TOLERANCE, share=1.0):
        """`share` > 1 widens the bound: a station near a centre of curvature,
        where one unit of place is more of station."""
        deviation = float(deviation)
        if name.endswith((", m", ", rad")):
            name += self.where
        bound *= share
        # NaN must not pass as small.
        ratio = math.inf if math.isnan(deviation) else deviation / bound
        if name not in self.seen or ratio > self.seen[name][0]:
            self.seen[name] = (ratio, deviation, bound)

    def print(self):
        """The table; true if all are within their bounds."""
        for name, (ratio, deviation, bound) in sorted(self.seen.items()):
            print(f"  {name:54} {deviation:9.2e}  bound {bound:.2e}"
                  f"{'' if ratio <= 1 else '  FAILED'}")
        sys.stdout.flush()
        return bool(self.seen) and all(ratio <= 1 for ratio, _, _
                                       in self.seen.values())
