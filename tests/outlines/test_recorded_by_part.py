"""A lesson taught half is recorded by part: exactly the rest of it is a lesson still to be taught, and is planned again."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from sequencer import (
    Scenario,
    UnusableInput,
    load_scenario,
    outline_sequence,
    read_scenario,
    read_term,
    scenario_data,
    scenario_from_data,
    scenario_yaml,
    solve,
    term_json,
    term_of,
)
from sequencer.__main__ import main
from sequencer.instance.build import build_instance
from sequencer.outlines.inside import MIDDLE
from sequencer.plan.sequence import Laid
from tests.api.service import JSON, ask

BENDS = """\
format: 1
term: {first: 2026-11-02, last: 2026-11-20}
lesson_minutes: 40
usual_outlines: [{id: usual, opening: [{title: Register, kind: settle, minutes: 3}]}]
units:
  - id: u
    outline: usual
    in_order: true
    lessons:
      - id: bends
        title: Why rivers bend
        objectives: [{id: why, title: Say why}, {id: where, title: Say where}]
        parts:
          - {title: The flow, kind: explain, minutes: 10, objectives: why}
          - {title: Sketch, kind: apply, minutes: 10, objectives: why, id: sketch}
          - {title: On the map, kind: explain, minutes: 6, objectives: where, after: sketch}
          - {title: Find three, kind: apply, minutes: 8, objectives: where, after: part-3}
      - {id: lakes, title: Oxbow lakes}
classes:
  - {id: 9B, units: u, timetable: {Mon: 1, Thu: 2}}
"""
"""What is done on Monday is The flow and Sketch; On the map and Find three are left."""

DONE = {"class": "9B", "lesson": "bends", "what": "part-taught", "date": "2026-11-02", "period": 1}


def recorded(*entries: dict[str, Any], today: str = "2026-11-03") -> Scenario:
    return scenario_from_data(scenario_data(load_scenario(BENDS)) | {"today": today, "record": [*entries]})


def left(scenario: Scenario) -> dict[str, list[str]]:
    """The parts of every lesson that is still to be taught, without what usual outlines have."""
    answer = solve(scenario)
    assert answer.sequence is not None
    found = outline_sequence(Laid(answer.instance, answer.sequence)).lessons
    return {each.inside.ref: [part.title for part in each.inside.parts if part.where == MIDDLE] for each in found}


@pytest.mark.parametrize("done", [["part-1", "sketch"], ["The flow", "Sketch"], ["the flow", "sketch"]])
def test_exactly_the_rest_is_left(done: list[str]) -> None:
    scenario = recorded(DONE | {"parts_done": done})
    assert left(scenario) == {"u/bends-rest": ["On the map", "Find three"]}
    rest = next(each for each in build_instance(scenario).lessons if each.id == "bends-rest")
    assert [part.id for part in rest.parts] == ["part-3", "part-4"]  # the names by which others come after them


def test_the_rest_has_the_objectives_that_its_parts_serve() -> None:
    answer = solve(recorded(DONE | {"parts_done": ["The flow", "Sketch"]}))
    assert answer.sequence is not None
    (outlined,) = outline_sequence(Laid(answer.instance, answer.sequence)).lessons
    assert outlined.inside.objectives == (("where", "Say where"),) and outlined.proven and outlined.laid is not None
    listed = [row.title for row in outlined.laid.rows if row.part is not None]
    assert listed == ["Register", "On the map", "Find three"]


def test_a_rest_that_is_taught_in_part_leaves_the_rest_of_it() -> None:
    second = DONE | {"lesson": "bends-rest", "date": "2026-11-05", "period": 2, "parts_done": "part-3"}
    scenario = recorded(DONE | {"parts_done": ["The flow", "Sketch"]}, second, today="2026-11-06")
    assert left(scenario) == {"u/bends-rest-rest": ["Find three"]}


def test_where_no_part_is_named_all_are_left() -> None:
    assert left(recorded(DONE)) == {"u/bends-rest": ["The flow", "Sketch", "On the map", "Find three"]}


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        ({"parts_done": "Skech"}, 'parts_done names no part of the lesson: "Skech" (did you mean sketch?)'),
        ({"parts_done": ["Sketch", "sketch"]}, 'parts_done[1] was done already ("sketch")'),
        ({"parts_done": ["part-1", "sketch", "part-3", "part-4"]}, "parts_done names every part that was left"),
        ({"parts_done": "Sketch", "what": "delivered"}, "parts_done says nothing: only part-taught leaves parts to be done"),
        ({"parts_done": "Sketch", "lesson": "lakes"}, 'parts_done names no part of the lesson: "Sketch"'),
    ],
)  # fmt: skip
def test_what_cannot_have_been_is_told_at_its_place(entry: dict[str, Any], says: str) -> None:
    with pytest.raises(UnusableInput) as refused:
        recorded(DONE | entry)
    assert [says in problem.text() for problem in refused.value.problems] == [True], refused.value.problems


def test_what_was_done_before_cannot_be_done_again() -> None:
    with pytest.raises(UnusableInput, match=r"record\[1\]\.parts_done was done already"):
        recorded(
            DONE | {"parts_done": ["The flow", "Sketch"]},
            DONE | {"lesson": "bends-rest", "date": "2026-11-05", "period": 2, "parts_done": "Sketch"},
            today="2026-11-06",
        )


@pytest.fixture(name="file")
def a_file(tmp_path: Path) -> Path:
    path = tmp_path / "rivers.yaml"
    path.write_text(BENDS, encoding="utf-8")
    return path


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_plan_in_which_it_is_typed_is_planned_again(form: str, file: Path, tmp_path: Path) -> None:
    plan, new = tmp_path / f"plan.{form}", tmp_path / "new.json"
    assert main(["sequence", str(file), "--format", form, "--output", str(plan)]) == 0
    if form == "csv":
        rows = list(csv.DictReader(plan.read_text(encoding="utf-8").splitlines()))
        rows[0] |= {"what": "part-taught", "parts done": "The flow; Sketch"}
        with plan.open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    else:
        book = openpyxl.load_workbook(plan)
        sheet = book.worksheets[0]
        names = [cell.value for cell in sheet[1]]
        sheet.cell(2, names.index("what") + 1, "part-taught")
        sheet.cell(2, names.index("parts done") + 1, "The flow; Sketch")
        book.save(plan)
    replan = ["replan", str(file), "--previous", str(plan), "--record", str(plan)]
    assert main([*replan, "--format", "json", "--output", str(new)]) == 0
    placed = [(row["lesson"], row["date"]) for row in json.loads(new.read_text(encoding="utf-8"))["lessons"]]
    assert placed == [("bends", "2026-11-02"), ("bends-rest", "2026-11-05"), ("lakes", "2026-11-09")]
    again, outlines = tmp_path / f"again.{form}", tmp_path / "outlines.json"
    assert main([*replan, "--format", form, "--output", str(again)]) == 0  # what was recorded stands in the next plan too
    assert main(["outline", str(file), "--record", str(again), "--format", "json", "--output", str(outlines)]) == 0
    (lesson,) = json.loads(outlines.read_text(encoding="utf-8"))["lessons"]
    listed = [each["title"] for each in lesson["parts"] if each["id"] is not None]
    assert listed == ["Register", "On the map", "Find three"]


def test_the_week_of_a_term_in_a_workbook_and_in_json_records_it_alike(file: Path, tmp_path: Path) -> None:
    terms = []
    for ending in ("xlsx", "json"):
        term = tmp_path / f"rivers.{ending}"
        if ending == "json":
            term.write_text(term_json(term_of(read_scenario(file))), encoding="utf-8")
        else:
            assert main(["start", str(term), "--from", str(file)]) == 0
        assert main(["week", str(term), "--on", "2026-11-01"]) == 0
        if ending == "json":
            data = json.loads(term.read_text(encoding="utf-8"))
            data["plan"]["lessons"][0] |= {"what": "part-taught", "parts_done": ["The flow", "Sketch"]}
            term.write_text(json.dumps(data), encoding="utf-8")
        else:
            book = openpyxl.load_workbook(term)
            names = [cell.value for cell in book["Plan"][1]]
            book["Plan"].cell(2, names.index("what") + 1, "part-taught")
            book["Plan"].cell(2, names.index("parts done") + 1, "The flow; Sketch")
            book.save(term)
        assert main(["week", str(term), "--on", "2026-11-03"]) == 0
        assert main(["week", str(term), "--on", "2026-11-03"]) == 0  # nothing more has happened
        terms.append(read_term(term).term)
    assert terms[0].scenario == terms[1].scenario and terms[0].plan == terms[1].plan
    (entry,) = terms[0].scenario.record
    assert entry.parts_done == ("The flow", "Sketch")
    assert left(terms[0].scenario) == {"u/bends-rest": ["On the map", "Find three"]}


def test_the_service_records_it_too(file: Path) -> None:
    scenario = scenario_data(read_scenario(file))
    plan = ask("POST", "/v1/sequences", json.dumps(scenario), JSON).json()
    plan["lessons"][0] |= {"what": "part-taught", "parts_done": ["part-1", "Sketch"]}
    body = {"scenario": scenario, "previous": plan, "record": {"today": "2026-11-03", "lessons": plan["lessons"]}}
    again = ask("POST", "/v1/replans", json.dumps(body), JSON).json()
    assert [row["lesson"] for row in again["lessons"]] == ["bends", "bends-rest", "lakes"]


def test_it_is_written_and_read_back_as_it_was() -> None:
    scenario = recorded(DONE | {"parts_done": ["part-1", "Sketch"]})
    assert load_scenario(scenario_yaml(scenario)) == scenario
