"""Bounds of a class's units, each by itself: what they say is true of every sequence, and changes no answer."""

from __future__ import annotations

import time

import pytest

from sequencer import SolveSettings, scenario_from_data, solve
from sequencer.instance.build import build_instance
from sequencer.solver import unit_bounds as units
from sequencer.solver.model import prepare
from sequencer.solver.solver_calls import Budget, Calls, StopSignal
from sequencer.words import DISTANCE, OPTIMAL
from tests.benchmarks.instances import benchmark


def test_units_come_to_no_more_than_the_class() -> None:
    scenario = scenario_from_data(benchmark("growth-30").scenario)
    answer = solve(scenario)
    (best,) = [aim for aim in answer.aims if aim.aim == DISTANCE]
    prepared = prepare(build_instance(scenario))
    calls = Calls(0, 1, StopSignal())
    found = list(units.distance_by_units(prepared, 0, calls, Budget(time.monotonic() + 60, 60)))
    lessons = [lesson for each, _ in found for lesson in each]
    assert len(found) == 2 and len(set(lessons)) == len(lessons)
    assert best.proven and best.value is not None
    assert 0 < sum(least for _, least in found) <= best.value


@pytest.mark.parametrize("seed", range(0, 30, 5))
def test_the_same_is_best_with_units_looked_at(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    scenario = scenario_from_data(benchmark(f"half-term-{seed}").scenario)
    without = solve(scenario, SolveSettings(seconds=60))
    monkeypatch.setattr(units, "FEWEST_LESSONS", 0)
    answer = solve(scenario, SolveSettings(seconds=60))
    assert without.status == answer.status == OPTIMAL
    assert [(aim.value, aim.bound) for aim in answer.aims] == [(aim.value, aim.bound) for aim in without.aims]
