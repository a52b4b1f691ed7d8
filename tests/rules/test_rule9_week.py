"""Rule 9, weekly shape: least and most lessons, and least and most load, per class and school week."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import QUIET, Data, a_class, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import judged, pinned, placed, row

THREE_DAYS = "Mon 1, Tue 1, Wed 1"


def week(**numbers: Any) -> Data:
    return {"week": numbers}


def lessons(count: int, **more: Any) -> list[Data]:
    return [teach(f"l{number}", **more) for number in range(count)]


def per_week(data: Data) -> list[int]:
    """How many lessons lie in each calendar week of the best sequence."""
    weeks = [int(place[0]) for place in placed(solved(data)).values()]
    return [weeks.count(number) for number in range(1, max(weeks) + 1)]


def in_weeks(data: Data, *counts: int) -> tuple[bool, list[int]]:
    """Whether so many lessons in week 1, 2, … are possible, and which rules the referee finds broken."""
    weekdays = ("Mon", "Tue", "Wed")
    places = [f"{number + 1} {weekdays[slot]} 1" for number, count in enumerate(counts) for slot in range(count)]
    rows = [row(f"l{number}", place) for number, place in enumerate(places)]
    breaches = judged(data, *rows)["breaches"]
    if breaches:
        impossible(pinned(data, rows))
    else:
        solved(pinned(data, rows))
    return not breaches, [breach["rule"] for breach in breaches]


# -- lessons -----------------------------------------------------------------------------------------------------------


def test_at_least_n_lessons_a_week() -> None:
    # Two weeks of three periods. Four lessons, at least 2 a week: two and two. Three lessons: impossible.
    data = scenario(lessons(4), per_week=THREE_DAYS, rules=week(least_lessons=2))
    assert per_week(data) == [2, 2]
    assert in_weeks(data, 2, 2) == (True, [])
    assert in_weeks(data, 3, 1) == (False, [9])  # the last week
    assert in_weeks(data, 1, 3) == (False, [9])  # the first week
    impossible(scenario(lessons(3), per_week=THREE_DAYS, rules=week(least_lessons=2)))


def test_at_most_n_lessons_a_week() -> None:
    data = scenario(lessons(4), per_week=THREE_DAYS, rules=week(most_lessons=2))
    assert in_weeks(data, 2, 2) == (True, [])
    assert in_weeks(data, 3, 1) == (False, [9])
    assert in_weeks(data, 1, 3) == (False, [9])
    impossible(scenario(lessons(5), per_week=THREE_DAYS, rules=week(most_lessons=2)))


def test_no_lessons_at_all() -> None:
    impossible(scenario(lessons(1), per_week=THREE_DAYS, rules=week(most_lessons=0)))
    optional = scenario(lessons(1, optional=True), per_week=THREE_DAYS, rules=week(most_lessons=0))
    assert placed(solved(optional)) == {}
    # Left out, they do not count either.
    impossible(scenario(lessons(2, optional=True), weeks=1, per_week=THREE_DAYS, rules=week(least_lessons=3)))


def test_a_double_counts_once() -> None:
    doubles = [assessment(f"l{number}", length=2) for number in range(2)]
    base = {"weeks": 1, "per_week": "Mon 1-2, Tue 1-2"}
    solved(scenario(doubles, **base, rules=week(least_lessons=2, most_lessons=2)))
    impossible(scenario(doubles, **base, rules=week(most_lessons=1)))
    impossible(scenario(doubles, **base, rules=week(least_lessons=3)))  # four periods could hold three: not cut


def test_the_weekend_belongs_to_the_week_before() -> None:
    # Sat and Mon: Saturday the 7th is in week 1, Monday the 9th in week 2.
    data = scenario(lessons(2), per_week="Mon 1, Sat 1", rules=week(most_lessons=1))
    rows = [row("l0", "1 Sat 1"), row("l1", "2 Mon 1")]
    assert judged(data, *rows)["sound"]
    solved(pinned(data, rows))
    together = [row("l0", "1 Mon 1"), row("l1", "1 Sat 1")]
    assert [breach["rule"] for breach in judged(data, *together)["breaches"]] == [9]
    impossible(pinned(data, together))


def test_a_week_that_no_lesson_can_lie_in() -> None:
    # The only lesson is pinned to week 1; week 2 asks for one lesson, or a load of 1.
    pinned_lesson = [teach("l0", on=day(1, "Mon"))]
    for numbers in (week(least_lessons=1), week(least_load=1)):
        impossible(scenario(pinned_lesson, per_week=THREE_DAYS, rules=numbers))


# -- short weeks -------------------------------------------------------------------------------------------------------


def test_cut_to_the_periods_of_a_short_week_and_reported() -> None:
    # Week 2 has Monday alone: at least 2 are cut to 1 there. Three lessons: two and one.
    closed = [{"name": "storm", "first": day(2, "Tue"), "last": day(2, "Fri")}]
    data = scenario(lessons(3), per_week=THREE_DAYS, closures=closed, rules=week(least_lessons=2))
    assert per_week(data) == [2, 1]
    (note,) = answer_json(solved(data))["notes"]
    assert all(word in note for word in ("9B", "week 2", "2", "1")), note
    impossible(data | {"strict": True})
    # Nothing is cut where the periods are enough.
    full = scenario(lessons(4), per_week=THREE_DAYS, rules=week(least_lessons=2), strict=True)
    assert answer_json(solved(full))["notes"] == []


@pytest.mark.parametrize("away", ["closures", "holidays"])
def test_a_week_without_a_period_asks_for_nothing(away: str) -> None:
    # Week 2 is closed, or holiday: even strictly, at least 1 lesson a week is a matter of weeks 1 and 3.
    off = [{"name": "away", "first": day(2, "Mon"), "last": day(2, "Sun")}]
    data = scenario(lessons(2), weeks=3, per_week=THREE_DAYS, rules=week(least_lessons=1), strict=True, **{away: off})
    assert per_week(data) == [1, 0, 1]
    assert answer_json(solved(data))["notes"] == []


# -- load --------------------------------------------------------------------------------------------------------------


def test_at_most_so_much_load() -> None:
    # Loads 3, 3, 2, 2 over two weeks of three periods, at most 5 a week: 3 + 2 and 3 + 2.
    four = [teach("l0", load=3), teach("l1", load=2), teach("l2", load=3), teach("l3", load=2)]
    data = scenario(four, per_week=THREE_DAYS, rules=week(most_load=5))
    assert in_weeks(data, 2, 2) == (True, [])
    loads = (3, 3, 2, 2)  # 6 in week 1
    uneven = [teach(f"l{number}", load=load) for number, load in enumerate(loads)]
    assert in_weeks(scenario(uneven, per_week=THREE_DAYS, rules=week(most_load=5)), 2, 2) == (False, [9])
    impossible(scenario(four, per_week=THREE_DAYS, rules=week(most_load=4)))  # 10 in two weeks


def test_load_edges() -> None:
    three = [teach("l0", load=2), teach("l1", load=3), teach("l2", load=1)]
    # Week 1 holds 2 + 3 = 5, week 2 holds 1.
    for numbers, fits in (
        (week(most_load=5), True),
        (week(most_load=4), False),
        (week(least_load=1), True),
        (week(least_load=2), False),
    ):
        expected = (True, []) if fits else (False, [9])
        assert in_weeks(scenario(three, per_week=THREE_DAYS, rules=numbers), 2, 1) == expected, numbers


def test_least_load_is_not_cut() -> None:
    # One period a week, greatest load 5: at least 6 is impossible, short week or not.
    heavy = [teach("l0", load=5)]
    base = {"weeks": 1, "per_week": "Mon 1"}
    impossible(scenario(heavy, **base, rules={**QUIET, **week(least_load=6)}))
    solved(scenario(heavy, **base, rules={**QUIET, **week(least_load=5)}))


def test_the_load_of_a_double_counts_once() -> None:
    double = [assessment("l0", length=2, load=3)]
    base = {"weeks": 1, "per_week": "Mon 1-2"}
    solved(scenario(double, **base, rules=week(most_load=3, least_load=3)))
    impossible(scenario(double, **base, rules=week(least_load=4)))


# -- classes -----------------------------------------------------------------------------------------------------------


def test_classes_are_counted_apart() -> None:
    # One lesson each in the one week: two lessons, but one per class.
    classes = [a_class("9B"), a_class("9C")]
    solved(scenario(lessons(1), weeks=1, classes=classes, rules=week(most_lessons=1)))
    impossible(scenario(lessons(1), weeks=1, classes=classes, rules=week(least_lessons=2)))
