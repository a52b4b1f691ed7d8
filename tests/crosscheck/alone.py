"""The rules that concern one lesson alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.slots import Slot, listed


def ways_of_teaching(slots: Sequence[Slot]) -> tuple[str, ...]:
    """How a lesson in these slots may be taught: all slots of a lesson agree."""
    kinds = {slot.remote for slot in slots}
    if kinds == {""}:
        return ("in class",)
    if "" in kinds or {"live", "set work"} <= kinds:
        return ()
    fixed = kinds - {"open"}
    return tuple(fixed) if fixed else ("live", "set work")


def gone_by(group: ClassFacts, lesson: Lesson, fits: Callable[[Slot], bool]) -> bool:
    """Whether the lesson was delivered, or all the slots that fit it can no longer be used."""
    if lesson.done is not None:
        return True
    fitting = [slot for slot in group.slots if fits(slot)]
    return bool(fitting) and not any(slot.usable for slot in fitting)


def lies_well(facts: Facts, group: ClassFacts, lesson: Lesson, start: int, taught: str) -> bool:
    """Rules 0, 5, 7, 8 and 13 as far as they concern one lesson alone."""
    if lesson.done is not None:
        # Whatever it breaks cannot be mended.
        return (lesson.done.slot, lesson.done.taught) == (start, taught)
    numbers = range(start, start + lesson.length)
    if start < 0 or numbers[-1] >= len(group.slots):
        return False
    slots = [group.slots[number] for number in numbers]
    for before, after in pairwise(slots):
        pair = (before.period, after.period)
        if before.day != after.day:
            return False
        if (pair not in facts.adjacent) if facts.adjacent is not None else (after.period - before.period != 1):
            return False
    if taught not in ways_of_teaching(slots) or not all(slot.usable for slot in slots):
        return False
    if (lesson.live == "demand" and taught == "set work") or (lesson.live == "refuse" and taught == "live"):
        return False
    if lesson.teacher is not None and slots[0].teacher != lesson.teacher:
        return False
    return _dates_hold(facts, group, lesson, slots[0]) and _place_holds(facts, lesson, slots)


def _dates_hold(facts: Facts, group: ClassFacts, lesson: Lesson, slot: Slot) -> bool:
    """Each date stated, but for those that have gone by."""
    if lesson.dates is None:
        return True
    wanted = lesson.dates
    if wanted.get("wish"):
        # Reports are due whatever is wished.
        wanted = {name: value for name, value in wanted.items() if name == "report_deadline"}
    asked: list[Callable[[Slot], bool]] = []
    if "not_before" in wanted:
        asked.append(lambda slot: slot.day >= wanted["not_before"])
    if "not_after" in wanted:
        asked.append(lambda slot: slot.day <= wanted["not_after"])
    if "on" in wanted:
        asked.append(lambda slot: slot.day == wanted["on"])
    if "period" in wanted:
        # The period is one of the date stated.
        asked.append(lambda slot: slot.day != wanted.get("on", slot.day) or slot.period == wanted["period"])
    if "report_deadline" in wanted:
        due, marking = wanted["report_deadline"], lesson.report_deadline_marking
        asked.append(lambda slot: slot.day <= due and facts.marking_days(slot.day, due) >= marking)
    return all(fits(slot) or gone_by(group, lesson, fits) for fits in asked)


def _place_holds(facts: Facts, lesson: Lesson, slots: Sequence[Slot]) -> bool:
    if not lesson.place:
        return True
    for slot in slots:
        for need in lesson.needs:
            carried_there = need in facts.shared and not facts.shared[need][1] and not slot.remote
            if need not in slot.offers and not carried_there:
                return False
        for refuses in slot.refusals:
            if lesson.kind in listed(refuses.get("kinds")) or lesson.tags & set(listed(refuses.get("tags"))):
                return False
            if refuses.get("high_load") and lesson.high:
                return False
    return True
