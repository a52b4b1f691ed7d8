"""A plan read back says the same of what was taught, whoever reads it; a blank says nothing."""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from openpyxl import load_workbook

from sequencer import (
    Answer,
    Scenario,
    SolveSettings,
    answer_json,
    build_instance,
    load_replan,
    load_with_earlier,
    read_plan_record,
    read_plan_sequence,
    read_scenario,
    replan,
    scenario_data,
    solve,
    written,
)
from sequencer.__main__ import main
from sequencer.words import DID_NOT_TAKE_PLACE

SCENARIO = Path(__file__).parents[2] / "scenarios" / "half-term.yaml"


@pytest.fixture(name="plan", scope="module")
def a_plan() -> dict[str, bytes]:
    """The plan of the half term in its forms."""
    answer = solve(read_scenario(SCENARIO), SolveSettings(seconds=60))
    return {form: text if isinstance(text := written(answer, form), bytes) else text.encode() for form in ("json", "csv", "xlsx")}


def worked_on(plan: bytes, file: Path, what: list[str | None]) -> Path:
    """The plan as a file, with something under ``what`` in its first rows."""
    if file.suffix == ".xlsx":
        book = load_workbook(BytesIO(plan))
        sheet = book.worksheets[0]
        column = [cell.value for cell in sheet[1]].index("what") + 1
        for row, word in enumerate(what, 2):
            sheet.cell(row, column).value = word
        book.save(file)
    elif file.suffix == ".csv":
        rows = [*csv.reader(StringIO(plan.decode(), newline=""))]
        place = rows[0].index("what")
        for row, word in zip(rows[1:], what, strict=False):
            row[place] = word or ""
        with file.open("w", newline="", encoding="utf-8") as opened:
            csv.writer(opened).writerows(rows)
    else:
        body = json.loads(plan)
        for row, word in zip(body["lessons"], what, strict=False):
            row["what"] = "lost" if word in DID_NOT_TAKE_PLACE else word
        file.write_text(json.dumps(body), encoding="utf-8")
    return file


class Taken(Exception):
    """Ends a command once it is known which scenario it would solve."""


RECORDS: dict[str, list[str | None]] = {
    "all of a week": ["delivered"] * 5,
    "one of a week": ["delivered", None, None, None, None],
    "a gap": ["delivered", None, "delivered", None, "delivered"],
    "a lost period": ["delivered", "did not take place", "delivered"],
    "the last part-taught": ["delivered", "delivered", "part-taught"],
}


@pytest.mark.parametrize("ending", ["json", "csv", "xlsx"])
@pytest.mark.parametrize("name", RECORDS)
def test_sequence_and_replan_take_the_same_from_a_record(
    name: str, ending: str, plan: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solved: list[Scenario] = []

    def take(scenario: Scenario, *_: object) -> Answer:
        solved.append(scenario)
        raise Taken

    monkeypatch.setattr("sequencer.__main__.solve", take)
    monkeypatch.setattr("sequencer.questions.replan.solve", take)
    data = scenario_data(read_scenario(SCENARIO)) | ({"today": "2026-11-12"} if ending == "json" else {})
    scenario = tmp_path / "scenario.json"
    scenario.write_text(json.dumps(data), encoding="utf-8")
    record = worked_on(plan[ending], tmp_path / f"plan.{ending}", RECORDS[name])
    for command in (["sequence"], ["replan", "--previous", str(record)], ["replan", "--previous", str(record), "--trade-off"]):
        main([*command, str(scenario), "--record", str(record)])
    first, *others = solved
    assert others == [first, first]
    taught = [lesson.delivered.date.isoformat() for lesson in build_instance(first).lessons if lesson.delivered is not None]
    rows = json.loads(plan["json"])["lessons"]
    said = [row["date"] for row, word in zip(rows, RECORDS[name], strict=False) if word not in (None, "did not take place")]
    assert sorted(taught) == said
    last = max(row["date"] for row, word in zip(rows, RECORDS[name], strict=False) if word)
    expected = date(2026, 11, 12) if ending == "json" else date.fromisoformat(last) + timedelta(days=1)
    assert first.today == expected


def test_so_do_their_answers(plan: dict[str, bytes], tmp_path: Path) -> None:
    record = worked_on(plan["csv"], tmp_path / "plan.csv", RECORDS["a lost period"])
    delivered = []
    for command in (["sequence"], ["replan", "--previous", str(record)]):
        file = tmp_path / f"{command[0]}.json"
        asked = ["--record", str(record), "--format", "json", "--seconds", "20", "--output", str(file)]
        assert main([*command, str(SCENARIO), *asked]) == 0
        rows = json.loads(file.read_text(encoding="utf-8"))["lessons"]
        delivered.append([(row["lesson"], row["date"], row["period"]) for row in rows if row["delivered"]])
    assert delivered[0] == delivered[1] and len(delivered[0]) == 2


@pytest.mark.parametrize("word", [*DID_NOT_TAKE_PLACE, "Did not take place", "didn't take place", "CANCELLED."])
def test_that_a_lesson_did_not_take_place_can_be_said_plainly(word: str, plan: dict[str, bytes], tmp_path: Path) -> None:
    scenario = read_scenario(SCENARIO)
    recorded = read_plan_record(scenario, worked_on(plan["xlsx"], tmp_path / "plan.xlsx", ["delivered", word]))
    assert [entry.what for entry in recorded.record] == ["delivered", "lost"]
    lost = recorded.record[1]
    slots = build_instance(recorded).classes[0].slots
    assert (lost.date, lost.period) not in {(slot.date, slot.period) for slot in slots}
    assert not any(delivered.delivered for delivered in build_instance(recorded).lessons if delivered.id == lost.lesson)


def test_a_lost_lesson_does_not_lie_where_the_plan_has_it(plan: dict[str, bytes], tmp_path: Path) -> None:
    scenario = read_scenario(SCENARIO)
    whole = read_plan_sequence(scenario, worked_on(plan["csv"], tmp_path / "one.csv", []))
    less = read_plan_sequence(scenario, worked_on(plan["csv"], tmp_path / "two.csv", ["delivered", "cancelled"]))
    assert len(less.placements) == len(whole.placements) - 1


@pytest.mark.parametrize("blank", [None, ""])
def test_over_http_a_blank_says_nothing_either(blank: str | None, plan: dict[str, bytes]) -> None:
    """What a body with a scenario, a record and an earlier plan is read by, for a sequence and for a plan made again."""
    answer = json.loads(plan["json"])
    rows = [{**row, "what": "delivered" if number < 2 else blank} for number, row in enumerate(answer["lessons"])]
    data = scenario_data(read_scenario(SCENARIO)) | {"today": "2026-11-12"}
    body = {"scenario": data, "record": {"lessons": rows}}
    alone, _ = load_with_earlier(json.dumps(body))
    made, previous = load_replan(json.dumps({**body, "previous": answer}))
    assert alone == made and len(made.record) == 2 and made.today == alone.today
    again = replan(made, previous, SolveSettings(seconds=3))
    notes = again.answer.notes
    assert any("not recorded" in note for note in notes)
    delivered = [row["lesson"] for row in answer_json(again.answer)["lessons"] if row["delivered"]]
    assert delivered == [row["lesson"] for row in rows[:2]] or again.answer.sequence is None
