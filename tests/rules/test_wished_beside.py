"""Hard and wished numbers side by side, for the weekly shape and the cap on high-load lessons (rules 9 and 2)."""

from __future__ import annotations

import pytest

from sequencer import UnusableInput, load_scenario, scenario_from_data
from tests.builders import Data, a_class, impossible, scenario, solved, teach
from tests.builders import aims as aims_of
from tests.rules.helpers import EVERY_DAY, broken, forbidden, hard, row, wish_cost

LESSONS = [teach(id, load=1) for id in "abcd"]
PLACES = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "1 Wed 1", "d": "2 Mon 1"}


def week(numbers: object, lessons: list[Data] = LESSONS, **more: object) -> Data:
    return scenario(lessons, per_week=EVERY_DAY, rules={"week": numbers}, **more)


def test_a_week_may_hold_what_is_wished_away_but_not_more_than_may_be() -> None:
    data = week({"most_lessons": 3, "wished": {"most_lessons": 1, "weight": 5}})
    # Three lessons in week 1, two more than wished: 2 units of weight 5.
    assert wish_cost(data, **PLACES) == 10
    forbidden(data, 9, "a b c d", **{**PLACES, "d": "1 Thu 1"})


def test_the_weight_is_one_unless_stated() -> None:
    assert wish_cost(week({"most_lessons": 3, "wished": {"most_lessons": 1}}), **PLACES) == 2


def test_least_and_load_can_be_wished_beside() -> None:
    # Week 2 has one lesson of load 1: one lesson short, and 2 of load short.
    data = week({"least_lessons": 1, "wished": {"least_lessons": 2, "least_load": 3, "weight": 1}})
    assert wish_cost(data, **PLACES) == 3


def test_what_is_wished_stands_without_hard_numbers() -> None:
    assert wish_cost(week({"wished": {"most_lessons": 2, "weight": 4}}), **PLACES) == 4


def test_the_narrowest_wins_on_each_side_by_itself() -> None:
    data = week({"most_lessons": 3, "wished": {"most_lessons": 1, "weight": 5}})
    group = data["classes"][0]
    group["rules"] = {"week": {"wished": {"most_lessons": 2}}}  # the weight and the hard number are the scenario's
    assert wish_cost(data, **PLACES) == 5
    assert broken(data, **{**PLACES, "d": "1 Thu 1"}) == [(9, ["u/a", "u/b", "u/c", "u/d"])]
    group["rules"] = {"week": {"wished": "off"}}
    assert wish_cost(data, **PLACES) == 0
    assert broken(data, **{**PLACES, "d": "1 Thu 1"})
    group["rules"] = {"week": {"most_lessons": 4}}
    assert wish_cost(data, **{**PLACES, "d": "1 Thu 1"}) == 15
    group["rules"] = {"week": "off"}
    assert wish_cost(data, **{**PLACES, "d": "1 Thu 1"}) == 0


def test_a_wish_may_have_another_beside_it() -> None:
    data = week({"most_lessons": 2, "wish": 3, "wished": {"most_lessons": 1, "weight": 1}})
    assert wish_cost(data, **PLACES) == 3 + 2


def test_the_least_wished_is_cut_to_the_periods_there() -> None:
    data = scenario(LESSONS[:2], per_week="Mon 1", rules={"week": {"wished": {"least_lessons": 3}}})
    assert wish_cost(data, a="1 Mon 1", b="2 Mon 1") == 0


HARD = [hard(id) for id in "abcd"]


def runs(numbers: object, of_lesson: object = None) -> Data:
    own = {"rules": {"consecutive_high_load": of_lesson}} if of_lesson else {}
    lessons = [{**HARD[0], **own}, *HARD[1:]]
    return scenario(lessons, per_week=EVERY_DAY, rules={"consecutive_high_load": numbers})


def test_a_run_may_be_as_long_as_the_cap_and_costs_beyond_the_wish() -> None:
    places = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "1 Thu 1", "d": "1 Fri 1"}
    for numbers in ({"most": 2, "wished": {"most": 1, "weight": 3}}, {"wished": {"most": 1, "weight": 3}}):
        assert wish_cost(runs(numbers), **places) == 6
        forbidden(runs(numbers), 2, "a b c", **{**places, "c": "1 Wed 1"})
    assert wish_cost(runs({"most": 2, "wished": 1}), **places) == 2


def test_a_lessons_own_wish_counts_where_it_stands_in_the_run() -> None:
    places = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "1 Thu 1", "d": "1 Fri 1"}
    assert wish_cost(runs({"most": 2}, {"wished": {"most": 1, "weight": 7}}), **places) == 7
    assert wish_cost(runs({"most": 2, "wished": {"most": 1, "weight": 7}}, {"wished": "off"}), **places) == 7 + 7
    assert wish_cost(runs({"most": 2, "wished": {"most": 1, "weight": 7}}, "off"), **places) == 7


def test_the_solver_spreads_where_it_can() -> None:
    data = week({"most_lessons": 3, "wished": {"most_lessons": 2}})
    assert aims_of(solved({**data, "aims": ["wishes"]})) == {"wishes": 0}
    five = week({"most_lessons": 3, "wished": {"most_lessons": 2}}, [*LESSONS, teach("e", load=1)])
    assert aims_of(solved({**five, "aims": ["wishes"]})) == {"wishes": 1}
    impossible(week({"most_lessons": 3, "wished": {"most_lessons": 2}}, [teach(f"l{n}", load=1) for n in range(7)]))


def test_what_is_not_narrower_is_refused() -> None:
    for rules in (
        {"week": {"most_lessons": 3, "wished": {"most_lessons": 3}}},
        {"week": {"least_load": 3, "wished": {"least_load": 2}}},
        {"consecutive_high_load": {"most": 2, "wished": 2}},
    ):
        with pytest.raises(UnusableInput, match=r"must be (more|less) than"):
            scenario_from_data(scenario(LESSONS, rules=rules))
    with pytest.raises(UnusableInput, match="must not be greater than"):
        scenario_from_data(week({"wished": {"least_lessons": 3, "most_lessons": 2}}))


def test_in_yaml_with_the_short_form() -> None:
    text = """
format: 1
term: {first: 2026-11-02, last: 2026-11-13}
rules: {week: {most_lessons: 4, wished: {most_lessons: 3, weight: 2}}, consecutive_high_load: {most: 2, wished: 1}}
units: [{id: u, lessons: [{id: a}]}]
classes: [{id: 9B, units: u, timetable: {Mon: 1}}]
"""
    rules = load_scenario(text).rules
    assert rules.week is not None
    assert rules.week.wished is not None
    assert (rules.week.most_lessons, rules.week.wished.most_lessons, rules.week.wished.weight) == (4, 3, 2)
    assert rules.consecutive_high_load is not None
    assert rules.consecutive_high_load.wished is not None
    assert rules.consecutive_high_load.wished.most == 1


def test_of_several_classes_each_has_its_own() -> None:
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY, rules={"week": {"wished": {"most_lessons": 1}}})]
    data = scenario(classes=classes, units=[{"id": "u", "lessons": LESSONS[:2]}], rules={"week": {"most_lessons": 3}})
    rows = [(lesson, place, of) for of in ("9B", "9C") for lesson, place in (("a", "1 Mon 1"), ("b", "1 Tue 1"))]
    assert wish_cost(data, *(row(*each) for each in rows)) == 1
