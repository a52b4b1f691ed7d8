"""How long before the date on which knowledge is to be available each lesson is reckoned to be taught.

The preferred distance of a lesson is a number of the scenario, settled before any sequence is looked for. So a lesson that is
not taught yet is reckoned where it would lie if the class's teach lessons were spread evenly over its periods in the order
listed. The table is so flat that a week's error moves the distance by two days at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.listing import ListedLesson


def days_before(listed: Sequence[ListedLesson], slots: Sequence[Slot], today: date | None, exam: date | None) -> list[int | None]:
    """For each lesson of a class the days from when it is reckoned to be taught to the date; None where nothing can be said."""
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
