"""The best observed gap between two sessions for a test so many days after the second, as published, and between those points.

The points are those of Cepeda, Vul, Rohrer, Wixted & Pashler 2008, "Spacing effects in learning: a temporal ridgeline of optimal
retention", Psychological Science 19(11), 1095-1102: of the gaps tried there, the one after which most was recalled. Between
them the gap is interpolated in a straight line, so that it never falls as the test moves away. It stays as it is beyond the ends.

From 35 days on the gap's share of the delay never rises either. From 7 to 35 days it does, in the published points themselves:
1 of 7 days is 14%, 11 of 35 days is 31%. Whatever gives both points exactly must rise there.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from itertools import pairwise

from sequencer.instance.calendar import Slot
from sequencer.instance.listing import ListedLesson

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


def days_before(listed: Sequence[ListedLesson], slots: Sequence[Slot], today: date | None, exam: date | None) -> list[int | None]:
    """For each lesson of a class the days from when it is reckoned to be taught to the date; None where nothing can be said.

    The preferred distance of a lesson is a number of the scenario, settled before any sequence is looked for. So a lesson that is
    not taught yet is reckoned where it would lie if the class's teach lessons were spread evenly over its periods in the order
    listed. The table is so flat that a week's error moves the distance by two days at most.
    """
    if exam is None:
        return [None] * len(listed)
    left = [slot.date for slot in slots if today is None or slot.date >= today]
    to_teach = [place for place, each in enumerate(listed) if each.lesson.kind == "teach" and each.delivered is None]
    found: list[int | None] = []
    for place, each in enumerate(listed):
        pinned = each.own.on or each.lesson.on
        if each.delivered is not None:
            taught: date | None = each.delivered.date
        elif pinned is not None:
            taught = pinned
        elif place in to_teach and left:
            taught = left[(2 * to_teach.index(place) + 1) * len(left) // (2 * len(to_teach))]
        else:
            taught = None
        found.append(None if taught is None else (exam - taught).days)
    return found
