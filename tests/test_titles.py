"""Titles in place of ids: what they mean, what is told where they mean nothing or too much, and that ids are what is kept."""

from __future__ import annotations

import copy
import re
from random import Random
from typing import Any

import pytest
import yaml

from sequencer import (
    UnusableInput,
    load_recorded,
    load_scenario,
    load_sequence,
    scenario_data,
    scenario_from_data,
    sequence_from_data,
)
from sequencer.instance.plain_names import any_of
from sequencer.scenario.references.titles import Titles

WHERE = "Why here: choosing a site?"

BY_TITLE: dict[str, Any] = {
    "format": 1,
    "term": {"first": "2026-11-02", "last": "2026-12-18"},
    "today": "2026-11-03",
    "units": [
        {
            "id": "r",
            "title": "Rivers",
            "lessons": [
                {"id": "a", "title": WHERE},
                {"id": "b", "title": "Floods", "requires": "why here:  Choosing a site?"},
                {"id": "p", "kind": "practice", "title": "Sketch", "practises": ["FLOODS"]},
                {"id": "again", "title": "Recap"},
            ],
        },
        {
            "id": "c",
            "title": "Coasts & cliffs",
            "after": "rivers",
            "lessons": [
                {"id": "x", "title": "Waves", "requires": [{"lesson": "Rivers/floods", "least_days": 2}], "starter": WHERE},
                {"id": "again", "title": "Recap"},
                {"id": "z", "requires": ["Sketch", "Recap"]},
            ],
        },
    ],
    "classes": [
        {
            "id": "9B",
            "units": ["Rivers", "coasts & cliffs"],
            "timetable": {"every": {"Mon": 1, "Tue": 2, "Wed": 3}},
            "lessons": {"Waves": {"not_before": "2026-11-10"}, "Coasts & cliffs/Recap": {"not_before": "2026-11-09"}},
        }
    ],
    "record": [{"class": "9B", "lesson": WHERE, "date": "2026-11-02", "period": 1}],
    "what_ifs": [
        {
            "name": "shorter",
            "changes": [
                {"change": "leave out", "lesson": "Coasts & cliffs/Waves"},
                {"change": "add lesson", "unit": "Rivers", "after": "Floods", "lesson": {"id": "new", "requires": "Floods"}},
            ],
        }
    ],
}


def by_id() -> dict[str, Any]:
    """Return the same scenario with ids."""
    data = copy.deepcopy(BY_TITLE)
    rivers, coasts = (unit["lessons"] for unit in data["units"])
    rivers[1]["requires"], rivers[2]["practises"] = "a", ["b"]
    coasts[0] |= {"requires": [{"lesson": "r/b", "least_days": 2}], "starter": "r/a"}
    coasts[2]["requires"] = ["r/p", "again"]
    data["units"][1]["after"] = "r"
    own = data["classes"][0]
    own["units"], own["lessons"] = ["r", "c"], {"c/x": {"not_before": "2026-11-10"}, "c/again": {"not_before": "2026-11-09"}}
    data["record"][0]["lesson"] = "a"
    data["what_ifs"][0]["changes"] = [
        {"change": "leave out", "lesson": "c/x"},
        {"change": "add lesson", "unit": "r", "after": "b", "lesson": {"id": "new", "requires": "b"}},
    ]
    return data


def problems(data: dict[str, Any]) -> list[str]:
    """Return what is wrong with a scenario, without the places in the text."""
    with pytest.raises(UnusableInput) as unusable:
        load_scenario(yaml.safe_dump(data, sort_keys=False))
    return [f"{problem.where} {problem.message}" for problem in unusable.value.problems]


def test_a_title_means_what_the_id_does_wherever_one_is_typed() -> None:
    read = scenario_from_data(BY_TITLE)
    assert read == scenario_from_data(by_id()) == load_scenario(yaml.safe_dump(BY_TITLE))
    assert WHERE not in str(scenario_data(read)["record"])  # what is kept is ids


def test_a_title_stands_in_a_record_of_its_own_file() -> None:
    beside = {"record": [{"class": "9B", "lesson": "Coasts & cliffs/Recap", "date": "2026-11-03", "period": 2}]}
    read = load_recorded(yaml.safe_dump(BY_TITLE), yaml.safe_dump(beside))
    assert [(entry.unit, entry.lesson) for entry in read.record] == [(None, "a"), ("c", "again")]


def test_a_title_that_means_several_lessons_is_told_with_what_to_write() -> None:
    data = copy.deepcopy(BY_TITLE)
    data["units"].append({"id": "q", "lessons": [{"id": "m", "requires": "recap"}]})
    data["classes"][0]["lessons"] = {"Recap": {}}
    data["record"][0]["lesson"] = "Recap"
    says = "can mean more than one lesson: write r/again or c/again"
    assert problems(data) == [
        f"units[2].lessons[0].requires {says}",
        f"classes[0].lessons.Recap {says}",
        f"record[0].lesson {says}",
    ]


def test_a_title_that_nothing_has_is_told_with_the_nearest() -> None:
    data = copy.deepcopy(BY_TITLE)
    data["units"][0]["lessons"][1]["requires"] = "Why here: choosing the site?"
    data["units"][0]["lessons"][2]["practises"] = "Flods"
    data["classes"][0]["lessons"] = {"Wave": {}, "Sketch": {}, "r/p": {}}
    assert problems(data) == [
        f'units[0].lessons[1].requires names no lesson of unit r: "Why here: choosing the site?" (did you mean {WHERE}?)',
        'units[0].lessons[2].practises names no lesson of unit r: "Flods" (did you mean Floods?)',
        "classes[0].lessons.Wave is not a lesson of the units of class 9B (did you mean Waves?)",
        'classes[0].lessons["r/p"] means the same lesson as Sketch',
    ]


def test_the_rows_of_a_sequence_may_name_lessons_by_title() -> None:
    read = scenario_from_data(by_id())
    rows = [
        {"class": "9B", "lesson": "Floods", "date": "2026-11-09", "period": 1, "revisits": [WHERE]},
        {"class": "9B", "unit": "Coasts & cliffs", "lesson": "recap", "date": "2026-11-10", "period": 2},
        {"class": "9B", "lesson": "Rivers/Recap", "date": "2026-11-11", "period": 3},
    ]
    ids = [
        {"class": "9B", "lesson": "b", "date": "2026-11-09", "period": 1, "revisits": ["a"]},
        {"class": "9B", "unit": "c", "lesson": "again", "date": "2026-11-10", "period": 2},
        {"class": "9B", "unit": "r", "lesson": "again", "date": "2026-11-11", "period": 3},
    ]
    assert sequence_from_data(read, rows) == sequence_from_data(read, ids)
    table = "class,lesson,date,period\n9B,Rivers/Recap,2026-11-11,3\n9B,Floods,2026-11-09,1\n"
    assert len(load_sequence(read, table, language="csv").placements) == 2
    with pytest.raises(UnusableInput, match="can mean more than one lesson: write r/again or c/again"):
        sequence_from_data(read, [{**rows[0], "lesson": "Recap"}])


def test_an_id_goes_before_a_title_and_the_own_unit_before_others() -> None:
    data = copy.deepcopy(BY_TITLE)
    rivers, coasts = (unit["lessons"] for unit in data["units"])
    rivers[3]["title"] = "b"  # the id of another lesson
    coasts[1]["title"] = "Floods"  # the title of a lesson of another unit
    coasts[2]["requires"] = ["Floods", "r/b"]
    data["classes"][0]["lessons"] = {}
    read = scenario_from_data(data)
    assert [each.lesson for each in read.units[1].lessons[2].requires] == ["again", "r/b"]


def test_what_a_pattern_makes_is_called_by_its_title_too() -> None:
    data = copy.deepcopy(BY_TITLE)
    data["patterns"] = [{"id": "usual", "practice": {"title": "Practice: {lesson}"}}]
    data["units"][0] |= {"pattern": "usual"}
    data["units"][0]["lessons"].append({"id": "hard", "title": "Deltas", "load": 5})
    data["units"][0]["lessons"].append({"id": "test", "kind": "assessment", "requires": "Practice: Deltas"})
    assert scenario_from_data(data).units[0].lessons[-1].requires[0].lesson == "hard-practice"


def test_the_unit_before_a_slash_may_be_named_either_way() -> None:
    titles = Titles(
        [("r", "Rivers"), ("c", "Rivers / coasts")],
        [(("r", "a"), "Floods"), (("c", "a"), "Floods"), (("c", "b"), None), (("c", "d"), "In / out")],
    )
    meant = {
        "floods": [("r", "a"), ("c", "a")],
        "RIVERS/Floods": [("r", "a")],
        "r/floods": [("r", "a")],
        "Rivers / coasts/ floods": [("c", "a")],
        "Rivers / coasts/b": [("c", "b")],
        "in /  out": [("c", "d")],
        "c/In / out": [("c", "d")],
        "": [],
        "a": [],
        "Rivers/none": [],
    }
    assert {word: titles.lessons(word) for word in meant} == meant
    assert titles.lessons("Floods", "c") == [("c", "a")] and titles.lessons("Floods", None, ["r"]) == [("r", "a")]


def test_names_are_found_in_a_text_as_each_by_itself_would_be_the_longest_first() -> None:
    """Against a plain list of all names, on random ones of which many begin alike."""
    rng, found = Random("names"), 0
    for _ in range(3000):
        names = {"".join(rng.choices('ab/-( "', k=rng.randint(1, 6))) for _ in range(rng.randint(1, 8))}
        text = "".join(rng.choices('ab/-( "', k=30))
        listed = "|".join(re.escape(each) for each in sorted(names, key=len, reverse=True))
        one, other = (re.compile(rf"(?<![\w/])(?:{each})(?![\w/-])").findall(text) for each in (any_of(names), listed))
        assert one == other, (names, text)
        found += bool(other)
    assert found > 500
