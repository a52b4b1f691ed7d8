"""Rules over the classes of a teacher and over parallel classes: 10 and 11, and the aim `even week`.

What they see of one class's assignment is its `Part`: lists of what counts, and where.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from tests.crosscheck.facts import ClassFacts, Facts
from tests.crosscheck.placing import Assignment, first_slot, placed_lessons

Ref = tuple[str, str]
"""Unit and lesson: the same lesson in parallel classes."""


@dataclass(frozen=True)
class Part:
    """What one class's lessons add; a teacher who is not named is the empty name."""

    in_step: tuple[tuple[Ref, date, int, int], ...]
    """Lessons that keep in step: date, most days apart, and weight where that is a wish."""
    dense: tuple[tuple[str, date], ...]
    live: tuple[tuple[str, date], ...]
    marking: tuple[tuple[str, int, int], ...]
    """Teacher, school week, minutes."""
    preparation: tuple[tuple[str, Ref, int, int], ...]
    """Teacher, lesson, school week in which it is taught, minutes."""


def part_of(facts: Facts, group: ClassFacts, placed: Assignment) -> Part:
    """The part of a class. Only what some limit or aim of the scenario asks for is in it."""
    apart, dense, live, marking, preparation = [], [], [], [], []
    for lesson in placed_lessons(group, placed):
        slot, ref = first_slot(group, lesson, placed), lesson.key[1:]
        teacher = slot.teacher or ""
        if lesson.in_step is not None and len(facts.classes) > 1:
            apart.append((ref, slot.day, lesson.in_step, lesson.in_step_wish))
        limits = facts.teachers.get(teacher, {})
        if lesson.dense and "dense_a_day" in limits:
            dense.append((teacher, slot.day))
        if placed[lesson.key][1] == "live" and "live_a_day" in limits:
            live.append((teacher, slot.day))
        if lesson.marking_minutes and ("marking_a_week" in limits or "even week" in facts.aims):
            marking.append((teacher, slot.week, lesson.marking_minutes))
        if lesson.preparation_minutes and ("preparation_a_week" in limits or "even week" in facts.aims):
            preparation.append((teacher, ref, slot.week, lesson.preparation_minutes))
    return Part(tuple(apart), tuple(sorted(dense)), tuple(sorted(live)), tuple(sorted(marking)), tuple(preparation))


def in_step(parts: Sequence[Part]) -> bool:
    """Rule 11."""
    lessons = [entry for part in parts for entry in part.in_step]
    return all(
        abs((one_day - other_day).days) <= most
        for one, one_day, most, wish in lessons
        for other, other_day, _, _ in lessons
        if one == other and not wish
    )


def marking_minutes(parts: Sequence[Part]) -> dict[tuple[str, int], int]:
    """Minutes by teacher and school week of the lesson marked."""
    found: dict[tuple[str, int], int] = defaultdict(int)
    for part in parts:
        for teacher, week, minutes in part.marking:
            found[teacher, week] += minutes
    return found


def preparation_minutes(parts: Sequence[Part]) -> dict[tuple[str, int], int]:
    """Minutes by teacher and school week before the first of the teacher's classes meets the lesson."""
    entries = [entry for part in parts for entry in part.preparation]
    found: dict[tuple[str, int], int] = defaultdict(int)
    for teacher, ref, minutes in {(teacher, ref, minutes) for teacher, ref, _, minutes in entries}:
        first = min(week for whose, lesson, week, _ in entries if (whose, lesson) == (teacher, ref))
        found[teacher, first - 1] += minutes
    return found


def teacher_weeks(facts: Facts, parts: Sequence[Part]) -> bool:
    """Rule 10."""
    dense = [entry for part in parts for entry in part.dense]
    live = [entry for part in parts for entry in part.live]
    marking, preparation = marking_minutes(parts), preparation_minutes(parts)
    for name, limits in facts.teachers.items():
        if limits.get("wish"):
            continue
        for counted, most in ((dense, limits.get("dense_a_day")), (live, limits.get("live_a_day"))):
            if most is not None and any(counted.count(entry) > most for entry in counted if entry[0] == name):
                return False
        most = limits.get("marking_a_week")
        if most is not None and any(minutes > most for (whose, _), minutes in marking.items() if whose == name):
            return False
        most = limits.get("preparation_a_week")
        if most is None:
            continue
        # Week 0 is before term: nothing caps it.
        if any(minutes > most for (whose, week), minutes in preparation.items() if whose == name and week > 0):
            return False
    return True


def even_week(parts: Sequence[Part]) -> int:
    """The heaviest school week of each teacher, week 0 too, summed."""
    marking, preparation = marking_minutes(parts), preparation_minutes(parts)
    heaviest: dict[str, int] = defaultdict(int)
    for teacher, week in {*marking, *preparation}:
        minutes = marking.get((teacher, week), 0) + preparation.get((teacher, week), 0)
        heaviest[teacher] = max(heaviest[teacher], minutes)
    return sum(heaviest.values())
