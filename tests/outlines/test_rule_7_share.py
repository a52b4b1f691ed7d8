"""Rule 7: pupils answer or work for a share of the minutes placed."""

from __future__ import annotations

import pytest

from tests.outlines.made import lesson_data, outlined, part


def test_half_of_the_minutes_is_half_and_a_minute_less_is_not() -> None:
    rules = {"whole_objectives": "off", "made_checks": "off", "share": 50}
    assert outlined(lesson_data([part("recall", 4), part("apply", 6), part("other", 10)], rules=rules)).outlines
    assert not outlined(lesson_data([part("recall", 4), part("apply", 5), part("other", 10)], rules=rules)).outlines


def test_minutes_of_other_parts_give_way_to_it() -> None:
    parts = [part("apply", 6), part("other", {"least": 4, "most": 10})]
    assert outlined(lesson_data(parts, rules={"share": 60})).values[5] == 2 * 6


def test_as_a_wish_each_begun_minute_short_costs_its_weight() -> None:
    """30 per cent of 21 minutes are 6.3: with 4 that is 2.3 short, 3 begun minutes at a weight of 2."""
    rules = {"share": {"least": 30, "wish": 2}}
    assert outlined(lesson_data([part("apply", 4), part("other", 17)], rules=rules)).values[2] == 6


def test_it_is_off_unless_stated() -> None:
    assert outlined(lesson_data([part("other", 30)])).outlines


@pytest.mark.parametrize(("taught", "kept"), [("in class", True), ("live", False), ("set work", True)])
def test_minutes_of_the_version_are_what_is_shared(taught: str, kept: bool) -> None:
    """10 of 20 minutes are half; 9 of 19 live are less; as set work there is nothing else."""
    parts = [part("apply", 10, versions={"live": {"minutes": 9}}), part("other", 10, versions={"set work": "off"})]
    assert bool(outlined(lesson_data(parts, rules={"share": 50}, taught=taught)).outlines) == kept
