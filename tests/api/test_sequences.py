"""A scenario in, an answer out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from api.examples import SCENARIO
from api.settings import Settings
from sequencer import Answer, Scenario, SolveSettings, StopSignal, answer_json, read_scenario, solve
from tests.api.service import JSON, SCENARIOS, SMALL, SMALL_JSON, YAML, InThisProcess, ask, problem


def without_run(body: dict[str, Any]) -> dict[str, Any]:
    """Return an answer without what may differ from run to run."""
    return {key: value for key, value in body.items() if key != "run"}


def test_yaml_json_and_the_command_lines_functions_give_the_same_answer() -> None:
    expected = answer_json(solve(read_scenario(SCENARIOS / "small.yaml"), SolveSettings()))
    from_yaml = ask("POST", "/v1/sequences", SMALL, YAML)
    from_json = ask("POST", "/v1/sequences", SMALL_JSON, JSON)

    assert (from_yaml.status_code, from_json.status_code) == (200, 200)
    assert from_yaml.headers["content-type"] == JSON
    assert without_run(from_yaml.json()) == without_run(from_json.json()) == without_run(expected)
    assert expected["status"] == "optimal"


@pytest.mark.parametrize(
    "media", ["text/yaml", "application/x-yaml", "text/x-yaml", "APPLICATION/YAML", 'application/yaml; charset="utf-8"']
)
def test_older_names_of_yaml_are_read(media: str) -> None:
    assert ask("POST", "/v1/sequences", SMALL, media).json()["status"] == "optimal"


def test_that_no_sequence_exists_is_an_answer() -> None:
    response = ask("POST", "/v1/sequences", (SCENARIOS / "no-sequence.yaml").read_bytes(), YAML)
    assert response.status_code == 200
    body = response.json()
    assert (body["status"], body["lessons"], body["verdict"]) == ("infeasible", [], None)


def test_that_none_was_found_in_the_time_is_an_answer() -> None:
    response = ask("POST", "/v1/sequences?seconds=0.000001", SMALL, YAML)
    assert response.status_code == 200
    body = response.json()
    assert (body["status"], body["run"]["stopped_by"]) == ("unknown", "time")


def test_best_found_is_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    def found(scenario: Scenario, settings: SolveSettings, progress: None, stop: StopSignal) -> Answer:
        return replace(solve(scenario, settings, progress, stop), status="feasible")

    monkeypatch.setattr("api.work.solve", found)
    response = ask("POST", "/v1/sequences", SMALL, YAML, workers=InThisProcess)
    assert (response.status_code, response.json()["status"]) == (200, "feasible")


def test_alternatives_come_on_request_and_are_the_command_lines() -> None:
    plain = ask("POST", "/v1/sequences", SMALL, YAML).json()
    assert (plain["alternatives"], plain["further"]) == ([], None)
    asked = ask("POST", "/v1/sequences?alternatives=3", SMALL, YAML).json()
    expected = answer_json(solve(read_scenario(SCENARIOS / "small.yaml"), SolveSettings(alternatives=3)))
    assert without_run(asked) == without_run(expected)
    assert asked["lessons"] == plain["lessons"]
    # Only the talk about the test can move, to one of the two spare periods after it.
    assert [[move["lesson"] for move in each["moved"]] for each in asked["alternatives"]] == [["talk"], ["talk"]]
    assert asked["further"] == {"asked": 3, "loss": {}, "none_left": True}


def test_the_example_of_the_description_works() -> None:
    body = ask("POST", "/v1/sequences", SCENARIO, YAML).json()
    assert (body["status"], len(body["lessons"])) == ("optimal", 3)


# -- options -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("query", "allowed"),
    [("", 20.0), ("?seconds=7.5", 7.5), ("?seconds=40", 40.0)],
)
def test_the_time_asked_for_is_allowed(query: str, allowed: float) -> None:
    settings = Settings(seconds=20, most_seconds=40)
    assert ask("POST", f"/v1/sequences{query}", SMALL, YAML, settings).json()["run"]["seconds_allowed"] == allowed


def test_the_cap_holds_for_the_usual_time_too() -> None:
    settings = Settings(seconds=20, most_seconds=10)
    assert ask("POST", "/v1/sequences", SMALL, YAML, settings).json()["run"]["seconds_allowed"] == 10


def test_options_reach_the_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[SolveSettings] = []

    def watched(scenario: Scenario, settings: SolveSettings, progress: None, stop: StopSignal) -> Answer:
        given.append(settings)
        return solve(scenario, settings, progress, stop)

    monkeypatch.setattr("api.work.solve", watched)
    query = "seed=2147483647&seconds=9&alternatives=2&loss=distance=2,even%20load=0"
    loss = {"distance": 2, "even load": 0}
    run = ask("POST", f"/v1/sequences?{query}", SMALL, YAML, Settings(workers=3), InThisProcess).json()["run"]
    assert given == [SolveSettings(seconds=9, seed=2147483647, workers=3, alternatives=2, loss=loss)]
    assert (run["seed"], run["workers"]) == (2147483647, 3)


@pytest.mark.parametrize(
    ("query", "named"),
    [
        *((f"seconds={value}", "seconds") for value in ("0", "-1", "nan", "inf", "1e400", "1e-400", "ten", "", "9,5")),
        *((f"seed={value}", "seed") for value in ("-1", "1.5", "2147483648", "x", "", "9" * 5000)),
        *((f"alternatives={value}", "alternatives") for value in ("-1", "1.5", "21", "x", "", "9" * 5000)),
        *((f"alternatives=1&loss={value}", "loss") for value in ("distance", "distance=", "=2", "distance=-1", "x" * 201)),
        ("alternatives=1&loss=distance=%D9%A2", "loss"),  # a digit, but not one of ours
        ("alternatives=1&loss=even%20load=1,even%20load=2", "twice"),
        ("alternatives=1&loss=nonsense=1", "left out, carried over, left for the next plan, wishes, early finish, dense"),
        ("alternatives=1&loss=distance=1", "even load stands after distance"),
        ("alternatives=1&loss=even%20load=1000001", "1000000"),
        ("loss=even%20load=1", "alternatives"),
        ("alternatives=1&alternatives=1", "alternatives"),
        ("loss=even%20load=1&loss=even%20load=1", "loss"),
        ("seconds=1&seconds=2", "seconds"),
        ("seed=1&seed=1", "seed"),
        ("cores=4", "none of those known"),
        ("second=5", "none of those known"),
        ("Seconds=5", "none of those known"),
        ("%ED%A0%80=%00", "none of those known"),
        ("seed=x&nonsense=1", "seed"),
    ],
)
def test_options_that_cannot_be_used_are_named_but_not_quoted(query: str, named: str) -> None:
    body = problem(ask("POST", f"/v1/sequences?{query}", SMALL, YAML), 400)
    assert named in body["detail"]
    assert len(body["detail"]) < 400
    assert "nonsense" not in body["detail"]
