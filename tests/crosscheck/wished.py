"""Rules that are preferences: what each costs, word for word, over an assignment.

An instance costs its weight times each unit by which it misses what is wished.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from tests.crosscheck.added_rules import added_wishes, cohort_wishes
from tests.crosscheck.facts import ClassFacts, Facts
from tests.crosscheck.parallel import Part, marking_minutes, preparation_minutes
from tests.crosscheck.placing import Assignment, date_of, end, first_slot, measured, occupied, placed_lessons, pos, stretches
from tests.crosscheck.slots import Raw, Slot


def missed(value: int, least: int | None, most: int | None) -> int:
    """How many are short or over."""
    if least is not None and value < least:
        return least - value
    return value - most if most is not None and value > most else 0


# -- of one class ------------------------------------------------------------------------------------------------------


def class_wishes(facts: Facts, group: ClassFacts, placed: Assignment) -> int:
    """What the preferences of one class cost."""
    every = (_windows, _runs, _caps, _threads, _feedback, _dates, _weeks, added_wishes)
    return sum(sum(wish(facts, group, placed)) for wish in every)


def _windows(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    lessons = {lesson.key: lesson for lesson in [*group.earlier, *placed_lessons(group, placed)]}
    for lesson in placed_lessons(group, placed):
        for key, window in lesson.requires:
            if window.get("wish") and key in lessons:
                for unit, value in measured(group, lesson, lessons[key], placed).items():
                    yield window["wish"] * missed(value, window.get(f"least_{unit}"), window.get(f"most_{unit}"))


def _runs(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    in_order = sorted(placed_lessons(group, placed), key=lambda lesson: pos(lesson, placed))
    for number, first in enumerate(in_order):
        row = [first]
        for lesson in in_order[number:]:
            if lesson is not first:
                touching = pos(lesson, placed) == end(row[-1], placed) + 1
                days = (date_of(group, lesson, placed) - date_of(group, row[-1], placed)).days
                if not touching or (group.run_break_days is not None and days > group.run_break_days):
                    break
                row.append(lesson)
            if not lesson.high or lesson.run_cap is None:
                break
            # So many follow one another, one more than those among them allow that say so.
            asked = [weight for member in row for cap, weight in member.wished_caps if cap == len(row) - 1]
            yield max(asked, default=0)


def _caps(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    holds = occupied(group, placed)
    for cap in group.caps:
        for series in stretches(group, cap.get("break_days")):
            for start in range(max(1, len(series) - cap["of"] + 1)):
                tagged = [n for n in series[start : start + cap["of"]] if n in holds and cap["tag"] in holds[n].tags]
                yield cap.get("wish", 0) * missed(len(tagged), None, cap["most"])


def _threads(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    holds = occupied(group, placed)
    for thread in group.threads:
        for series in stretches(group, thread.get("break_days")):
            for start in range(len(series) - thread["of"] + 1):
                window = series[start : start + thread["of"]]
                serving = [n for n in window if n not in holds or thread["tag"] in holds[n].tags]
                yield thread.get("wish", 0) * missed(len(serving), thread["least"], None)


def _feedback(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    lessons = placed_lessons(group, placed)
    for lesson in lessons:
        for answered in [*group.earlier, *lessons]:
            numbers = answered.marking
            if answered.key in lesson.answers and numbers is not None:
                days = facts.marking_days(date_of(group, answered, placed), date_of(group, lesson, placed))
                yield numbers.get("wish", 0) * missed(days, numbers["least"], numbers.get("most"))


def _dates(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    for lesson in placed_lessons(group, placed):
        if lesson.dates is not None and lesson.dates.get("wish"):
            yield lesson.dates["wish"] * date_units(lesson.dates, first_slot(group, lesson, placed))


def date_units(dates: Raw, slot: Slot) -> int:
    """Days to the nearest date that suits; on such a date, whether the period is another than the one wished."""
    earliest = dates.get("on") or dates.get("not_before") or slot.day
    latest = dates.get("on") or dates.get("not_after") or slot.day
    if slot.day < earliest:
        return int((earliest - slot.day).days)
    if slot.day > latest:
        return int((slot.day - latest).days)
    return int(slot.period != dates.get("period", slot.period))


def _weeks(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    beside = group.week_wished
    yield from _shape(facts, group, placed, group.week or {}, (group.week or {}).get("wish", 0))
    yield from _shape(facts, group, placed, beside, beside.get("weight", 1))


def _shape(facts: Facts, group: ClassFacts, placed: Assignment, shape: Raw, weight: int) -> Iterator[int]:
    for week in {slot.week for slot in group.slots}:
        lessons = [y for y in placed_lessons(group, placed) if first_slot(group, y, placed).week == week]
        least = shape.get("least_lessons")
        if least is not None and not facts.strict:
            least = min(least, sum(slot.week == week for slot in group.slots))
        yield weight * missed(len(lessons), least, shape.get("most_lessons"))
        load = sum(lesson.load for lesson in lessons)
        yield weight * missed(load, shape.get("least_load"), shape.get("most_load"))


# -- over several classes ----------------------------------------------------------------------------------------------


def joint_wishes(facts: Facts, parts: Sequence[Part]) -> int:
    """What the preferences about teachers' days and weeks, parallel classes and cohorts cost."""
    of_cohorts = cohort_wishes(facts, [dict(part.cohort) for part in parts])
    return sum(_teachers(facts, parts)) + sum(_apart(parts)) + of_cohorts


def _teachers(facts: Facts, parts: Sequence[Part]) -> Iterator[int]:
    for name, limits in facts.teachers.items():
        weight = limits.get("wish", 0)
        for which, counted in (("dense_a_day", [part.dense for part in parts]), ("live_a_day", [part.live for part in parts])):
            days = [day for entries in counted for whose, day in entries if whose == name]
            for day in set(days):
                yield weight * missed(days.count(day), None, limits.get(which))
        for which, minutes in (("marking_a_week", marking_minutes(parts)), ("preparation_a_week", preparation_minutes(parts))):
            for (whose, week), value in minutes.items():
                if whose == name and week > 0:
                    yield weight * math.ceil(missed(value, None, limits.get(which)) / 30)


def _apart(parts: Sequence[Part]) -> Iterator[int]:
    for one_part, other_part in combinations(parts, 2):
        for one in one_part.in_step:
            for other in other_part.in_step:
                asked = [step for step in (one, other) if step.wish > 0]
                if one.ref == other.ref and asked:
                    most, weight = min(step.most for step in asked), max(step.wish for step in asked)
                    yield weight * missed(abs((one.day - other.day).days), None, most)
