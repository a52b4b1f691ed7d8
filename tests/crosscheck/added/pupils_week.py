"""Rule 14, word for word: of a class, at most so many assessments a day and a school week."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random
from typing import TYPE_CHECKING

from tests.crosscheck.slots import Raw

if TYPE_CHECKING:
    from tests.crosscheck.facts import ClassFacts, Lesson

KEY = "pupils_week"


def drawn(rng: Random) -> Raw:
    return {rng.choice(["assessments_a_day", "assessments_a_week"]): rng.randint(0, 2)}


def windows(numbers: Raw, group: ClassFacts) -> Iterator[tuple[set[int], Callable[[Lesson], int], int | None, int | None]]:
    for key, of in (("assessments_a_day", "day"), ("assessments_a_week", "week")):
        for when in {getattr(slot, of) for slot in group.slots} if key in numbers else ():
            slots = {number for number, slot in enumerate(group.slots) if getattr(slot, of) == when}
            yield slots, lambda lesson: int(lesson.kind == "assessment"), None, numbers[key]
