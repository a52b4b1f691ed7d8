"""One rule after another: what the programme over a class's periods proves of it is all that the solver proves by itself."""

from __future__ import annotations

import math

import pytest

from sequencer import SolveSettings, scenario_from_data, solve
from sequencer.instance.build import build_instance
from sequencer.solver.chain import aims_by_periods
from sequencer.solver.chain.aims_by_periods import by_periods
from sequencer.solver.model import build_model, prepare
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.words import INFEASIBLE, OPTIMAL
from tests.builders import PATIENT
from tests.chain.drawn import Feature, chains, live
from tests.crosscheck.in_full import InFull

RULES = {"live": live}
EXACT = ("left out", "distance", "early finish", "even load")
WORSE = 5
IN_SUITE, BY_NAME, GROUP = 8, 300, 50
RULE = pytest.mark.parametrize("rule", RULES.values(), ids=RULES)


def _compared(rule: Feature, seed: int, mixed: bool) -> int:
    """How many aims the programme proves; without other rules all that it holds exactly."""
    data = chains(seed, 5, 12, rule, mixed)
    scenario = scenario_from_data(data)
    answer = solve(scenario, SolveSettings(seconds=PATIENT))  # by the solver alone: there are too few lessons
    if answer.status == INFEASIBLE:
        return 0
    assert answer.status == OPTIMAL
    best = {aim.aim: aim.value for aim in answer.aims if aim.value is not None}
    prepared = prepare(build_instance(scenario))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(aims_by_periods, "FEWEST_LESSONS", 0)
        patch.setattr(aims_by_periods, "FEWEST_RETRIEVALS", 0)
        programme = by_periods(prepared, build_model(prepared, (0,)), StopSignal())
    assert programme is not None
    said = 0
    for place, name in enumerate(best):
        held = {each: value + WORSE * (other >= place) for other, (each, value) in enumerate(best.items())}
        bound, _ = programme.settle(place, held, Budget(math.inf, 100))
        told = InFull(f"{seed}, {name}: at least {bound}", data, best)
        assert bound <= best[name], told
        assert bound == best[name] or mixed or name not in EXACT or best["carried over"], told
        said += 0 < bound == best[name]
    return said


@RULE
def test_a_rule_by_itself_is_held(rule: Feature) -> None:
    assert sum(_compared(rule, seed, False) for seed in range(IN_SUITE)) > IN_SUITE // 2


@RULE
def test_a_rule_among_others_is_never_held_too_dear(rule: Feature) -> None:
    assert sum(_compared(rule, seed, True) for seed in range(IN_SUITE)) > IN_SUITE // 2


@pytest.mark.slow
@RULE
@pytest.mark.parametrize("first", range(IN_SUITE, BY_NAME, GROUP))
def test_more_of_a_rule(rule: Feature, first: int) -> None:
    for seed in range(first, first + GROUP):
        _compared(rule, seed, seed % 2 == 0)
