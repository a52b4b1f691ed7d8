"""Every demo and random scenarios rolled forward: the result reads back, can be solved, and what was carried over is met."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from sequencer import (
    Answer,
    NextTerm,
    Scenario,
    SolveSettings,
    UnusableSettings,
    answer_json,
    load_scenario,
    next_term,
    next_term_yaml,
    read_scenario,
    scenario_data,
    scenario_from_data,
    solve,
)
from tests.builders import Data
from tests.crosscheck.saved import scenario as random_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SETTINGS = SolveSettings(seconds=20)
SEEDS = 30
"""Small random scenarios; about two in three have a sequence."""


def on_to_the_next(scenario: Scenario, answer: Answer) -> NextTerm:
    """Roll forward to a term of six weeks, which begins after a week or two out."""
    assert answer.sequence is not None
    first = scenario.term.last + timedelta(16)
    first -= timedelta(first.weekday())
    rolled = next_term(scenario, answer.sequence, first, first + timedelta(40))
    assert load_scenario(next_term_yaml(rolled)) == rolled.scenario
    return rolled


def everything_carried_over_is_met(before: Data, after: Data) -> None:
    """Each lesson of which a retrieval was left is met in the new term, reported late, or carried over again."""
    met = {
        (row["class"], met["lesson"])
        for row in after["lessons"]
        if not row["delivered"]
        for met in (*row["revisits"], *row["practises"])
    }
    told = {(entry["class"], entry["lesson"]) for entry in (*after["carried_over"], *after["late"])}
    # A dense lesson that nothing practises has its practice carried over, and nothing to carry.
    for entry in (entry for entry in before["carried_over"] if entry["what"] == "retrieval"):
        names = {(entry["class"], entry["lesson"]), (entry["class"], f"{entry['unit']}-{entry['lesson']}")}
        assert names & (met | told), entry


@pytest.mark.parametrize("name", ["small", "weekly-class", "half-term", "shared-class"])
def test_a_demo_goes_on(name: str) -> None:
    scenario = read_scenario(SCENARIOS / f"{name}.yaml")
    answer = solve(scenario, SETTINGS)
    after = solve(on_to_the_next(scenario, answer).scenario, SETTINGS)
    assert after.status == "optimal"
    body = answer_json(after)
    assert body["verdict"]["breaches"] == []
    everything_carried_over_is_met(answer_json(answer), body)


@pytest.mark.slow
def test_six_classes_go_on() -> None:
    scenario = read_scenario(SCENARIOS / "six-classes.yaml")
    answer = solve(scenario, SolveSettings(seconds=60))
    rolled = on_to_the_next(scenario, answer)
    body = answer_json(solve(rolled.scenario, SETTINGS))
    # Proven or not, as the machine is fast or slow.
    assert body["status"] in ("optimal", "feasible") and body["verdict"]["breaches"] == []
    everything_carried_over_is_met(answer_json(answer), body)


def test_an_exam_class_that_leaves_does_not_go_on() -> None:
    scenario = read_scenario(SCENARIOS / "exam-year.yaml")
    answer = solve(scenario, SolveSettings(seconds=60, effort=0.05))
    with pytest.raises(UnusableSettings, match="no class is left"):
        on_to_the_next(scenario, answer)


@pytest.mark.parametrize("first", range(0, SEEDS, 10))
def test_random_scenarios_go_on(first: int) -> None:
    carried = 0
    for seed in range(first, first + 10):
        scenario = scenario_from_data(random_scenario("small", seed))
        answer = solve(scenario, SETTINGS)
        if answer.sequence is None or all(class_.leaves is not None for class_ in scenario.classes):
            continue
        rolled = on_to_the_next(scenario, answer)
        after = solve(rolled.scenario, SETTINGS)
        if after.status == "infeasible":
            # Least numbers ask for lessons that have still to be filled in.
            after = solve(scenario_from_data(_without_least_numbers(rolled.scenario)), SETTINGS)
        assert after.status == "optimal", seed
        body = answer_json(after)
        assert body["verdict"]["sound"], seed
        before = answer_json(answer)
        carried += len(before["carried_over"])
        everything_carried_over_is_met(before, body)
    assert carried > 0


def _without_least_numbers(scenario: Scenario) -> Data:
    data = scenario_data(scenario)
    for owner in (data, *data["classes"]):
        for rule in ("week", "threads", "live_quotas"):
            owner.get("rules", {}).pop(rule, None)
    return data
