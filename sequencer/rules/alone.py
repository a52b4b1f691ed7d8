"""Rules about one lesson and its slots: whether it could lie there if there were no other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import pairwise
from typing import NamedTuple

from sequencer.instance.calendar import Slot, taught_together
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.rules.verdict import day_text, named, when
from sequencer.words import IN_CLASS, LIVE, OPEN, SET_WORK, count_text

RESTRICTED = ""
"""What a restricted day refuses a lesson for, among what the lesson needs."""

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


def refusals(instance: Instance, lesson: LessonFacts, slot: Slot) -> Iterator[tuple[str, str]]:
    """Rule 8: what one slot lacks for the lesson, or ``RESTRICTED`` where its date does not take it; each with a sentence."""
    for need in lesson.needs:
        anywhere = need in instance.portable and not slot.remote
        if need not in slot.offers and not anywhere:
            yield need, f"{named((lesson,))} needs {need}, which {when(slot)} does not offer"
    for number in slot.restrictions if lesson.restricted else ():
        entry = instance.restricted_days[number]
        refuses = entry.refuses
        tagged = any(tag in refuses.tags for tag in lesson.tags)
        if lesson.kind in refuses.kinds or tagged or (refuses.high_load and lesson.high_load):
            yield RESTRICTED, f"{entry.name} on {when(slot)} does not take {named((lesson,))}"


def is_teachers_own(lesson: LessonFacts, slot: Slot) -> bool:
    """Rule 13: whether a lesson that is tied to a teacher would start in a slot of that teacher."""
    return lesson.teacher is None or slot.teacher == lesson.teacher


class AskedAlone(NamedTuple):
    """What one rule asks of a lesson alone: its number, what it is about, and whether slots that follow on are as it asks."""

    rule: int
    what: str
    fits: Callable[[tuple[Slot, ...]], bool]


def _asked(instance: Instance, lesson: LessonFacts) -> Iterator[AskedAlone]:
    """All that rules ask of the lesson alone, beside its shape; what comes first is the last to give way."""
    yield AskedAlone(5, "live", lambda slots: any(not refuses_to_be(lesson, taught) for taught in ways_of_teaching(slots)))
    yield AskedAlone(13, "teacher", lambda slots: is_teachers_own(lesson, slots[0]))
    for what in (*sorted(lesson.needs), RESTRICTED):
        yield AskedAlone(8, what, partial(_is_offered, instance, lesson, what))
    for what, fits in asked_dates(instance, lesson):
        yield AskedAlone(7, what, partial(_first_fits, fits))


def _is_offered(instance: Instance, lesson: LessonFacts, what: str, slots: tuple[Slot, ...]) -> bool:
    return all(what != each for slot in slots for each, _ in refusals(instance, lesson, slot))


def _first_fits(fits: Callable[[Slot], bool], slots: tuple[Slot, ...]) -> bool:
    return fits(slots[0])


def _shaped(instance: Instance, lesson: LessonFacts) -> list[tuple[Slot, ...]]:
    """Rule 0: all slots of the class, gone by or not, that the lesson could fill by its length."""
    slots = instance.slots_for(lesson)
    fills = (slots[first : first + lesson.length] for first in range(len(slots) - lesson.length + 1))
    return [each for each in fills if follow_on(instance, each) and ways_of_teaching(each)]


def _judged_alone(instance: Instance, lesson: LessonFacts) -> tuple[list[Slot], frozenset[tuple[int, str]]]:
    """Where a lesson that is still to be placed can start if there were no other, and what cannot be kept any more.

    What no slot that is left fits, but one that has gone by did, asks for nothing any more; nor does what fits none of the slots
    that the rules before it leave, where it fitted one together with them.
    """
    usable = instance.class_of(lesson).usable
    shaped = _shaped(instance, lesson)
    left = open_ = [slots for slots in shaped if all(usable[slot.number] for slot in slots)]
    gone = [slots for slots in shaped if not all(usable[slot.number] for slot in slots)]
    kept: list[AskedAlone] = []
    past = set()
    for asked in _asked(instance, lesson):
        fitting = [slots for slots in left if asked.fits(slots)]
        fitted = [slots for slots in gone if asked.fits(slots)] if not fitting else []
        if fitted and (
            not any(asked.fits(slots) for slots in open_) or any(all(each.fits(slots) for each in kept) for slots in fitted)
        ):
            past.add((asked.rule, asked.what))
        else:
            left = fitting
            kept.append(asked)
    return [slots[0] for slots in left], frozenset(past)


def starts_left(instance: Instance, lesson: LessonFacts) -> list[Slot]:
    """The slots in which a lesson that is still to be placed can start if there were no other lesson to place."""
    return _judged_alone(instance, lesson)[0]


def starts_once(instance: Instance, lesson: LessonFacts) -> list[Slot]:
    """The slots in which it could have started before any slot had gone by."""
    asked = list(_asked(instance, lesson))
    return [slots[0] for slots in _shaped(instance, lesson) if all(each.fits(slots) for each in asked)]


def is_past(instance: Instance, lesson: LessonFacts, rule: int, what: str) -> bool:
    """Whether the lesson was delivered, or what a rule asks of it alone cannot be kept any more."""
    return lesson.delivered is not None or (rule, what) in _judged_alone(instance, lesson)[1]
