"""Where a lesson could start if there were no other: what its length, dates, place, teacher and live demands leave."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from sequencer.calendar import Slot, taught_together
from sequencer.facts import Instance, LessonFacts
from sequencer.model.days import ClassDays
from sequencer.words import LIVE, SET_WORK

Starts = tuple[tuple[int, ...], ...]
"""For each lesson of an instance the slots in which it can start, rising; -1 before the class's first slot."""


def starts_alone(instance: Instance, days: tuple[ClassDays, ...]) -> Starts:
    """Where each lesson could start if there were no other; a delivered one is where it was."""
    known: dict[object, tuple[int, ...]] = {}
    found = []
    for lesson in instance.lessons:
        key = _seen(lesson)
        if key not in known:
            known[key] = tuple(_own_starts(instance, lesson, days[lesson.class_index]))
        found.append(known[key])
    return tuple(found)


def _seen(lesson: LessonFacts) -> object:
    """All that decides where a lesson could start."""
    dates = (lesson.not_before, lesson.not_after, lesson.on, lesson.period, lesson.report_deadline)
    refused = (lesson.kind, lesson.tags, lesson.high_load) if lesson.restricted else None
    place = (lesson.class_index, lesson.length, lesson.live, lesson.needs, lesson.teacher)
    marking = lesson.marking if lesson.report_deadline is not None else None
    return place, dates, refused, marking, lesson.delivered


def has_own_start(instance: Instance, lesson: LessonFacts, here: ClassDays) -> bool:
    """Whether the lesson could start anywhere if there were no other."""
    return any(True for _ in _own_starts(instance, lesson, here))


def _own_starts(instance: Instance, lesson: LessonFacts, here: ClassDays) -> Iterator[int]:
    if lesson.delivered is not None:
        yield -1 if lesson.delivered.slot is None else lesson.delivered.slot
        return
    usable = instance.class_of(lesson).usable
    dates = _dates(instance, lesson)
    if not all(usable):
        # A date that has gone by binds no more; one that no slot of the class ever had does.
        dates = [
            fits
            for fits in dates
            if not any(map(fits, here.slots)) or any(fits(slot) for slot in here.slots if usable[slot.number])
        ]
    for start in range(here.count - lesson.length + 1):
        if (
            all(usable[start : start + lesson.length])
            and all(fits(here.slots[start]) for fits in dates)
            and _fits(instance, lesson, here, start)
        ):
            yield start


def _dates(instance: Instance, lesson: LessonFacts) -> list[Callable[[Slot], bool]]:
    """Rule 7: what is asked of the first slot."""
    found: list[Callable[[Slot], bool]] = []
    if (first := lesson.not_before) is not None:
        found.append(lambda slot: slot.date >= first)
    if (last := lesson.not_after) is not None:
        found.append(lambda slot: slot.date <= last)
    if (on := lesson.on) is not None:
        found.append(lambda slot: slot.date == on)
    if (period := lesson.period) is not None:
        found.append(lambda slot: slot.period == period or on not in (None, slot.date))
    if (due := lesson.report_deadline) is not None:
        marking = lesson.marking.least if lesson.marking is not None else 0
        found.append(lambda slot: slot.date <= due and instance.school_days_later(slot.date, due) >= marking)
    return found


def _fits(instance: Instance, lesson: LessonFacts, here: ClassDays, start: int) -> bool:
    slots = here.slots[start : start + lesson.length]
    first = slots[0]
    for one, other in pairwise(slots):
        if one.date != other.date or not instance.adjacent(one.period, other.period):
            return False
    together = taught_together(slots)
    if (
        together is None
        or (lesson.live == "demand" and together == SET_WORK)
        or (lesson.live == "refuse" and together == LIVE)
        or (lesson.teacher is not None and first.teacher != lesson.teacher)
    ):
        return False
    for slot in slots:
        for need in lesson.needs:
            if need not in slot.offers and not (need in instance.portable and not slot.remote):
                return False
        if lesson.restricted and any(_refuses(instance, entry, lesson) for entry in slot.restrictions):
            return False
    return True


def _refuses(instance: Instance, entry: int, lesson: LessonFacts) -> bool:
    refuses = instance.restricted_days[entry].refuses
    return (
        lesson.kind in refuses.kinds
        or any(tag in refuses.tags for tag in lesson.tags)
        or (refuses.high_load and lesson.high_load)
    )
