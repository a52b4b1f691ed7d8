"""Terms over HTTP: read, had as a workbook, a week of one done and undone."""

from __future__ import annotations

import base64
import io
import json

import openpyxl
from jsonschema import Draft202012Validator

from api.examples import BODIES
from api.media import XLSX_TYPE
from sequencer import load_term_book, parse_document, term_data, term_from_data
from tests.api.service import JSON, SMALL, YAML, ask, problem

EVENTS = "text/event-stream"


def planned() -> dict[str, object]:
    begun = ask("POST", "/v1/terms", SMALL, YAML).json()
    assert begun["plan"] is None and begun["earlier"] == []
    done = ask("POST", "/v1/weeks?seconds=20&on=2026-11-01", json.dumps(begun), JSON).json()
    assert done["done"] == "planned" and done["answer"]["status"] == "optimal"
    return done["term"]  # type: ignore[no-any-return]


def test_a_week_fits_its_description() -> None:
    components = ask("GET", "/openapi.json").json()["components"]
    shape = Draft202012Validator({"$ref": "#/components/schemas/Week", "components": components})
    body = ask("POST", "/v1/weeks?seconds=20&on=2026-11-03", BODIES["/v1/weeks"], YAML).json()
    shape.validate(body)
    assert body["done"] == "planned again" and body["term"]["earlier"][0]["made"] == "2026-11-03"
    assert [each["lesson"] for each in body["changed"]] == ["source-task", "quiz"]


def test_a_week_is_done_once_and_undone() -> None:
    term = planned()
    rows = term["plan"]["lessons"]  # type: ignore[index]
    for row in rows:
        row["what"] = "delivered" if row["date"] <= "2026-11-06" else None
    filled = json.loads(json.dumps(term))
    done = ask("POST", "/v1/weeks?seconds=20&on=2026-11-06", json.dumps(term), JSON).json()
    assert done["done"] == "planned again" and done["changed"] == []
    again = ask("POST", "/v1/weeks?seconds=20", json.dumps(done["term"]), JSON).json()
    assert again["done"] == "nothing" and again["term"] == done["term"] and again["answer"] is None
    back = ask("POST", "/v1/weeks?undo=true", json.dumps(done["term"]), JSON).json()
    assert back["done"] == "undone" and back["term"] == filled
    begun = {"term": 1, "scenario": filled["scenario"]}
    assert "no week to undo" in str(problem(ask("POST", "/v1/weeks?undo=true", json.dumps(begun), JSON), 400))


def test_a_week_can_be_watched() -> None:
    text = ask("POST", "/v1/weeks?seconds=20", BODIES["/v1/weeks"], YAML, accept=EVENTS).text
    assert text.startswith("event: begun") and '"done":"planned again"' in text.rpartition("event: answer")[2]


def test_a_term_is_had_as_a_workbook_and_read_from_one() -> None:
    term = planned()
    answered = ask("POST", "/v1/terms", json.dumps(term), JSON, accept=XLSX_TYPE)
    assert answered.headers["content-type"] == XLSX_TYPE
    assert load_term_book(answered.content).term == term_from_data(term)
    assert ask("POST", "/v1/terms", answered.content, XLSX_TYPE).json() == term
    assert ask("POST", "/v1/scenarios", answered.content, XLSX_TYPE).json()["title"] == "8P, settlements, three weeks in November"


def test_what_is_the_teachers_own_in_a_workbook_stays() -> None:
    term = planned()
    book = openpyxl.load_workbook(io.BytesIO(ask("POST", "/v1/terms", json.dumps(term), JSON, accept=XLSX_TYPE).content))
    sheet = book["Plan"]
    place = sheet.max_column + 1
    sheet.cell(1, place).value, sheet.cell(3, place).value = "my notes", "bring the maps"
    stream = io.BytesIO()
    book.save(stream)
    term["workbook"] = base64.b64encode(stream.getvalue()).decode()
    written = openpyxl.load_workbook(io.BytesIO(ask("POST", "/v1/terms", json.dumps(term), JSON, accept=XLSX_TYPE).content))
    assert [written["Plan"].cell(row, place).value for row in (1, 2, 3)] == ["my notes", None, "bring the maps"]
    term["workbook"] = "?"
    assert problem(ask("POST", "/v1/terms", json.dumps(term), JSON), 422)["problems"][0]["pointer"] == "/workbook"


def test_what_cannot_be_used_is_told_at_its_place() -> None:
    data = term_data(term_from_data(planned()))
    data["plan"]["lessons"][0]["what"] = "taught"
    body = problem(ask("POST", "/v1/weeks", json.dumps(data), JSON), 422)
    assert [each["pointer"] for each in body["problems"]] == ["/plan/lessons/0/what"]
    data["plan"]["lessons"][0] |= {"what": "delivered", "period": 9}
    body = problem(ask("POST", "/v1/weeks", json.dumps(data), JSON), 422)
    assert [each["pointer"] for each in body["problems"]] == ["/plan/lessons/0/period"]
    assert parse_document(BODIES["/v1/weeks"])[0]["term"] == 1
