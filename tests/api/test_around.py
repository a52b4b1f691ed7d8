"""A scenario in, what surrounds its sequence out; the same as the command line's functions give."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from sequencer import (
    Answer,
    assessments_json,
    assign_starters,
    coverage_json,
    parse_document,
    preparation_json,
    read_day,
    starters_json,
)
from tests.api.service import JSON, SCENARIOS, YAML, ask, description, problem
from tests.builders import best_of

WEEKLY = SCENARIOS / "weekly-class.yaml"


def weekly() -> dict[str, Any]:
    """The weekly class, with something to prepare, to book, to upload and to mark."""
    data: dict[str, Any] = parse_document(WEEKLY.read_bytes())[0]
    lessons = data["units"][0]["lessons"]
    lessons[0] |= {"preparation_minutes": 20, "prepare": {"where": "drawer", "notice": [{"what": "printing", "days": 2}]}}
    lessons[-1] |= {"marking_minutes": 60}
    data["remote_spells"] = [{"name": "Snow", "on": "2027-01-28", "taught": "live"}]
    return data


@pytest.fixture(scope="module", name="answer")
def the_answer() -> Answer:
    return best_of("weekly-class")


@pytest.fixture(scope="module", name="document")
def the_document() -> dict[str, Any]:
    return description()


def fits(document: dict[str, Any], name: str, body: Any) -> bool:
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    return bool(Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER).is_valid(body))


def test_each_is_what_the_command_lines_functions_give(answer: Answer) -> None:
    expected = {
        "/v1/preparations?on=2027-03-05": preparation_json(answer, read_day("2027-03-05", "on")),
        "/v1/coverages": coverage_json(answer),
        "/v1/starters": starters_json(answer, assign_starters(answer)),
        "/v1/assessments": assessments_json(answer),
    }
    for path, body in expected.items():
        response = ask("POST", path, WEEKLY.read_bytes(), YAML)
        assert (response.status_code, response.json()) == (200, body)


@pytest.mark.parametrize(
    ("path", "name", "full"),
    [
        ("/v1/preparations", "Preparation", ("tasks", "weeks")),
        ("/v1/coverages", "Coverage", ("classes",)),
        ("/v1/starters", "StartersAnswer", ("classes",)),
        ("/v1/assessments", "Assessments", ("cohorts",)),
    ],
)
def test_each_fits_its_description(path: str, name: str, full: tuple[str, ...], document: dict[str, Any]) -> None:
    body = ask("POST", path, json.dumps(weekly()), JSON).json()
    assert all(body[key] for key in full)
    assert fits(document, name, body)
    assert not fits(document, name, {**body, "more": 1})
    assert not any(fits(document, name, {key: value for key, value in body.items() if key != gone}) for gone in body)
    none = ask("POST", path, (SCENARIOS / "no-sequence.yaml").read_bytes(), YAML).json()
    assert none["status"] == "infeasible" and not any(none[key] for key in full)
    assert fits(document, name, none)


def test_every_kind_of_task_is_there() -> None:
    body = ask("POST", "/v1/preparations", json.dumps(weekly()), JSON).json()
    assert {task["what"] for task in body["tasks"]} == {"book", "prepare", "upload", "mark"}


@pytest.mark.parametrize("query", ["on=soon", "on=2027-02-30", "on=2027-03-05&on=2027-03-06", "seed=x", "alternatives=1"])
def test_options_that_cannot_be_used_are_refused(query: str) -> None:
    problem(ask("POST", f"/v1/preparations?{query}", WEEKLY.read_bytes(), YAML), 400)


def test_a_scenario_that_cannot_be_used_is_refused() -> None:
    data = weekly()
    data["units"][0]["lessons"][0]["covers"] = "P9"
    listed = problem(ask("POST", "/v1/coverages", json.dumps(data), JSON), 422)["problems"]
    assert [entry["where"] for entry in listed] == ["units[0].lessons[0].covers"]


TYPES = {"text": "text/plain", "sheet": "text/html", "csv": "text/csv", "json": JSON}


@pytest.mark.parametrize("path", ["/v1/preparations", "/v1/coverages", "/v1/starters", "/v1/assessments"])
def test_accept_or_format_chooses_the_form(path: str) -> None:
    body = json.dumps(weekly())
    for form, media_type in TYPES.items():
        accepted = ask("POST", path, body, JSON, accept=media_type)
        named = ask("POST", f"{path}?format={form}", body, JSON)
        for response in (accepted, named):
            assert (response.status_code, response.headers["content-type"].split(";")[0]) == (200, media_type)
            assert response.headers["vary"] == "Accept"
        assert accepted.content == named.content and len(named.content) > 100
    assert ask("POST", path, body, JSON, accept="text/html").headers["x-content-type-options"] == "nosniff"


def test_what_nobody_can_give_is_refused_with_the_list() -> None:
    body = problem(ask("POST", "/v1/starters", WEEKLY.read_bytes(), YAML, accept="text/calendar"), 406)
    assert all(media_type in body["detail"] for media_type in TYPES.values()) and "xlsx" not in body["detail"]
    unknown = problem(ask("POST", "/v1/starters?format=overview", WEEKLY.read_bytes(), YAML), 400)
    assert "one of json, text, sheet, csv, xlsx" in unknown["detail"]


def test_without_a_sequence_there_is_no_sheet() -> None:
    scenario = (SCENARIOS / "no-sequence.yaml").read_bytes()
    assert "no sequence exists" in problem(ask("POST", "/v1/coverages", scenario, YAML, accept="text/html"), 406)["detail"]
    assert "No sequence exists" in ask("POST", "/v1/coverages", scenario, YAML, accept="text/plain").text


def test_coverage_counts_starters_on_request(answer: Answer) -> None:
    body = ask("POST", "/v1/coverages?starters=true", WEEKLY.read_bytes(), YAML).json()
    assert body == coverage_json(answer, assign_starters(answer)) != coverage_json(answer)
