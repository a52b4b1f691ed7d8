"""The Balanced Academic Curriculum Problem, with a boolean for each course and week, or for each course and slot."""

from __future__ import annotations

import time
from typing import Any

from ortools.sat.python import cp_model

from tests.benchmarks.experts.periods import Period, periods_of, row
from tests.benchmarks.experts.stages import Found, settle
from tests.builders import Data
from tests.published import Curriculum


def _weekly(model: cp_model.CpModel, problem: Curriculum, y: dict[str, list[Any]]) -> cp_model.IntVar:
    """Loads and numbers of the weeks, strictly earlier weeks, and the heaviest week, given booleans course x week."""
    weeks = range(problem.weeks)
    (least, most), (fewest, greatest) = problem.load, problem.courses
    total = sum(problem.credits.values())
    heaviest = model.new_int_var(max(least, -(-total // problem.weeks)), most, "heaviest")
    for week in weeks:
        load = sum(credits * y[course][week] for course, credits in problem.credits.items())
        model.add(load <= heaviest)
        model.add(load >= least)
        number = sum(y[course][week] for course in problem.credits)
        model.add(number >= fewest)
        model.add(number <= greatest)
    for before, after in problem.earlier:
        for week in weeks:
            # After is there by this week only if before was by the week before.
            model.add(sum(y[after][: week + 1]) <= sum(y[before][:week]))
    return heaviest


def by_weeks(problem: Curriculum, scenario: Data, seconds: float, workers: int, seed: int) -> Found:
    """Which week each course lies in is all that matters; periods of the week are handed out afterwards."""
    began = time.perf_counter()
    model = cp_model.CpModel()
    y = {course: [model.new_bool_var(f"{course} {week}") for week in range(problem.weeks)] for course in problem.credits}
    for course in y:
        model.add_exactly_one(y[course])
    heaviest = _weekly(model, problem, y)

    def rows(solver: cp_model.CpSolver) -> tuple[Data, ...]:
        waiting: dict[int, list[Period]] = {}
        for period in periods_of(scenario):
            waiting.setdefault(period.week, []).append(period)
        at = {course: next(week for week in range(problem.weeks) if solver.boolean_value(y[course][week])) for course in y}
        return tuple(row(scenario, waiting[week].pop(0), "u", course) for course, week in at.items())

    return settle(model, [("even load", heaviest)], rows, began, (seconds, workers, seed))


def by_slots(problem: Curriculum, scenario: Data, seconds: float, workers: int, seed: int) -> Found:
    """A boolean for each course and slot, as the scenario states it."""
    began = time.perf_counter()
    model = cp_model.CpModel()
    periods = periods_of(scenario)
    x = {course: [model.new_bool_var(f"{course} {at}") for at in range(len(periods))] for course in problem.credits}
    for course in x:
        model.add_exactly_one(x[course])
    for at in range(len(periods)):
        model.add_at_most_one(x[course][at] for course in x)
    y = {
        course: [sum(x[course][at] for at, period in enumerate(periods) if period.week == week) for week in range(problem.weeks)]
        for course in x
    }
    heaviest = _weekly(model, problem, y)

    def rows(solver: cp_model.CpSolver) -> tuple[Data, ...]:
        return tuple(
            row(scenario, period, "u", course)
            for course in x
            for at, period in enumerate(periods)
            if solver.boolean_value(x[course][at])
        )

    return settle(model, [("even load", heaviest)], rows, began, (seconds, workers, seed))
