"""A scenario in, why it has no sequence and what would give it one out."""

from __future__ import annotations

from api.examples import IMPOSSIBLE as EXAMPLE
from sequencer import WhatIf, apply_changes, load_scenario, solve
from sequencer.scenario.guards import with_tuples
from tests.api.service import SCENARIOS, SMALL, YAML, ask, problem

IMPOSSIBLE = (SCENARIOS / "no-sequence.yaml").read_bytes()


def test_a_conflict_and_its_repairs() -> None:
    response = ask("POST", "/v1/explanations", IMPOSSIBLE, YAML)
    assert response.status_code == 200, response.json()
    body = response.json()
    assert body["possible"] is False and body["more_conflicts"] is False
    (conflict,) = body["conflicts"]
    places = {statement["pointer"]: statement["line"] for statement in conflict["statements"]}
    assert conflict["proven_minimal"] and places["/closures/0"] == 10
    assert len(body["repairs"]) == 3 and body["nothing_cheaper"] is True


def test_a_repair_can_be_applied_as_it_is() -> None:
    for repair in ask("POST", "/v1/explanations", IMPOSSIBLE, YAML).json()["repairs"]:
        what_if = WhatIf.model_validate(with_tuples({"name": "repair", "changes": repair["changes"]}))
        answer = solve(apply_changes(load_scenario(IMPOSSIBLE), what_if.changes))
        assert answer.verdict is not None and answer.verdict.sound


def test_the_example_is_impossible() -> None:
    body = ask("POST", "/v1/explanations?conflicts=1&repairs=1", EXAMPLE, YAML).json()
    assert (body["possible"], len(body["conflicts"]), len(body["repairs"])) == (False, 1, 1)


def test_a_possible_scenario_has_nothing_to_explain() -> None:
    body = ask("POST", "/v1/explanations", SMALL, YAML).json()
    assert (body["possible"], body["conflicts"], body["repairs"], body["nothing_cheaper"]) == (True, [], [], None)


def test_the_answer_to_an_impossible_scenario_is_explained() -> None:
    body = ask("POST", "/v1/sequences", IMPOSSIBLE, YAML).json()["explanation"]
    assert len(body["conflicts"]) == len(body["repairs"]) == 1
    assert ask("POST", "/v1/sequences", SMALL, YAML).json()["explanation"] is None


def test_options_that_cannot_be_used() -> None:
    assert "repairs must be given once" in problem(ask("POST", "/v1/explanations?repairs=0", SMALL, YAML), 400)["detail"]
    assert (
        "conflicts must be given once"
        in problem(ask("POST", "/v1/explanations?conflicts=1&conflicts=2", SMALL, YAML), 400)["detail"]
    )
    assert problem(ask("POST", "/v1/explanations", "format: 2", YAML), 422)["problems"]


def test_where_else_a_lesson_could_lie() -> None:
    lesson = next(row for row in ask("POST", "/v1/sequences", SMALL, YAML).json()["lessons"])
    name = f"{lesson['class']}:{lesson['unit']}/{lesson['lesson']}"
    body = ask("POST", f"/v1/explanations?lesson={name}", SMALL, YAML).json()
    by_title = ask("POST", f"/v1/explanations?lesson={lesson['class']}:{lesson['title']}", SMALL, YAML).json()
    assert {**by_title, "run": None} == {**body, "run": None}
    assert (body["class"], body["unit"], body["lesson"]) == (lesson["class"], lesson["unit"], lesson["lesson"])
    (here,) = [place for place in body["places"] if place["here"]]
    assert (here["date"], here["period"]) == (lesson["date"], lesson["period"])
    assert all(place["forbidden_by"] for place in body["places"] if place["possible"] is False and not place["proven"])


def test_a_lesson_that_is_none() -> None:
    for name in ("9B:u/none", "9B"):
        told = problem(ask("POST", f"/v1/explanations?lesson={name}", SMALL, YAML), 400)["detail"]
        assert told.startswith("No class has a lesson ") and told.rstrip(".").endswith("that is still to be taught")
