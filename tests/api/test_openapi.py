"""The description is valid OpenAPI 3.1 and says what the service does."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator, validate

from sequencer import parse_document, scenario_schema
from tests.api.service import JSON, PROBLEM, SCENARIOS, SMALL, YAML, ask


@pytest.fixture(scope="module", name="document")
def the_document() -> dict[str, Any]:
    """Return the description as it is served."""
    response = ask("GET", "/openapi.json")
    assert response.headers["content-type"] == JSON
    body: dict[str, Any] = response.json()
    return body


def validator(document: dict[str, Any], name: str) -> Draft202012Validator:
    """Return a validator of one of the shapes, forbidding nothing that the description does not."""
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def test_it_is_valid_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"].startswith("3.1.")
    validate(document, cls=OpenAPIV31SpecValidator)


def test_every_reference_leads_somewhere(document: dict[str, Any]) -> None:
    text = json.dumps(document)
    names = {part.split('"')[0] for part in text.split('"$ref": "')[1:]}
    assert len(names) > 30
    assert names <= {f"#/components/schemas/{name}" for name in document["components"]["schemas"]}


def test_it_describes_every_address_and_nothing_else(document: dict[str, Any]) -> None:
    assert {path: set(entry) for path, entry in document["paths"].items()} == {
        "/v1/sequences": {"post"},
        "/v1/searches/{name}": {"delete"},
        "/v1/terms": {"post"},
        "/v1/weeks": {"post"},
        "/v1/replans": {"post"},
        "/v1/preparations": {"post"},
        "/v1/coverages": {"post"},
        "/v1/starters": {"post"},
        "/v1/assessments": {"post"},
        "/v1/outlines": {"post"},
        "/v1/explanations": {"post"},
        "/v1/comparisons": {"post"},
        "/v1/checks": {"post"},
        "/v1/redatings": {"post"},
        "/v1/next-terms": {"post"},
        "/v1/plans": {"post"},
        "/v1/scenarios": {"post"},
        "/v1/lesson-lists": {"post"},
        "/v1/blank-workbook": {"get"},
        "/v1/formats": {"get"},
        "/v1/holidays": {"get"},
        "/v1/demos": {"get"},
        "/v1/demos/{name}": {"get"},
        "/v1/scenario-schema": {"get"},
        "/v1/problems/{name}": {"get"},
        "/healthz": {"get"},
    }


@pytest.mark.parametrize(
    "path",
    [
        "/v1/sequences",
        "/v1/replans",
        "/v1/explanations",
        "/v1/preparations",
        "/v1/coverages",
        "/v1/starters",
        "/v1/assessments",
        "/v1/checks",
        "/v1/redatings",
        "/v1/next-terms",
        "/v1/plans",
    ],
)
def test_it_describes_bodies_and_problem_documents(document: dict[str, Any], path: str) -> None:
    operation = document["paths"][path]["post"]
    assert set(operation["requestBody"]["content"]) == {JSON, YAML}
    refusals = {status: entry for status, entry in operation["responses"].items() if status != "200"}
    assert {"406", "408", "413", "415", "422", "500", "503"} <= set(refusals)
    assert all(set(entry["content"]) == {PROBLEM} for entry in refusals.values())
    assert "Retry-After" in refusals["503"]["headers"]


def test_options_are_described(document: dict[str, Any]) -> None:
    parameters = document["paths"]["/v1/sequences"]["post"]["parameters"]
    assert {(entry["name"], entry["in"], entry["required"]) for entry in parameters} == {
        ("seconds", "query", False),
        ("seed", "query", False),
        ("workers", "query", False),
        ("alternatives", "query", False),
        ("loss", "query", False),
        ("format", "query", False),
        ("class", "query", False),
        ("teacher", "query", False),
        ("week", "query", False),
        ("on", "query", False),
        ("copy", "query", False),
        ("starters", "query", False),
        ("Prefer", "header", False),
    }


@pytest.mark.parametrize("file", sorted(SCENARIOS.glob("*.yaml")), ids=lambda file: file.name)
def test_scenarios_fit_their_description(document: dict[str, Any], file: Path) -> None:
    scenario = validator(document, "Scenario")
    data = parse_document(file.read_bytes())[0]
    scenario.validate(data)
    assert not scenario.is_valid({**data, "unit": []})


@pytest.mark.parametrize("file", ["small", "no-sequence", "shared-class"])
def test_answers_fit_their_description(document: dict[str, Any], file: str) -> None:
    answer = ask("POST", "/v1/sequences?seconds=6", (SCENARIOS / f"{file}.yaml").read_bytes(), YAML).json()
    shape = validator(document, "Answer")
    shape.validate(answer)
    # The description is exact: nothing is left out of it, and nothing can be missing.
    assert not shape.is_valid({**answer, "more": 1})
    assert not any(shape.is_valid({key: value for key, value in answer.items() if key != gone}) for gone in answer)


def test_explanations_fit_their_description(document: dict[str, Any]) -> None:
    body = ask("POST", "/v1/explanations", (SCENARIOS / "no-sequence.yaml").read_bytes(), YAML).json()
    shape = validator(document, "Explanation")
    shape.validate(body)
    assert not any(shape.is_valid({key: value for key, value in body.items() if key != gone}) for gone in body)
    (change,) = body["repairs"][0]["changes"]
    what_if = validator(document, "WhatIf")
    assert what_if.is_valid({"name": "x", "changes": [change]})
    assert not what_if.is_valid({"name": "x", "changes": [{**change, "change": "nothing"}]})


def test_alternatives_fit_their_description(document: dict[str, Any]) -> None:
    answer = ask("POST", "/v1/sequences?alternatives=2", SMALL, YAML).json()
    assert answer["alternatives"] and answer["further"]
    validator(document, "Answer").validate(answer)
    for name, part in (("Alternative", answer["alternatives"][0]), ("Further", answer["further"])):
        shape = validator(document, name)
        assert not any(shape.is_valid({key: value for key, value in part.items() if key != gone}) for gone in part)


def test_verdicts_checks_and_problems_fit_their_descriptions(document: dict[str, Any]) -> None:
    answer = ask("POST", "/v1/sequences", SMALL, YAML).json()
    # Two lessons change places, so that rules break.
    first, last = answer["lessons"][0], answer["lessons"][-1]
    for key in ("date", "period"):
        first[key], last[key] = last[key], first[key]
    check = {"scenario": parse_document(SMALL)[0], "sequence": answer}
    validator(document, "Check").validate(check)
    verdict = ask("POST", "/v1/checks", json.dumps(check), JSON).json()
    assert verdict["breaches"]
    validator(document, "Verdict").validate(verdict)
    more = ask("POST", "/v1/checks?best=true&complete=true", json.dumps(check), JSON).json()
    assert more["beside_best"] and more["completion"]["explanation"]["conflicts"]
    validator(document, "Checked").validate(more)
    name = f"{first['class']}:{first['unit']}/{first['lesson']}"
    elsewhere = ask("POST", f"/v1/explanations?lesson={name}", SMALL, YAML).json()
    assert any(place["forbidden_by"] for place in elsewhere["places"])
    validator(document, "Elsewhere").validate(elsewhere)

    validator(document, "UnusableInputProblem").validate(ask("POST", "/v1/checks", b"{}", JSON).json())
    validator(document, "ProblemDocument").validate(ask("GET", "/nothing").json())
    validator(document, "Health").validate(ask("GET", "/healthz").json())


def test_wishes_not_granted_fit_their_description(document: dict[str, Any]) -> None:
    # No lesson at all is wished of each week: as many units as there are lessons.
    data = parse_document(SMALL)[0]
    data["rules"]["week"] = {"most_lessons": 0, "wish": 2}
    answer = ask("POST", "/v1/sequences", json.dumps(data), JSON).json()
    shape = validator(document, "Answer")
    shape.validate(answer)
    wishes = answer["verdict"]["wishes"]
    assert sum(wish["units"] for wish in wishes) == len(answer["lessons"])
    for gone in wishes[0]:
        answer["verdict"]["wishes"] = [{key: value for key, value in wishes[0].items() if key != gone}]
        assert not shape.is_valid(answer)


def test_redatings_fit_their_descriptions(document: dict[str, Any]) -> None:
    body = {
        "scenario": parse_document(SMALL)[0],
        "calendar": {"format": 1, "term": {"first": "2027-11-01", "last": "2027-11-12", "cycle": ["A", "B"]}},
    }
    shape = validator(document, "Redating")
    shape.validate(body)
    assert not shape.is_valid({**body, "calendar": {**body["calendar"], "units": []}})
    longer = {**body, "calendar": {"term": {"first": "2027-11-01", "last": "2027-11-19", "cycle": ["A", "B"]}}}
    for sent, moves in ((body, False), (longer, True)):
        redated = ask("POST", "/v1/redatings", json.dumps(sent), JSON).json()
        assert redated["no_longer_fits"] and bool(redated["moved"]) is moves
        shape = validator(document, "Redated")
        shape.validate(redated)
        assert not any(shape.is_valid({key: value for key, value in redated.items() if key != gone}) for gone in redated)
        assert not shape.is_valid({**redated, "scenario": {}})


def test_the_schema_is_the_command_lines() -> None:
    response = ask("GET", "/v1/scenario-schema")
    assert response.headers["content-type"] == "application/schema+json"
    assert response.json() == scenario_schema()
    Draft202012Validator.check_schema(response.json())


def test_improvements_fit_their_description(document: dict[str, Any]) -> None:
    response = ask("POST", "/v1/sequences", SMALL, YAML, accept="text/event-stream")
    told = [line[6:] for line in response.text.splitlines() if line.startswith("data: ")]
    begun, *improvements, answer = (json.loads(each) for each in told)
    validator(document, "BegunEvent").validate(begun)
    assert improvements
    for each in improvements:
        validator(document, "ProgressEvent").validate(each)
    validator(document, "Answer").validate(answer)


def test_every_type_of_problem_has_an_address_that_says_what_it_means(document: dict[str, Any]) -> None:
    refused = [ask("GET", "/nothing"), ask("POST", "/v1/checks", b"{}", JSON), ask("POST", "/v1/checks", b"{}", "text/csv")]
    for response in refused:
        body = response.json()
        said = ask("GET", body["type"]).json()
        validator(document, "ProblemType").validate(said)
        assert (said["type"], said["status"]) == (body["type"], response.status_code)
    assert ask("GET", "/v1/problems/none").json()["type"] == "/v1/problems/nothing-here"
