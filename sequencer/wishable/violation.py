"""One instance of a rule that lies off its numbers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sequencer.calendar import Slot
from sequencer.facts import LessonFacts
from sequencer.sequence import Laid


@dataclass(frozen=True)
class Violation:
    """One instance of a rule that a sequence does not keep: a breach, or a wish that is not granted.

    Parameters
    ----------
    rule
        Number of the rule, 1 to 11.
    class_ids
        Classes concerned.
    lessons
        Positions in ``Instance.lessons`` of the lessons concerned.
    slots
        Slots concerned.
    message
        What is not kept, in a sentence, with names, dates and periods.
    units
        By how much, in the rule's unit of violation.
    weight
        Weight of the wish; 0 where the rule is hard.
    """

    rule: int
    class_ids: tuple[str, ...]
    lessons: tuple[int, ...]
    slots: tuple[Slot, ...]
    message: str
    units: int
    weight: int

    @property
    def cost(self) -> int:
        """What it adds to the aim ``wishes``."""
        return self.weight * self.units


def outside(value: int, least: int | None, most: int | None) -> int:
    """By how much a value lies outside its limits; 0 when inside."""
    short = 0 if least is None else least - value
    over = 0 if most is None else value - most
    return max(short, over, 0)


def of_lessons(laid: Laid, rule: int, lessons: Iterable[LessonFacts], message: str, units: int, weight: int) -> Violation:
    """A violation by some lessons: their classes, and the slots they hold."""
    concerned = list(lessons)
    return Violation(
        rule,
        tuple(dict.fromkeys(laid.instance.class_of(lesson).id for lesson in concerned)),
        tuple(lesson.index for lesson in concerned),
        tuple(slot for lesson in concerned if laid.placed(lesson.index) for slot in laid.slots(lesson.index)),
        message,
        units,
        weight,
    )
