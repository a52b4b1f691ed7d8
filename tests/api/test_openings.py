"""Shared openings over HTTP: beside a comparison, of several dates, refused in their places, and told as they are ready."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from api.examples import BODIES
from sequencer import SolveSettings, compare, load_comparing_plan, opening_json, parse_document, share_opening
from tests.api.service import JSON, YAML, ask, description, problem
from tests.api.test_streaming import EVENTS, events_of

BODY = parse_document(BODIES["/v1/comparisons"], "yaml")[0]
ASKED = "/v1/comparisons?seconds=60"


def with_openings(until: Any, **more: Any) -> str:
    """Return the example's body, the opening asked for otherwise."""
    return json.dumps({**BODY, "opening_until": until, **more}, default=str, indent=1)


def shape_of_answers() -> Draft202012Validator:
    schema = {"$ref": "#/components/schemas/Compared", "components": description()["components"]}
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def test_the_opening_is_that_of_the_command_line() -> None:
    scenario, asked, _ = load_comparing_plan(with_openings("2026-11-04"))
    assert asked is not None and (asked.until, asked.several, asked.weights) == ((date(2026, 11, 4),), False, None)
    settings = SolveSettings(seconds=20)
    body = ask("POST", ASKED, with_openings("2026-11-04"), JSON).json()
    assert body["shared_opening"] == opening_json(share_opening(compare(scenario, settings), asked.until[0], settings))
    assert body["shared_opening"]["status"] == "optimal"
    # Monday is the one period that both have before Wednesday; Tuesday's is lost to snow.
    (first,) = body["shared_opening"]["opening"]
    assert (first["date"], first["lesson"]) == ("2026-11-02", "source")
    assert [each["only_in"] for each in body["shared_opening"]["not_in_every_future"]] == [["base"]]
    # The time is shared out among the base, the what-if and the opening.
    assert body["base"]["run"]["seconds_allowed"] == 20
    assert "decisions" not in body
    shape_of_answers().validate(body)


def test_a_list_of_dates_says_what_an_earlier_decision_would_be_worth() -> None:
    body = ask("POST", ASKED, with_openings(["2026-11-05", "2026-11-03"], weights={"snow": 2}), JSON).json()
    assert [each["until"] for each in body["decisions"]] == ["2026-11-03", "2026-11-05"]
    assert [each["until"] for each in body["shared_openings"]] == ["2026-11-03", "2026-11-05"]
    assert all(each["weights"] == {"base": 1, "snow": 2} for each in body["shared_openings"])
    assert all(each["proven"] and each["losses"] for each in body["decisions"])
    assert "shared_opening" not in body
    shape_of_answers().validate(body)
    text = ask("POST", ASKED, with_openings(["2026-11-05", "2026-11-03"]), JSON, accept="text/plain").text
    assert "Tue 3 Nov 2026  proven best" in text


def test_a_conflict_has_the_shape_described() -> None:
    """One what-if has the source on Monday, the other not before Tuesday."""
    early, late = ({"change": "move dates", "lesson": "rivers/source", key: day}
                   for key, day in (("not_after", "2026-11-02"), ("not_before", "2026-11-03")))  # fmt: skip
    what_ifs = [{"name": "early", "changes": [early]}, {"name": "late", "changes": [late]}]
    body = ask("POST", ASKED, with_openings("2026-11-05", what_ifs=what_ifs), JSON).json()
    assert body["shared_opening"]["status"] == "infeasible"
    assert sorted(body["shared_opening"]["conflict"]["futures"]) == ["early", "late"]
    shape_of_answers().validate(body)


@pytest.mark.parametrize(
    ("asked", "pointer", "message"),
    [
        ({"opening_until": "2026-12-04"}, "/opening_until", "not after the last"),
        ({"opening_until": ["2026-11-04", "2026-11-02"]}, "/opening_until/1", "after the first day of term"),
        ({"opening_until": ["2026-11-04", "2026-11-04"]}, "/opening_until/1", "is there twice"),
        ({"opening_until": []}, "/opening_until", "must be a date, or a list"),
        ({"opening_until": "soon"}, "/opening_until", 'got "soon"'),
        ({"opening_until": "2026-11-04", "weights": {"sno": 2}}, "/weights/sno", "names no future"),
        ({"opening_until": "2026-11-04", "weights": {"snow": 0}}, "/weights/snow", "from 1 to 1000"),
        ({"opening_until": "2026-11-04", "weights": {"snow": "2"}}, "/weights/snow", "whole number"),
        ({"opening_until": "2026-11-04", "weights": [2]}, "/weights", "must be a mapping"),
        ({"weights": {"snow": 2}}, "/weights", "belongs to opening_until"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_its_place(asked: dict[str, Any], pointer: str, message: str) -> None:
    body = {key: value for key, value in BODY.items() if key != "opening_until"} | asked
    (named,) = problem(ask("POST", "/v1/comparisons", json.dumps(body, default=str, indent=1), JSON), 422)["problems"]
    assert named["pointer"] == pointer and named["line"] > 1
    assert message in named["message"]


def test_every_problem_of_what_is_asked_is_told() -> None:
    text = with_openings(["2026-11-04", "2026-12-04"], weights={"sno": 2, "base": 2000})
    body = problem(ask("POST", "/v1/comparisons", text, JSON), 422)
    assert [each["pointer"] for each in body["problems"]] == ["/opening_until/1", "/weights/sno", "/weights/base"]


def test_close_to_the_base_has_no_opening() -> None:
    for accept in ("application/json", EVENTS):
        body = problem(ask("POST", "/v1/comparisons?close=true", with_openings("2026-11-04"), JSON, accept=accept), 400)
        assert "Close cannot be asked for" in body["detail"]


def test_futures_and_openings_come_as_they_are_ready() -> None:
    text = with_openings(["2026-11-03", "2026-11-05"])
    events = [event for event in events_of(ask("POST", ASKED, text, JSON, accept=EVENTS).text) if event[0] != "comment"]
    assert [name for name, _ in events] == ["begun", "future", "future", "opening", "opening", "answer"]
    answer = events[-1][1]
    shape_of_answers().validate(answer)
    assert [events[1][1], events[2][1]] == [answer["base"], *answer["what_ifs"]]
    assert [events[3][1], events[4][1]] == answer["shared_openings"]


def test_a_comparison_alone_is_streamed_too() -> None:
    body = {key: value for key, value in BODY.items() if key != "opening_until"}
    response = ask("POST", ASKED, json.dumps(body, default=str), JSON, accept=EVENTS)
    names = [name for name, _ in events_of(response.text) if name != "comment"]
    assert names == ["begun", "future", "future", "answer"]


def test_what_a_stream_cannot_answer_is_a_problem_document() -> None:
    name, data = events_of(ask("POST", ASKED, BODIES["/v1/sequences"], YAML, accept=EVENTS).text)[-1]
    assert name == "problem" and data["status"] == 400 and "no what_ifs" in data["detail"]
