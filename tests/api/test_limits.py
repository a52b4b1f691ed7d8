"""Every limit of the service is a setting; what goes beyond it is refused with a document that names it and its value."""

from __future__ import annotations

import json
from typing import Any

import pytest

from api.errors import LIMITS
from api.examples import CALENDAR
from api.examples import SEQUENCE as ROWS
from api.settings import Settings, variables
from sequencer import load_scenario, parse_document
from sequencer.instance.calendar import slots_of
from sequencer.scenario.school_weeks import school_calendar
from tests.api.service import JSON, SCENARIOS, SMALL, ask, problem

SCENARIO = parse_document(SMALL)[0]
SEQUENCE = {"lessons": []}

ROUTES: dict[str, Any] = {
    "/v1/sequences": lambda scenario: scenario,
    "/v1/sequences?format=calendar": lambda scenario: {"scenario": scenario, "earlier": SEQUENCE},
    "/v1/replans": lambda scenario: {"scenario": scenario, "previous": SEQUENCE},
    "/v1/preparations": lambda scenario: scenario,
    "/v1/coverages": lambda scenario: scenario,
    "/v1/starters": lambda scenario: scenario,
    "/v1/assessments": lambda scenario: scenario,
    "/v1/outlines": lambda scenario: scenario,
    "/v1/explanations": lambda scenario: scenario,
    "/v1/comparisons": lambda scenario: {"scenario": scenario, "record": {"record": []}},
    "/v1/checks": lambda scenario: {"scenario": scenario, "sequence": SEQUENCE},
    "/v1/redatings": lambda scenario: {"scenario": scenario, "calendar": parse_document(CALENDAR)[0]},
    "/v1/next-terms": lambda scenario: {
        "scenario": scenario,
        "sequence": SEQUENCE,
        "record": {"record": []},
        "first": "2027-01-04",
        "last": "2027-02-12",
    },
}
"""Every address that reads a scenario, and the body that holds it there."""

CLASS = SCENARIO["classes"][0]
TWICE = {**SCENARIO, "classes": [CLASS, {**CLASS, "id": "second"}]}
LESSONS = sum(len(unit["lessons"]) for unit in SCENARIO["units"])
WHAT_IFS = [
    {"name": name, "changes": [{"change": "add closure", "closure": {"name": name, "on": SCENARIO["term"]["first"]}}]}
    for name in ("one", "two")
]

BEYOND: dict[str, tuple[dict[str, int], Any]] = {
    "classes": ({"most_classes": 1}, TWICE),
    "lessons": ({"most_lessons": LESSONS - 1}, SCENARIO),
    "slots": ({"most_slots": 3}, SCENARIO),
    "what_ifs": ({"most_what_ifs": 1}, {**SCENARIO, "what_ifs": WHAT_IFS}),
    "depth": ({"most_depth": 9}, {**SCENARIO, "title": [[[[[[[[["deep"]]]]]]]]]}),
    "body_bytes": ({"body_bytes": 300}, SCENARIO),
}
"""For each limit of bodies: settings, and a scenario that goes beyond them."""


def refused(path: str, body: Any, settings: Settings, limit: str) -> dict[str, Any]:
    """Return the refusal of a body, having seen that it is that of a limit."""
    said = problem(ask("POST", path, json.dumps(body), JSON, settings), LIMITS[limit][0])
    assert (said["limit"], said["type"]) == (limit, f"/v1/problems/{LIMITS[limit][1]}")
    assert f"{said['most']:,}" in said["detail"]
    assert f"  {said['setting']} " in variables()
    return said


@pytest.mark.parametrize("limit", BEYOND)
@pytest.mark.parametrize("path", ROUTES)
def test_what_goes_beyond_a_limit_is_refused_by_every_address(path: str, limit: str) -> None:
    stated, scenario = BEYOND[limit]
    said = refused(path, ROUTES[path](scenario), Settings(**stated), limit)
    assert said["most"] == next(iter(stated.values()))


def test_as_much_as_the_limit_allows_is_taken() -> None:
    slots = len(slots_of(load_scenario(SMALL), school_calendar(load_scenario(SMALL)), load_scenario(SMALL).classes[0]))
    exact: dict[str, tuple[int, Any]] = {
        "classes": (2, TWICE),
        "lessons": (LESSONS, SCENARIO),
        "slots": (slots, SCENARIO),
        "what_ifs": (2, {**SCENARIO, "what_ifs": WHAT_IFS}),
    }
    for limit, (most, scenario) in exact.items():
        body = {"scenario": scenario, "sequence": SEQUENCE}
        assert ask("POST", "/v1/checks", json.dumps(body), JSON, Settings(**{f"most_{limit}": most})).status_code == 200
        refused("/v1/checks", body, Settings(**{f"most_{limit}": most - 1}), limit)


def test_more_what_ifs_than_any_scenario_may_have_are_a_problem_of_the_document() -> None:
    many = [{**WHAT_IFS[0], "name": str(number)} for number in range(21)]
    for settings in (Settings(), Settings(most_what_ifs=1)):
        said = problem(ask("POST", "/v1/scenarios", json.dumps({**SCENARIO, "what_ifs": many}), JSON, settings), 422)
        assert said["problems"][0]["pointer"] == "/what_ifs"


def test_lessons_that_patterns_make_are_counted() -> None:
    unit = {"id": "u", "pattern": "p", "lessons": [{"id": "a", "load": 5}, {"id": "b", "load": 5}]}
    pattern = {"id": "p", "practice": {}, "feedback": {}, "writing": {}}
    made = {**SCENARIO, "patterns": [pattern], "units": [unit], "classes": [{**CLASS, "units": "u"}]}
    made = {key: made[key] for key in ("format", "term", "patterns", "units", "classes")}
    said = refused("/v1/sequences", made, Settings(most_lessons=5), "lessons")
    assert "there are 6 lessons over all classes" in said["detail"].lower()


def test_lessons_of_units_that_no_class_takes_are_counted_too() -> None:
    spare = {"id": "spare", "lessons": [{"id": f"l{number}"} for number in range(LESSONS + 1)]}
    more = {**SCENARIO, "units": [*SCENARIO["units"], spare]}
    said = refused("/v1/sequences", more, Settings(most_lessons=2 * LESSONS), "lessons")
    assert f"there are {2 * LESSONS + 1} lessons over all units" in said["detail"].lower()


def test_rows_of_a_sequence_are_counted_too() -> None:
    rows = parse_document(ROWS)[0]["lessons"] * LESSONS
    body = {"scenario": SCENARIO, "sequence": {"lessons": rows}}
    said = refused("/v1/checks", body, Settings(most_lessons=LESSONS), "lessons")
    assert f"{len(rows)} rows" in said["detail"]


@pytest.mark.parametrize("path", [path for path in ROUTES if path not in ("/v1/redatings", "/v1/next-terms")])
def test_more_time_and_workers_than_are_allowed_are_refused(path: str) -> None:
    mark, body = "&" if "?" in path else "?", ROUTES[path](SCENARIO)
    refused(f"{path}{mark}seconds=8.5", body, Settings(most_seconds=8), "seconds")
    if path != "/v1/explanations":
        refused(f"{path}{mark}workers=3", body, Settings(workers=1, most_workers=2), "workers")


def test_a_preference_and_the_usual_time_are_cut_instead() -> None:
    response = ask("POST", "/v1/sequences", SMALL, "application/yaml", Settings(most_seconds=8), prefer="wait=9")
    assert response.json()["run"]["seconds_allowed"] == 8
    assert response.headers["preference-applied"] == "wait=8"


def test_as_many_workers_as_asked_for_search() -> None:
    for workers in (1, 2, 4):
        settings = Settings(workers=4, most_workers=2)
        answer = ask("POST", f"/v1/sequences?workers={workers}", SMALL, "application/yaml", settings).json()
        assert answer["run"]["workers"] == workers


def test_the_defaults_take_every_demo() -> None:
    usual = Settings().limits
    for file in SCENARIOS.glob("*.yaml"):
        load_scenario(file.read_bytes(), limits=usual)
    assert (usual.classes, usual.lessons, usual.slots, usual.what_ifs, usual.depth) == (100, 5_000, 20_000, 20, 30)


@pytest.mark.parametrize("limit", LIMITS)
def test_every_limit_has_an_address_that_says_what_it_means(limit: str) -> None:
    status, name, says = LIMITS[limit]
    said = ask("GET", f"/v1/problems/{name}").json()
    assert (said["status"], said["says"]) == (status, says)
