"""Aims settled one after the other by plain CP-SAT: make small, hold, hint, go on."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from tests.builders import Data

Aims = list[tuple[str, cp_model.LinearExprT]]


@dataclass
class Found:
    """What an expert model found.

    Parameters
    ----------
    status
        ``optimal``, ``feasible``, ``infeasible`` or ``unknown``.
    aims
        (value, bound) of each aim that was reached.
    rows
        The sequence, as rows that can be handed to the referee.
    seconds
        With building.
    """

    status: str = "unknown"
    aims: dict[str, tuple[int, int]] = field(default_factory=dict)
    rows: tuple[Data, ...] = ()
    building: float = 0.0
    seconds: float = 0.0
    variables: int = 0
    constraints: int = 0


def settle(
    model: cp_model.CpModel,
    aims: Aims,
    rows: Callable[[cp_model.CpSolver], tuple[Data, ...]],
    began: float,
    limits: tuple[float, int, int],
    first: bool = False,
) -> Found:
    """Settle aims in order within (seconds, workers, seed) since ``began``; with ``first`` look for any sequence first."""
    seconds, workers, seed = limits
    proto = model.proto
    found = Found(building=time.perf_counter() - began, variables=len(proto.variables), constraints=len(proto.constraints))
    proven = True
    stages: Aims = [("", 0), *aims] if first or not aims else aims
    for name, cost in stages:
        if name:
            model.minimize(cost)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = seed
        solver.parameters.max_time_in_seconds = max(0.01, seconds - (time.perf_counter() - began))
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            found.status = "infeasible"
            break
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            proven = False
            break
        found.rows = rows(solver)
        if name:
            value = round(solver.objective_value)
            found.aims[name] = (value, math.ceil(solver.best_objective_bound - 1e-6))
            proven = proven and status == cp_model.OPTIMAL
            model.add(cost <= value)
            model.clear_objective()  # type: ignore[no-untyped-call]
        model.clear_hints()  # type: ignore[no-untyped-call]
        for place, value in enumerate(solver.response_proto.solution):
            model.proto.solution_hint.vars.append(place)
            model.proto.solution_hint.values.append(value)
    if found.status != "infeasible" and found.rows:
        found.status = "optimal" if proven and len(found.aims) == len(aims) else "feasible"
    found.seconds = time.perf_counter() - began
    return found
