"""Which instances of rules cannot be kept any more: delivered lessons and ``today`` break them wherever the rest is placed.

A lesson that is still to be placed may start wherever it could if there were no other to place: in slots on or after today
and free of delivered lessons, as its length, dates, place, teacher and live demands allow. What lessons that are all still to
be placed could never have kept is not past: no slot that has gone by would have mended it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.rules.alone import starts_left, starts_once


def all_delivered(lessons: Iterable[LessonFacts]) -> bool:
    """Whether every one of the lessons was taught already."""
    return all(lesson.delivered is not None for lesson in lessons)


def none_fits(laid: Laid, lesson: LessonFacts, fits: Callable[[Slot], bool]) -> bool:
    """Whether no slot that the lesson can still have fits with what was delivered before."""
    return not any(fits(slot) for slot in slots_left(laid, lesson))


def none_pairs(laid: Laid, one: LessonFacts, other: LessonFacts, fits: Callable[[Slot, Slot], bool]) -> bool:
    """Whether no slots that two lessons can still have fit together, though what was delivered or has gone by might have."""
    if any(fits(here, there) for here in slots_left(laid, one) for there in slots_left(laid, other)):
        return False
    if one.delivered is not None or other.delivered is not None:
        return True
    return any(fits(here, there) for here in slots_once(laid, one) for there in slots_once(laid, other))


def dates_left(laid: Laid, lesson: LessonFacts) -> list[date]:
    """The dates that a lesson can still have."""
    if lesson.delivered is not None:
        return [lesson.delivered.date]
    return [slot.date for slot in slots_left(laid, lesson)]


def slots_left(laid: Laid, lesson: LessonFacts) -> list[Slot]:
    """The slots in which a lesson can still start: where a delivered one did, else where it could if there were no other."""
    if lesson.delivered is not None:
        return [laid.first_slot(lesson.index)]
    return starts_left(laid.instance, lesson)


def slots_once(laid: Laid, lesson: LessonFacts) -> list[Slot]:
    """The slots in which it could have started before any had gone by."""
    if lesson.delivered is not None:
        return [laid.first_slot(lesson.index)]
    return starts_once(laid.instance, lesson)
