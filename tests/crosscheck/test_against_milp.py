"""Medium random scenarios: the product's first aim against an integer programme (`milp`) that HiGHS solves.

A failure names the seed and prints the scenario; `medium(seed)` makes it again.
"""

from __future__ import annotations

import pytest
import yaml

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.crosscheck import milp, rules
from tests.crosscheck.facts import read_facts
from tests.crosscheck.generator import medium

SEEDS = 120
GROUP = 6
MORE_SEEDS = 480
SETTINGS = SolveSettings(seconds=60, workers=8)


def _compare(seed: int, aims: int) -> None:
    data = medium(seed)
    facts = read_facts(data)
    expected = milp.best_values(facts, aims)
    body = answer_json(solve(scenario_from_data(data), SETTINGS))
    text = yaml.safe_dump(data, sort_keys=False, default_flow_style=None, width=120)
    told = f"medium seed {seed}, HiGHS finds {expected} for {facts.aims[:aims]}\n{body}\n{text}"
    if expected is None:
        assert body["status"] == "infeasible", told
        return
    first = body["aims"][: len(expected)]
    assert body["status"] in ("optimal", "feasible"), told
    assert tuple(aim["value"] for aim in first) == expected, told
    assert all(aim["proven"] and aim["bound"] == aim["value"] for aim in first), told
    assert body["verdict"]["sound"], told
    placed = {(x["class"], x["unit"], x["lesson"]): (x["slot"], x["taught"]) for x in body["lessons"]}
    assert rules.first_broken(facts, placed) is None, f"{rules.first_broken(facts, placed)}\n{told}"


@pytest.mark.parametrize("first", range(0, SEEDS, GROUP))
def test_first_aims_equal_the_integer_programme(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed, aims=1)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SEEDS, MORE_SEEDS, GROUP))
def test_all_aims_equal_the_integer_programme(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed, aims=len(medium(seed)["aims"]))
