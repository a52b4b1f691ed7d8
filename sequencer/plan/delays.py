"""Lessons that lie late because nothing would meet them again sooner: told, since nobody would look for that reason."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.plan.outcomes import CARRIED, Outcome, retrievals
from sequencer.plan.sequence import Laid
from sequencer.words import day_text

FEWEST_EMPTY = 4
"""Periods that must lie empty before a lesson, a week or more, before anything is said."""


def delay_notes(laid: Laid) -> list[str]:
    """For each class the first lesson whose retrieval is carried over while no lesson could have met it, with room before it."""
    carried = [outcome for outcome in retrievals(laid) if outcome.state == CARRIED]
    return [note for facts in laid.classes for note in _first_of(laid, facts, carried)]


def _first_of(laid: Laid, facts: ClassFacts, carried: list[Outcome]) -> Iterator[str]:
    lessons = [laid.instance.lessons[outcome.lesson] for outcome in carried]
    own = [lesson for lesson in lessons if lesson.class_index == facts.index and lesson.delivered is None and lesson.chosen]
    for lesson in sorted(own, key=lambda lesson: laid.pos(lesson.index)):
        empty = _empty_before(laid, lesson)
        if len(empty) >= FEWEST_EMPTY and not _could_be_met(laid, lesson):
            yield (
                f"{facts.id}: {lesson.ref} lies as late as {day_text(laid.date(lesson.index))}, with {len(empty)} periods empty "
                f"before it: no lesson that could meet it again lies in its window, and only so late may its retrieval be left "
                f"to the next plan. Retrieval lessons, or starters in further lessons, would let it come sooner"
            )
            return


def _empty_before(laid: Laid, lesson: LessonFacts) -> list[Slot]:
    """Empty periods a week or more before the lesson."""
    usable = laid.instance.class_of(lesson).usable
    latest = laid.date(lesson.index) - timedelta(7)
    return [slot for slot in laid.spare_slots(lesson.class_index) if slot.date <= latest and usable[slot.number]]


def _could_be_met(laid: Laid, lesson: LessonFacts) -> bool:
    """Whether some lesson that has room, or lists it, lies in the window of its first retrieval."""
    numbers, taught_on = lesson.retrievals[0], laid.date(lesson.index)
    for other in laid.in_order(lesson.class_index):
        days = (laid.date(other.index) - taught_on).days
        if numbers.least <= days <= numbers.most and (other.chooses or other.index in lesson.revisited_by):
            return True
    return False
