"""Which specification points are taught, practised, met again and assessed, on which dates, worked by hand."""

from __future__ import annotations

from typing import Any

from sequencer import Answer, coverage_json
from tests.builders import Data, a_class, around_text, assessment, day, feedback, practice, retrieval, scenario, solved, teach

POINTS = [{"code": code, "title": f"About {code}"} for code in ("1.1", "1.2", "1.3", "2.1", "2.2")]
SPECIFICATION: Data = {"id": "rivers", "points": POINTS}


def one_class(lessons: list[Data], weeks: int = 4, **more: Any) -> Data:
    """Each lesson lies where it says; two periods a week, Monday and Tuesday."""
    return scenario(lessons, weeks=weeks, specifications=[SPECIFICATION]) | more


def pinned() -> list[Data]:
    return [
        teach("a", load=4, covers=["1.1", "1.2"], on=day(1, "Mon")),
        practice("a-task", "a", on=day(1, "Tue")),
        teach("b", covers="1.3", starter="a", on=day(2, "Mon")),
        retrieval("quiz", ["a", "b"], on=day(3, "Mon"), covers="2.1", rules={"retrieval": "off"}),
        assessment("test", covers=["1.1", "1.3"], on=day(3, "Tue")),
        feedback("talk", "test", on=day(4, "Tue")),
    ]


RULES: Data = {"retrieval": {"least": 1, "most": 20}}


def dates(answer: Answer, code: str, of: int = 0) -> dict[str, list[str]]:
    """The dates of a point by way, those without any left out."""
    points = coverage_json(answer)["classes"][of]["points"]
    (point,) = [point for point in points if point["code"] == code]
    ways = {way: [met["date"] for met in point[way]] for way in ("taught", "practised", "met_again", "assessed")}
    return {way: met for way, met in ways.items() if met}


def test_every_way_with_its_dates() -> None:
    answer = solved(one_class(pinned(), rules=RULES))
    assert dates(answer, "1.1") == {
        "taught": [day(1, "Mon")],
        "practised": [day(1, "Tue")],
        "met_again": [day(2, "Mon"), day(3, "Mon")],  # in b's starter, in the quiz
        "assessed": [day(3, "Tue")],
    }
    assert dates(answer, "1.2") == {
        "taught": [day(1, "Mon")],
        "practised": [day(1, "Tue")],
        "met_again": [day(2, "Mon"), day(3, "Mon")],
    }
    assert dates(answer, "1.3") == {"taught": [day(2, "Mon")], "met_again": [day(3, "Mon")], "assessed": [day(3, "Tue")]}
    assert dates(answer, "2.1") == {"met_again": [day(3, "Mon")]}  # the quiz covers it itself
    assert dates(answer, "2.2") == {}
    assert coverage_json(answer)["classes"][0]["never_met"] == ["2.2"]


def test_the_text_lists_what_is_lacking() -> None:
    lines = around_text("coverage", solved(one_class(pinned(), rules=RULES))).splitlines()
    assert "  1.1    About 1.1  2 Nov   3 Nov      9 Nov, 16 Nov  17 Nov" in lines
    assert "  Never met: 2.2" in lines
    assert "  Taught, not practised: 1.3" in lines
    assert "  Taught, not met again: none" in lines
    assert "  Taught, not assessed: 1.2" in lines


def test_what_was_taught_before_counts_and_each_class_has_its_own_dates() -> None:
    before = [{"id": "t", "date": "2026-10-13", "covers": ["2.1", "2.2"]}]
    classes = [a_class("9A", taught_before=before), a_class("9B", "Wed 1, Thu 1")]
    answer = solved(one_class([teach("a", covers="1.1")], classes=classes))
    assert dates(answer, "2.2", of=0) == {"taught": ["2026-10-13"]}
    assert dates(answer, "2.2", of=1) == {}
    first = [dates(answer, "1.1", of=of)["taught"] for of in (0, 1)]
    assert first[0] != first[1]


def test_a_specification_is_for_the_classes_that_follow_it() -> None:
    classes = [a_class("9A"), a_class("9B", "Wed 1")]
    own = [SPECIFICATION | {"classes": "9B"}]
    body = coverage_json(solved(one_class([teach("a", covers="1.1")], classes=classes, specifications=own)))
    assert [(each["class"], each["specification"]) for each in body["classes"]] == [("9B", "rivers")]


def test_a_left_out_lesson_covers_nothing() -> None:
    lessons = [teach("a", covers="1.1"), teach("b", covers="1.2", optional=True)]
    answer = solved(one_class(lessons, weeks=1, classes=[a_class(per_week="Mon 1")]))
    assert coverage_json(answer)["classes"][0]["never_met"] == ["1.2", "1.3", "2.1", "2.2"]


def test_homework_practises_on_the_day_it_is_due_and_made_writing_assesses_the_unit() -> None:
    patterns = [
        {
            "id": "usual",
            "writing": {},
            "rules": {"practice_after_dense": {"homework": {"due_days": 3}}},
        }
    ]
    lessons = [teach("a", load=4, covers="1.1", on=day(1, "Mon"))]
    data = one_class(lessons, patterns=patterns)
    data["units"][0]["pattern"] = "usual"
    found = dates(solved(data), "1.1")
    assert found["practised"] == [day(2, "Mon")]  # three days or more after Monday of week 1
    assert len(found["assessed"]) == 1


def test_without_a_specification_the_text_says_so() -> None:
    assert "The scenario states no specification" in around_text("coverage", solved(scenario([teach("a")])))
