"""The best observed gap between two sessions for a test so many days after the second, as published, and between those points.

The points are those of Cepeda, Vul, Rohrer, Wixted & Pashler 2008, "Spacing effects in learning: a temporal ridgeline of optimal
retention", Psychological Science 19(11), 1095-1102: of the gaps tried there, the one after which most was recalled. Between
them the gap is interpolated in a straight line, so that it never falls as the test moves away. It stays as it is beyond the ends.

From 35 days on the gap's share of the delay never rises either. From 7 to 35 days it does, in the published points themselves:
1 of 7 days is 14%, 11 of 35 days is 31%. Whatever gives both points exactly must rise there.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

SOURCE = "Cepeda, Vul, Rohrer, Wixted & Pashler 2008, Psychological Science 19(11), 1095-1102"

BEST_OBSERVED_GAPS = ((7, 1), (35, 11), (70, 21), (350, 21))
"""Days from the second session to the test, and days between the two sessions after which most was recalled."""

SOONEST = 2
"""Least days to the date on which something is to be known that leave a day between for meeting it again."""


def best_gap(delay: int | Fraction) -> Fraction:
    """Days between two sessions for a test ``delay`` days after the second, exactly."""
    return _between(BEST_OBSERVED_GAPS, Fraction(delay))


def distance_before(days: int) -> int | None:
    """Days after which to meet again what is to be known ``days`` days after it is taught; None when it is too late for that.

    The gap and the delay after it make up the whole time, so the table is read at its points' sums: both are straight lines
    between the same points. Half days are rounded up.
    """
    if days < SOONEST:
        return None
    whole = tuple((delay + gap, gap) for delay, gap in BEST_OBSERVED_GAPS)
    return int(_between(whole, Fraction(days)) + Fraction(1, 2))


def _between(points: tuple[tuple[int, int], ...], at: Fraction) -> Fraction:
    """What lies on straight lines between points, and level beyond them."""
    first, last = points[0], points[-1]
    if at <= first[0]:
        return Fraction(first[1])
    for (x, y), (next_x, next_y) in pairwise(points):
        if at <= next_x:
            return y + (at - x) * Fraction(next_y - y, next_x - x)
    return Fraction(last[1])
