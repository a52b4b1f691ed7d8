"""The words of the rules over an assignment, and the rules that concern two lessons.

An assignment says for each placed lesson its first slot number and how it is taught; lessons not in it are left out.
Lessons taught before the class's first slot are in no assignment: they have a date alone.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from tests.crosscheck.facts import ClassFacts, Facts, Key, Lesson, Place
from tests.crosscheck.past import no_pair, places
from tests.crosscheck.slots import Raw, Slot

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
        return fits(start, other_start) or no_pair(facts, group, lesson, other, fits)

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
        left = [group.slots[number] for number in places(facts, group, lesson)]
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
