"""Rule 2: parts come after those they name, practice after what it practises, openings first and closings last."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import UnusableInput, scenario_from_data
from sequencer.outlines.laid_outline import LaidOutline, LessonOutline, PlacedPart
from sequencer.outlines.part_rules import breaches
from tests.outlines.made import inside_of, lesson_data, outlined, part

QUIET: Any = {"whole_objectives": "off", "stretch": "off"}


def test_parts_of_a_usual_outline_are_named_by_their_number_where_they_state_no_id() -> None:
    """Opening parts keep the order listed; a lesson's own part may name them too, and is part-1 itself."""
    usual = {
        "opening": [part("settle", 3), part("recall", 5, after="opening-1")],
        "closing": [part("other", 2, after="opening-2")],
    }
    assert outlined(lesson_data([part("other", 5, after=["opening-2"]), part("other", 6, after="part-1")], usual)).outlines
    with pytest.raises(UnusableInput, match=r'opening\[1\].after names no part of the usual outline: "part-1"'):
        lesson = lesson_data([part("other", 5)], {"opening": [part("settle", 3), part("recall", 5, after="part-1")]})
        scenario_from_data(lesson)


def _order(parts: list[Any], **more: Any) -> list[int | None]:
    return [each.part for each in outlined(lesson_data(parts, **more)).outlines[0]]


def test_a_part_comes_after_those_it_names_and_a_circle_with_the_order_listed_has_no_outline() -> None:
    parts = [part("other", id="a", after="b"), part("other", id="b")]
    assert _order(parts) == [1, 0]
    late = [part("explain", id="a", after="b"), part("explain", id="b")]
    assert not outlined(lesson_data(late, rules=QUIET)).outlines
    assert outlined(lesson_data(late, rules=QUIET, free=True)).outlines
    assert outlined(lesson_data(late, rules={**QUIET, "order_of_parts": "off"})).outlines


def test_a_name_is_void_where_its_part_has_no_version_or_is_left_out() -> None:
    parts = [part("explain", id="a", after="b"), part("explain", id="b", versions={"live": "off"})]
    assert not outlined(lesson_data(parts, rules=QUIET)).outlines
    assert outlined(lesson_data(parts, rules=QUIET, taught="live")).outlines
    optional = [part("explain", id="a", after="b"), part("explain", id="b", optional=True)]
    assert _order(optional, rules=QUIET) == [0]


def test_no_check_comes_before_what_it_checks_and_one_comes_after_the_last_of_it() -> None:
    check = [part("check", objectives=["p"]), part("explain", objectives=["p"])]
    assert _order(check) == [1, 0]
    # A check between two explain parts does not do: a made check follows the second.
    named = [
        part("explain", objectives=["p"], id="a"),
        part("check", objectives=["p"], id="c"),
        part("explain", objectives=["p"], after="c"),
    ]
    assert _order(named) == [0, 1, 2, None]
    assert not outlined(lesson_data(named, rules={"made_checks": "off"})).outlines


def test_previews_come_before_and_reviews_after_all_on_an_objective() -> None:
    parts = [part("review"), part("apply"), part("explain"), part("preview"), part("check")]
    order = _order(parts)
    assert (order[0], order[1], order[-1]) == (3, 2, 0)


def test_opening_and_closing_parts_stand_at_the_ends_in_the_order_listed_and_what_is_left_over_before_the_closing() -> None:
    usual = {"opening": [part("settle", 3), part("recall", 4)], "closing": [part("review", 2), part("other", 1)]}
    (inside,) = inside_of(lesson_data([part("other", 10)], usual, lesson_minutes=30))
    found = outlined(lesson_data([part("other", 10)], usual, lesson_minutes=30))
    laid = LaidOutline(inside, found.outlines[0])
    assert [(row.kind, row.start) for row in laid.rows] == [
        ("settle", 0), ("recall", 3), ("other", 7), ("review", 27), ("other", 29),
    ]  # fmt: skip


def test_the_referee_tells_every_breach_of_order() -> None:
    usual = {"opening": [part("settle", 3, "s")], "closing": [part("review", 2, "r")]}
    parts = [part("explain", 5, "e", id="e"), part("apply", 5, "p", after="e")]
    (inside,) = inside_of(lesson_data(parts, usual, QUIET))
    wrong = LessonOutline((PlacedPart(3, 2), PlacedPart(2, 5), PlacedPart(0, 3), PlacedPart(1, 5)))
    said = [broken.message for broken in breaches(LaidOutline(inside, wrong)) if broken.rule == 2]
    assert said == [
        '"p" comes after "r", which is a closing part',
        '"s" comes after "p", which is a middle part',
        '"p" comes before "e", which it is to follow',
        '"p" comes before "a" is explained',
        '"a" is explained again after the last check or apply part on it',
        '"r" reviews "a" before it is done',
    ]
