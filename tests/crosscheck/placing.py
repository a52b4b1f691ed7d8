"""The words of the rules over an assignment, and the rules that concern one lesson or two.

An assignment says for each placed lesson its first slot number and how it is taught; lessons not in it are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from tests.crosscheck.facts import ClassFacts, Facts, Key, Lesson
from tests.crosscheck.slots import Slot, listed

Place = tuple[int, str]
"""First slot number, and `in class`, `live` or `set work`."""
Assignment = dict[Key, Place]


# -- words -------------------------------------------------------------------------------------------------------------


def pos(lesson: Lesson, placed: Assignment) -> int:
    return placed[lesson.key][0]


def end(lesson: Lesson, placed: Assignment) -> int:
    return placed[lesson.key][0] + lesson.length - 1


def first_slot(group: ClassFacts, lesson: Lesson, placed: Assignment) -> Slot:
    return group.slots[pos(lesson, placed)]


def date_of(group: ClassFacts, lesson: Lesson, placed: Assignment) -> date:
    return first_slot(group, lesson, placed).day


def placed_lessons(group: ClassFacts, placed: Assignment) -> list[Lesson]:
    return [lesson for lesson in group.lessons if lesson.key in placed]


def occupied(group: ClassFacts, placed: Assignment) -> dict[int, Lesson]:
    """Slot number to the lesson it holds."""
    return {
        number: lesson
        for lesson in placed_lessons(group, placed)
        for number in range(pos(lesson, placed), end(lesson, placed) + 1)
    }


def stretches(group: ClassFacts, break_days: int | None) -> list[list[int]]:
    """Maximal series of slots whose neighbouring dates differ by at most `break_days`."""
    series: list[list[int]] = []
    for number, slot in enumerate(group.slots):
        together = number > 0 and (break_days is None or (slot.day - group.slots[number - 1].day).days <= break_days)
        if together:
            series[-1].append(number)
        else:
            series.append([number])
    return series


def ways_of_teaching(slots: Sequence[Slot]) -> tuple[str, ...]:
    """How a lesson in these slots may be taught: all slots of a lesson agree."""
    kinds = {slot.remote for slot in slots}
    if kinds == {""}:
        return ("in class",)
    if "" in kinds or {"live", "set work"} <= kinds:
        return ()
    fixed = kinds - {"open"}
    return tuple(fixed) if fixed else ("live", "set work")


# -- rules of one lesson -----------------------------------------------------------------------------------------------


def lies_well(facts: Facts, group: ClassFacts, lesson: Lesson, start: int, taught: str) -> bool:
    """Rules 0, 5, 7, 8 and 13 as far as they concern one lesson alone."""
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
    if taught not in ways_of_teaching(slots):
        return False
    if (lesson.live == "demand" and taught == "set work") or (lesson.live == "refuse" and taught == "live"):
        return False
    if lesson.teacher is not None and slots[0].teacher != lesson.teacher:
        return False
    return _dates_hold(facts, lesson, slots[0]) and _place_holds(facts, lesson, slots)


def _dates_hold(facts: Facts, lesson: Lesson, slot: Slot) -> bool:
    if lesson.dates is None:
        return True
    wanted, day = lesson.dates, slot.day
    if wanted.get("wish"):
        # Reports are due whatever is wished.
        wanted = {name: value for name, value in wanted.items() if name == "report_deadline"}
    if "not_before" in wanted and day < wanted["not_before"]:
        return False
    if "not_after" in wanted and day > wanted["not_after"]:
        return False
    if "on" in wanted and day != wanted["on"]:
        return False
    if "period" in wanted and slot.period != wanted["period"]:
        return False
    if "report_deadline" in wanted:
        due = wanted["report_deadline"]
        return day <= due and facts.marking_days(day, due) >= lesson.report_deadline_marking
    return True


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


# -- rules of two lessons ----------------------------------------------------------------------------------------------


def measured(group: ClassFacts, lesson: Lesson, other: Lesson, placed: Assignment) -> dict[str, int]:
    """How much later the one lesson comes, in days, slots and school weeks."""
    slot, earlier = first_slot(group, lesson, placed), first_slot(group, other, placed)
    return {
        "days": (slot.day - earlier.day).days,
        "slots": pos(lesson, placed) - end(other, placed),
        "weeks": slot.week - earlier.week,
    }


def in_time(facts: Facts, group: ClassFacts, lesson: Lesson, other: Lesson, placed: Assignment) -> bool:
    """Rules 1, 3, 4 and 6 as far as `lesson` must follow `other` or keep a distance from it; both are placed."""
    slot, earlier = first_slot(group, lesson, placed), first_slot(group, other, placed)
    in_order = pos(lesson, placed) > end(other, placed)
    if other.key in lesson.after and not in_order:
        return False
    for key, window in lesson.requires:
        if key != other.key:
            continue
        for unit, value in () if window.get("wish") else measured(group, lesson, other, placed).items():
            if value < window.get(f"least_{unit}", value) or value > window.get(f"most_{unit}", value):
                return False
        if not in_order:
            return False
    if other.key in lesson.answers and other.marking is not None and not other.marking.get("wish"):
        days = facts.marking_days(earlier.day, slot.day)
        return bool(other.marking["least"] <= days <= other.marking.get("most", days))
    return True
