"""Contradictions planted in half terms: conflicts minimal, every cause found, repairs that work and cost no more than undoing."""

from __future__ import annotations

import pytest

from sequencer import ExplainSettings, explain, scenario_from_data
from tests.explaining.judging import Judged, judged
from tests.explaining.planting import planted
from tests.explaining.saved import LONG, Saved, explained, saved

ALL_WELL = Judged(not_minimal=(), not_proved=0, failing=(), left=False)


@pytest.mark.parametrize(
    "half_term",
    [
        pytest.param(each, id=f"{each.seed} {' '.join(each.names)}", marks=pytest.mark.slow if each.seed in LONG else ())
        for each in saved()
    ],
)
def test_a_planted_contradiction_is_explained(half_term: Saved) -> None:
    scenario = scenario_from_data(half_term.scenario)
    found = explained(half_term.seed)
    assert judged(scenario, found) == ALL_WELL
    keys = [statement.key for conflict in found.conflicts for statement in conflict.statements]
    assert len(keys) == len(set(keys)), "conflicts share no statement"
    assert found.repairs and found.repairs[0].cost <= half_term.cost
    assert [repair.cost for repair in found.repairs] == sorted(repair.cost for repair in found.repairs)
    assert len({repair.changes for repair in found.repairs}) == len(found.repairs)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(300, 500))
def test_many_planted_contradictions_are_explained(seed: int) -> None:
    _, data, plants = planted(seed)
    scenario = scenario_from_data(data)
    found = explain(scenario, ExplainSettings(seconds=60))
    assert judged(scenario, found) == ALL_WELL
    assert found.repairs and found.repairs[0].cost <= sum(plant.cost for plant in plants)
    assert len(found.repairs) >= 3 or found.no_more
