"""A scenario with what-ifs in, each of them beside it out."""

from __future__ import annotations

import json
from typing import Any

from jsonschema import Draft202012Validator

from api.examples import BODIES
from sequencer import compare, comparison_json, load_comparing_plan, load_scenario, parse_document
from tests.api.service import JSON, SMALL, YAML, ask, description, problem

SNOW: dict[str, Any] = {
    "name": "snow",
    "changes": [{"change": "add closure", "closure": {"name": "Snow", "on": "2026-11-10"}}],
}


def without_runs(body: dict[str, Any]) -> dict[str, Any]:
    """Return a comparison without what may differ from run to run."""
    futures = [{key: value for key, value in each.items() if key != "run"} for each in (body["base"], *body["what_ifs"])]
    return {**body, "base": futures[0], "what_ifs": futures[1:]}


def small_with(*what_ifs: dict[str, Any], inside: bool) -> str:
    scenario = parse_document(SMALL, "yaml")[0]
    body = {**scenario, "what_ifs": list(what_ifs)} if inside else {"scenario": scenario, "what_ifs": list(what_ifs)}
    return json.dumps(body, indent=1)


def test_what_ifs_beside_a_scenario_are_as_in_it() -> None:
    beside, inside = (small_with(SNOW, inside=each) for each in (False, True))
    assert load_comparing_plan(beside)[0] == load_scenario(inside, "", "json") == load_comparing_plan(inside)[0]
    response = ask("POST", "/v1/comparisons?seconds=40", beside, JSON)
    assert response.status_code == 200, response.json()
    body = response.json()
    assert body["base"]["run"]["seconds_allowed"] == 20
    assert without_runs(body) == without_runs(comparison_json(compare(load_comparing_plan(beside)[0])))
    assert [body["base"]["name"], *(each["name"] for each in body["what_ifs"])] == ["base", "snow"]


def test_it_starts_from_the_plan_as_it_stands() -> None:
    body = json.loads(small_with(SNOW, inside=False))
    # The plan says nothing of its last lesson, which is new then and moves nothing.
    lessons = ask("POST", "/v1/sequences?seconds=40", json.dumps(body["scenario"]), JSON).json()["lessons"]
    body["plan"] = {"lessons": lessons[:-1]}
    told = ask("POST", "/v1/comparisons?seconds=40", json.dumps(body), JSON)
    assert told.status_code == 200, told.json()
    assert told.json()["made"] == "close to the base"
    assert (told.json()["base"]["moved"], told.json()["base"]["fewest_moved"]) == (0, 0)
    wrong = body | {"opening_until": "2026-11-10"}
    assert "cannot stand beside opening_until" in ask("POST", "/v1/comparisons", json.dumps(wrong), JSON).text
    wrong = body | {"plan": [{"class": "8P", "lesson": "sites", "date": "soon", "period": 1}]}
    assert '"where":"plan[0].date"' in ask("POST", "/v1/comparisons", json.dumps(wrong), JSON).text.replace(" ", "")


def test_close_to_the_base() -> None:
    alone = BODIES["/v1/comparisons"].partition("opening_until")[0]
    free, close = (ask("POST", f"/v1/comparisons?seconds=40&close={each}", alone, YAML).json() for each in ("false", "true"))
    assert (free["made"], close["made"]) == ("freely", "close to the base")
    # Source, its task and the quiz lie on Mon, Tue and Fri; without Tue the task goes to Thu.
    assert (close["what_ifs"][0]["moved"], close["what_ifs"][0]["fewest_moved"]) == (1, 1)


def test_problems_have_their_place_in_the_whole_body() -> None:
    wrong = {"name": "x", "builds_on": "snw", "changes": [{"change": "remove closure", "name": "Rain"}]}
    body = problem(ask("POST", "/v1/comparisons", small_with(SNOW, wrong, inside=False), JSON), 422)
    (named,) = body["problems"]
    assert (named["pointer"], named["message"]) == (
        "/what_ifs/1/builds_on",
        "names no what-if of the scenario: snw (did you mean snow?)",
    )
    assert named["line"] > 1
    unknown = {key: value for key, value in wrong.items() if key != "builds_on"}
    body = problem(ask("POST", "/v1/comparisons", small_with(SNOW, unknown, inside=False), JSON), 422)
    assert [each["pointer"] for each in body["problems"]] == ["/what_ifs/1/changes/0/name"]
    twice = json.loads(small_with(SNOW, inside=False))
    twice["scenario"]["what_ifs"] = [SNOW]
    body = problem(ask("POST", "/v1/comparisons", json.dumps(twice), JSON), 422)
    assert [each["pointer"] for each in body["problems"]] == ["/what_ifs"]
    scenario = json.dumps({"scenario": {"format": 1}, "what_ifs": [SNOW]})
    assert "/scenario" in {each["pointer"] for each in problem(ask("POST", "/v1/comparisons", scenario, JSON), 422)["problems"]}


def test_a_scenario_without_what_ifs_cannot_be_compared() -> None:
    assert "no what_ifs" in problem(ask("POST", "/v1/comparisons", SMALL, YAML), 400)["detail"]
    assert "close must be given once" in problem(ask("POST", "/v1/comparisons?close=perhaps", SMALL, YAML), 400)["detail"]


def test_the_body_has_the_shape_described() -> None:
    document = description()
    schema = {"$ref": "#/components/schemas/Compared", "components": document["components"]}
    shape = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    body = ask("POST", "/v1/comparisons?seconds=40", BODIES["/v1/comparisons"], YAML).json()
    shape.validate(body)
    for gone in body["what_ifs"][0]:
        less = {key: value for key, value in body["what_ifs"][0].items() if key != gone}
        assert not shape.is_valid({**body, "what_ifs": [less]})
    # A future that is impossible has the shape too: two days closed leave two periods for three lessons.
    flood = BODIES["/v1/comparisons"].replace("on: 2026-11-03}", "on: [2026-11-03, 2026-11-05]}")
    body = ask("POST", "/v1/comparisons?seconds=40", flood, YAML).json()
    assert body["what_ifs"][0]["status"] == "infeasible" and body["what_ifs"][0]["explanation"]["conflicts"]
    shape.validate(body)
    asked = Draft202012Validator({"$ref": "#/components/schemas/Comparing", "components": document["components"]})
    asked.validate(parse_document(BODIES["/v1/comparisons"], "yaml")[0])
    asked.validate(json.loads(small_with(SNOW, inside=True)))
    assert not asked.is_valid({"scenario": {}, "what_ifs": []})
