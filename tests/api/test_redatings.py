"""Last year's scenario and this year's calendar in, this year's scenario out."""

from __future__ import annotations

import json
from typing import Any

import pytest

from api.examples import BODIES
from sequencer import load_calendar, load_scenario, redate, redated_json, scenario_from_data
from tests.api.service import JSON, SMALL, SMALL_JSON, YAML, ask, problem

CALENDAR = "term: {first: 2027-11-01, last: 2027-11-19, cycle: [A, B]}\nclosures: [{name: Training day, on: 2027-11-09}]\n"


def body_of(calendar: Any) -> str:
    """Return a re-dating of the small scenario in JSON, over several lines."""
    return json.dumps({"scenario": json.loads(SMALL_JSON), "calendar": calendar}, indent=1)


def test_a_scenario_is_redated() -> None:
    scenario = load_scenario(SMALL)
    calendar = {
        "term": {"first": "2027-11-01", "last": "2027-11-19", "cycle": ["A", "B"]},
        "closures": [{"name": "Training day", "on": "2027-11-09"}],
    }
    response = ask("POST", "/v1/redatings", body_of(calendar), JSON)
    assert response.status_code == 200
    body = response.json()
    assert body == redated_json(redate(scenario, load_calendar(scenario, CALENDAR)))
    # Friday of week 3 is Friday of week 3; the training day has its like, the boiler repair has not.
    assert body["moved"] == [
        {
            "where": "units[0].lessons[6].report_deadline",
            "pointer": "/units/0/lessons/6/report_deadline",
            "old": "2026-11-20",
            "new": "2027-11-19",
            "school_day": True,
        }
    ]
    assert body["no_longer_fits"] == [
        {
            "where": "remote_spells[0]",
            "pointer": "/remote_spells/0",
            "text": 'Remote spell "Boiler repair", Wed 4 Nov 2026 to Fri 6 Nov 2026: not carried over',
        }
    ]
    assert scenario_from_data(body["scenario"]).term.first.isoformat() == "2027-11-01"
    assert ask("POST", "/v1/sequences?seconds=20", json.dumps(body["scenario"]), JSON).json()["status"] == "optimal"


def test_the_example_is_redated() -> None:
    body = ask("POST", "/v1/redatings", BODIES["/v1/redatings"], YAML).json()
    assert body["scenario"]["title"] == "Three lessons in a week, a year later"
    assert (body["moved"], body["no_longer_fits"]) == ([], [])


def test_problems_of_both_parts_are_listed_at_their_places_in_the_body() -> None:
    text = """\
calendar:
  term: {first: 2027-11-01, last: 2027-11-31}
  classes:
    - {id: 9C}
scenario:
  format: 1
  term: {first: 2026-11-02, last: 2026-11-06}
  units:
    - {id: rivers, lessons: [{id: source}]}
  classes: [{id: 9B, units: rivers, timetable: {Mon: 1}}]
"""
    body = problem(ask("POST", "/v1/redatings", text, YAML), 422)
    assert [(each["line"], each["column"], each["where"], each["pointer"]) for each in body["problems"]] == [
        (2, 35, "calendar.term.last", "/calendar/term/last"),
        (4, 12, "calendar.classes[0].id", "/calendar/classes/0/id"),
    ]
    # Whether a calendar suits a scenario can be said of one that can be used.
    body = problem(ask("POST", "/v1/redatings", text.replace("[{id: source}]", "[]"), YAML), 422)
    assert [each["where"] for each in body["problems"]] == ["calendar.term.last", "scenario.units[0]"]


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("[]", [""]),
        ("{}", ["", ""]),
        ('{"scenario": null, "calendar": null}', ["scenario", "calendar"]),
        ('{"scenario": NaN, "calendar": 1e400}', ["scenario", "calendar"]),
        ('{"calendar": {"term": {}}, "sequence": []}', ["", "calendar.term", "calendar.term", "sequence"]),
        ("", [""]),
    ],
)
def test_what_is_no_redating_is_refused(text: str, places: list[str]) -> None:
    body = problem(ask("POST", "/v1/redatings", text, JSON), 422)
    assert [each["where"] for each in body["problems"]] == places


def test_a_class_without_a_timetable_left_is_an_error_in_plain_words() -> None:
    scenario = json.loads(SMALL_JSON)
    scenario["classes"][0]["timetable"] = [{"first": "2026-11-16", "weeks": {"A": {"Mon": 1}}}]
    scenario["units"][0]["lessons"] = [{"id": "x"}]
    calendar = {"term": {"first": "2027-11-01", "last": "2027-11-12", "cycle": ["A", "B"]}}
    body = problem(ask("POST", "/v1/redatings", json.dumps({"scenario": scenario, "calendar": calendar}), JSON), 422)
    assert [each["message"] for each in body["problems"]] == [
        "the new calendar leaves class 8P without a timetable: give it a new one under classes"
    ]


def test_it_is_refused_like_other_documents() -> None:
    problem(ask("POST", "/v1/redatings", BODIES["/v1/redatings"], "text/plain"), 415)
    problem(ask("POST", "/v1/redatings", BODIES["/v1/redatings"], YAML, Accept="text/html"), 406)
    problem(ask("GET", "/v1/redatings"), 405)
