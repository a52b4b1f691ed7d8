"""Lessons pasted one to a line: what the marks say, what is meant without any, and what is asked or wrong at which line."""

from __future__ import annotations

import json
from typing import Any

import pytest

from sequencer import BeyondLimit, Limits, SolveSettings, UnusableInput, load_pasted, pasted_json, scenario_from_data, solve
from sequencer.words import OPTIMAL


def read(**texts: str) -> dict[str, Any]:
    return pasted_json(load_pasted(json.dumps({"lists": [{"class": name, "text": text} for name, text in texts.items()]})))


def lessons(text: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = read(A=text)["units"][0]["lessons"]
    return found


def lines(text: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = read(A=text)["lists"][0]["lines"]
    return found


@pytest.mark.parametrize(
    ("line", "means"),
    [
        ("Meanders", {}),
        ("3. Meanders", {}),
        ("- Meanders", {}),
        ("Meanders (hard)", {"load": 4}),
        ("Meanders [very hard]", {"load": 5}),
        ("Meanders (Load 2)", {"load": 2}),
        ("Meanders (2)", {"load": 2}),
        ("Meanders (double, optional)", {"length": 2, "optional": True}),
        ("Meanders (2 periods)", {"length": 2}),
        ("Meanders (practical, two lessons)", {"tags": ["practical"], "length": 2}),
        ("Meanders (hard) (in school)", {"load": 4, "needs": ["in school"]}),
        ("Meanders\t4\tdouble", {"load": 4, "length": 2}),
        ("Meanders\tbring atlases", {"notes": ["bring atlases"]}),
        ("Meanders (on 2026-11-20)", {"on": "2026-11-20"}),
        ("Meanders (practice)", {"kind": "practice", "practises": ["source"]}),
        ("Meanders (quiz)", {"kind": "retrieval", "revisits": ["source"]}),
        ("Meanders (exam)", {"kind": "assessment", "requires": ["source"]}),
    ],
)
def test_marks_behind_a_title_say_what_the_lesson_is(line: str, means: dict[str, Any]) -> None:
    assert lessons(f"Source\n{line}")[1] == {"id": "meanders", "title": "Meanders", **means}


def test_brackets_that_are_no_marks_belong_to_the_title() -> None:
    assert [each["title"] for each in lessons("Floods (part 1)\nFloods (2019)\nFloods (part 2) (hard)")] == [
        "Floods (part 1)",
        "Floods (2019)",
        "Floods (part 2)",
    ]


def test_each_line_is_told_as_it_is_understood() -> None:
    told = lines("Source\nMeanders (hard)\nSketch (practice)\n\nFalls (hard)\nRivers test (test, double)\nTalk (feedback)")
    assert [(each["line"], each["says"]) for each in told] == [
        (1, "new content"),
        (2, "new content; hard, practised in a lesson of the list"),
        (3, 'practice of "Meanders"'),
        (5, "new content; hard, with a practice lesson made for it"),
        (6, "test, after all that is above it; takes 2 periods"),
        (7, 'feedback on "Rivers test"'),
    ]
    assert all(each["hint"] is each["wrong"] is None for each in told)


def test_what_may_have_been_meant_is_asked_with_the_line_that_says_so() -> None:
    told = lines("Source\nRivers test\nWhat we know: a quiz\nMeanders (practise)\n2. Retrieval \n7. Oxbows - hard")
    assert [(each["hint"], each["instead"]) for each in told] == [
        (None, None),
        ("Is it a test?", "Rivers test (test)"),
        ("Is it retrieval?", "What we know: a quiz (retrieval)"),
        ("The brackets are read as part of the title. Did you mean (practice)?", "Meanders (practice)"),
        ("Is it retrieval?", "2. Retrieval (retrieval)"),
        ("Is it (hard)?", "7. Oxbows (hard)"),
    ]
    again = lines("\n".join(each["instead"] or each["text"] for each in told))
    assert [each["hint"] for each in again] == [None] * 6


def test_units_are_named_between_the_lines_and_kept_apart_for_each_class() -> None:
    found = read(A="Start\nRivers:\nSource\n# Coasts\nWaves\nrivers:\nMouth", B="Rivers:\nSource\nLessons:\nEnd")
    assert [(each["class"], each["units"]) for each in found["lists"]] == [
        ("A", ["lessons", "rivers", "coasts"]),
        ("B", ["rivers-b", "lessons-b"]),
    ]
    assert {each["id"]: [one["title"] for one in each["lessons"]] for each in found["units"]} == {
        "lessons": ["Start"],
        "rivers": ["Source", "Mouth"],
        "coasts": ["Waves"],
        "rivers-b": ["Source"],
        "lessons-b": ["End"],
    }
    ids = [(each["unit"], each["lesson"]) for each in found["lists"][0]["lines"] if each["lesson"]]
    assert ids == [("lessons", "start"), ("rivers", "source"), ("coasts", "waves"), ("rivers", "mouth")]


def test_what_is_wrong_is_told_at_its_line() -> None:
    found = read(A="Sketch (practice)\n\tno title\n" + "x" * 201, B="  \n")
    assert [(each["line"], each["wrong"]) for each in found["lists"][0]["lines"]] == [
        (1, "must say what this practice lesson goes with: nothing above it does"),
        (2, "has no title in its first cell"),
        (3, "is longer than a title may be: 200 letters"),
    ]
    assert found["lists"][1]["lines"][0]["wrong"] == "holds no lesson: write one to a line"


def test_what_is_sent_wrongly_is_refused_at_its_place() -> None:
    with pytest.raises(UnusableInput) as refused:
        load_pasted('{"lists": [{"class": "?", "text": 1}], "more": 1}')
    assert [each.where for each in refused.value.problems] == ["lists[0].class", "lists[0].text", "more"]
    with pytest.raises(BeyondLimit):
        load_pasted(json.dumps({"lists": [{"class": "A", "text": "a\nb\nc"}]}), limits=Limits(lessons=2))


def test_what_is_understood_makes_a_scenario_that_has_a_plan() -> None:
    found = read(A="Source\nMeanders (hard)\nFalls (very hard)\nSketch (practice)\nQuiz (quiz)\nTest (test)\nTalk (feedback)")
    scenario = scenario_from_data(
        {
            "format": 1,
            "term": {"first": "2026-11-02", "last": "2026-12-11"},
            **{key: found[key] for key in ("units", "patterns", "rules")},
            "classes": [{"id": "A", "units": found["lists"][0]["units"], "timetable": {"Mon": 1, "Tue": 2, "Thu": 3}}],
        }
    )
    answer = solve(scenario, SolveSettings(seconds=30))
    assert answer.status == OPTIMAL
