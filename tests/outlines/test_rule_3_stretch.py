"""Rule 3: no stretch of explain and model parts has more than m minutes, 10 unless stated."""

from __future__ import annotations

import pytest

from tests.outlines.made import lesson_data, outlined, part


def test_ten_minutes_are_one_stretch_and_eleven_need_a_check_between() -> None:
    end = [part("check", 1)]
    assert outlined(lesson_data([part("explain", 5), part("model", 5), *end])).values[1] == 0
    assert outlined(lesson_data([part("explain", 5), part("model", 6), *end])).values[1] == 1
    assert outlined(lesson_data([part("explain", 10), *end])).outlines
    assert not outlined(lesson_data([part("explain", 11), *end])).outlines


def test_check_apply_and_recall_end_a_stretch_and_other_parts_do_not() -> None:
    rules = {"made_checks": "off", "whole_objectives": "off", "stretch": 6}
    for kind, ends in (("check", True), ("apply", True), ("recall", True), ("other", False), ("settle", False)):
        between = [part("explain", 5, id="a"), part(kind, 1, id="b", after="a"), part("explain", 5, after="b"), part("apply", 1)]
        assert bool(outlined(lesson_data(between, rules=rules)).outlines) == ends
    alone = [part("explain", 5, id="a"), part("other", 1, id="b", after="a"), part("explain", 5, after="b")]
    assert not outlined(lesson_data(alone, rules=rules)).outlines


def test_a_stretch_runs_on_from_the_opening_to_the_closing() -> None:
    usual = {"opening": [part("explain", 4)], "closing": [part("explain", 4)]}
    rules = {"made_checks": "off", "whole_objectives": "off"}
    assert outlined(lesson_data([part("model", 2)], usual, {**rules, "stretch": 10})).values[-1] == 10
    assert not outlined(lesson_data([part("model", 2)], usual, {**rules, "stretch": 9})).outlines


def test_as_a_wish_each_minute_too_many_of_each_stretch_costs_its_weight() -> None:
    """11 and 12 minutes with a check between, at most 10: 3 minutes too many, at a weight of 2."""
    rules = {"stretch": {"most": 10, "wish": 2}, "whole_objectives": {"applied": "off"}, "made_checks": "off"}
    parts = [part("explain", 11, id="a"), part("check", 1, id="c", after="a"), part("model", 12, after="c"), part("check", 1)]
    assert outlined(lesson_data(parts, rules=rules)).values[2] == 6


def test_the_narrowest_number_holds_and_off_lets_any_stretch() -> None:
    data = lesson_data([part("explain", 15), part("check", 1)], rules={"stretch": 10}, outline_rules={"stretch": 15})
    assert outlined(data).outlines
    assert outlined(lesson_data([part("explain", 40), part("check", 1)], rules={"stretch": "off"})).outlines


@pytest.mark.parametrize(("taught", "made"), [("in class", 0), ("live", 1), ("set work", 0)])
def test_minutes_of_the_version_count(taught: str, made: int) -> None:
    """11 minutes live are one too many; as set work the second part is not there."""
    parts = [part("explain", 5), part("model", 5, versions={"live": {"minutes": 6}, "set work": "off"}), part("check", 1)]
    assert outlined(lesson_data(parts, taught=taught)).values[1] == made
