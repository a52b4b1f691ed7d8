"""What a teacher reads: five explanations kept as files, and no word of ours that a teacher would not use."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from sequencer import ExplainSettings, Scenario, explain, explanation_text, read_scenario, scenario_from_data
from tests.builders import a_class, assessment, day, practice, scenario, teach
from tests.explaining.saved import LONG, explained, saved

MESSAGES = Path(__file__).with_name("messages")
SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"

NOT_FOR_TEACHERS = re.compile(
    r"infeasib|feasible|optimal|constraint|variable|solver|slot|domain|literal|boolean|None|True|False|instance|[{}<>_]|\bunsat",
    re.IGNORECASE,
)


def _remote() -> dict[str, Any]:
    spell = {
        "name": "Building works", "first": day(1, "Mon"), "last": day(2, "Fri"),
        "fixed": [{"taught": "set work", "on": [day(2, "Mon"), day(2, "Tue")]}],
    }  # fmt: skip
    rules = {"live_quotas": [{"per": "week", "least": 2}]}
    return scenario([teach(name) for name in "abcd"], remote_spells=[spell], strict=True, rules=rules)


def _kit() -> dict[str, Any]:
    lessons = [teach("dig", title="Digging for soil", needs="spades", on=day(1, "Mon"))]
    classes = [a_class("9B", "Mon 1"), a_class("9C", "Mon 1")]
    return scenario(lessons, classes=classes, shared=[{"name": "spades"}])


def _after_the_closure() -> dict[str, Any]:
    lessons = [
        teach("coast", title="A walk along the coast", not_before=day(2, "Tue")),
        practice("map", "coast", title="The walk on a map"),
        assessment("test", title="Coasts test", requires="map"),
    ]
    closures = [{"name": "Election", "on": day(3, "Mon")}]
    return scenario(lessons, weeks=3, closures=closures, unit={"title": "Coasts"})


FIVE: dict[str, Scenario] = {
    "no-sequence": read_scenario(SCENARIOS / "no-sequence.yaml"),
    "live-week": scenario_from_data(_remote()),
    "one-set-of-kit": scenario_from_data(_kit()),
    "after-the-closure": scenario_from_data(_after_the_closure()),
    "two-contradictions": scenario_from_data(saved()[1].scenario),
}


@cache
def told(name: str) -> str:
    found = explained(int(name)) if name.isdigit() else explain(FIVE[name], ExplainSettings(seconds=120))
    return explanation_text(found)


@pytest.mark.parametrize("name", FIVE)
def test_explanations_read_as_they_are_kept(name: str) -> None:
    assert told(name) == (MESSAGES / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [*FIVE, *(str(each.seed) for each in saved() if each.seed not in LONG)])
def test_no_word_is_one_that_a_teacher_would_not_use(name: str) -> None:
    assert not [line for line in told(name).splitlines() if NOT_FOR_TEACHERS.search(line)]
