"""Rule 7, weekdays, word for word: of a class, in a school week at most so many lessons of a sort on other weekdays."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import TYPE_CHECKING

from tests.crosscheck import added
from tests.crosscheck.slots import Raw, listed

if TYPE_CHECKING:
    from tests.crosscheck.facts import ClassFacts, Lesson

KEY, LISTED = "weekdays", True
NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def drawn(rng: Random) -> Raw:
    sort = {"kind": rng.choice(["teach", "practice", "assessment"])} if rng.random() < 0.7 else {}
    days = rng.sample(NAMES[:5], rng.randint(1, 3))
    return sort | {"on": days if len(days) > 1 else days[0], "most": rng.randint(0, 1)}


def windows(numbers: Raw, group: ClassFacts) -> Iterator[added.Window]:
    def counts(lesson: Lesson, start: int) -> int:
        tagged = "tag" not in numbers or numbers["tag"] in lesson.tags
        return int(tagged and lesson.kind == numbers.get("kind", lesson.kind))

    for week in {slot.week for slot in group.slots}:
        other = {
            number
            for number, slot in enumerate(group.slots)
            if slot.week == week and NAMES[slot.day.weekday()] not in listed(numbers["on"])
        }
        yield added.Window(("weekdays", week), other, counts, None, numbers.get("most", 0))
