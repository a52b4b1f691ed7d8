"""A plan made again over HTTP."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from api.examples import BODIES
from sequencer import parse_document
from tests.api.service import JSON, YAML, ask, description, problem


@pytest.mark.parametrize(("query", "name"), [("", "Replanned"), ("&trade_off=true", "TradeOff"), ("&most_moved=1", "Replanned")])
def test_bodies_fit_their_description(query: str, name: str) -> None:
    body = ask("POST", f"/v1/replans?seconds=20{query}", BODIES["/v1/replans"], YAML).json()
    components = description()["components"]
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


def test_a_lesson_that_is_gone_is_told_and_the_shape_holds() -> None:
    body = parse_document(BODIES["/v1/replans"].encode())[0]
    body["previous"]["lessons"].append({"class": "9B", "lesson": "trip", "title": "Trip", "date": "2026-11-06", "period": 5})
    text = json.dumps(body, default=str)
    components = description()["components"]
    for query, name in (("", "Replanned"), ("&format=notice-json", "ChangeNotice")):
        answer = ask("POST", f"/v1/replans?seconds=20{query}", text, JSON).json()
        Draft202012Validator({"$ref": f"#/components/schemas/{name}", "components": components}).validate(answer)
    (gone,) = ask("POST", "/v1/replans?seconds=20", text, JSON).json()["gone"]
    assert (gone["lesson"], gone["title"], gone["unit"], gone["why"]) == ("trip", "Trip", "", "no longer in the scenario")


def test_where_no_plan_is_possible_the_conflict_has_its_place_in_the_body() -> None:
    body = parse_document(BODIES["/v1/replans"].encode())[0]
    body["scenario"]["closures"].append({"name": "Flood", "on": ["2026-11-02", "2026-11-05"]})
    text = json.dumps(body, default=str, indent=1)
    answer = ask("POST", "/v1/replans?seconds=20", text, JSON).json()
    assert answer["status"] == "infeasible"
    (conflict,) = answer["explanation"]["conflicts"]
    assert conflict["statements"] and all(each["pointer"].startswith("/scenario/") for each in conflict["statements"])
    assert all(each["line"] > 1 for each in conflict["statements"])
    assert "Proven" in ask("POST", "/v1/replans?seconds=20&format=text", text, JSON).text
