"""Addresses for what a page asks: pasted lessons, and changes made to a scenario."""

from __future__ import annotations

import json
from pathlib import Path

from api.media import XLSX_TYPE as XLSX
from api.settings import Settings
from sequencer import load_workbook, read_workbook, write_blank
from tests.api.service import JSON, SMALL, SMALL_JSON, YAML, ask, problem

CLOSED = {"change": "add closure", "closure": {"name": "Snow", "on": "2026-11-12"}}


def test_pasted_lessons_are_understood() -> None:
    body = json.dumps({"lists": [{"class": "9B", "text": "Source (hard)\nRivers test"}]})
    found = ask("POST", "/v1/lesson-lists", body, JSON).json()
    assert [each["title"] for each in found["units"][0]["lessons"]] == ["Source", "Rivers test"]
    assert found["lists"][0]["lines"][1]["instead"] == "Rivers test (test)"
    assert problem(ask("POST", "/v1/lesson-lists", body, JSON, Settings(most_lessons=1)), 413)["limit"] == "lessons"
    assert problem(ask("POST", "/v1/lesson-lists", body, JSON, accept="text/html"), 406)


def test_a_workbook_to_fill_in_can_be_had(tmp_path: Path) -> None:
    response = ask("GET", "/v1/blank-workbook")
    assert response.headers["content-type"] == XLSX
    write_blank(tmp_path / "blank.xlsx")
    assert load_workbook(response.content) == read_workbook(tmp_path / "blank.xlsx")
    assert problem(ask("GET", "/v1/blank-workbook", accept="text/html"), 406)


def test_changes_are_made_to_a_scenario() -> None:
    body = json.dumps({"scenario": json.loads(SMALL_JSON), "changes": [CLOSED]})
    before, after = ask("POST", "/v1/scenarios", SMALL, YAML).json(), ask("POST", "/v1/scenarios", body, JSON).json()
    assert after["scenario"]["closures"] == [*before["scenario"]["closures"], CLOSED["closure"]]
    assert after["classes"][0]["periods"] == before["classes"][0]["periods"] - 2


def test_where_else_a_lesson_of_a_given_sequence_could_lie() -> None:
    answer = ask("POST", "/v1/sequences", SMALL, YAML).json()
    scenario = json.loads(SMALL_JSON)
    rows = answer["lessons"]
    for place, spare in ((place, spare) for place in range(len(rows)) for spare in answer["spare"]):
        moved = {**rows[place], **{key: spare[key] for key in ("date", "period")}}
        sequence = {"lessons": [*rows[:place], moved, *rows[place + 1 :]]}
        if ask("POST", "/v1/checks", json.dumps({"scenario": scenario, "sequence": sequence}), JSON).json()["sound"]:
            break
    named = f"{moved['class']}:{moved['unit']}/{moved['lesson']}"
    for body, lies in (({"scenario": scenario, "sequence": sequence}, moved), ({"scenario": scenario}, rows[place])):
        found = ask("POST", f"/v1/explanations?lesson={named}&seconds=20", json.dumps(body), JSON).json()
        assert [each["date"] for each in found["places"] if each["here"]] == [lies["date"]]


def test_what_is_wrong_with_changes_is_told_at_its_place() -> None:
    gone = {"change": "leave out", "lesson": "settlements/none"}
    for changes, where in (([CLOSED, {"change": "none"}], "changes[1]"), ([CLOSED, gone], "changes[1].lesson"), ([], "changes")):
        body = json.dumps({"scenario": json.loads(SMALL_JSON), "changes": changes})
        assert [each["where"] for each in problem(ask("POST", "/v1/scenarios", body, JSON), 422)["problems"]] == [where]
