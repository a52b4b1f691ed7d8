"""`left for the next plan` and `dense as set work` among the aims of saved scenarios, against exhaustive search.

Each is put in at a random place, so that it comes before, between and after what it could be taken for. A failure names the seed.
"""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from random import Random

import pytest

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.crosscheck import exhaustive
from tests.crosscheck.facts import read_facts
from tests.crosscheck.in_full import InFull
from tests.crosscheck.saved import scenario
from tests.crosscheck.slots import Raw

MORE = ("left for the next plan", "dense as set work")
SETTINGS = SolveSettings(seconds=60)
CASES = [*(("small", seed) for seed in range(0, 400, 9)), *(("further", seed) for seed in range(0, 150, 3))]
GROUP = 24


def with_more(family: str, seed: int) -> Raw:
    """Return the saved scenario with both aims put in."""
    rng, data = Random(f"more {family} {seed}"), deepcopy(scenario(family, seed))
    for aim in MORE:
        data["aims"].insert(rng.randint(0, len(data["aims"])), aim)
    return data


@pytest.mark.parametrize("first", range(0, len(CASES), GROUP))
def test_answers_equal_exhaustive_search(first: int) -> None:
    above_zero: Counter[str] = Counter()
    for family, seed in CASES[first : first + GROUP]:
        data = with_more(family, seed)
        facts = read_facts(data)
        expected, body = exhaustive.best(facts), answer_json(solve(scenario_from_data(data), SETTINGS))
        told = InFull(f"{family} seed {seed}", data, expected, body)
        if expected is None:
            assert body["status"] == "infeasible", told
            continue
        assert body["status"] == "optimal", told
        assert tuple(aim["value"] for aim in body["aims"]) == expected.values, told
        above_zero.update(aim for aim, value in zip(facts.aims, expected.values, strict=True) if value)
    assert above_zero
