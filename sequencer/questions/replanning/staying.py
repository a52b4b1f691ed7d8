"""What stays of an earlier plan: where every lesson that is still to be taught is to lie if it can."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from sequencer.plan.differences import Standing
from sequencer.plan.sequence import Laid
from sequencer.words import day_text

_NAMED = 3
"""Lessons that are named where nothing is recorded of many."""


def not_recorded_note(laid: Laid, today: date | None) -> tuple[str, ...]:
    """What is to be said where the earlier plan has lessons before ``today`` and nothing is recorded of them.

    They are still to be taught: whether they were is for the record to say, in whatever form a plan is read back.
    """
    left = [
        lesson
        for lesson in laid.all_placed()
        if today is not None and lesson.delivered is None and laid.first_slot(lesson.index).date < today
    ]
    if not left or today is None:
        return ()
    named = [f'{laid.instance.class_of(lesson).id} "{lesson.title}"' for lesson in left[:_NAMED]]
    listed = ", ".join([*named, *(["…"] if len(left) > _NAMED else [])])
    what = "1 lesson is" if len(left) == 1 else f"{len(left)} lessons are"
    still = "it is still to be taught" if len(left) == 1 else "they are still to be taught"
    return (
        f"Of what the earlier plan has before {day_text(today)}, {what} not recorded ({listed}): {still}. "
        "If that is wrong, record what became of each.",
    )


def where_it_stood(laid: Laid) -> Standing:
    """Where each lesson still to be taught stood, in a period that is still there or not."""
    stood = {
        lesson.index: (laid.first_slot(lesson.index).date, laid.first_slot(lesson.index).period) for lesson in laid.all_placed()
    }
    stood |= {stray.lesson: (stray.date, stray.period) for stray in laid.sequence.strays}
    return {index: at for index, at in stood.items() if laid.instance.lessons[index].delivered is None}


def how_it_was_taught(laid: Laid) -> Mapping[int, str]:
    """How each lesson still to be taught was to be taught; none of those whose period is not there any more."""
    placements = laid.sequence.placements
    return {each.lesson: each.taught for each in placements if laid.instance.lessons[each.lesson].delivered is None}
