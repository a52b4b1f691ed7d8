"""A scenario and a sequence in, a verdict out."""

from __future__ import annotations

import json
from typing import Any

import pytest

from api.examples import BODIES
from sequencer import answer_json, load_scenario, solve
from tests.api.service import JSON, SMALL, SMALL_JSON, YAML, ask, problem


@pytest.fixture(scope="module", name="answer")
def an_answer() -> dict[str, Any]:
    """Return the answer to the small scenario."""
    return answer_json(solve(load_scenario(SMALL)))


def body_of(sequence: Any, scenario: bytes = SMALL_JSON) -> str:
    """Return a check in JSON, over several lines."""
    return json.dumps({"scenario": json.loads(scenario), "sequence": sequence}, indent=1)


def places(response_body: dict[str, Any]) -> list[tuple[str, str]]:
    """Return where each problem is, for people and for programs."""
    return [(each["where"], each["pointer"]) for each in response_body["problems"]]


def test_a_whole_answer_is_sound(answer: dict[str, Any]) -> None:
    response = ask("POST", "/v1/checks", body_of(answer), JSON)
    assert response.status_code == 200
    assert response.json() == answer["verdict"]
    assert response.json()["sound"] is True


def test_rows_in_yaml_are_judged() -> None:
    verdict = ask("POST", "/v1/checks", BODIES["/v1/checks"], YAML).json()
    assert (verdict["sound"], verdict["breaches"]) == (True, [])


def test_a_bare_list_of_rows_is_judged(answer: dict[str, Any]) -> None:
    response = ask("POST", "/v1/checks", body_of(answer["lessons"]), JSON)
    assert (response.status_code, response.json()) == (200, answer["verdict"])
    wrong = [{**answer["lessons"][0], "period": "four"}, {**answer["lessons"][0], "class": "8Q"}]
    body = problem(ask("POST", "/v1/checks", body_of(wrong), JSON), 422)
    assert places(body) == [("sequence[0].period", "/sequence/0/period")]
    body = problem(ask("POST", "/v1/checks", body_of(wrong[1:]), JSON), 422)
    assert places(body) == [("sequence[0].class", "/sequence/0/class")]


def test_a_broken_rule_is_listed_with_its_periods() -> None:
    # The quiz on Thursday requires the practice, which moves to Friday: rule 1; it no longer follows the dense lesson: rule 3.
    moved = BODIES["/v1/checks"].replace(
        "lesson: source-task, date: 2026-11-03, period: 3", "lesson: source-task, date: 2026-11-06, period: 5"
    )
    response = ask("POST", "/v1/checks", moved, YAML)
    assert response.status_code == 200
    verdict = response.json()
    assert verdict["sound"] is False
    assert {breach["rule"] for breach in verdict["breaches"]} == {1, 3}
    order = next(breach for breach in verdict["breaches"] if breach["rule"] == 1)
    assert {"date": "2026-11-06", "period": 5} in order["periods"]


def test_problems_of_both_parts_are_listed_at_their_places_in_the_body() -> None:
    text = """\
sequence:
  lessons:
    - {class: 9B, lesson: source, date: 2026-11-31, period: 1}
    - {class: 9B, lesson: quiz, period: x, date: 2026-11-05}
scenario:
  format: 1
  term: {first: 2026-11-02, last: 2026-11-06}
  units:
    - {id: rivers, lessons: [{id: source, load: 0x4}, {id: quiz, requires: sauce}]}
  classes: [{id: 9B, units: rivers, timetable: {Mon: 1}}]
"""
    body = problem(ask("POST", "/v1/checks", text, YAML), 422)
    assert [(each["line"], each["column"], each["where"], each["pointer"]) for each in body["problems"]] == [
        (3, 41, "sequence.lessons[0].date", "/sequence/lessons/0/date"),
        (4, 41, "sequence.lessons[1].period", "/sequence/lessons/1/period"),
        (9, 49, "scenario.units[0].lessons[0].load", "/scenario/units/0/lessons/0/load"),
        (9, 76, "scenario.units[0].lessons[1].requires", "/scenario/units/0/lessons/1/requires"),
    ]
    assert "did you mean source" in body["problems"][3]["message"]


@pytest.mark.parametrize("value", ["NaN", "1e400", '"\\ud800"', "1" + "0" * 400])
def test_a_value_that_cannot_be_read_is_named_once(value: str, answer: dict[str, Any]) -> None:
    # The rest of the scenario is as it should be, and so is the rest of the sequence.
    check = body_of(answer)
    for old, where in (('"length": 2', "scenario.units[0].lessons[4].length"), ('"period": 3', "sequence.lessons[1].period")):
        body = problem(ask("POST", "/v1/checks", check.replace(old, old[:-1] + value, 1), JSON), 422)
        assert [place for place, _ in places(body)] == [where]
        assert body["problems"][0]["line"] > 1


def test_lessons_that_the_scenario_does_not_have_are_named() -> None:
    rows = {"lessons": [{"class": "8P", "lesson": "sites", "date": "2026-11-03", "period": 3}]}
    rows["lessons"] += [{**rows["lessons"][0], "class": "8Q"}, {**rows["lessons"][0], "lesson": "site"}]
    body = problem(ask("POST", "/v1/checks", body_of(rows), JSON), 422)
    assert places(body) == [
        ("sequence.lessons[1].class", "/sequence/lessons/1/class"),
        ("sequence.lessons[2].lesson", "/sequence/lessons/2/lesson"),
    ]
    assert [each["message"] for each in body["problems"]] == [
        'names no class of the scenario: "8Q"',
        'names no lesson of class 8P: "site" (did you mean sites?)',
    ]
    assert all(each["line"] > 1 for each in body["problems"])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[]", [("", "")]),
        ("{}", [("", "")]),
        ('{"scenario": {}}', None),
        ('{"Scenario": {}, "sequence": {"lessons": []}}', [("", ""), ("Scenario", "/Scenario")]),
        ('{"scenario": null, "sequence": null}', [("scenario", "/scenario"), ("sequence", "/sequence")]),
        ('{"scenario": NaN, "sequence": 1e400}', [("scenario", "/scenario"), ("sequence", "/sequence")]),
        ('{"scenario": 1, "scenario": 2, "sequence": {"lessons": []}}', [("scenario", "/scenario"), ("scenario", "/scenario")]),
        ('{"scenario": {"a": "\\ud800"}, "sequence": []}', None),
        ('{"scenario": {', [("", "")]),
        ("", [("", "")]),
    ],
)
def test_what_is_no_check_is_refused(text: str, expected: list[tuple[str, str]] | None) -> None:
    body = problem(ask("POST", "/v1/checks", text, JSON), 422)
    assert body["problems"]
    if expected is not None:
        assert places(body) == expected


def test_huge_values_are_not_echoed() -> None:
    huge = "x" * 100_000
    rows = {"lessons": [{"class": "8P", "lesson": "sites", "date": "2026-11-03", "period": 3, "taught": huge}]}
    for sequence in (rows, {"lessons": huge}, huge, {"lessons": [{huge[:150]: 1, "class": huge}]}):
        response = ask("POST", "/v1/checks", body_of(sequence), JSON)
        problem(response, 422)
        assert len(response.text) < 5000


def test_the_aims_stand_beside_the_best_and_a_whole_is_complete(answer: dict[str, Any]) -> None:
    body = ask("POST", "/v1/checks?best=true&complete=true", body_of(answer), JSON).json()
    assert body["beside_best"] == [
        {"aim": aim["aim"], "value": aim["value"], "best": aim["value"], "proven": aim["proven"]} for aim in answer["aims"]
    ]
    assert (body["completion"]["possible"], body["completion"]["explanation"]) == (True, None)
    assert body["completion"]["lessons"] == answer["lessons"]


def test_a_part_is_completed_around_what_is_given(answer: dict[str, Any]) -> None:
    body = ask("POST", "/v1/checks?complete=true", body_of(answer["lessons"][:1]), JSON).json()
    assert body["sound"] is False and "beside_best" not in body
    placed = {(row["lesson"], row["date"], row["period"]) for row in body["completion"]["lessons"]}
    given = answer["lessons"][0]
    assert body["completion"]["possible"] is True and len(placed) == len(answer["lessons"])
    assert (given["lesson"], given["date"], given["period"]) in placed


def test_a_lesson_given_twice_cannot_be_completed(answer: dict[str, Any]) -> None:
    twice = [answer["lessons"][0], {**answer["lessons"][0], "date": answer["lessons"][-1]["date"]}, answer["lessons"][0]]
    completion = ask("POST", "/v1/checks?complete=true", body_of(twice), JSON).json()["completion"]
    assert completion == {"possible": False, "at_odds": True, "lessons": [], "breaches": [], "explanation": None}


def test_options_of_a_check_that_cannot_be_used(answer: dict[str, Any]) -> None:
    detail = problem(ask("POST", "/v1/checks?best=perhaps", body_of(answer), JSON), 400)["detail"]
    assert "best must be given once, true or false" in detail
