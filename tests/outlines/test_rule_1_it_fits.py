"""Rule 1: the parts fit the lesson's minutes, each within its own least and most for how the lesson is taught."""

from __future__ import annotations

import pytest

from sequencer.outlines.laid_outline import LaidOutline, LessonOutline, PlacedPart
from sequencer.outlines.part_rules import breaches
from tests.outlines.made import inside_of, lesson_data, outlined, part

OTHERS = {"whole_objectives": "off"}


def _total(found: object) -> int:
    return sum(each.minutes for each in found.outlines[0])  # type: ignore[attr-defined]


def test_parts_that_take_just_what_there_is_fit_and_a_minute_less_is_too_little() -> None:
    parts = [part("other", 20), part("apply", 25)]
    assert outlined(lesson_data(parts, lesson_minutes=45)).outlines
    none = outlined(lesson_data(parts, lesson_minutes=44))
    assert not none.outlines and none.proven
    assert outlined(lesson_data(parts, rules={"minutes_fit": "off"}, lesson_minutes=44)).outlines


def test_change_over_and_margin_are_taken_off_once_and_bell_times_say_how_long_a_period_is() -> None:
    parts = [part("other", 30)]
    bells = [{"number": 1, "starts": "09:00", "ends": "09:40"}]
    assert outlined(lesson_data(parts, periods=bells, change_over=5, margin=5)).outlines
    assert not outlined(lesson_data(parts, periods=bells, change_over=6, margin=5)).outlines
    assert inside_of(lesson_data(parts, lesson_minutes=60, margin=3))[0].minutes == 57


def test_a_double_has_twice_the_minutes_less_one_change_over() -> None:
    data = lesson_data([part("other", 30)], lesson_minutes=50, change_over=4, length=2)
    data["classes"][0]["timetable"] = {"Mon": [1, 2]}
    assert inside_of(data)[0].minutes == 96


def test_apply_parts_keep_their_most_first_then_what_is_heavier() -> None:
    """40 minutes: 10 to 20 of apply at its most leave 20 for two others of 8 to 15, of which the heavier gets 12."""
    wide = {"least": 8, "most": 15}
    parts = [part("apply", {"least": 10, "most": 20}), part("other", wide, "light", load=1), part("other", wide, "heavy", load=3)]
    found = outlined(lesson_data(parts, lesson_minutes=40))
    assert {each.part: each.minutes for each in found.outlines[0]} == {0: 20, 1: 8, 2: 12}
    assert found.values[4:6] == (0, 7 * 1 + 3 * 3)


def test_what_may_be_left_out_is_left_out_by_priority_and_only_where_it_must() -> None:
    parts = [part("other", 30), part("other", 10, optional=True, priority=3), part("other", 10, optional=True)]
    assert outlined(lesson_data(parts, lesson_minutes=50)).values[0] == 0
    assert outlined(lesson_data(parts, lesson_minutes=49)).values[0] == 1
    assert outlined(lesson_data(parts, lesson_minutes=39)).values[0] == 4


@pytest.mark.parametrize(("taught", "minutes"), [("in class", 30), ("live", 20), ("set work", 10)])
def test_a_version_has_its_own_minutes_or_is_not_there_at_all(taught: str, minutes: int) -> None:
    versions = {"live": {"minutes": 10}, "set work": "off"}
    parts = [part("other", 20, versions=versions), part("other", 10)]
    assert _total(outlined(lesson_data(parts, taught=taught, lesson_minutes=minutes))) == minutes
    assert not outlined(lesson_data(parts, taught=taught, lesson_minutes=minutes - 1)).outlines


def test_a_part_that_may_be_cut_lies_in_pieces_with_checks_between() -> None:
    """12 minutes in pieces of at most 6, none over 6 at a stretch: two pieces, a made check between and one at the end."""
    found = outlined(lesson_data([part("explain", 12, split=6)], rules={"stretch": 6}, lesson_minutes=16))
    assert [(each.part, each.minutes) for each in found.outlines[0]] == [(0, 6), (None, 2), (0, 6), (None, 2)]
    assert not outlined(lesson_data([part("explain", 12, split=6)], rules={"stretch": 6}, lesson_minutes=15)).outlines
    assert not outlined(lesson_data([part("explain", 12)], rules={"stretch": 6}, lesson_minutes=20)).outlines


def test_the_referee_tells_each_part_that_is_missing_twice_there_too_long_or_in_too_long_pieces() -> None:
    parts = [part("other", 5, "a"), part("other", {"least": 3, "most": 4}, "b"), part("explain", 9, "c", split=5)]
    (inside,) = inside_of(lesson_data(parts, rules=OTHERS, lesson_minutes=20))
    laid = LaidOutline(inside, LessonOutline((PlacedPart(1, 5), PlacedPart(1, 5), PlacedPart(2, 6), PlacedPart(2, 6))))
    assert [broken.message for broken in breaches(laid) if broken.rule == 1] == [
        '"a" is not placed',
        '"b" takes 10 minutes; it takes 3 to 4',
        '"b" is placed 2 times; at most 1',
        '"c" takes 12 minutes; it takes 9',
        '"c" has a piece of 6 minutes; pieces take at most 5',
        "the parts take 22 of 20 minutes: 2 minutes too many",
    ]
