"""One wish that a sequence does not grant."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Laid


@dataclass(frozen=True)
class Ungranted:
    """One instance of a rule that is a preference, or a wish about live, that a sequence does not keep.

    Parameters
    ----------
    rule
        Number of the rule, 1 to 11.
    class_ids
        Classes concerned.
    lessons
        Positions in ``Instance.lessons`` of the lessons concerned.
    units
        By how much it is missed, in the rule's unit of violation.
    weight
        Weight of the wish.
    message
        What is missed, in a sentence, with names, dates and periods.
    """

    rule: int
    class_ids: tuple[str, ...]
    lessons: tuple[int, ...]
    units: int
    weight: int
    message: str

    @property
    def cost(self) -> int:
        """What it adds to the aim ``wishes``."""
        return self.weight * self.units


def outside(value: int, least: int | None, most: int | None) -> int:
    """By how much a value lies outside its limits; 0 when inside."""
    short = 0 if least is None else least - value
    over = 0 if most is None else value - most
    return max(short, over, 0)


def by_lessons(laid: Laid, rule: int, lessons: Iterable[LessonFacts], units: int, weight: int, message: str) -> Ungranted:
    """A wish that some lessons miss, in their classes."""
    concerned = list(lessons)
    owners = tuple(dict.fromkeys(laid.instance.class_of(lesson).id for lesson in concerned))
    return Ungranted(rule, owners, tuple(lesson.index for lesson in concerned), units, weight, message)
