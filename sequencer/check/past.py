"""Which instances of rules cannot be kept any more: delivered lessons and ``today`` break them wherever the rest is placed.

A lesson that is still to be placed may lie in any usable slot of its class: on or after today, and free of delivered lessons.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from sequencer.calendar import Slot
from sequencer.facts import ClassFacts, LessonFacts
from sequencer.sequence import Laid


def all_delivered(lessons: Iterable[LessonFacts]) -> bool:
    """Whether every one of the lessons was taught already."""
    return all(lesson.delivered is not None for lesson in lessons)


def usable_slots(facts: ClassFacts) -> list[Slot]:
    """The slots of a class that can still be used."""
    return [slot for slot in facts.slots if facts.usable[slot.number]]


def gone_by(laid: Laid, lesson: LessonFacts, fits: Callable[[Slot], bool]) -> bool:
    """Whether the lesson was delivered, or every slot of its class that fits it has gone by or is taken."""
    if lesson.delivered is not None:
        return True
    fitting = [slot for slot in laid.instance.slots_for(lesson) if fits(slot)]
    usable = laid.instance.class_of(lesson).usable
    return bool(fitting) and not any(usable[slot.number] for slot in fitting)


def none_fits(laid: Laid, lesson: LessonFacts, fits: Callable[[Slot], bool]) -> bool:
    """Whether no slot that the lesson can still have fits with what was delivered before."""
    return not any(fits(slot) for slot in _slots(laid, lesson))


def none_pairs(laid: Laid, one: LessonFacts, other: LessonFacts, fits: Callable[[Slot, Slot], bool]) -> bool:
    """Whether one of two lessons was delivered in a slot and no slots that the other can still have fit with it."""
    if one.delivered is None and other.delivered is None:
        return False
    return not any(fits(here, there) for here in _slots(laid, one) for there in _slots(laid, other))


def dates_left(laid: Laid, lesson: LessonFacts) -> list[date]:
    """The dates that a lesson can still have."""
    if lesson.delivered is not None:
        return [lesson.delivered.date]
    return [slot.date for slot in usable_slots(laid.instance.class_of(lesson))]


def _slots(laid: Laid, lesson: LessonFacts) -> list[Slot]:
    if lesson.delivered is not None:
        return [laid.first_slot(lesson.index)]
    return usable_slots(laid.instance.class_of(lesson))
