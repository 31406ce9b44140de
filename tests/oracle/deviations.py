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
        largest, share_of_bound = self.seen.get(name, (0.0, 0.0))
        self.seen[name] = (deviation if not deviation <= largest else largest,
                           max(ratio, share_of_bound))

    def print(self):
        """The table; true if all are within their bounds."""
        for name, (largest, ratio) in sorted(self.seen.items()):
            print(f"  {name:58} {largest:9.2e} {100 * ratio:7.2f} % of its "
                  f"bound{'' if ratio <= 1 else '  FAILED'}")
        sys.stdout.flush()
        return bool(self.seen) and all(ratio <= 1 for _, ratio
                                       in self.seen.values())
