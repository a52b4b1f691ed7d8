"""The JSON Schema that editors use says what the reading says, as far as a schema can."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from sequencer import UnusableInput, scenario_from_data, scenario_schema
from sequencer.scenario.documents import read_tree
from sequencer.scenario.json_schema import schema_text
from tests.malformed.small import SMALL, SMALL_JSON

jsonschema = pytest.importorskip("jsonschema")

SCENARIOS = Path(__file__).parents[1] / "scenarios"
Data = dict[str, Any]


@pytest.fixture(scope="module")
def validator() -> Any:
    """Return a validator of the 2020-12 dialect that checks dates too."""
    kind = jsonschema.Draft202012Validator
    return kind(scenario_schema(), format_checker=kind.FORMAT_CHECKER)


def test_it_is_a_schema_of_its_dialect() -> None:
    schema = scenario_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["title"] == "Scenario"
    assert schema["description"].startswith("A teacher's units, classes, timetable and calendar, format 1.")
    jsonschema.Draft202012Validator.check_schema(schema)


def test_it_lies_beside_the_scenarios_and_is_not_stale() -> None:
    stored = (SCENARIOS / "scenario.schema.json").read_text(encoding="utf-8")
    assert stored == schema_text(), "run: python -m sequencer schema > scenarios/scenario.schema.json"


def test_every_key_is_explained() -> None:
    def unexplained(part: Any, path: str) -> list[str]:
        found = []
        if isinstance(part, dict):
            for name, key in part.get("properties", {}).items():
                if "description" not in key:
                    found.append(f"{path}.{name}")
            found += [place for name, inner in part.items() for place in unexplained(inner, f"{path}.{name}")]
        if isinstance(part, list):
            found += [place for inner in part for place in unexplained(inner, path)]
        return found

    assert unexplained(scenario_schema(), "") == []


def test_the_scenarios_that_come_with_the_product_fit(validator: Any) -> None:
    files = sorted(SCENARIOS.glob("*.yaml"))
    assert files
    for file in files:
        assert file.read_text(encoding="utf-8").startswith("# yaml-language-server: $schema=scenario.schema.json\n")
        validator.validate(read_tree(file.read_bytes(), "yaml").data)
    validator.validate(read_tree(SMALL, "yaml").data)
    validator.validate(json.loads(SMALL_JSON))


def small(*changes: tuple[str, Any]) -> Data:
    """Return the small scenario with values set at places written as JSON pointers."""
    data: Data = json.loads(SMALL_JSON)
    for pointer, value in changes:
        *inside, last = pointer.split("/")
        place: Any = data
        for part in inside:
            place = place[int(part) if isinstance(place, list) else part]
        place[int(last) if isinstance(place, list) else last] = value
    return data


LESSON, CLASS = "units/0/lessons/0", "classes/0"

FITTING: dict[str, tuple[tuple[str, Any], ...]] = {
    "one word for a list": ((f"{LESSON}/tags", "map"), (f"{LESSON}/needs", "in school"), (f"{CLASS}/units", ["rivers"])),
    "one requirement": ((f"{LESSON}/optional", True), ("units/0/lessons/1/requires", "r1")),
    "requirements of every form": (("units/0/lessons/1/requires", ["r1"]), ("units/0/in_order", False)),
    "a requirement with a window": (("units/0/lessons/1/requires", {"lesson": "r1", "most_days": 9}),),
    "a list of windows": (("units/0/lessons/1/requires", [{"lesson": "rivers/r1", "least_slots": 1}]),),
    "rules as numbers and off": (
        ("rules", {"marking": 2, "practice_after_dense": 1, "consecutive_high_load": 3, "retrieval": "off", "caps": "off"}),
    ),
    "rules in full": (("rules", {"marking": {"least": 2, "most": None}, "retrieval": {"off": True}, "threads": []}),),
    "wishes": (
        (
            "rules",
            {
                "marking": {"wish": 2},
                "consecutive_high_load": {"most": 1, "wish": "off"},
                "dates": {"wish": 1000},
                "week": {"most_load": 9, "wish": 1},
                "in_step": {"days": 3, "wish": None},
                "live_quotas": [{"most": 1, "wish": 4}],
            },
        ),
        ("units/0/lessons/1/requires", {"lesson": "r1", "most_days": 9, "wish": 3}),
    ),
    "rules left open": (("rules", {"marking": None}), (f"{CLASS}/rules", None)),
    "weekdays": ((f"{CLASS}/timetable", {"Mon": 1, "Tue": [1, 2], "Sun": {"period": 3}}),),
    "labels": (("term/cycle", ["A", "B"]), (f"{CLASS}/timetable", {"A": {"Mon": 1}, "B": {}, "every": {"Tue": [1]}})),
    "a list of timetables": (
        (f"{CLASS}/timetable", [{"weeks": {"A": {"Mon": 1}}}, {"first": "2026-11-09", "weeks": {"every": {}}}]),
    ),
    "one date for a list": (("holidays", [{"name": "fair", "on": "2026-11-20"}]),),
    "dates": (("holidays", [{"name": "fair", "on": ["2026-11-20", "2026-11-23"]}]),),
    "one period for a list": (("closures", [{"name": "fair", "on": "2026-11-20", "periods": 2, "classes": ["9B"]}]),),
    "titles in place of ids": (
        (f"{LESSON}/title", "Why do rivers bend?"),
        ("units/0/lessons/1/requires", "Why do rivers bend?"),
        ("units/0/title", "Flüsse"),
        (f"{CLASS}/units", ["Flüsse"]),
    ),
    "a class's lesson": ((f"{CLASS}/lessons", {"rivers/r1": {"on": "2026-11-09", "period": 1, "rules": {"place": "off"}}}),),
}

UNFITTING: dict[str, tuple[tuple[str, Any], ...]] = {
    "another format": (("format", 2),),
    "format true": (("format", True),),
    "unknown key": (("colour", "red"),),
    "unknown key of a lesson": ((f"{LESSON}/lenght", 2),),
    "length 0": ((f"{LESSON}/length", 0),),
    "length as text": ((f"{LESSON}/length", "2"),),
    "half a load": ((f"{LESSON}/load", 2.5),),
    "unknown kind": ((f"{LESSON}/kind", "practise"),),
    "an id that is a number": ((f"{CLASS}/id", 9),),
    "an id with an umlaut": ((f"{LESSON}/id", "Flüsse"),),
    "a reference that says nothing": (("units/0/lessons/1/practises", ""),),
    "a requirement without lesson": (("units/0/lessons/1/requires", {"most_days": 3}),),
    "a requirement that is a number": (("units/0/lessons/1/requires", [1]),),
    "empty text": ((f"{LESSON}/tags", [""]),),
    "a date that does not exist": (("term/last", "2026-02-30"),),
    "a date with a time": (("term/last", "2026-12-18T00:00:00Z"),),
    "dates one of which is none": (("holidays", [{"name": "fair", "on": ["2026-11-20", "tomorrow"]}]),),
    "a time without its nought": (("periods", [{"number": 1, "starts": "9:00", "ends": "10:00"}]),),
    "a period 31": ((f"{CLASS}/timetable", {"Mon": 31}),),
    "an unknown weekday": ((f"{CLASS}/timetable", {"A": {"Monday": 1}}),),
    "weekdays beside labels": ((f"{CLASS}/timetable", {"A": {"Mon": 1}, "Tue": 1}),),
    "no timetable": ((f"{CLASS}/timetable", []),),
    "a timetable that should be a list": ((f"{CLASS}/timetable", {"first": "2026-11-02", "weeks": {"A": {"Mon": 1}}}),),
    "a rule that is on": (("rules", {"retrieval": "on"}),),
    "a number for a rule without a main one": (("rules", {"retrieval": 12}),),
    "a number out of bounds for a rule": (("rules", {"practice_after_dense": 0}),),
    "caps of one class of rule in a lesson": ((f"{LESSON}/rules", {"caps": "off"}),),
    "a wish of a rule that is always hard": (("rules", {"place": {"wish": 1}}),),
    "a weight of 0": (("rules", {"marking": {"wish": 0}}),),
    "a weight that is too great": (("rules", {"dates": {"wish": 1001}}),),
    "an entry's wish that is off": (("rules", {"live_quotas": [{"most": 1, "wish": "off"}]}),),
    "a pair of three": (("adjacent_periods", [[1, 2, 3]]),),
    "an unknown aim": (("aims", ["cheapest"]),),
    "no units": (("units", []),),
    "no list": (("holidays", None),),
}


@pytest.mark.parametrize("changes", FITTING.values(), ids=FITTING)
def test_what_can_be_read_fits(changes: tuple[tuple[str, Any], ...], validator: Any) -> None:
    data = small(*changes)
    scenario_from_data(data)
    validator.validate(data)


@pytest.mark.parametrize("changes", UNFITTING.values(), ids=UNFITTING)
def test_what_does_not_fit_cannot_be_read(changes: tuple[tuple[str, Any], ...], validator: Any) -> None:
    data = small(*changes)
    assert not validator.is_valid(data)
    with pytest.raises(UnusableInput):
        scenario_from_data(data)


def test_a_missing_key_does_not_fit(validator: Any) -> None:
    for key in ("format", "term", "units", "classes"):
        data = small()
        del data[key]
        assert not validator.is_valid(data)
