"""An answer in the form that the client names or prefers (RFC 9110, section 12.5.1)."""

from __future__ import annotations

import json

import pytest

from sequencer import FORMATS, parse_document
from tests.api.service import JSON, SCENARIOS, SMALL, YAML, ask, problem

TYPES = {each.name: each.media_type for each in FORMATS}


@pytest.mark.parametrize("name", TYPES)
def test_a_form_by_its_name(name: str) -> None:
    response = ask("POST", f"/v1/sequences?format={name}", SMALL, YAML)
    assert response.status_code == 200
    assert response.headers["content-type"].split(";")[0] == TYPES[name]
    assert response.headers["vary"] == "Accept"
    assert len(response.content) > 500


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        ("text/calendar", "text/calendar"),
        ("TEXT/Calendar;q=0.1", "text/calendar"),
        ("*/*", JSON),
        ("application/*", JSON),
        ("text/*;q=0.3, application/json;q=0.2", "text/plain"),
        ("application/json;q=0.2, text/calendar;q=0.3, image/png", "text/calendar"),
        ("application/json;q=0, */*;q=0.1", "text/plain"),
        ("text/calendar;q=nan, application/json;q=0.1", JSON),
    ],
)
def test_what_accept_prefers(accept: str, media_type: str) -> None:
    response = ask("POST", "/v1/sequences", SMALL, YAML, accept=accept)
    assert response.headers["content-type"].split(";")[0] == media_type


def test_what_nobody_can_give_is_refused_with_the_list() -> None:
    body = problem(ask("POST", "/v1/sequences", SMALL, YAML, accept="image/png, text/calendar;q=0"), 406)
    assert all(media_type in body["detail"] for media_type in TYPES.values())
    body = problem(ask("POST", "/v1/sequences?format=calendar", SMALL, YAML, accept="text/plain"), 406)
    assert "calendar is text/calendar" in body["detail"] and JSON in body["detail"]


def test_a_form_that_is_none_is_refused_with_the_list() -> None:
    for query in ("format=picture", "format=", "format=json&format=text"):
        assert "one of json, text, " in problem(ask("POST", f"/v1/sequences?{query}", SMALL, YAML), 400)["detail"]


def test_without_a_sequence_there_is_no_calendar() -> None:
    scenario = (SCENARIOS / "no-sequence.yaml").read_bytes()
    body = problem(ask("POST", "/v1/sequences", scenario, YAML, accept="text/calendar"), 406)
    assert "no sequence exists" in body["detail"]
    assert "No sequence exists" in ask("POST", "/v1/sequences", scenario, YAML, accept="text/plain").text


def test_only_some_classes() -> None:
    text = ask("POST", "/v1/sequences?format=calendar&class=8P", SMALL, YAML).text
    assert text.count("BEGIN:VEVENT") == 8
    body = problem(ask("POST", "/v1/sequences?format=calendar&class=8P&class=9Z&teacher=Mr%20Ash", SMALL, YAML), 400)
    assert "no class 9Z: classes are 8P" in body["detail"] and "no teacher Mr Ash" in body["detail"]
    assert "is for the formats" in problem(ask("POST", "/v1/sequences?class=8P", SMALL, YAML), 400)["detail"]


def test_only_one_week_of_a_sheet() -> None:
    for query in ("week=2", "on=2026-11-13"):
        text = ask("POST", f"/v1/sequences?format=sheet&{query}", SMALL, YAML).text
        assert "Week 2 B" in text and "Week 1 A" not in text
    for query, said in (("week=9&week=2", "no week 9: school weeks are 1"), ("on=soon", "must be a date")):
        assert said in problem(ask("POST", f"/v1/sequences?format=sheet&{query}", SMALL, YAML), 400)["detail"]


def test_a_browser_runs_and_loads_nothing_from_a_sheet() -> None:
    response = ask("POST", "/v1/sequences", SMALL, YAML, accept="text/html,application/xhtml+xml,*/*;q=0.8")
    assert response.headers["content-type"] == "text/html; charset=utf-8"
    assert response.headers["content-security-policy"] == "default-src 'none'; style-src 'unsafe-inline'"
    assert response.headers["x-content-type-options"] == "nosniff"
    assert "Week 1 A" in response.text
    overview = ask("POST", "/v1/sequences?format=overview", SMALL, YAML, accept="text/html")
    assert "a bare line is a spare period" in overview.text


def test_a_workbook_is_bytes() -> None:
    response = ask("POST", "/v1/sequences?format=xlsx", SMALL, YAML)
    assert response.headers["content-type"] == TYPES["xlsx"]
    assert response.content[:2] == b"PK"


def test_an_earlier_calendar_is_brought_up_to_date() -> None:
    """As text, and as the answer that it would have been made of: nothing stands twice, and what moved has a higher SEQUENCE."""
    scenario = parse_document(SMALL)[0]
    first = ask("POST", "/v1/sequences", json.dumps(scenario), JSON, accept="text/calendar").text
    answer = ask("POST", "/v1/sequences", json.dumps(scenario), JSON).json()
    moved = {**scenario, "closures": [*scenario["closures"], {"name": "Flood", "on": answer["lessons"][0]["date"]}]}
    plain = ask("POST", "/v1/sequences?format=calendar", json.dumps(moved), JSON).text
    for earlier in (first, answer, answer["lessons"]):
        body = json.dumps({"scenario": moved, "earlier": earlier})
        text = ask("POST", "/v1/sequences?format=calendar", body, JSON).text
        assert text.count("BEGIN:VEVENT") == first.count("BEGIN:VEVENT") == plain.count("BEGIN:VEVENT")
        assert "SEQUENCE:1" in text and "SEQUENCE:1" not in plain
    yaml = f"scenario: {json.dumps(moved)}\nearlier: |\n" + "".join(f"  {line}\n" for line in first.splitlines())
    assert "SEQUENCE:1" in ask("POST", "/v1/sequences?format=calendar", yaml, YAML).text


def test_an_earlier_calendar_that_cannot_be_used_is_refused() -> None:
    scenario = parse_document(SMALL)[0]
    for earlier, where in (("BEGIN:VCALENDAR\nnonsense", None), (7, "earlier"), ([{"class": "8P"}], "earlier[0]")):
        body = json.dumps({"scenario": scenario, "earlier": earlier})
        refused = problem(ask("POST", "/v1/sequences?format=calendar", body, JSON), 422)
        assert where is None or refused["problems"][0]["where"].startswith(where)
    body = json.dumps({"scenario": scenario, "earlier": []})
    assert (
        "An earlier calendar is for the formats calendar"
        in problem(ask("POST", "/v1/sequences?format=csv", body, JSON), 400)["detail"]
    )


def test_starters_and_copies_on_request() -> None:
    weekly = (SCENARIOS / "weekly-class.yaml").read_bytes()
    opened = ask("POST", "/v1/sequences?format=sheet&starters=true&copy=true", weekly, YAML).text
    assert "opens with" in opened and "opens with" not in ask("POST", "/v1/sequences?format=sheet", weekly, YAML).text
    assert "sheet" in problem(ask("POST", "/v1/sequences?starters=true", weekly, YAML), 400)["detail"]
    problem(ask("POST", "/v1/sequences?copy=true", weekly, YAML), 400)
