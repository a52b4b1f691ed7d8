"""Rule 7: pupils answer or work for a share of the minutes placed."""

from __future__ import annotations

import pytest

from sequencer.outlines.laid_outline import LaidOutline, LessonOutline, PlacedPart
from sequencer.outlines.part_rules import breaches
from tests.outlines.made import inside_of, lesson_data, outlined, part


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


def test_a_check_is_made_for_rules_3_to_5_and_never_for_the_share_alone() -> None:
    """Explain 10 and the check of 5 listed: 5 of 15 minutes are a third; no check of 2 is made to come to 45 per cent."""
    parts = [part("explain", 10), part("check", 5)]
    assert outlined(lesson_data(parts, rules={"share": 33})).values[1] == 0
    assert not outlined(lesson_data(parts, rules={"share": 45})).outlines


def test_a_check_that_ends_a_stretch_counts_in_the_share() -> None:
    """Explain 6 twice is more than 10: the check made between makes 7 of 19 minutes, which is more than 36 per cent."""
    parts = [part("explain", 6), part("explain", 6, id="last"), part("check", 5, after="last")]
    assert outlined(lesson_data(parts, rules={"share": 36})).values[1] == 1
    assert not outlined(lesson_data(parts, rules={"share": 36, "stretch": 12})).outlines


def test_a_check_that_follows_a_heavy_part_counts_in_the_share() -> None:
    """A recall part stands between; as other than heavy the part wants no check but the one listed."""
    parts = [part("explain", 6, load=5), part("recall", 4, id="r"), part("check", 5, after="r")]
    assert outlined(lesson_data(parts, rules={"share": 62})).values[1] == 1
    parts[0]["load"] = 3
    assert not outlined(lesson_data(parts, rules={"share": 62})).outlines


def test_a_made_check_that_no_rule_wants_is_told_of_an_outline_made_by_hand() -> None:
    (inside,) = inside_of(lesson_data([part("explain", 6), part("check", 5)]))
    made = LaidOutline(inside, LessonOutline((PlacedPart(0, 6), PlacedPart(None, 2), PlacedPart(1, 5))))
    (broken,) = breaches(made)
    assert "no rule wants the check made at minute 6" in broken.message
