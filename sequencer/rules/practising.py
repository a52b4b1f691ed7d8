"""The referee on rule 3: practice after dense lessons, and assessments after it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import LessonFacts
from sequencer.plan.outcomes import BROKEN, practices, practises_in_time
from sequencer.plan.sequence import Laid
from sequencer.rules.past import slots_left, slots_once
from sequencer.rules.verdict import Breach, breach_in, named, when
from sequencer.words import count_text

SlotsOf = Callable[[Laid, LessonFacts], list[Slot]]
"""The slots that a lesson can still have, or could once."""


def practice(laid: Laid) -> Iterator[Breach]:
    """Rule 3: every dense lesson is practised in its window."""
    for outcome in practices(laid):
        if outcome.state != BROKEN:
            continue
        lesson = laid.instance.lessons[outcome.lesson]
        assert lesson.practice is not None
        window = f"within {count_text(lesson.practice.within, 'period')}"
        yield breach_in(
            laid, 3, (lesson,),
            f"{named((lesson,))} on {when(laid.first_slot(lesson.index))} has no practice lesson {window}",
            _practice_is_past(laid, lesson),
        )  # fmt: skip


def _practice_is_past(laid: Laid, dense: LessonFacts) -> bool:
    """Whether no slots that a dense lesson and what practises it can still have would do, nor leave it to the next plan.

    Of a lesson that is still to be placed it must have been possible before slots had gone by.
    """
    by = [lesson for index in dense.practised_by if not (lesson := laid.instance.lessons[index]).earlier]
    if dense.delivered is not None:
        return not _could_be_practised(laid, dense, by, slots_left)
    return not _could_be_practised(laid, dense, by, slots_left) and _could_be_practised(laid, dense, by, slots_once)


def _could_be_practised(
    laid: Laid, dense: LessonFacts, by: list[LessonFacts], slots_of: SlotsOf, before: int | None = None
) -> bool:
    """Whether a practice could serve in such slots, before a slot where one is given, or be left to the next plan."""
    numbers = dense.practice
    assert numbers is not None
    count = len(laid.instance.slots_for(dense))
    practised = [
        slot
        for lesson in by
        for slot in slots_of(laid, lesson)
        if before is None or slot.number + lesson.length <= before
    ]  # fmt: skip
    for taught in slots_of(laid, dense):
        end = taught.number + dense.length - 1
        if count - 1 - end < numbers.within:
            return True
        if any(
            1 <= slot.number - end <= numbers.within
            and (numbers.days is None or (slot.date - taught.date).days <= numbers.days)
            and not (numbers.no_new_content and laid.instance.new_content_between(end + 1, slot.number, dense.class_index))
            for slot in practised
        ):
            return True
    return False


def assessments(laid: Laid) -> Iterator[Breach]:
    """Rule 3: an assessment comes after a practice that serves each dense lesson it requires."""
    for assessment, dense in (
        (laid.instance.lessons[one], laid.instance.lessons[other]) for one, other in laid.instance.assessed
    ):
        if assessment.earlier or not laid.placed(assessment.index) or not laid.placed(dense.index):
            continue
        serving = [other for other in dense.practised_by if laid.placed(other) and practises_in_time(laid, dense, other)]
        if not serving or any(laid.pos(assessment.index) > laid.end(other) for other in serving):
            continue
        first = laid.instance.lessons[min(serving, key=laid.end)]
        yield breach_in(
            laid, 3, (dense, first, assessment),
            f"{named((assessment,))} on {when(laid.first_slot(assessment.index))} does not come after {named((first,))} "
            f"on {when(laid.first_slot(first.index))}, the practice of {named((dense,))}, which it requires",
            _cannot_come_after(laid, assessment, dense),
        )  # fmt: skip


def _cannot_come_after(laid: Laid, assessment: LessonFacts, dense: LessonFacts) -> bool:
    """Whether no slots that the lessons can still have let the assessment come after what practises the dense lesson."""
    if _could_come_after(laid, assessment, dense, slots_left):
        return False
    told = assessment.delivered is not None or dense.delivered is not None
    return told or _could_come_after(laid, assessment, dense, slots_once)


def _could_come_after(laid: Laid, assessment: LessonFacts, dense: LessonFacts, slots_of: SlotsOf) -> bool:
    latest = max((slot.number for slot in slots_of(laid, assessment)), default=-1)
    by = [other for index in dense.practised_by if not (other := laid.instance.lessons[index]).earlier]
    return _could_be_practised(laid, dense, by, slots_of, before=latest)
