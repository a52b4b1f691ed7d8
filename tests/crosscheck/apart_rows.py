"""How far two lessons may lie apart as a wish, as linear rows: differences of where they lie, idle unless both are placed."""

from __future__ import annotations

from collections.abc import Callable

from tests.crosscheck.class_rows import ClassRows
from tests.crosscheck.facts import Facts, Lesson
from tests.crosscheck.rows import Expression, Rows, plus, total
from tests.crosscheck.wished import date_units

Measure = Callable[[ClassRows, Lesson, int], int]
"""A number for a lesson of a class that begins in a slot."""


def day_number(each: ClassRows, lesson: Lesson, start: int) -> int:
    """Days from the first on which some class meets."""
    return (each.slots[start].day - min(group.slots[0].day for group in each.facts.classes if group.slots)).days


def _lies(each: ClassRows, lesson: Lesson, measure: Measure) -> Expression:
    return plus(*((measure(each, lesson, start), {variable: 1}) for variable, start, _ in each.starts[lesson.key]))


def apart(
    rows: Rows,
    earlier_class: ClassRows,
    earlier: Lesson,
    later_class: ClassRows,
    later: Lesson,
    measure: Measure,
    least: int | None,
    most: int | None,
    weight: int,
    later_measure: Measure | None = None,
) -> Expression:
    """What it costs that the one lesson comes less than `least` or more than `most` after the other."""
    late, soon = _lies(later_class, later, later_measure or measure), _lies(earlier_class, earlier, measure)
    gap = plus((1, late), (-1, soon))
    missing = plus((1, {-1: 2}), (-1, total(later_class.placed(later))), (-1, total(earlier_class.placed(earlier))))
    cost: Expression = {}
    if most is not None:
        # A lesson that is not placed lies at 0: then the later one seems to lie no more than this too far.
        far = max(0, max(late.values(), default=0) - most)
        cost |= rows.keep(plus((1, gap), (-far, missing)), None, most, weight)
    if least is not None:
        far = least + max(soon.values(), default=0)
        cost |= rows.keep(plus((1, gap), (far, missing)), least, None, weight)
    return cost


def class_wishes(facts: Facts, each: ClassRows) -> Expression:
    """What windows of prerequisites, time to feedback and dates of the class cost where they are wishes."""
    cost: Expression = {}

    def school_day(each: ClassRows, lesson: Lesson, start: int) -> int:
        return sum(day <= each.slots[start].day for day in facts.school_days)

    def ends(each: ClassRows, lesson: Lesson, start: int) -> int:
        return start + lesson.length - 1

    def begins(each: ClassRows, lesson: Lesson, start: int) -> int:
        return start

    def week(each: ClassRows, lesson: Lesson, start: int) -> int:
        return each.slots[start].week

    for later in each.group.lessons:
        for key, window in later.requires:
            if window.get("wish"):
                for unit, measures in (("days", (day_number, None)), ("slots", (ends, begins)), ("weeks", (week, None))):
                    limits = window.get(f"least_{unit}"), window.get(f"most_{unit}")
                    earlier = each.lessons[key]
                    cost |= apart(each.rows, each, earlier, each, later, measures[0], *limits, window["wish"], measures[1])
        for key in later.answers:
            numbers = each.lessons[key].marking
            if numbers is not None and numbers.get("wish"):
                limits = numbers["least"], numbers.get("most")
                cost |= apart(each.rows, each, each.lessons[key], each, later, school_day, *limits, numbers["wish"])
        if later.dates is not None and later.dates.get("wish"):
            for variable, start, _ in each.starts[later.key]:
                cost[variable] = later.dates["wish"] * date_units(later.dates, each.slots[start])
    return cost
