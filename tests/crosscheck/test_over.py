"""Small random scenarios in which much is over (`over`): the product's answer against exhaustive search, aim by aim.

A failure names the seed and prints the scenario; `over(seed)` makes it again.
"""

from __future__ import annotations

import pytest

from sequencer import SolveSettings, UnusableInput, answer_json, scenario_from_data, solve
from tests.crosscheck import exhaustive, rules
from tests.crosscheck.aims import values_of
from tests.crosscheck.facts import read_facts
from tests.crosscheck.in_full import InFull
from tests.crosscheck.over import over

SEEDS = 30
GROUP = 10
MORE_SEEDS = 3000
SETTINGS = SolveSettings(seconds=60)


def _compare(seed: int) -> set[int] | None:
    """The rules that are past in the product's sequence; None where there is none, or the scenario cannot be used."""
    data = over(seed)
    try:
        scenario = scenario_from_data(data)
    except UnusableInput:
        return None  # lessons that wait for one another, a need that nothing offers: drawn blindly
    facts = read_facts(data)
    expected = exhaustive.best(facts)
    body = answer_json(solve(scenario, SETTINGS))
    told = InFull(f"over seed {seed}, exhaustive search finds {expected}", data, body)
    if expected is None:
        assert body["status"] == "infeasible", told
        return None
    assert body["status"] == "optimal", told
    assert {aim["aim"]: aim["value"] for aim in body["aims"]} == dict(zip(facts.aims, expected.values, strict=True)), told
    assert body["verdict"]["sound"], told
    placed = {(x["class"], x["unit"], x["lesson"]): (x["slot"], x["taught"]) for x in body["lessons"] if x["slot"] is not None}
    assert rules.first_broken(facts, placed) is None, f"{rules.first_broken(facts, placed)}\n{told}"
    assert values_of(facts, placed) == expected.values, told
    return {breach["rule"] for breach in body["verdict"]["breaches"]}


def test_answers_equal_exhaustive_search() -> None:
    found = [_compare(seed) for seed in range(SEEDS)]
    assert sum(past is not None for past in found) > SEEDS / 3
    assert sum(bool(past) for past in found) >= 3


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SEEDS, MORE_SEEDS, 5 * GROUP))
def test_more_answers_equal_exhaustive_search(first: int) -> None:
    for seed in range(first, first + 5 * GROUP):
        _compare(seed)
