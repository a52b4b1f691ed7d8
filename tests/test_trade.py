"""Half a term as teachers plan one: each habit of the trade is found in the plan, though nothing pins a lesson to its place.

Every habit here is common practice, no source. It comes from what the scenario states and from the aims that hold unless it lists
others. The department, its units and its classes are invented.
"""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest

from sequencer import SolveSettings, answer_json, compare, load_scenario, parse_document, scenario_from_data, share_opening, solve
from tests.builders import PATIENT, Data

HALF_TERM = """
format: 1
title: Two year groups, second half of the autumn term
term: {first: 2026-11-02, last: 2026-12-18, cycle: [A, B], first_label: B}
remote_spells:
  - {name: Roof repairs, first: 2026-11-02, last: 2026-11-13}
rules:
  live_quotas: [{per: week, least: 1, most: 2}]
  marking: 2
patterns:
  - id: usual
    rules: {practice_after_dense: 1, retrieval: {least: 10, most: 14}}
    practice: {title: "Practice: {lesson}"}
    retrieval: {title: "Quiz {number}", room: 3, load: 1}
    feedback: {title: Quizzes and practice talked through}
    writing: {title: Exam-style writing}
units:
  - id: deserts
    pattern: usual
    in_order: true
    lessons:
      - {id: climate, title: Why deserts are dry, load: 3}
      - {id: landforms, title: Wind and flash floods, load: 5, live: demand}    # the hardest of the block
      - {id: plants, title: Plants that wait for rain, load: 2}
      - {id: farming, title: Farming at the edge, load: 4}
      - {id: growing, title: Why deserts grow, load: 3}
      - {id: review, kind: retrieval, title: The unit on one page, load: 2,
         revisits: [climate, landforms, plants, farming, growing], requires: growing}
  - id: coasts
    pattern: usual
    in_order: true
    lessons:
      - {id: waves, title: Two kinds of wave, load: 2}
      - {id: headlands, title: "Headlands, caves and stacks", load: 4}
      - {id: drift, title: Longshore drift and spits, load: 5, live: demand}    # the hardest of the block
      - {id: walls, title: Walls and groynes, load: 3}
      - {id: retreat, title: "Let the sea in?", load: 3}
      - {id: review, kind: retrieval, title: The unit on one page, load: 2,
         revisits: [waves, headlands, drift, walls, retreat], requires: retreat}
classes:
  - id: 8D
    units: deserts
    timetable:
      A: {Mon: 2, Thu: 4}
      B: {Tue: 1, Wed: 5, Fri: 3}
  - id: 10C
    units: coasts
    timetable:
      A: {Tue: 4, Wed: 2, Fri: 1}
      B: {Mon: 3, Tue: 3, Thu: 2}
"""

SETTINGS = SolveSettings(seconds=PATIENT)
CLASSES = ("8D", "10C")
"""Two year groups, each with its own unit, timetable and lessons, and one pattern for both."""
HARDEST = {"8D": "landforms", "10C": "drift"}
BLOCK = {"8D": ["climate", "landforms"], "10C": ["waves", "headlands", "drift"]}
"""The first block of each: what is new up to the hardest lesson."""


@cache
def plan() -> Data:
    answer = solve(load_scenario(HALF_TERM), SETTINGS)
    assert answer.status == "optimal" and answer.verdict is not None and answer.verdict.sound
    return answer_json(answer)


def lessons(class_id: str, kind: str | None = None) -> list[Data]:
    """The lessons of a class in order of time, of one kind where it is named."""
    return [row for row in plan()["lessons"] if row["class"] == class_id and kind in (None, row["kind"])]


def days_between(one: Data, other: Data) -> int:
    return (date.fromisoformat(other["date"]) - date.fromisoformat(one["date"])).days


@pytest.mark.parametrize("class_id", CLASSES)
def test_practice_comes_straight_after_what_is_heavy(class_id: str) -> None:
    """Common practice, no source."""
    rows = lessons(class_id)
    heavy = [place for place, row in enumerate(rows) if row["kind"] == "teach" and row["load"] >= 4]
    assert len(heavy) == 2
    for place in heavy:
        after = rows[place + 1]
        assert (after["lesson"], after["slot"]) == (f"{rows[place]['lesson']}-practice", rows[place]["slot"] + 1)


@pytest.mark.parametrize("class_id", CLASSES)
def test_the_hardest_lesson_of_the_block_is_live_while_the_class_is_remote(class_id: str) -> None:
    """Common practice, no source."""
    block = [row for row in lessons(class_id, "teach") if row["lesson"] in BLOCK[class_id]]
    hardest = max(block, key=lambda row: row["load"])
    assert (hardest["lesson"], hardest["taught"]) == (HARDEST[class_id], "live")
    assert hardest["date"] <= "2026-11-13"
    # Not everything is live: what pupils can do by themselves is set work.
    assert "set work" in {row["taught"] for row in lessons(class_id)}


@pytest.mark.parametrize("class_id", CLASSES)
def test_the_block_is_met_again_10_to_14_days_later(class_id: str) -> None:
    """Common practice, no source."""
    rows = {row["lesson"]: row for row in lessons(class_id)}
    for lesson in BLOCK[class_id]:
        met = [days_between(rows[lesson], row) for row in rows.values() if lesson in [each["lesson"] for each in row["revisits"]]]
        assert any(10 <= days <= 14 for days in met), (lesson, met)
    assert plan()["carried_over"] == plan()["late"] == []


@pytest.mark.parametrize("class_id", CLASSES)
def test_feedback_comes_when_all_is_marked(class_id: str) -> None:
    """Common practice, no source. Two school days for marking: from Tuesday to Thursday at least."""
    (talk,) = lessons(class_id, "feedback")
    marked = [row for row in lessons(class_id) if row["made"] and row["kind"] in ("practice", "retrieval")]
    assert len(marked) >= 3
    for row in marked:
        first, last = date.fromisoformat(row["date"]), date.fromisoformat(talk["date"])
        school_days = sum(date.fromordinal(day).weekday() < 5 for day in range(first.toordinal() + 1, last.toordinal() + 1))
        assert school_days >= 2, row["lesson"]


@pytest.mark.parametrize("class_id", CLASSES)
def test_writing_and_review_come_at_the_end(class_id: str) -> None:
    """Common practice, no source. Nothing new comes after them, and only what is talked through, or met again, beside them."""
    rows = lessons(class_id)
    last_new = max(place for place, row in enumerate(rows) if row["kind"] == "teach")
    assert {"writing", "review"} <= {row["lesson"] for row in rows[last_new + 1 :]}
    practised = [place for place, row in enumerate(rows) if row["kind"] == "practice"]
    assert max(practised) < [row["lesson"] for row in rows].index("writing")


def test_the_same_pattern_serves_two_year_groups() -> None:
    """Common practice, no source: one pattern, stated once, makes for each unit what goes with it, in the same order."""
    made = {class_id: [row for row in lessons(class_id) if row["made"]] for class_id in CLASSES}
    assert {row["kind"] for row in made["8D"]} == {"practice", "retrieval", "assessment", "feedback"}
    parts = {class_id: {(row["kind"], row["load"]) for row in rows} for class_id, rows in made.items()}
    assert parts["8D"] == parts["10C"]
    for rows in made.values():
        firsts = list(dict.fromkeys(row["kind"] for row in rows))
        assert firsts.index("practice") < firsts.index("retrieval") < firsts.index("feedback")
    # The other year's lessons are its own.
    assert {row["unit"] for row in made["8D"]} == {"deserts"} and {row["unit"] for row in made["10C"]} == {"coasts"}


def test_a_cycle_that_begins_with_b() -> None:
    """Common practice, no source: the first week of a half term has the label that follows the one before, A or B."""
    weeks = [(row["week"], row["label"]) for row in plan()["lessons"]]
    assert set(weeks) <= {(week, "BA"[(week - 1) % 2]) for week in range(1, 8)}
    first = min(lessons("8D"), key=lambda row: row["slot"])
    # In week B 8D meets on Tuesday, Wednesday and Friday; on Monday and Thursday in week A.
    assert first["label"] == "B"
    for row in lessons("8D"):
        weekday = date.fromisoformat(row["date"]).strftime("%a")
        assert weekday in {"A": ("Mon", "Thu"), "B": ("Tue", "Wed", "Fri")}[row["label"]]


def test_only_the_first_two_weeks_are_known() -> None:
    """Common practice, no source: the first two weeks are planned so that the rest can go on in class or remotely."""
    data = parse_document(HALF_TERM)[0]
    assert isinstance(data, dict)
    spell = {"name": "Roof repairs go on", "first": "2026-11-16", "last": "2026-11-27"}
    data["what_ifs"] = [{"name": "two more weeks remote", "changes": [{"change": "add remote spell", "spell": spell}]}]
    shared = share_opening(compare(scenario_from_data(data), SETTINGS), date(2026, 11, 16), SETTINGS)
    assert shared.status == "optimal"
    first_two_weeks = {place: held for place, held in shared.opening.items() if held is not None}
    assert {class_id for class_id, _ in first_two_weeks} == set(CLASSES)
    assert {day for _, (day, _) in first_two_weeks} <= {date(2026, 11, day) for day in range(2, 14)}
    # Each goes on from there to a whole sequence, at no loss.
    assert [each.name for each in shared.continuations] == ["base", "two more weeks remote"]
    assert [loss.loss for each in shared.continuations for loss in each.losses if loss.loss] == []
