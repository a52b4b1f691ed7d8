"""A plan made of pins: every lesson that its scenario puts on a date and in a period, and no other."""

from __future__ import annotations

from sequencer.instance.build import build_instance
from sequencer.instance.calendar import taught_together
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.sequence import Placement, Sequence, Stray
from sequencer.scenario.schema import Scenario
from sequencer.words import LIVE, OPEN, SET_WORK


def pinned_sequence(scenario: Scenario) -> Sequence:
    """The sequence, complete or partial, that the scenario's own pins are.

    A pin without a period counts where the class meets once on its date. One for a period in which the class does not meet is
    kept as it is, for the referee to report.
    """
    instance = build_instance(scenario)
    placements, strays = [], []
    for lesson in instance.lessons:
        wished = lesson.wished_dates
        on, period = (wished.on, wished.period) if wished is not None and wished.on is not None else (lesson.on, lesson.period)
        if on is None or lesson.delivered is not None:
            continue
        slots = [slot for slot in instance.slots_for(lesson) if slot.date == on and period in (None, slot.period)]
        if len(slots) == 1:
            start = slots[0].number
            placements.append(Placement(lesson.index, start, taught_as_fixed(instance, lesson, start)))
        elif period is not None:
            strays.append(Stray(lesson.index, on, period))
    return Sequence(tuple(placements), tuple(strays))


def taught_as_fixed(instance: Instance, lesson: LessonFacts, start: int) -> str:
    """How a lesson is taught that starts in a slot, where nobody says: as the period fixes it."""
    together = taught_together(instance.slots_for(lesson)[start : start + lesson.length])
    if together == OPEN or together is None:
        return LIVE if lesson.live == "demand" else SET_WORK
    return together
