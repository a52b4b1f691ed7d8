"""Sequences that are handed in: what an answer says checks back sound, and what nobody can mean is told with its place."""

from __future__ import annotations

import json
from typing import Any

import pytest

from sequencer import (
    Scenario,
    UnusableInput,
    answer_json,
    build_instance,
    check,
    load_scenario,
    load_sequence,
    scenario_from_data,
    sequence_from_data,
    solve,
    verdict_json,
)
from sequencer.files.given import ANSWER_KEYS
from tests.builders import day, retrieval, scenario, teach
from tests.malformed.grown import GROWN

Data = dict[str, Any]


def chosen(**more: Any) -> Data:
    """Return four lessons of which two are met again by choice: in a retrieval lesson with room, and in a starter."""
    lessons = [teach("a"), teach("b"), teach("c", rules={"starters": 1}), retrieval("r", room=1)]
    del lessons[3]["revisits"]
    rules = {"retrieval": {"chosen": True, "least": 3, "most": 10}}
    return scenario(lessons, weeks=3, per_week="Mon 1, Thu 1", unit={"in_order": True}, rules=rules, **more)


def refused(data: Data, sequence: object) -> list[str]:
    """Return what is said of a sequence."""
    with pytest.raises(UnusableInput) as refusal:
        sequence_from_data(scenario_from_data(data), sequence)
    return [problem.text() for problem in refusal.value.problems]


# -- there and back ----------------------------------------------------------------------------------------------------


def patterned() -> Data:
    """Return a unit with a pattern, whose answer holds made lessons and lessons met again by choice."""
    pattern = {"id": "usual", "practice": {}, "retrieval": {"room": 2}, "writing": {}, "feedback": {}}
    lessons = [teach("a", load=4), teach("b"), teach("c"), teach("d", load=4)]
    return scenario(lessons, weeks=5, per_week="Mon 1, Tue 1, Thu 1", unit={"pattern": "usual"}, patterns=[pattern])


@pytest.mark.parametrize(
    "written",
    [load_scenario(GROWN), scenario_from_data(chosen()), scenario_from_data(patterned())],
    ids=["half taught", "by choice", "by a pattern"],
)
def test_an_answer_checks_back(written: Scenario) -> None:
    answer = solve(written)
    assert answer.sequence is not None
    body = json.loads(json.dumps(answer_json(answer)))
    for given in (body, {"lessons": body["lessons"]}, body["lessons"]):
        sequence = sequence_from_data(written, given)
        assert set(sequence.placements) == set(answer.sequence.placements)
        # What the unit lists is met again anyway, whether or not it was chosen as well.
        lessons = build_instance(written).lessons
        beyond = [each for each in answer.sequence.revisits if each.by not in lessons[each.lesson].revisited_by]
        assert list(sequence.revisits) == beyond != []
        verdict = verdict_json(build_instance(written), check(written, sequence))
        assert verdict == body["verdict"]
        assert verdict["sound"]
    # What is chosen is part of the sequence: without it something is not met again.
    for row in body["lessons"]:
        row["revisits"] = []
    without = check(written, sequence_from_data(written, body))
    assert without.aims["carried over"] > answer.verdict.aims["carried over"] or not without.sound  # type: ignore[union-attr]


def test_delivered_lessons_are_among_the_rows_and_need_not_be() -> None:
    written = load_scenario(GROWN)
    rows = answer_json(solve(written))["lessons"]
    delivered = [row["lesson"] for row in rows if row["delivered"]]
    assert delivered == ["source", "bends", "bends-rest"]
    whole = check(written, sequence_from_data(written, rows))
    rest = check(written, sequence_from_data(written, [row for row in rows if not row["delivered"]]))
    assert whole.sound and rest == whole


def test_revisits_in_every_form() -> None:
    data = chosen()
    places = {"a": day(1, "Mon"), "b": day(1, "Thu"), "c": day(2, "Mon"), "r": day(2, "Thu")}
    rows: list[Data] = [{"class": "9B", "lesson": lesson, "date": date, "period": 1} for lesson, date in places.items()]
    written = scenario_from_data(data)
    for as_written in ("b", ["u/b"], {"lesson": "b"}, [{"unit": "u", "lesson": "b", "days": 7, "how": "lesson"}], ["b", "u/b"]):
        rows[3]["revisits"] = as_written
        sequence = sequence_from_data(written, rows)
        # b is lesson 1 and r lesson 3 of the scenario.
        assert [(revisit.lesson, revisit.by) for revisit in sequence.revisits] == [(1, 3)]
    # What the unit lists is met again anyway, and needs no choice.
    listed = chosen()
    listed["units"][0]["lessons"][3] |= {"revisits": "b"}
    assert sequence_from_data(scenario_from_data(listed), rows).revisits == ()
    # More than there is room for is the referee's to say.
    rows[3]["revisits"] = ["a", "b"]
    assert 4 in {breach.rule for breach in check(written, sequence_from_data(written, rows)).breaches}


def test_a_row_for_what_was_taught_before_the_first_period() -> None:
    early = {"class": "9B", "lesson": "a", "date": "2026-10-30", "period": 3}
    data = chosen(record=[early])
    written = scenario_from_data(data)
    assert sequence_from_data(written, [early]).placements == ()
    assert refused(data, [early | {"date": "2026-11-02"}]) == ["[0].date must be 2026-10-30, when a was taught (got 2026-11-02)"]


# -- what cannot be used -----------------------------------------------------------------------------------------------


def test_unknown_names_with_the_nearest() -> None:
    data = patterned()
    data["units"].append({"id": "maps", "lessons": [teach("b"), teach("contours")]})
    data["classes"][0]["units"] = ["u", "maps"]
    data["record"] = [{"class": "9B", "lesson": "d", "what": "skipped"}]
    row = {"class": "9B", "lesson": "a", "date": day(1, "Mon"), "period": 1}
    rows = [
        row | {"class": "9b"},
        row | {"lesson": "a-practise"},
        row | {"lesson": "b"},
        row | {"unit": "maps"},
        row | {"unit": "maps", "lesson": "contour"},
        row | {"taught": "in lass"},
        row | {"lesson": "d"},
        row | {"lesson": "retrieval-1", "revisits": ["a", "maps/contour", {"unit": "u", "lesson": "f"}]},
    ]
    assert refused(data, rows) == [
        '[0].class names no class of the scenario: "9b" (did you mean 9B?)',
        '[1].lesson names no lesson of class 9B: "a-practise" (did you mean a-practice?)',
        "[2].lesson can mean more than one lesson of class 9B: write unit: u or unit: maps",
        '[3].lesson names no lesson of class 9B: "maps/a"',
        '[4].lesson names no lesson of class 9B: "maps/contour" (did you mean contours?)',
        '[5].taught must be one of in class, live, set work (got "in lass") (did you mean in class?)',
        '[6].lesson names a lesson that class 9B skipped: "d"',
        '[7].revisits[1] names no lesson of class 9B: "maps/contour" (did you mean contours?)',
        '[7].revisits[2] names no lesson of class 9B: "u/f"',
    ]


def test_misspelt_keys_of_rows_are_told_with_their_places() -> None:
    # A row may hold what answers hold and notes of one's own, but `revisit` would be read as nothing met again.
    data = chosen()
    row = {"class": "9B", "lesson": "c", "date": day(2, "Mon"), "period": 1}
    assert refused(data, [{**row, "revisit": ["a"], "week": 2}, {**row, "Revisits": "a", "tought": "live"}]) == [
        "[0].revisit is not a key that can stand here (did you mean revisits?)",
        "[1].Revisits is not a key that can stand here (did you mean revisits?)",
        "[1].tought is not a key that can stand here (did you mean taught?)",
    ]
    with pytest.raises(UnusableInput) as refusal:
        text = "lessons:\n- {class: 9B, lesson: a, date: 2026-11-02, periode: 1}\n"
        load_sequence(scenario_from_data(data), text, "by-hand.yaml", "yaml")
    # The key missing and the key misspelt, at the row and at itself.
    assert [(problem.where, problem.line, problem.column) for problem in refusal.value.problems] == [
        ("lessons[0]", 2, 3),
        ("lessons[0].periode", 2, 44),
    ]


def test_keys_of_answers_and_of_ones_own_are_no_errors() -> None:
    data = scenario_from_data(chosen())
    rows = answer_json(solve(data))["lessons"]
    assert {key for row in rows for key in row} == ANSWER_KEYS
    noted = [{**row, "note": "bring maps", "room number": 4, "colour": "red"} for row in rows]
    assert sequence_from_data(data, noted) == sequence_from_data(data, rows)


def test_places_in_the_text() -> None:
    written = scenario_from_data(chosen())
    text = """\
- {class: 9B, lesson: a, date: 2026-11-02, period: 1}
- {class: 9B, lesson: bb, date: 2026-11-05, period: 1}
- class: 9B
  lesson: r
  date: 2026-11-12
  period: 1
  revisits: x
"""
    with pytest.raises(UnusableInput) as refusal:
        load_sequence(written, text, "s", "yaml")
    assert [problem.text("s") for problem in refusal.value.problems] == [
        's:2:23 [1].lesson names no lesson of class 9B: "bb" (did you mean b?)',
        's:7:13 [2].revisits names no lesson of class 9B: "u/x"',
    ]
    wrong = text.replace("revisits: x", "revisits: [3, {unit: u}]").replace("bb", "b").replace("period: 1}", "period: one}", 1)
    with pytest.raises(UnusableInput) as refusal:
        load_sequence(written, wrong, "s", "yaml")
    assert [problem.text("s") for problem in refusal.value.problems] == [
        's:1:52 [0].period must be a whole number (got "one")',
        "s:7:14 [2].revisits[0] must be a mapping, with keys and values (got 3)",
        "s:7:17 [2].revisits[1] must have the key lesson",
    ]
