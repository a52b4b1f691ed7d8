"""Variables and linear rows of an integer programme, and the call to HiGHS through SciPy."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

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
        costs = numpy.zeros(len(self.upper))
        for variable, coefficient in expression.items():
            if variable >= 0:
                costs[variable] = coefficient
        entries = [(r, v, c) for r, (row, _, _) in enumerate(self.rows) for v, c in row.items() if v >= 0]
        where = ([entry[0] for entry in entries], [entry[1] for entry in entries])
        matrix = csr_array(([entry[2] for entry in entries], where), shape=(len(self.rows), len(self.upper)))
        lower, upper = ([row[n] for row in self.rows] for n in (1, 2))
        # Without presolve: that of HiGHS 1.12 called rows infeasible that are not (chains 246) and missed better values (1080).
        result = milp(
            costs,
            integrality=numpy.ones(len(self.upper)),
            bounds=Bounds(0, numpy.array(self.upper)),
            constraints=LinearConstraint(matrix, lower, upper),
            options={"time_limit": seconds, "mip_rel_gap": 0, "presolve": False},
        )
        if result.status == 2:
            return None
        if result.status != 0:
            raise TimeoutError(f"HiGHS stopped with: {result.message}")
        value = result.fun + expression.get(-1, 0)
        assert abs(value - round(value)) < 1e-4, f"{value} is no whole number"
        return round(value)
