"""A plan made again over HTTP."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from api.examples import BODIES
from sequencer import parse_document
from tests.api.service import JSON, YAML, ask, problem


@pytest.mark.parametrize(("query", "name"), [("", "Replanned"), ("&trade_off=true", "TradeOff"), ("&most_moved=1", "Replanned")])
def test_bodies_fit_their_description(query: str, name: str) -> None:
    body = ask("POST", f"/v1/replans?seconds=20{query}", BODIES["/v1/replans"], YAML).json()
    components = ask("GET", "/openapi.json").json()["components"]
    shape = Draft202012Validator({"$ref": f"#/components/schemas/{name}", "components": components})
    shape.validate(body)
    assert not any(shape.is_valid({key: value for key, value in body.items() if key != gone}) for gone in body)


def test_an_answer_handed_in_again_does_not_move() -> None:
    scenario = parse_document(BODIES["/v1/replans"].encode())[0]["scenario"]
    answer = ask("POST", "/v1/sequences?seconds=20", json.dumps(scenario), JSON).json()
    text = json.dumps({"scenario": scenario, "previous": answer})
    assert ask("POST", "/v1/replans?seconds=20", text, JSON).json()["moved"] == 0
    page = ask("POST", "/v1/replans?seconds=20", text, JSON, accept="text/html")
    assert page.headers["content-type"] == "text/html; charset=utf-8" and "Nothing changed." in page.text


def test_what_cannot_be_used_is_told_at_its_place() -> None:
    scenario = parse_document(BODIES["/v1/replans"].encode())[0]["scenario"]
    wrong = json.dumps({"scenario": scenario, "previous": [{"class": "none", "lesson": "x", "date": "2026-11-02", "period": 1}]})
    body = problem(ask("POST", "/v1/replans", wrong, JSON), 422)
    assert [each["pointer"] for each in body["problems"]] == ["/previous/0/class"]
    assert "most_moved must be given once" in problem(ask("POST", "/v1/replans?most_moved=-1", wrong, JSON), 400)["detail"]
    assert "both" in problem(ask("POST", "/v1/replans?trade_off=true&most_moved=1", wrong, JSON), 400)["detail"]
