"""Small random scenarios: the product's answer against exhaustive search (`exhaustive`), aim by aim.

A failure names the seed and prints the scenario; `small(seed)` makes it again.
"""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import SolveSettings, answer_json, check, scenario_from_data, solve
from tests.crosscheck import exhaustive, milp, rules
from tests.crosscheck.aims import values_of
from tests.crosscheck.class_rows import CannotState
from tests.crosscheck.coverage import FEATURES, present
from tests.crosscheck.facts import Facts
from tests.crosscheck.generator import AIMS
from tests.crosscheck.in_full import InFull
from tests.crosscheck.saved import searched

SEEDS = 300
COMPARED = 150
"""Of those, how many the product solves here."""
GROUP = 10
MORE_SEEDS = 2000
SETTINGS = SolveSettings(seconds=60)


def _placed(answer: dict[str, Any]) -> rules.Assignment:
    return {(x["class"], x["unit"], x["lesson"]): (x["slot"], x["taught"]) for x in answer["lessons"]}


def _compare(seed: int) -> None:
    data, facts, expected = searched("small", seed)
    scenario = scenario_from_data(data)
    answer = solve(scenario, SETTINGS)
    body = answer_json(answer)
    if expected is None:
        assert body["status"] == "infeasible", InFull(f"small seed {seed}", data, "exhaustive search finds no sequence", body)
        assert answer.sequence is None
        return
    told = InFull(
        f"small seed {seed}", data, f"expected {dict(zip(facts.aims, expected.values, strict=True))}", expected.assignment, body
    )
    assert body["status"] == "optimal", told
    assert [aim["aim"] for aim in body["aims"]] == list(facts.aims), told
    assert tuple(aim["value"] for aim in body["aims"]) == expected.values, told
    assert all(aim["proven"] and aim["bound"] == aim["value"] and not aim["conditional"] for aim in body["aims"]), told
    assert body["verdict"]["sound"] and not body["verdict"]["breaches"], told
    assert check(scenario, answer.sequence).sound, told
    # The sequence itself, judged by the second reading of the rules.
    assert rules.first_broken(facts, _placed(body)) is None, f"{rules.first_broken(facts, _placed(body))}\n{told}"
    assert values_of(facts, _placed(body)) == expected.values, told
    assert {aim: body["verdict"]["aims"][aim] for aim in facts.aims} == dict(zip(facts.aims, expected.values, strict=True)), told


@pytest.mark.parametrize("first", range(0, COMPARED, GROUP))
def test_answers_equal_exhaustive_search(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(COMPARED, MORE_SEEDS, 5 * GROUP))
def test_more_answers_equal_exhaustive_search(first: int) -> None:
    for seed in range(first, first + 5 * GROUP):
        _compare(seed)


# -- the searches themselves -------------------------------------------------------------------------------------------


def _assignments(facts: Facts) -> int:
    """How many assignments the search without pruning goes through."""
    count = 1
    for group in facts.classes:
        count *= (1 + 3 * len(group.slots)) ** len(group.lessons)
    return count


@pytest.mark.parametrize("most", [12_000, pytest.param(30_000, marks=pytest.mark.slow)])
def test_pruning_loses_nothing(most: int) -> None:
    tiny = [seed for seed in range(SEEDS) if _assignments(searched("small", seed)[1]) <= most]
    possible = 0
    for seed in tiny:
        data, facts, expected = searched("small", seed)
        found = exhaustive.best(facts, prune=False)
        assert (found and found.values) == (expected and expected.values), InFull(f"small seed {seed}", data)
        possible += found is not None
    assert possible >= 5
    assert len(tiny) - possible >= 2


@pytest.mark.parametrize("apart", [3, pytest.param(1, marks=pytest.mark.slow)])
def test_exhaustive_search_and_integer_programme_agree(apart: int) -> None:
    compared = 0
    for seed in range(0, COMPARED, apart):
        data, facts, expected = searched("small", seed)
        try:
            found = milp.best_values(facts, len(facts.aims))
        except CannotState:
            continue
        assert found == (expected and expected.values), InFull(f"small seed {seed}", data, found, expected)
        compared += 1
    assert compared >= 100 / apart


# -- what the scenarios cover ------------------------------------------------------------------------------------------


def test_scenarios_cover_the_language() -> None:
    counts = dict.fromkeys(FEATURES, 0)
    above_zero = dict.fromkeys(AIMS, 0)
    possible = 0
    for seed in range(SEEDS):
        data, facts, expected = searched("small", seed)
        for name in present(data):
            counts[name] += 1
        for aim, value in zip(facts.aims, expected.values if expected else (), strict=expected is not None):
            above_zero[aim] += value > 0
        possible += expected is not None
    assert 0.55 * SEEDS <= possible <= 0.8 * SEEDS
    assert {name: count for name, count in counts.items() if count < 6} == {}
    assert {aim: count for aim, count in above_zero.items() if count < 12} == {}
