"""A class under prices: what steps through its periods say it comes to at least is what the solver says of its model."""

from __future__ import annotations

import math
from random import Random

import pytest
from ortools.sat.python import cp_model

from sequencer import scenario_from_data
from sequencer.instance.build import build_instance
from sequencer.solver.aim_search import Charge, ClassCost
from sequencer.solver.chain import aims_by_periods
from sequencer.solver.chain.aims_by_periods import by_periods
from sequencer.solver.costs import cost
from sequencer.solver.model import ClassesModel, build_model, prepare
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.words import CARRIED_OVER, DISTANCE, EARLY_FINISH, LEFT_OUT, MADE_LESSONS, NEXT_PLAN
from tests.chain.drawn import Feature, chains, chosen, in_order, made, several
from tests.crosscheck.in_full import InFull

RULES = {"several": several, "made": made, "chosen": chosen, "in order": in_order}
HELD = (LEFT_OUT, CARRIED_OVER, NEXT_PLAN)
PRICED = (MADE_LESSONS, DISTANCE, EARLY_FINISH)
IN_SUITE, GROUP, BY_NAME = 12, 50, 300


def _least(model: ClassesModel, expression: cp_model.LinearExprT) -> int | None:
    """What an expression comes to at least in a model; None where nothing is possible."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    model.parts.posting.model.minimize(expression)
    status = solver.solve(model.parts.posting.model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def _charges(draw: Random, model: ClassesModel) -> list[Charge]:
    found = []
    slots = len(model.parts.instance.classes[0].slots)
    for index in draw.sample(sorted(model.parts.variables.lessons), min(5, len(model.parts.variables.lessons))):
        first = draw.randrange(slots)
        found.append(Charge(index, first, draw.randrange(first, slots), draw.randint(-2500, 3000)))
    return found


def _paid(model: ClassesModel, weights: dict[str, int], charges: list[Charge]) -> cp_model.LinearExprT:
    """What the class pays, constants of aims included."""
    variables = model.parts.variables.lessons
    starts = (
        charge.much * literal
        for charge in charges
        for literal in variables[charge.lesson].starts_between(charge.first, charge.last)
    )
    aims = {aim.name: aim for aim in model.aims}
    return sum(starts) + sum(weight * (cost(aims[name]) + aims[name].constant) for name, weight in weights.items())


def _as_the_solver(seed: int, rule: Feature) -> bool:
    """Whether what the programme says is what the solver says; it never says more.

    It may say less where a lesson that earns something stands though nobody is met in it: the model refuses that.
    """
    data = chains(seed, 5, 11, rule, mixed=False)
    draw = Random(f"prices {seed}")
    prepared = prepare(build_instance(scenario_from_data(data)))
    model = build_model(prepared, (0,))
    programme = by_periods(prepared, model, StopSignal(), priced=True)
    assert programme is not None
    aims = {aim.name: aim for aim in model.aims}
    held: dict[str, int] = {}
    for name in HELD:
        least = _least(model, cost(aims[name]) + aims[name].constant)
        if least is None:
            return False
        held[name] = least
        model.parts.posting.model.add(cost(aims[name]) + aims[name].constant <= least)
    weights = {name: draw.choice((0, 300, 1000, 2500)) for name in PRICED if name in aims}
    charges = _charges(draw, model)
    paid = _paid(model, weights, charges)
    within = [(ClassCost({name: 1000}), 1000 * least, 1000 * least) for name, least in held.items()]
    if draw.random() < 0.6:
        # What else the class pays is limited, as where an aim before is held.
        others = _charges(draw, model)
        limited = {MADE_LESSONS: 1000} if MADE_LESSONS in aims else {}
        least = _least(model, _paid(model, limited, others))
        assert least is not None
        most = least + draw.randint(1, 2500)
        within.append((ClassCost(limited, tuple(others)), least, most))
        model.parts.posting.model.add(_paid(model, limited, others) <= most)
    best = _least(model, paid)
    assert best is not None
    told = InFull(f"{weights} {charges}", data, best)
    cost_of = ClassCost(weights, tuple(charges))
    answer = programme.priced(cost_of, held, within, None, Budget(math.inf, 100))
    if answer is None:
        return False
    found, plan = answer
    assert found.least <= best, told
    below = programme.priced(cost_of, held, within, best - 1, Budget(math.inf, 100))
    assert below is not None and below[0].least <= best, told
    return found.whole and found.least == best == below[0].least and plan is not None


@pytest.fixture(autouse=True)
def every_class(monkeypatch: pytest.MonkeyPatch) -> None:
    """Classes of any number of lessons are stepped through."""
    monkeypatch.setattr(aims_by_periods, "FEWEST_LESSONS", 0)
    monkeypatch.setattr(aims_by_periods, "FEWEST_RETRIEVALS", 0)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_prices_come_to_what_the_solver_says(rule: Feature) -> None:
    assert sum(_as_the_solver(seed, rule) for seed in range(IN_SUITE)) > IN_SUITE // 2


@pytest.mark.slow
@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
@pytest.mark.parametrize("first", range(IN_SUITE, BY_NAME, GROUP))
def test_more_prices(rule: Feature, first: int) -> None:
    for seed in range(first, first + GROUP):
        _as_the_solver(seed, rule)
