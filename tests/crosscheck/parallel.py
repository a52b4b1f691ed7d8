"""Rules over the classes of a teacher and over parallel classes: 10 and 11, and the aim `even week`.

What they see of one class's assignment is its `Part`: lists of what counts, and where.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Any

from tests.crosscheck.added_rules import cohorts_keep, seen_of_cohorts
from tests.crosscheck.facts import ClassFacts, Facts
from tests.crosscheck.past import places, places_once
from tests.crosscheck.placing import Assignment, date_of, first_slot, placed_lessons

Ref = tuple[str, ...]
"""Unit and lesson: the same lesson in parallel classes."""


@dataclass(frozen=True)
class Step:
    """A lesson that keeps in step."""

    ref: Ref
    day: date
    most: int
    wish: int
    """Weight of the days where they are a wish."""
    done: bool
    days: frozenset[date]
    """On which it can lie, whatever other rules say."""
    once: frozenset[date]
    """On which it could lie before any slot was lost."""


@dataclass(frozen=True)
class Part:
    """What one class's lessons add; a teacher who is not named is the empty name."""

    in_step: tuple[Step, ...]
    dense: tuple[tuple[str, date], ...]
    live: tuple[tuple[str, date], ...]
    marking: tuple[tuple[str, int, int], ...]
    """Teacher, school week, minutes."""
    preparation: tuple[tuple[str, Ref, int, int], ...]
    """Teacher, lesson, school week in which it is taught, minutes."""
    cohort: tuple[tuple[tuple[str, Any], int], ...] = ()
    """What it comes to in each window that cohorts look at."""


def part_of(facts: Facts, group: ClassFacts, placed: Assignment) -> Part:
    """The part of a class. Only what some limit or aim of the scenario asks for is in it."""
    apart, dense, live, marking, preparation = [], [], [], [], []
    for lesson in [*group.earlier, *placed_lessons(group, placed)]:
        if lesson.in_step is not None and len(facts.classes) > 1:
            day, done = date_of(group, lesson, placed), lesson.done is not None
            days, once = (
                {day} if done else {group.slots[number].day for number in where(facts, group, lesson)}
                for where in (places, places_once)
            )
            apart.append(Step(lesson.same_as, day, lesson.in_step, lesson.in_step_wish, done, frozenset(days), frozenset(once)))
    for lesson in placed_lessons(group, placed):
        slot = first_slot(group, lesson, placed)
        ref = lesson.key if lesson.made == "retrieval" else lesson.key[1:]
        teacher = slot.teacher or ""
        limits = facts.teachers.get(teacher, {})
        if lesson.dense and "dense_a_day" in limits:
            dense.append((teacher, slot.day))
        if placed[lesson.key][1] == "live" and "live_a_day" in limits:
            live.append((teacher, slot.day))
        if lesson.marking_minutes and ("marking_a_week" in limits or "even week" in facts.aims):
            marking.append((teacher, slot.week, lesson.marking_minutes))
        asked = "preparation_a_week" in limits or "even week" in facts.aims
        if asked and lesson.preparation_minutes and not _had_before(facts, teacher, ref):
            preparation.append((teacher, ref, slot.week, lesson.preparation_minutes))
    of_teachers = tuple(sorted(dense)), tuple(sorted(live)), tuple(sorted(marking)), tuple(preparation)
    return Part(tuple(apart), *of_teachers, seen_of_cohorts(facts, group, placed))


def _had_before(facts: Facts, teacher: str, ref: Ref) -> bool:
    """Whether a class of the teacher had the lesson before its first slot, so that it is prepared."""
    return any(y.key[1:] == ref and (y.teacher or group.teacher) == teacher for group in facts.classes for y in group.earlier)


def in_step(parts: Sequence[Part]) -> bool:
    """Rule 11."""
    lessons = [step for part in parts for step in part.in_step]
    return all(_together(one, other) for one, other in combinations(lessons, 2) if one.ref == other.ref)


def _together(one: Step, other: Step) -> bool:
    """Whether the lessons keep in step as far as that is not a wish, or cannot any more because one was delivered."""
    most = min((step.most for step in (one, other) if not step.wish), default=math.inf)
    if abs((one.day - other.day).days) <= most:
        return True
    if any(abs((a - b).days) <= most for a in one.days for b in other.days):
        return False
    return one.done or other.done or any(abs((a - b).days) <= most for a in one.once for b in other.once)


def pupils_weeks(facts: Facts, parts: Sequence[Part]) -> bool:
    """Rule 14 over cohorts."""
    delivered = [part_of(facts, group, group.done) for group in facts.classes]
    return cohorts_keep(facts, *([dict(part.cohort) for part in some] for some in (parts, delivered)))


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
    """Rule 10; what delivered lessons exceed by themselves is left out."""
    delivered = [part_of(facts, group, group.done) for group in facts.classes]
    for name, limits in facts.teachers.items():
        if limits.get("wish"):
            continue
        for what in ("dense", "live"):
            most = limits.get(f"{what}_a_day")
            counted, done = ([entry for part in some for entry in getattr(part, what)] for some in (parts, delivered))
            if most is not None and any(counted.count(e) > most >= done.count(e) for e in counted if e[0] == name):
                return False
        for what, count in (("marking", marking_minutes), ("preparation", preparation_minutes)):
            most = limits.get(f"{what}_a_week")
            done_minutes = count(delivered)
            for (whose, week), minutes in count(parts).items():
                # Minutes of preparation in week 0, before term, are not capped; no marking falls in it.
                if most is not None and whose == name and week > 0 and minutes > most >= done_minutes.get((whose, week), 0):
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
