"""Rule 5: every objective that is explained is checked in the lesson, or with leave in the next; applied, as a wish."""

from __future__ import annotations

from typing import Any

from tests.outlines.made import lesson_data, outlined, part

BARE: Any = {"made_checks": "off", "stretch": "off"}
PARTS = [part("explain", 5, objectives=["p"]), part("explain", 5, objectives=["q"]), part("check", 2, objectives=["p"])]


def test_each_objective_needs_a_check_of_its_own_or_one_is_made_for_all() -> None:
    assert not outlined(lesson_data(PARTS, rules=BARE)).outlines
    both = [*PARTS[:2], part("check", 2, objectives=["p", "q"])]
    assert outlined(lesson_data(both, rules=BARE)).values[1] == 0
    assert outlined(lesson_data(PARTS, rules={"stretch": "off"})).values[1] == 1
    assert outlined(lesson_data(PARTS[:2], rules={"stretch": "off"})).values[1] == 1
    assert outlined(lesson_data(PARTS, rules={**BARE, "whole_objectives": "off"})).outlines


def test_what_is_not_applied_costs_a_wish_and_an_apply_part_is_no_check() -> None:
    assert outlined(lesson_data(PARTS[:2], rules={"stretch": "off"})).values[2] == 2
    rules: Any = {"stretch": "off", "whole_objectives": {"applied": 4}}
    found = outlined(lesson_data([*PARTS[:2], part("apply", 5, objectives=["p"])], rules=rules))
    assert (found.values[1], found.values[2]) == (1, 4)
    assert outlined(lesson_data(PARTS[:2], rules={"stretch": "off", "whole_objectives": {"applied": "off"}})).values[2] == 0


def test_as_a_wish_each_objective_costs_its_weight() -> None:
    rules = {**BARE, "whole_objectives": {"wish": 5, "applied": "off"}}
    assert outlined(lesson_data(PARTS, rules=rules)).values[2] == 5
    assert outlined(lesson_data(PARTS[:2], rules=rules)).values[2] == 10


def test_with_leave_the_next_lesson_checks_it() -> None:
    rules = {**BARE, "whole_objectives": {"carry_over": True, "applied": "off"}}
    first = PARTS[:1]
    assert outlined(lesson_data(first, rules=rules, then=[part("check", 2, objectives=["p"])])).values[3] == 1
    assert not outlined(lesson_data(first, rules=rules, then=[part("check", 2, objectives=["q"])])).outlines
    assert not outlined(lesson_data(first, rules=rules)).outlines
    kept = outlined(
        lesson_data([*first, part("check", 2, objectives=["p"])], rules=rules, then=[part("check", 2, objectives=["p"])])
    )
    assert kept.values[3] == 0


def test_a_made_check_of_the_next_lesson_is_on_what_was_left_to_it() -> None:
    """5 minutes are full with the explain part; the next lesson has two over for a made check."""
    rules = {"stretch": "off", "whole_objectives": {"carry_over": True, "applied": "off"}}
    data = lesson_data([part("explain", 5, objectives=["p"])], rules=rules, then=[part("other", 3)], lesson_minutes=5)
    found = outlined(data)
    assert found.values[1] == 1 and found.values[3] == 1
    assert [len(each) for each in found.outlines] == [1, 2]


def test_an_objective_that_a_version_leaves_unexplained_is_carried_over() -> None:
    parts = [part("explain", 5, objectives=["p"], versions={"set work": "off"}), part("explain", 5, objectives=["q"])]
    assert outlined(lesson_data(parts, rules={"stretch": "off"})).values[3] == 0
    assert outlined(lesson_data(parts, rules={"stretch": "off"}, taught="set work")).values[3] == 1


def test_a_check_that_a_version_leaves_out_checks_nothing() -> None:
    parts = [PARTS[0], part("check", 2, objectives=["p"], versions={"live": "off"})]
    assert outlined(lesson_data(parts, rules=BARE, taught="set work")).outlines
    assert not outlined(lesson_data(parts, rules=BARE, taught="live")).outlines
