"""Small random scenarios of what is met again by choice, what patterns make and what happened: the product's answer against
exhaustive search (`exhaustive`), aim by aim.

A failure names the seed and prints the scenario; `further(seed)` makes it again. What a reader refuses is left out (`refusals`).
"""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import SolveSettings, answer_json, check, scenario_from_data, solve
from tests.crosscheck import rules
from tests.crosscheck.aims import values_of
from tests.crosscheck.coverage import FURTHER, matters, present
from tests.crosscheck.further import FURTHER_AIMS
from tests.crosscheck.in_full import InFull
from tests.crosscheck.saved import searched

SEEDS = 150
GROUP = 10
MORE_SEEDS = 1000
SETTINGS = SolveSettings(seconds=60)


def _placed(answer: dict[str, Any]) -> rules.Assignment:
    """What lies in slots; lessons taught before the first slot lie in none."""
    return {(x["class"], x["unit"], x["lesson"]): (x["slot"], x["taught"]) for x in answer["lessons"] if x["slot"] is not None}


def _compare(seed: int) -> None:
    data, facts, expected = searched("further", seed)
    scenario = scenario_from_data(data)
    answer = solve(scenario, SETTINGS)
    body = answer_json(answer)
    if expected is None:
        assert body["status"] == "infeasible", InFull(f"further seed {seed}", data, "exhaustive search finds no sequence", body)
        assert answer.sequence is None
        return
    best = dict(zip(facts.aims, expected.values, strict=True))
    told = InFull(f"further seed {seed}", data, f"expected {best}", expected.assignment, body)
    assert body["status"] == "optimal", told
    assert {aim["aim"]: aim["value"] for aim in body["aims"]} == best, told
    assert all(aim["proven"] and aim["bound"] == aim["value"] for aim in body["aims"]), told
    assert body["verdict"]["sound"], told
    assert answer.sequence is not None
    assert check(scenario, answer.sequence).sound, told
    placed = _placed(body)
    assert rules.first_broken(facts, placed) is None, f"{rules.first_broken(facts, placed)}\n{told}"
    assert values_of(facts, placed) == expected.values, told
    assert {aim: body["verdict"]["aims"][aim] for aim in facts.aims} == best, told


@pytest.mark.parametrize("first", range(0, SEEDS, 2 * GROUP))
def test_answers_equal_exhaustive_search(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", [*range(GROUP, SEEDS, 2 * GROUP), *range(SEEDS, MORE_SEEDS, GROUP)])
def test_more_answers_equal_exhaustive_search(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed)


# -- what the scenarios cover ------------------------------------------------------------------------------------------


def test_scenarios_cover_what_is_new() -> None:
    counts = dict.fromkeys(FURTHER, 0)
    above_zero = dict.fromkeys(FURTHER_AIMS, 0)
    possible = 0
    for seed in range(SEEDS):
        data, facts, expected = searched("further", seed)
        for name in present(data, FURTHER):
            counts[name] += 1
        for aim, value in zip(facts.aims, expected.values if expected else (), strict=expected is not None):
            above_zero[aim] += value > 0
        possible += expected is not None
    assert 0.7 * SEEDS <= possible <= 0.95 * SEEDS
    assert {name: count for name, count in counts.items() if count < 4} == {}
    assert {aim: above_zero[aim] for aim in ("carried over", "distance", "made lessons") if above_zero[aim] < 10} == {}


@pytest.mark.slow
def test_what_is_new_matters() -> None:
    counts = dict.fromkeys(FURTHER, 0)
    for seed in range(2 * SEEDS):
        for name in matters(searched("further", seed)[0], FURTHER):
            counts[name] += 1
    # Two lessons seldom want the same made retrieval lesson.
    least = {"room of made retrieval": 1}
    assert {name: count for name, count in counts.items() if count < least.get(name, 3)} == {}
