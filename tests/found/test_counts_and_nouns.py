"""Counts agree with their nouns, in changes, statements, breaches and wishes."""

from __future__ import annotations

import json

import pytest

from sequencer import compare, comparison_text, explain, explanation_text, scenario_from_data
from sequencer.scenario.changes.what_ifs import WhatIf, change_text
from sequencer.words import count_text
from tests.builders import Data, assessment, scenario
from tests.rules.helpers import judged

THREE_TESTS = scenario([assessment("a"), assessment("b"), assessment("c")], 1, "Mon 1, Tue 1, Wed 1")


@pytest.mark.parametrize(
    ("number", "noun", "text"),
    [
        (1, "school day", "1 school day"),
        (0, "day", "0 days"),
        (2, "class", "2 classes"),
        (2, "breach", "2 breaches"),
        (2, "entry", "2 entries"),
        (1200, "minute", "1,200 minutes"),
    ],
)
def test_a_number_and_its_noun(number: int, noun: str, text: str) -> None:
    assert count_text(number, noun) == text


def test_one_lesson_a_week_in_a_what_if_and_why_it_is_impossible() -> None:
    stricter: Data = {"name": "stricter", "changes": [{"change": "rules", "rules": {"week": {"most_lessons": 1}}}]}
    data = THREE_TESTS | {"rules": {"week": {"most_lessons": 3}}, "what_ifs": [stricter]}
    told = comparison_text(compare(scenario_from_data(data)))
    assert "stricter: at most 1 lesson a week, for all classes" in told
    assert "9B: at most 1 lesson a week" in told
    assert "1 lessons" not in told


ONE_OF_EACH: list[tuple[Data, str]] = [
    ({"change": "rules", "rules": {"consecutive_high_load": 1}}, "at most 1 hard lesson in a row, for all classes"),
    ({"change": "rules", "rules": {"practice_after_dense": 1}}, "practice within 1 period, for all classes"),
    ({"change": "rules", "rules": {"in_step": 1}}, "parallel classes within 1 day of one another, for all classes"),
    ({"change": "rules", "rules": {"marking": {"least": 1}}}, "1 school day for marking, for all classes"),
    ({"change": "rules", "rules": {"week": {"least_lessons": 1}}}, "at least 1 lesson a week, for all classes"),
    ({"change": "requirement", "lesson": "u/b", "requires": "a", "least_slots": 1}, "let u/b come at least 1 period after u/a"),
    (
        {"change": "requirement", "lesson": "u/b", "requires": "a", "most_weeks": 1},
        "let u/b come at most 1 school week after u/a",
    ),
    ({"change": "teacher", "name": "Ms Ash", "live_a_day": 1}, "let Ms Ash have up to 1 lesson live a day"),
    ({"change": "teacher", "name": "Ms Ash", "dense_a_day": "off"}, "let Ms Ash have any number of dense lessons a day"),
    (
        {"change": "live quota", "class": "9B", "first": "2026-11-02", "last": "2026-11-06", "least": 1},
        "ask of 9B at least 1 lesson live from Mon 2 Nov 2026 to Fri 6 Nov 2026",
    ),
]


@pytest.mark.parametrize(("change", "text"), ONE_OF_EACH)
def test_one_of_what_a_change_counts(change: Data, text: str) -> None:
    what_if = WhatIf.model_validate_json(json.dumps({"name": "one", "changes": [change]}))
    assert change_text(what_if.changes[0], scenario_from_data(THREE_TESTS)) == text


def test_one_lesson_in_a_breach_of_the_weekly_shape() -> None:
    verdict = judged(THREE_TESTS | {"rules": {"week": {"least_lessons": 2}}}, a="1 Mon 1")
    assert "9B: week 1 has 1 lesson, at least 2 asked" in [breach["message"] for breach in verdict["breaches"]]


def test_one_dense_lesson_a_day_in_a_conflict() -> None:
    data = scenario(
        [{"id": "a", "load": 4, "on": "2026-11-02"}, {"id": "b", "load": 4, "on": "2026-11-02"}],
        1,
        "Mon 1-2",
        rules={"practice_after_dense": "off"},
        of_class={"teacher": "Ms Ash"},
        teachers=[{"name": "Ms Ash", "dense_a_day": 1}],
    )
    assert "Ms Ash: at most 1 dense lesson a day" in explanation_text(explain(scenario_from_data(data)))
