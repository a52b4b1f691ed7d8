"""Rule 11, in step: the same lesson of one unit in parallel classes lies within so many days."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import Data, a_class, aims, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, pinned, row

NAMES = ("9B", "9C", "9D")


def parallel(
    lessons: list[Data] | None = None, classes: int = 2, per_week: str = EVERY_DAY, days: Any = None, **more: Any
) -> Data:
    """Parallel classes of one unit; `days` is the scenario's number."""
    groups = [a_class(name, per_week) for name in NAMES[:classes]]
    rules = {"rules": {"in_step": days}} if days is not None else {}
    return scenario(lessons or [teach("a")], classes=groups, **rules, **more)


def places(lesson: str, *each: str) -> list[Data]:
    """The lesson's place in each class in turn; none for ``-``."""
    return [row(lesson, place, of=name) for name, place in zip(NAMES, each, strict=False) if place != "-"]


# -- two classes -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "one", "just_allowed", "just_forbidden"),
    [
        (0, "1 Mon 1", "1 Mon 1", "1 Tue 1"),  # the first period of term
        (1, "1 Mon 1", "1 Tue 1", "1 Wed 1"),
        (3, "1 Fri 1", "2 Mon 1", "2 Tue 1"),  # days of the weekend count
        (10, "1 Tue 1", "2 Fri 1", "-"),
        (2, "2 Fri 1", "2 Wed 1", "2 Tue 1"),  # the last period of term
    ],
)
def test_dates_differ_by_at_most_n_days(days: int, one: str, just_allowed: str, just_forbidden: str) -> None:
    data = parallel(days=days)
    allowed(data, *places("a", one, just_allowed))
    allowed(data, *places("a", just_allowed, one))  # whichever class is first
    if just_forbidden != "-":
        forbidden(data, 11, "a a", *places("a", one, just_forbidden))
        forbidden(data, 11, "a a", *places("a", just_forbidden, one))


def test_off_unless_stated() -> None:
    allowed(parallel(), *places("a", "1 Mon 1", "2 Fri 1"))


def test_the_same_date_in_other_periods() -> None:
    # Dates count, not periods: first and last of the day.
    allowed(parallel(per_week="Mon 1-5", days=0), *places("a", "1 Mon 1", "1 Mon 5"))


def test_the_solver_keeps_classes_in_step() -> None:
    # 9B has Mondays, 9C Thursdays: 3 days apart, or 4 from Thursday to Monday.
    for days, possible in ((2, False), (3, True)):
        data = parallel(days=days)
        data["classes"] = [a_class("9B", "Mon 1"), a_class("9C", "Thu 1")]
        if possible:
            on = {lesson["class"]: lesson["date"] for lesson in answer_json(solved(data))["lessons"]}
            assert (on["9B"], on["9C"]) in {(day(week, "Mon"), day(week, "Thu")) for week in (1, 2)}
        else:
            impossible(data)


def test_a_closure_or_holiday_between() -> None:
    # 9C loses its Tuesday and Wednesday of week 1; days of the closure count as any others.
    for away in ("closures", "holidays"):
        off = {away: [{"name": "away", "first": day(1, "Tue"), "last": day(1, "Wed")}]}
        allowed(parallel(days=3, **off), *places("a", "1 Mon 1", "1 Thu 1"))
        forbidden(parallel(days=2, **off), 11, "a a", *places("a", "1 Mon 1", "1 Thu 1"))
    only_9c = {"closures": [{"name": "trip", "classes": "9C", "first": day(1, "Mon"), "last": day(1, "Sun")}]}
    # 9B on the Friday of week 1, 9C shut out until Monday.
    data = parallel(days=2, **only_9c)
    data["classes"][0]["lessons"] = {"a": {"not_after": day(1, "Fri")}}
    impossible(data)
    data["rules"] = {"in_step": 3}
    allowed(data, *places("a", "1 Fri 1", "2 Mon 1"))


def test_a_double_counts_by_its_first_period() -> None:
    double = [assessment("a", length=2)]
    data = parallel(double, per_week="Mon 1-2, Tue 1-2, Wed 1-2", days=1)
    allowed(data, *places("a", "1 Mon 1", "1 Tue 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Wed 1"))


def test_each_lesson_by_itself() -> None:
    # a is in step, b is 4 days apart.
    data = parallel([teach("a"), teach("b")], days=1)
    together = places("a", "1 Mon 1", "1 Tue 1")
    forbidden(data, 11, "b b", *together, *places("b", "2 Mon 1", "2 Fri 1"))
    allowed(data, *together, *places("b", "2 Thu 1", "2 Fri 1"))


def test_lessons_of_other_units_are_not_parallel() -> None:
    units = [{"id": name, "lessons": [teach("a")]} for name in "uv"]
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY, units="v")]
    data = scenario(units=units, classes=classes, rules={"in_step": 0})
    allowed(data, row("u/a", "1 Mon 1"), row("v/a", "2 Fri 1", of="9C"))


# -- left out ----------------------------------------------------------------------------------------------------------


def test_a_lesson_left_out_is_not_counted() -> None:
    # Not placed for one of the classes: nothing to be in step with.
    data = parallel([teach("a", optional=True)], days=0)
    data["classes"][1]["lessons"] = {"a": {"on": day(1, "Sun")}}
    allowed(data, *places("a", "2 Fri 1", "-"))
    # Two that cannot lie on one date: one of them is left out.
    data["classes"] = [a_class("9B", "Mon 1"), a_class("9C", "Tue 1")]
    assert len(answer_json(solved(data))["lessons"]) == 1


def test_over_the_classes_where_it_is_placed() -> None:
    # 9C would lie between; left out, it leaves 9B and 9D four days apart.
    outer = places("a", "1 Mon 1", "-", "1 Fri 1")
    for days, left_out in ((4, 1), (3, 2)):
        data = parallel([teach("a", optional=True)], classes=3, days=days, aims=["left out"])
        data["classes"][1]["lessons"] = {"a": {"on": day(1, "Sun")}}
        assert aims(solved(pinned(data, outer))) == {"left out": left_out}
        assert broken(data, *outer) == ([] if days == 4 else [(11, ["u/a", "u/a"])])


# -- three classes -----------------------------------------------------------------------------------------------------


def test_latest_less_earliest_of_three_classes() -> None:
    # Monday, Tuesday, Wednesday: neighbours are a day apart, the first and the last two.
    for order in (("Mon", "Tue", "Wed"), ("Wed", "Mon", "Tue"), ("Tue", "Wed", "Mon")):
        each = places("a", *(f"1 {weekday} 1" for weekday in order))
        allowed(parallel(classes=3, days=2), *each)
        forbidden(parallel(classes=3, days=1), 11, "a a", *each)


# -- which number holds ------------------------------------------------------------------------------------------------


def test_the_smaller_of_two_numbers() -> None:
    # The scenario's 4 days, but 9C's own 1: they bind each other within 1.
    data = parallel(days=4)
    data["classes"][1]["rules"] = {"in_step": 1}
    allowed(data, *places("a", "1 Mon 1", "1 Tue 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Wed 1"))
    # A larger number of one class does not free it from the other's.
    data["classes"][1]["rules"] = {"in_step": 9}
    allowed(data, *places("a", "1 Mon 1", "1 Fri 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "2 Mon 1"))


def test_two_numbers_among_three_classes() -> None:
    # 9D's 1 binds it to both others; 9B and 9C have 3.
    data = parallel(classes=3, days=3)
    data["classes"][2]["rules"] = {"in_step": 1}
    allowed(data, *places("a", "1 Mon 1", "1 Wed 1", "1 Tue 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Wed 1", "1 Wed 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Fri 1", "1 Thu 1"))


@pytest.mark.parametrize("level", ["class", "unit", "lesson", "entry"])
def test_the_narrowest_level_wins(level: str) -> None:
    # The scenario's 0 gives way to 2 of a narrower level; for one class alone, the other class must say so as well.
    data = parallel(days=0)
    numbers = {"rules": {"in_step": {"days": 2}}}
    if level in ("class", "entry"):
        for group in data["classes"]:
            group |= numbers if level == "class" else {"lessons": {"a": numbers}}
    else:
        (data["units"][0] if level == "unit" else data["units"][0]["lessons"][0]).update(numbers)
    allowed(data, *places("a", "1 Mon 1", "1 Wed 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Thu 1"))


def test_a_class_has_its_word_on_a_lesson_before_the_unit() -> None:
    data = parallel([teach("a", rules={"in_step": 4})], days=9)
    data["classes"][0]["rules"] = {"in_step": 0}  # the lesson's own 4 is narrower
    allowed(data, *places("a", "1 Mon 1", "1 Fri 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "2 Mon 1"))
    data["classes"][0]["lessons"] = {"a": {"rules": {"in_step": 1}}}
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Wed 1"))


# -- off ---------------------------------------------------------------------------------------------------------------


def test_off_for_a_lesson() -> None:
    lessons = [teach("a", rules={"in_step": "off"}), teach("b")]
    data = parallel(lessons, days=0)
    allowed(data, *places("a", "1 Mon 1", "2 Fri 1"), *places("b", "1 Wed 1", "1 Wed 1"))
    forbidden(data, 11, "b b", *places("a", "1 Mon 1", "2 Fri 1"), *places("b", "1 Wed 1", "1 Thu 1"))


def test_a_class_with_the_rule_off_is_not_counted() -> None:
    # 9D goes its own way; 9B and 9C stay in step.
    for off in ({"rules": {"in_step": "off"}}, {"lessons": {"a": {"rules": {"in_step": {"off": True}}}}}):
        data = parallel(classes=3, days=1)
        data["classes"][2] |= off
        allowed(data, *places("a", "1 Mon 1", "1 Tue 1", "2 Fri 1"))
        forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Wed 1", "1 Tue 1"))
    # The one in the middle: the outer two are bound all the same.
    middle = parallel(classes=3, days=1)
    middle["classes"][1]["rules"] = {"in_step": "off"}
    forbidden(middle, 11, "a a", *places("a", "1 Mon 1", "1 Tue 1", "1 Wed 1"))


def test_off_and_on_again() -> None:
    data = parallel([teach("a", rules={"in_step": {}})], days={"off": True, "days": 1})
    allowed(data, *places("a", "1 Mon 1", "1 Tue 1"))
    forbidden(data, 11, "a a", *places("a", "1 Mon 1", "1 Wed 1"))


def test_no_number_is_no_limit() -> None:
    assert broken(parallel(days={"off": False}), *places("a", "1 Mon 1", "2 Fri 1")) == []
    solved(parallel(days={}))
