"""Rules about one lesson and its slots: whether it could lie there if there were no other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from sequencer.calendar import Slot, taught_together
from sequencer.check.verdict import day_text, named, when
from sequencer.facts import Instance, LessonFacts
from sequencer.words import IN_CLASS, LIVE, OPEN, SET_WORK, count_text

_WAYS = {IN_CLASS: (IN_CLASS,), LIVE: (LIVE,), SET_WORK: (SET_WORK,), OPEN: (LIVE, SET_WORK), None: ()}


def follow_on(instance: Instance, slots: tuple[Slot, ...]) -> bool:
    """Rule 0: whether slots are adjacent periods of one date."""
    return all(first.date == second.date and instance.adjacent(first.period, second.period) for first, second in pairwise(slots))


def ways_of_teaching(slots: tuple[Slot, ...]) -> tuple[str, ...]:
    """Rule 0: how a lesson in these slots may be taught."""
    return _WAYS[taught_together(slots)]


def refuses_to_be(lesson: LessonFacts, taught: str) -> bool:
    """Rule 5: whether the lesson may not be taught so."""
    return (lesson.live == "demand" and taught == SET_WORK) or (lesson.live == "refuse" and taught == LIVE)


def asked_dates(instance: Instance, lesson: LessonFacts) -> Iterator[tuple[str, Callable[[Slot], bool]]]:
    """Rule 7: what is asked of a lesson's first slot, in words and as a test."""
    if (first := lesson.not_before) is not None:
        yield f"not before {day_text(first)}", lambda slot: slot.date >= first
    if (last := lesson.not_after) is not None:
        yield f"not after {day_text(last)}", lambda slot: slot.date <= last
    if (day := lesson.on) is not None:
        yield f"on {day_text(day)}", lambda slot: slot.date == day
    if (period := lesson.period) is not None:
        yield f"in period {period}", lambda slot: slot.period == period or lesson.on not in (None, slot.date)
    if (due := lesson.report_deadline) is not None:
        marking = lesson.marking.least if lesson.marking is not None else 0
        # A lesson after the deadline has no school days before it, whatever its marking time.
        yield (
            f"at least {count_text(marking, 'school day')} before reports are due on {day_text(due)}",
            lambda slot: slot.date <= due and instance.school_days_later(slot.date, due) >= marking,
        )


def refusals(instance: Instance, lesson: LessonFacts, slot: Slot) -> Iterator[str]:
    """Rule 8: what one slot lacks for the lesson, or why its date does not take it, in words."""
    for need in lesson.needs:
        anywhere = need in instance.portable and not slot.remote
        if need not in slot.offers and not anywhere:
            yield f"{named((lesson,))} needs {need}, which {when(slot)} does not offer"
    for number in slot.restrictions if lesson.restricted else ():
        entry = instance.restricted_days[number]
        refuses = entry.refuses
        tagged = any(tag in refuses.tags for tag in lesson.tags)
        if lesson.kind in refuses.kinds or tagged or (refuses.high_load and lesson.high_load):
            yield f"{entry.name} on {when(slot)} does not take {named((lesson,))}"


def is_teachers_own(lesson: LessonFacts, slot: Slot) -> bool:
    """Rule 13: whether a lesson that is tied to a teacher would start in a slot of that teacher."""
    return lesson.teacher is None or slot.teacher == lesson.teacher


def could_start(instance: Instance, lesson: LessonFacts, slot: Slot) -> bool:
    """Whether a lesson that is still to be placed could start in the slot if there were no other lesson to place."""
    facts = instance.class_of(lesson)
    slots = facts.slots[slot.number : slot.number + lesson.length]
    return (
        len(slots) == lesson.length
        and all(facts.usable[each.number] for each in slots)
        and follow_on(instance, slots)
        and any(not refuses_to_be(lesson, taught) for taught in ways_of_teaching(slots))
        and all(fits(slot) or gone_by(instance, lesson, fits) for _, fits in asked_dates(instance, lesson))
        and not any(True for each in slots for _ in refusals(instance, lesson, each))
        and is_teachers_own(lesson, slot)
    )


def gone_by(instance: Instance, lesson: LessonFacts, fits: Callable[[Slot], bool]) -> bool:
    """Whether the lesson was delivered, or every slot of its class that fits it has gone by or is taken."""
    if lesson.delivered is not None:
        return True
    facts = instance.class_of(lesson)
    fitting = [slot for slot in facts.slots if fits(slot)]
    return bool(fitting) and not any(facts.usable[slot.number] for slot in fitting)
