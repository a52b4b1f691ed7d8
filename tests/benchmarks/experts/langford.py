"""Langford pairs with a boolean for each pair and place of its first."""

from __future__ import annotations

import time

from ortools.sat.python import cp_model

from tests.benchmarks.experts.periods import periods_of, row
from tests.benchmarks.experts.stages import Found, settle
from tests.builders import Data


def by_slots(n: int, scenario: Data, seconds: float, workers: int, seed: int) -> Found:
    """An exact cover: every pair once, every place once; read backwards it is another, so the largest starts in one half."""
    began = time.perf_counter()
    model = cp_model.CpModel()
    x = {v: [model.new_bool_var(f"{v} {at}") for at in range(2 * n - v - 1)] for v in range(1, n + 1)}
    for v in x:
        model.add_exactly_one(x[v])
    for place in range(2 * n):
        model.add_exactly_one(x[v][at] for v in x for at in (place, place - v - 1) if 0 <= at < len(x[v]))
    for at in range((len(x[n]) + 1) // 2, len(x[n])):
        model.add(x[n][at] == 0)

    def rows(solver: cp_model.CpSolver) -> tuple[Data, ...]:
        periods = periods_of(scenario)
        found = []
        for v in x:
            at = next(at for at in range(len(x[v])) if solver.boolean_value(x[v][at]))
            found.append(row(scenario, periods[at], "u", f"x{v}"))
            found.append(row(scenario, periods[at + v + 1], "u", f"y{v}"))
        return tuple(found)

    return settle(model, [], rows, began, (seconds, workers, seed))
