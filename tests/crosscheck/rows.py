"""Variables and linear rows of an integer programme, and the call to HiGHS."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

import highspy

Expression = dict[int, float]
"""Coefficient of each variable; the constant term stands under -1."""


def total(variables: Iterable[int], *more: Iterable[int]) -> Expression:
    summed: Expression = defaultdict(float)
    for group in (variables, *more):
        for variable in group:
            summed[variable] += 1
    return summed


def plus(*terms: tuple[float, Expression]) -> Expression:
    summed: Expression = defaultdict(float)
    for factor, expression in terms:
        for variable, coefficient in expression.items():
            summed[variable] += factor * coefficient
    return summed


class Rows:
    """Variables, rows, and the call to HiGHS."""

    def __init__(self) -> None:
        self.upper: list[float] = []
        self.rows: list[tuple[Expression, float, float]] = []

    def variable(self, upper: float = 1) -> int:
        self.upper.append(upper)
        return len(self.upper) - 1

    def at_most(self, expression: Expression, bound: float) -> None:
        self.rows.append((expression, -math.inf, bound - expression.get(-1, 0)))

    def at_least(self, expression: Expression, bound: float) -> None:
        self.rows.append((expression, bound - expression.get(-1, 0), math.inf))

    def keep(self, expression: Expression, least: float | None, most: float | None, wish: int = 0, unit: int = 1) -> Expression:
        """The expression lies within its limits; where that is a wish, what it costs that it does not."""
        cost: Expression = {}
        for sign, limit in ((1, most), (-1, None if least is None else -least)):
            if limit is None:
                continue
            signed = plus((sign, expression))
            most_beyond = self._greatest(signed) - limit
            if wish and most_beyond > 0:
                beyond = self.variable(math.ceil(most_beyond / unit))
                cost[beyond] = wish
                signed = plus((1, signed), (-unit, {beyond: 1}))
            self.at_most(signed, limit)
        return cost

    def _greatest(self, expression: Expression) -> float:
        return sum(max(0, c) * self.upper[v] if v >= 0 else c for v, c in expression.items())

    def minimum(self, expression: Expression, seconds: float) -> int | None:
        """The least value of the expression; None when the rows cannot hold."""
        if not self.upper:
            self.variable()
        solver = highspy.Highs()
        # Without presolve: that of HiGHS 1.12 called rows infeasible that are not (chains 246) and missed better values (1080).
        for option, stated in (("output_flag", False), ("time_limit", seconds), ("mip_rel_gap", 0.0), ("presolve", "off")):
            solver.setOptionValue(option, stated)
        for variable, upper in enumerate(self.upper):
            solver.addCol(expression.get(variable, 0), 0, upper, 0, [], [])
            solver.changeColIntegrality(variable, highspy.HighsVarType.kInteger)
        for row, lower, upper in self.rows:
            terms = {variable: coefficient for variable, coefficient in row.items() if variable >= 0}
            solver.addRow(lower, upper, len(terms), list(terms), list(terms.values()))
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        if status != highspy.HighsModelStatus.kOptimal:
            raise TimeoutError(f"HiGHS stopped with: {solver.modelStatusToString(status)}")
        value = solver.getInfo().objective_function_value + expression.get(-1, 0)
        assert abs(value - round(value)) < 1e-4, f"{value} is no whole number"
        return round(value)
