"""Sequences made by hand: as a table, in part, and with ten mistakes of ten kinds, of which each is told and nothing else."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    Sequence,
    UnusableInput,
    build_instance,
    check,
    complete,
    load_check,
    load_sequence,
    pinned_sequence,
    scenario_from_data,
    sequence_from_data,
)
from sequencer.__main__ import main
from tests.builders import QUIET, a_class, assessment, day, feedback, practice, retrieval, scenario, teach

Data = dict[str, Any]

TABLE = f"""class,lesson,date,period
9B,a,{day(1, "Mon")},1
9B,u/b,{day(1, "Tue")},1
"""


def test_a_table_says_what_rows_say() -> None:
    read = scenario_from_data(scenario([teach("a"), teach("b")]))
    rows = [{"class": "9B", "lesson": name, "date": day(1, on), "period": 1} for name, on in (("a", "Mon"), ("b", "Tue"))]
    sequence = load_sequence(read, TABLE, "hand.csv", "csv")
    assert sequence == sequence_from_data(read, rows)
    assert check(read, sequence).sound


def test_a_table_may_come_with_its_quotes_a_mark_at_its_head_and_empty_lines() -> None:
    read = scenario_from_data(scenario([teach("a"), teach("b")]))
    text = "\ufeff" + TABLE.replace("9B,a,", '"9B","a",').replace("\n", "\r\n") + "\r\n,,,\r\n"
    assert load_sequence(read, text.encode(), "hand.csv", "csv") == load_sequence(read, TABLE, "", "csv")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("class,lesson,date\n", "hand.csv:1:1 must name the column period in its first line"),
        ("class,lesson,date,period,room\n", "hand.csv:1:1 names a column that is not known: room"),
        (TABLE + "9B,c,2026-11-09,1\n", 'hand.csv:4:1 lessons[2].lesson names no lesson of class 9B: "c"'),
        (TABLE + "9B,a,9 November,1\n", "hand.csv:4:1 lessons[2].date must be a date such as 2026-11-02"),
        ('class,lesson,date,period\n9B,"a,2026-11-02,1', "hand.csv:1:1 is no table of comma-separated values"),
    ],
)
def test_what_is_wrong_with_a_table_is_told_at_its_line(text: str, told: str) -> None:
    with pytest.raises(UnusableInput) as refused:
        load_sequence(scenario_from_data(scenario([teach("a"), teach("b")])), text, "hand.csv", "csv")
    assert any(problem.text("hand.csv").startswith(told) for problem in refused.value.problems), refused.value.problems


def test_a_table_inside_a_body() -> None:
    data = scenario([teach("a"), teach("b")])
    read, sequence = load_check(json.dumps({"scenario": data, "sequence": TABLE}))
    assert check(read, sequence).sound


# -- pins --------------------------------------------------------------------------------------------------------------


def test_a_scenarios_own_pins_are_a_plan_complete_or_in_part() -> None:
    pinned = [teach("a", on=day(1, "Tue"), period=1), teach("b", on=day(2, "Mon")), teach("c")]
    data = scenario(pinned)
    read, part = load_check(json.dumps({"scenario": data}))
    rows = [("a", day(1, "Tue")), ("b", day(2, "Mon"))]
    assert part == sequence_from_data(read, [{"class": "9B", "lesson": name, "date": on, "period": 1} for name, on in rows])
    assert [breach.message for breach in check(read, part).breaches] == ["9B: u/c is not placed"]
    answer = complete(read, part).answer
    assert answer is not None and answer.sequence is not None and len(answer.sequence.placements) == 3


def test_a_pin_for_a_period_in_which_the_class_does_not_meet_is_reported() -> None:
    wished = {**teach("a", on=day(1, "Wed"), period=1), "rules": {"dates": {"wish": 1}}}
    read = scenario_from_data(scenario([wished]))
    assert [stray.date.isoformat() for stray in pinned_sequence(read).strays] == [day(1, "Wed")]


def test_the_command_judges_pins_puts_them_beside_the_best_and_completes_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "pinned.json"
    file.write_text(json.dumps(scenario([teach("a", on=day(2, "Mon"), period=1), teach("b", requires="a")])), encoding="utf-8")
    assert main(["check", str(file), "--format", "json", "--best", "--complete"]) == 1
    body = json.loads(capsys.readouterr().out)
    assert body["sound"] is False and body["completion"]["possible"] is True
    assert {aim["aim"] for aim in body["beside_best"]} <= set(body["aims"])
    assert main(["check", str(file), "--best", "--complete"]) == 1
    told = capsys.readouterr().out
    assert "Beside the best sequence: " in told and "It can be completed, with 1 lesson more" in told


# -- in part -----------------------------------------------------------------------------------------------------------


def test_a_part_is_completed_with_what_it_holds_left_in_place() -> None:
    read = scenario_from_data(scenario([teach("a"), teach("b"), teach("c", requires="a")]))
    part = sequence_from_data(read, [{"class": "9B", "lesson": "a", "date": day(1, "Tue"), "period": 1}])
    answer = complete(read, part).answer
    assert answer is not None and answer.sequence is not None
    assert part.placements[0] in answer.sequence.placements and len(answer.sequence.placements) == 3


def test_made_lessons_stay_where_they_are_given_as_far_as_the_others_allow() -> None:
    data = scenario(
        [teach("a", load=4), teach("b")], unit={"pattern": "usual"}, patterns=[{"id": "usual", "practice": {}}],
        rules={**QUIET, "retrieval": "off", "practice_after_dense": 8},
    )  # fmt: skip
    read = scenario_from_data(data)
    for on in ((1, "Tue"), (2, "Mon"), (2, "Tue")):
        rows = [("a", day(1, "Mon")), ("a-practice", day(*on))]
        part = sequence_from_data(read, [{"class": "9B", "lesson": name, "date": date, "period": 1} for name, date in rows])
        answer = complete(read, part).answer
        assert answer is not None and answer.sequence is not None
        assert set(part.placements) <= set(answer.sequence.placements)


def test_a_part_that_cannot_be_completed_is_explained_by_its_own_dates() -> None:
    read = scenario_from_data(scenario([teach("a"), teach("b", requires="a")]))
    part = sequence_from_data(read, [{"class": "9B", "lesson": "a", "date": day(2, "Tue"), "period": 1}])
    found = complete(read, part).explanation
    assert found is not None
    assert {statement.kind for statement in found.conflicts[0].statements} >= {"on", "requires", "lesson"}


def test_what_is_given_twice_cannot_be_completed() -> None:
    read = scenario_from_data(scenario([teach("a")]))
    rows = [{"class": "9B", "lesson": "a", "date": day(week, "Tue"), "period": 1} for week in (1, 2)]
    found = complete(read, sequence_from_data(read, rows))
    assert (found.answer, found.explanation) == (None, None)


# -- ten mistakes ------------------------------------------------------------------------------------------------------

UNITS: dict[str, tuple[list[Data], list[tuple[str, int, str]]]] = {
    # One class each, on Mondays, Tuesdays and Thursdays of three weeks: its lessons, and where the hand puts them.
    "missing": ([teach("a"), teach("b")], [("a", 1, "Mon")]),
    "twice": ([teach("a")], [("a", 1, "Mon"), ("a", 2, "Mon")]),
    "together": ([teach("a"), teach("b")], [("a", 1, "Mon"), ("b", 1, "Mon")]),
    "stray": ([teach("a")], [("a", 1, "Wed")]),
    "order": ([teach("a"), teach("b", requires="a")], [("a", 1, "Tue"), ("b", 1, "Mon")]),
    "late": ([teach("a", not_after=day(1, "Tue"))], [("a", 2, "Mon")]),
    "place": ([teach("a", needs="lab")], [("a", 1, "Tue")]),
    "practice": ([teach("x", load=4), practice("p", "x")], [("x", 1, "Mon"), ("p", 2, "Mon")]),
    "again": ([teach("a"), retrieval("r", "a")], [("a", 1, "Mon"), ("r", 1, "Thu")]),
    "feedback": ([assessment("t"), feedback("f", "t")], [("t", 1, "Mon"), ("f", 1, "Tue")]),
}
TOLD = {
    "missing": (0, "u-missing/b is not placed"),
    "twice": (0, "u-twice/a is placed 2 times"),
    "together": (0, "u-together/a, u-together/b are both on Mon 2 Nov 2026, period 1"),
    "stray": (0, "does not meet on Wed 4 Nov 2026, period 1, given for u-stray/a"),
    "order": (1, "u-order/b on Mon 2 Nov 2026, period 1 does not come after u-order/a on Tue 3 Nov 2026, period 1"),
    "late": (7, "u-late/a is on Mon 9 Nov 2026, period 1: not after Tue 3 Nov 2026 asked"),
    "place": (8, "u-place/a needs lab, which Tue 3 Nov 2026, period 1 does not offer"),
    "practice": (3, "u-practice/x on Mon 2 Nov 2026, period 1 has no practice lesson within 1 period"),
    "again": (4, "u-again/a of Mon 2 Nov 2026 is not met again 10 to 14 days later"),
    "feedback": (6, "u-feedback/f comes 1 school day after u-feedback/t: at least 3 asked"),
}


def ten_mistakes() -> tuple[Data, Sequence]:
    lab = {"Mon": [{"period": 1, "offers": "lab"}], "Tue": 1, "Thu": 1}
    classes = [a_class(name, units=f"u-{name}", timetable=lab) for name in UNITS]
    units = [{"id": f"u-{name}", "lessons": lessons} for name, (lessons, _) in UNITS.items()]
    data = scenario(weeks=3, units=units, classes=classes)
    rows = [
        {"class": name, "lesson": lesson, "date": day(week, weekday), "period": 1}
        for name, (_, placed) in UNITS.items()
        for lesson, week, weekday in placed
    ]
    return data, sequence_from_data(scenario_from_data(data), rows)


def test_ten_mistakes_of_ten_kinds_come_back_as_these_ten() -> None:
    data, sequence = ten_mistakes()
    breaches = check(scenario_from_data(data), sequence).breaches
    told = {breach.class_ids[0]: (breach.rule, breach.message) for breach in breaches}
    assert len(breaches) == len(told) == 10
    for name, (rule, message) in TOLD.items():
        assert told[name][0] == rule and message in told[name][1], told[name]


def test_without_its_mistakes_nothing_is_told() -> None:
    """The same classes with each lesson where it belongs: the ten are the mistakes', not the scenario's."""
    data, _ = ten_mistakes()
    answer = complete(scenario_from_data(data), Sequence(()))
    assert answer.answer is not None and answer.answer.verdict is not None and answer.answer.verdict.breaches == ()
    assert build_instance(scenario_from_data(data)).classes
