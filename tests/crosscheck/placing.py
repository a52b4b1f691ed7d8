"""The words of the rules over an assignment, and the rules that concern one lesson or two.

An assignment says for each placed lesson its first slot number and how it is taught; lessons not in it are left out.
Lessons taught before the class's first slot are in no assignment: they have a date alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from itertools import pairwise

from tests.crosscheck.facts import ClassFacts, Facts, Key, Lesson, Place
from tests.crosscheck.past import gone_by, no_pair, places
from tests.crosscheck.slots import Raw, Slot, listed

Assignment = dict[Key, Place]


# -- words -------------------------------------------------------------------------------------------------------------


def pos(lesson: Lesson, placed: Assignment) -> int:
    return placed[lesson.key][0]


def end(lesson: Lesson, placed: Assignment) -> int:
    return placed[lesson.key][0] + lesson.length - 1


def first_slot(group: ClassFacts, lesson: Lesson, placed: Assignment) -> Slot:
    return group.slots[pos(lesson, placed)]


def date_of(group: ClassFacts, lesson: Lesson, placed: Assignment) -> date:
    if lesson.done is not None:
        return lesson.done.day
    return first_slot(group, lesson, placed).day


def is_earlier(lesson: Lesson) -> bool:
    """Whether the lesson was taught before its class's first slot."""
    return lesson.done is not None and lesson.done.slot is None


def placed_lessons(group: ClassFacts, placed: Assignment) -> list[Lesson]:
    """The lessons placed in slots."""
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


# -- rules of two lessons ----------------------------------------------------------------------------------------------


def measured(group: ClassFacts, lesson: Lesson, other: Lesson, placed: Assignment) -> dict[str, int]:
    """How much later the one lesson comes, in days, slots and school weeks; in days alone after one without a slot."""
    days = {"days": (date_of(group, lesson, placed) - date_of(group, other, placed)).days}
    if is_earlier(other):
        return days
    return {
        **days,
        "slots": pos(lesson, placed) - end(other, placed),
        "weeks": first_slot(group, lesson, placed).week - first_slot(group, other, placed).week,
    }


def in_time(facts: Facts, group: ClassFacts, lesson: Lesson, other: Lesson, placed: Assignment) -> bool:
    """Rules 1, 3, 4 and 6 as far as `lesson` must follow `other` or keep a distance from it; both are placed.

    What a delivered lesson breaks wherever the other is placed is left out.
    """
    if is_earlier(lesson) or is_earlier(other):
        return is_earlier(lesson) or _in_time_after_earlier(facts, group, lesson, other, placed)
    start, other_start = pos(lesson, placed), pos(other, placed)

    def holds(fits: Callable[[int, int], bool]) -> bool:
        return fits(start, other_start) or no_pair(group, lesson, other, fits)

    def in_order(here: int, there: int) -> bool:
        return here > there + other.length - 1

    required = [window for key, window in lesson.requires if key == other.key]
    if (required or other.key in lesson.after) and not holds(in_order):
        return False
    for window in (window for window in required if not window.get("wish")):
        for unit in ("days", "slots", "weeks"):
            if not holds(lambda here, there, u=unit, w=window: _within(w, u, _gap(group, u, here, there, other))):  # type: ignore[misc]
                return False
    if other.key in lesson.answers and other.marking is not None and not other.marking.get("wish"):
        marking = other.marking

        def marked(here: int, there: int) -> bool:
            days = facts.marking_days(group.slots[there].day, group.slots[here].day)
            return bool(marking["least"] <= days <= marking.get("most", days))

        return holds(marked)
    return True


def _gap(group: ClassFacts, unit: str, here: int, there: int, other: Lesson) -> int:
    if unit == "slots":
        return here - (there + other.length - 1)
    slot, earlier = group.slots[here], group.slots[there]
    return (slot.day - earlier.day).days if unit == "days" else slot.week - earlier.week


def _within(window: Raw, unit: str, value: int) -> bool:
    return bool(window.get(f"least_{unit}", value) <= value <= window.get(f"most_{unit}", value))


def _in_time_after_earlier(facts: Facts, group: ClassFacts, lesson: Lesson, other: Lesson, placed: Assignment) -> bool:
    """Only days count from a lesson taught before the first slot."""
    taught_on = date_of(group, other, placed)

    def holds(fits: Callable[[Slot], bool]) -> bool:
        left = [group.slots[number] for number in places(group, lesson)]
        return fits(first_slot(group, lesson, placed)) or not any(fits(slot) for slot in left)

    for key, window in lesson.requires:
        if key != other.key or window.get("wish"):
            continue
        if not holds(lambda slot, w=window: _within(w, "days", (slot.day - taught_on).days)):  # type: ignore[misc]
            return False
    if other.key in lesson.answers and other.marking is not None and not other.marking.get("wish"):
        marking = other.marking

        def marked(slot: Slot) -> bool:
            days = facts.marking_days(taught_on, slot.day)
            return bool(marking["least"] <= days <= marking.get("most", days))

        return holds(marked)
    return True
