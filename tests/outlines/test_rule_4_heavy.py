"""Rule 4: a heavy explain or model part is followed by a check or apply part on it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.outlines.made import lesson_data, outlined, part

BARE: Any = {"made_checks": "off", "whole_objectives": "off", "stretch": "off"}
CARRY = {**BARE, "heavy_applied": {"carry_over": True}}


def _heavy(**more: Any) -> Any:
    return part("explain", 5, "heavy", load=4, objectives=["p"], id="h", **more)


def test_what_is_heavy_is_applied_before_anything_else_comes() -> None:
    apply = part("apply", 5, id="a", objectives=["p"])
    assert outlined(lesson_data([_heavy(), apply], rules=BARE)).outlines
    between = [_heavy(), part("other", 2, id="o", after="h"), {**apply, "after": ["o"]}]
    assert not outlined(lesson_data(between, rules=BARE)).outlines
    assert outlined(lesson_data([{**between[0], "load": 3}, *between[1:]], rules=BARE)).outlines
    assert outlined(lesson_data(between, rules={**BARE, "heavy_applied": "off"})).outlines
    assert outlined(lesson_data(between, rules={**BARE, "heavy_applied": {"wish": 3}})).values[2] == 3


def test_only_explain_and_model_parts_that_share_an_objective_may_come_between() -> None:
    apply = part("apply", 5, objectives=["p"], after=["m"])
    assert outlined(lesson_data([_heavy(), part("model", 4, id="m", objectives=["p", "q"]), apply], rules=BARE)).outlines
    assert not outlined(lesson_data([_heavy(), part("model", 4, id="m", objectives=["q"]), apply], rules=BARE)).outlines
    assert not outlined(lesson_data([_heavy(), part("apply", 4, objectives=["q"])], rules=BARE)).outlines


def test_a_made_check_serves_and_so_does_a_closing_check() -> None:
    assert outlined(lesson_data([_heavy()])).values[1] == 1
    closing = {"closing": [part("check", 2), part("review", 2)]}
    assert outlined(lesson_data([_heavy()], closing, BARE)).outlines
    assert not outlined(
        lesson_data([_heavy()], {"closing": [part("review", 2), part("check", 2)]}, {**BARE, "order_of_parts": "off"})
    ).outlines


def test_it_is_carried_over_with_leave_where_the_next_lesson_takes_it_straight_after_its_opening() -> None:
    usual = {"opening": [part("settle", 2)], "closing": [part("review", 2)]}
    takes = [part("apply", 4, objectives=["p"], id="x"), part("other", 4, after="x")]
    found = outlined(lesson_data([_heavy()], usual, CARRY, then=takes))
    assert found.outlines and found.values[3] == 1
    assert not outlined(lesson_data([_heavy()], usual, BARE, then=takes)).outlines  # without leave
    assert not outlined(lesson_data([_heavy()], usual, CARRY)).outlines  # without a next lesson
    late = [part("other", 4, id="o"), part("apply", 4, objectives=["p"], after="o")]
    assert not outlined(lesson_data([_heavy()], usual, CARRY, then=late)).outlines
    assert not outlined(lesson_data([_heavy()], usual, CARRY, then=[part("apply", 4, objectives=["q"])])).outlines


@pytest.mark.parametrize(("taught", "kept"), [("in class", True), ("live", False), ("set work", True)])
def test_what_a_version_leaves_out_follows_nothing_and_is_not_heavy(taught: str, kept: bool) -> None:
    """Live the apply part is not there; as set work neither is what is heavy."""
    apply = part("apply", 5, objectives=["p"], versions={"live": "off"})
    assert bool(outlined(lesson_data([_heavy(versions={"set work": "off"}), apply], rules=BARE, taught=taught)).outlines) == kept
