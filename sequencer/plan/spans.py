"""Stretches and windows of slots, and runs of lessons in a sequence: what the referee and wishes count over."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.plan.sequence import Laid


def stretches(slots: tuple[Slot, ...], break_days: int | None) -> Iterator[tuple[Slot, ...]]:
    """Slots whose neighbours' dates differ by at most ``break_days`` days; all of them when it is None."""
    stretch: list[Slot] = []
    for slot in slots:
        if stretch and break_days is not None and (slot.date - stretch[-1].date).days > break_days:
            yield tuple(stretch)
            stretch = []
        stretch.append(slot)
    if stretch:
        yield tuple(stretch)


def windows(stretch: tuple[Slot, ...], size: int) -> Iterator[tuple[Slot, ...]]:
    """Any so many consecutive slots of a stretch; none when it is shorter."""
    return (stretch[start : start + size] for start in range(len(stretch) - size + 1))


def high_load_runs_of(laid: Laid, facts: ClassFacts) -> Iterator[list[LessonFacts]]:
    """Longest runs of capped high-load lessons that follow one another."""
    run: list[LessonFacts] = []
    for lesson in laid.in_order(facts.index):
        goes_on = bool(run) and laid.pos(lesson.index) == laid.end(run[-1].index) + 1
        if goes_on and facts.run_break_days is not None:
            goes_on = laid.days(run[-1].index, lesson.index) <= facts.run_break_days
        if run and not (goes_on and lesson.run_cap is not None):
            yield run
            run = []
        if lesson.run_cap is not None:
            run.append(lesson)
    if run:
        yield run
