"""This term's scenario, its sequence and the next term's dates in, a skeleton of the next term out."""

from __future__ import annotations

import json
from typing import Any

from api.examples import BODIES
from sequencer import load_scenario, scenario_from_data
from tests.api.service import JSON, SMALL, SMALL_JSON, YAML, ask, problem

ROWS = [{"class": "8P", "lesson": "sites", "date": "2026-11-02", "period": 2}]


def body_of(**parts: Any) -> str:
    return json.dumps({"scenario": json.loads(SMALL_JSON), "sequence": ROWS, "first": "2026-11-30", "last": "2026-12-18"} | parts)


def test_the_next_term_is_begun() -> None:
    response = ask("POST", "/v1/next-terms", body_of(), JSON)
    assert response.status_code == 200, response.json()
    body = response.json()
    new = scenario_from_data(body["scenario"])
    assert (new.today.isoformat() if new.today else None, new.term.last.isoformat()) == ("2026-11-30", "2026-12-18")
    # Of the lessons that the sequence does not place, the required ones go on.
    assert '8P: "How a village became a town", still to be taught' in body["carried"]
    assert set(body) == {"scenario", "carried", "to_fill_in", "no_longer_fits"}


def test_the_example_is_rolled_forward() -> None:
    body = ask("POST", "/v1/next-terms", BODIES["/v1/next-terms"], YAML).json()
    assert scenario_from_data(body["scenario"]).title == "After: Three lessons in a week"


def test_problems_are_listed_at_their_places_in_the_body() -> None:
    record = {"record": [{"class": "8P", "lesson": "nothing", "what": "skipped"}]}
    listed = problem(ask("POST", "/v1/next-terms", body_of(record=record, first="soon"), JSON), 422)["problems"]
    assert [entry["where"] for entry in listed] == ["first", "record.record[0].lesson"]


def test_a_term_that_begins_too_soon_is_refused() -> None:
    answered = problem(ask("POST", "/v1/next-terms", body_of(first="2026-11-18"), JSON), 400)
    assert answered["detail"].startswith("The next term must begin after this one ends, on Fri 20 Nov 2026")


def test_a_check_takes_a_record_beside_the_scenario() -> None:
    scenario = load_scenario(SMALL)
    lesson = scenario.units[0].lessons[0].id
    record = {"record": [{"class": "8P", "lesson": lesson, "what": "skipped"}]}
    rows = {"lessons": [{"class": "8P", "lesson": lesson, "date": "2026-11-02", "period": 2}]}
    data = {"scenario": json.loads(SMALL_JSON), "sequence": rows, "record": record}
    listed = problem(ask("POST", "/v1/checks", json.dumps(data), JSON), 422)["problems"]
    assert [entry["message"] for entry in listed] == [f'names a lesson that class 8P skipped: "{lesson}"']
