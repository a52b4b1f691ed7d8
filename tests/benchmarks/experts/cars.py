"""Car sequencing with a boolean for each class of cars and slot."""

from __future__ import annotations

import time

from ortools.sat.python import cp_model

from tests.benchmarks.experts.periods import periods_of, row
from tests.benchmarks.experts.stages import Found, settle
from tests.builders import Data
from tests.published import Cars


def by_slots(problem: Cars, scenario: Data, seconds: float, workers: int, seed: int) -> Found:
    """Cars of one class are alike; windows of every option, and how many must have been built by each slot at least."""
    began = time.perf_counter()
    model = cp_model.CpModel()
    length = sum(count for count, _ in problem.classes)
    x = [[model.new_bool_var(f"{kind} {at}") for at in range(length)] for kind in range(len(problem.classes))]
    for at in range(length):
        model.add_exactly_one(x[kind][at] for kind in range(len(x)))
    for kind, (count, _) in enumerate(problem.classes):
        model.add(sum(x[kind]) == count)
    for option, (most, of) in enumerate(zip(problem.most, problem.of, strict=True)):
        having = [[x[kind][at] for kind, (_, options) in enumerate(problem.classes) if option in options] for at in range(length)]
        total = sum(count for count, options in problem.classes if option in options)
        for first in range(length - of + 1):
            model.add(sum(car for at in range(first, first + of) for car in having[at]) <= most)
        # What the last blocks hold at most must have been built before them: block counts from the end.
        for blocks in range(1, length // of + 1):
            needed = total - blocks * most
            if needed > 0:
                model.add(sum(car for at in range(length - blocks * of) for car in having[at]) >= needed)

    def rows(solver: cp_model.CpSolver) -> tuple[Data, ...]:
        periods = periods_of(scenario)
        built = [0] * len(x)
        found = []
        for at in range(length):
            kind = next(kind for kind in range(len(x)) if solver.boolean_value(x[kind][at]))
            found.append(row(scenario, periods[at], "u", f"c{kind}-{built[kind]}"))
            built[kind] += 1
        return tuple(found)

    return settle(model, [], rows, began, (seconds, workers, seed))
