"""What a rule costs, and scenarios for bug reports."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer import UnusableSettings, load_scenario, price, read_scenario, scenario_from_data, scenario_yaml, solve, untitled
from sequencer.__main__ import main
from sequencer.questions.explaining.price import without_rule
from tests.builders import retrieval, scenario, teach

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"


def test_what_a_rule_costs() -> None:
    # Mondays of three weeks; the later of two hard lessons in a row must wait a week, so one period more is spare before it.
    data = scenario(
        [teach("a", load=4), teach("b", load=4)], 3, "Mon 1", rules={"consecutive_high_load": 1, "practice_after_dense": "off"}
    )
    found = price(scenario_from_data(data), "consecutive_high_load")
    early = [next(aim.value for aim in aims if aim.aim == "early finish") for aims in (found.with_it, found.without_it)]
    assert early == [1, 0]


def test_without_retrieval_nothing_is_carried_over() -> None:
    data = scenario([teach("a"), retrieval("r", "a")], 1, "Mon 1, Tue 1")
    found = price(scenario_from_data(data), "retrieval")
    carried = [next(aim.value for aim in aims if aim.aim == "carried over") for aims in (found.with_it, found.without_it)]
    assert carried == [1, 0]


@pytest.mark.parametrize("rule", ["prerequisites", "caps", "week", "live_quotas", "teachers", "in_step", "marking"])
def test_every_rule_can_be_dropped(rule: str) -> None:
    assert solve(without_rule(read_scenario(SCENARIOS / "small.yaml"), rule)).sequence is not None


def test_a_rule_that_there_is_not() -> None:
    with pytest.raises(UnusableSettings, match="must be one of"):
        price(read_scenario(SCENARIOS / "small.yaml"), "homework")


@pytest.mark.parametrize("name", ["half-term", "six-classes", "shared-class", "department"])
def test_nothing_but_titles_and_names_is_replaced(name: str) -> None:
    read = read_scenario(SCENARIOS / f"{name}.yaml")
    text = scenario_yaml(untitled(read))
    titles = [lesson.title for unit in read.units for lesson in unit.lessons if lesson.title]
    people = [teaching_class.teacher for teaching_class in read.classes if teaching_class.teacher]
    lessons = [lesson for unit in read.units for lesson in unit.lessons]
    people += [lesson.prepare.made_by for lesson in lessons if lesson.prepare is not None and lesson.prepare.made_by]
    notes = [note for lesson in lessons for note in (*lesson.notes, *lesson.private_notes)]
    assert titles and not any(word in text for word in (*titles, *people, *notes))
    assert len(notes) == (3 if name == "department" else 0)
    again = load_scenario(text)
    assert [[lesson.id for lesson in unit.lessons] for unit in again.units] == [
        [lesson.id for lesson in unit.lessons] for unit in read.units
    ]


def test_what_is_best_stays_best() -> None:
    read = read_scenario(SCENARIOS / "half-term.yaml")
    assert solve(untitled(read)).aims == solve(read).aims


def test_models_are_written_as_text(tmp_path: Path) -> None:
    output = tmp_path / "out.yaml"
    assert main(["export", str(SCENARIOS / "small.yaml"), "--output", str(output), "--models", str(tmp_path / "models")]) == 0
    assert load_scenario(output.read_text(encoding="utf-8")).units
    assert "variables {" in (tmp_path / "models" / "model-1.txt").read_text(encoding="utf-8")
