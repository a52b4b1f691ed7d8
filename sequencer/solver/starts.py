"""Where a lesson could start if there were no other: what its length, dates, place, teacher and live demands leave."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from sequencer.instance.calendar import Slot, taught_together
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.solver.day_numbers import ClassDays
from sequencer.words import LIVE, SET_WORK


class StartsAlone:
    """For each lesson of an instance the slots in which it can start, rising; -1 before the class's first slot."""

    def __init__(self, instance: Instance, days: tuple[ClassDays, ...]) -> None:
        self._instance = instance
        self._days = days
        self._once: dict[int, tuple[int, ...]] = {}
        self._gone = tuple(not all(facts.usable) for facts in instance.classes)
        known: dict[object, tuple[int, ...]] = {}
        found = []
        for lesson in instance.lessons:
            key = _seen(lesson)
            if key not in known:
                known[key] = tuple(_own_starts(instance, lesson, days[lesson.class_index]))
            found.append(known[key])
        self._left = tuple(found)

    def __getitem__(self, lesson: int) -> tuple[int, ...]:
        return self._left[lesson]

    def __iter__(self) -> Iterator[tuple[int, ...]]:
        return iter(self._left)

    def once(self, lesson: int) -> tuple[int, ...]:
        """Where a lesson that is still to be placed could have started before any slot had gone by or was taken."""
        facts = self._instance.lessons[lesson]
        if facts.delivered is not None or not self.gone(lesson):
            return self._left[lesson]
        if lesson not in self._once:
            here = self._days[facts.class_index]
            asked = _asked(self._instance, facts, here)
            starts = _shaped(self._instance, facts, here)
            self._once[lesson] = tuple(start for start in starts if all(fits(start) for fits in asked))
        return self._once[lesson]

    def gone(self, lesson: int) -> bool:
        """Whether slots of its class have gone by or are taken."""
        return self._gone[self._instance.lessons[lesson].class_index]

    def can_hold(self, one: int, other: int, fits: Callable[[StartsAlone.Of], bool]) -> bool:
        """Whether a rule about two lessons binds: they can keep it, or both are still to be placed and never could."""
        if fits(self.__getitem__):
            return True
        lessons = self._instance.lessons
        if lessons[one].delivered is not None or lessons[other].delivered is not None:
            return False
        return not fits(self.once) if self.gone(one) or self.gone(other) else True

    Of = Callable[[int], tuple[int, ...]]
    """The starts of a lesson: those left, or those that it once had."""


def starts_alone(instance: Instance, days: tuple[ClassDays, ...]) -> StartsAlone:
    """Where each lesson could start if there were no other; a delivered one is where it was."""
    return StartsAlone(instance, days)


def _seen(lesson: LessonFacts) -> object:
    """All that decides where a lesson could start."""
    dates = (lesson.not_before, lesson.not_after, lesson.on, lesson.period, lesson.report_deadline)
    refused = (lesson.kind, lesson.tags, lesson.high_load) if lesson.restricted else None
    place = (lesson.class_index, lesson.length, lesson.live, lesson.needs, lesson.teacher)
    marking = lesson.marking if lesson.report_deadline is not None else None
    return place, dates, refused, marking, lesson.delivered


def has_own_start(instance: Instance, lesson: LessonFacts, here: ClassDays) -> bool:
    """Whether the lesson could start anywhere if there were no other."""
    return bool(_own_starts(instance, lesson, here))


def _own_starts(instance: Instance, lesson: LessonFacts, here: ClassDays) -> list[int]:
    if lesson.delivered is not None:
        return [-1 if lesson.delivered.slot is None else lesson.delivered.slot]
    usable = instance.class_of(lesson).usable
    shaped = _shaped(instance, lesson, here)
    asked = _asked(instance, lesson, here)
    if all(usable):
        return [start for start in shaped if all(fits(start) for fits in asked)]
    left = [start for start in shaped if all(usable[start : start + lesson.length])]
    open_ = frozenset(left)
    kept: list[Test] = []
    for fits in asked:
        fitting = [start for start in left if fits(start)]
        if not fitting and _is_gone(shaped, open_, kept, fits):
            continue
        left = fitting
        kept.append(fits)
    return left


Test = Callable[[int], bool]
"""Whether a start is as one rule about the lesson alone asks."""


def _is_gone(shaped: list[int], open_: frozenset[int], kept: list[Test], fits: Test) -> bool:
    """Whether what a rule asks can no longer be kept: by no start that is left, or not with the rules kept so far, as once."""
    gone = [start for start in shaped if start not in open_ and fits(start)]
    if gone and not any(fits(start) for start in open_):
        return True
    return any(all(other(start) for other in kept) for start in gone)


def _shaped(instance: Instance, lesson: LessonFacts, here: ClassDays) -> list[int]:
    """Rule 0: starts of adjacent slots of one date that can be taught in one way."""
    found = []
    for start in range(here.count - lesson.length + 1):
        slots = here.slots[start : start + lesson.length]
        follow = all(one.date == other.date and instance.adjacent(one.period, other.period) for one, other in pairwise(slots))
        if follow and taught_together(slots) is not None:
            found.append(start)
    return found


def _asked(instance: Instance, lesson: LessonFacts, here: ClassDays) -> list[Test]:
    """What is asked of a lesson alone; of what can no longer hold together the first is kept."""
    slots, length = here.slots, lesson.length
    asked: list[Test] = []
    if lesson.live in ("demand", "refuse"):
        refused = SET_WORK if lesson.live == "demand" else LIVE
        asked.append(lambda start: taught_together(slots[start : start + length]) != refused)
    if lesson.teacher is not None:
        asked.append(lambda start: slots[start].teacher == lesson.teacher)
    for need in sorted(lesson.needs):
        carried = need in instance.portable
        asked.append(
            lambda start, need=need, carried=carried: all(  # type: ignore[misc]
                need in slot.offers or (carried and not slot.remote) for slot in slots[start : start + length]
            )
        )
    if lesson.restricted and instance.restricted_days:
        asked.append(
            lambda start: (
                not any(
                    _refuses(instance, entry, lesson) for slot in slots[start : start + length] for entry in slot.restrictions
                )
            )
        )
    asked += [lambda start, fits=fits: fits(slots[start]) for fits in _dates(instance, lesson)]  # type: ignore[misc]
    return asked


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


def _refuses(instance: Instance, entry: int, lesson: LessonFacts) -> bool:
    refuses = instance.restricted_days[entry].refuses
    return (
        lesson.kind in refuses.kinds
        or any(tag in refuses.tags for tag in lesson.tags)
        or (refuses.high_load and lesson.high_load)
    )
