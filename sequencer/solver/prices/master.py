"""The master: which column each part takes, as a linear programme under the rows, and in whole columns.

HiGHS solves both. Every row may be broken at a penalty for each unit, which bounds its price; where the relaxation breaks a row
at the end the penalty was too small and is raised.
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Sequence as Ordered
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from sequencer.solver.prices.columns import Numbers, PartColumn, Shared
from sequencer.solver.prices.rows import SharedRow

NODES = 300
"""Nodes of a search for whole columns."""

_NONE = np.array([], dtype=np.int32), np.array([], dtype=np.float64)


@dataclass(frozen=True)
class Relaxed:
    """A solution of the master.

    Parameters
    ----------
    value
        What the aim comes to, with the penalties for what is broken.
    weights
        How much of each column is taken.
    values
        What variables come to: those of nobody, and those in rows by the columns taken.
    prices
        For each row what one more unit of it would be worth.
    over
        For each row by how much it is broken.
    """

    value: float
    weights: Numbers
    values: Numbers
    prices: Numbers
    over: Numbers


class Master:
    """The master of one aim."""

    def __init__(self, shared: Shared, place: int, penalty: float) -> None:
        self._shared = shared
        self._aim = shared.aims[place]
        self._penalty = penalty
        self._highs = _Quiet()
        self._parts = shared.parts
        self._terms: list[dict[int, list[tuple[int, int]]]] = [{} for _ in range(shared.parts)]
        self.clocked = False
        """Whether the clock cut a choice of whole columns short."""
        self.columns: list[PartColumn] = []
        self.rows: list[SharedRow] = []
        self._column_at: list[int] = []
        self._slack_at: list[int] = []
        self._nobody_at: dict[int, int] = {}
        for _ in range(self._parts):
            self._highs.addRow(1.0, 1.0, 0, *_NONE)
        for variable, (least, most) in shared.coupling.bounds.items():
            self._nobody_at[variable] = self._highs.getNumCol()
            self._highs.addCol(float(self._aim.of_nobody.get(variable, 0)), float(least), float(most), 0, *_NONE)

    def add_column(self, column: PartColumn) -> None:
        """One more sequence that a part may take."""
        entries = [(column.part, 1)]
        for place, terms in self._terms[column.part].items():
            if much := self._shared.weighs(column, self.rows[place], terms):
                entries.append((self._parts + place, much))
        self._column_at.append(self._highs.getNumCol())
        cost = float(self._aim.cost(column.part, column.counts))
        self._highs.addCol(cost, 0.0, highspy.kHighsInf, len(entries), *_entries(entries))
        self.columns.append(column)

    def add_row(self, row: SharedRow) -> None:
        """One more row to be kept."""
        entries = [(self._nobody_at[variable], much) for variable, much in row.terms if variable in self._nobody_at]
        by_part = self._shared.by_part(row.terms)
        if row.aim is not None:
            by_part = {part: by_part.get(part, []) for part in range(self._parts)}
        for part, terms in by_part.items():
            self._terms[part][len(self.rows)] = terms
        for at, column in zip(self._column_at, self.columns, strict=True):
            if column.part in by_part and (much := self._shared.weighs(column, row, by_part[column.part])):
                entries.append((at, much))
        self._highs.addRow(-highspy.kHighsInf, float(row.most), len(entries), *_entries(entries))
        self._slack_at.append(self._highs.getNumCol())
        self._highs.addCol(self._penalty, 0.0, highspy.kHighsInf, 1, *_entries([(self._parts + len(self.rows), -1)]))
        self.rows.append(row)

    def set_penalty(self, penalty: float) -> None:
        """What a unit of a broken row costs from now on."""
        self._penalty = penalty
        for at in self._slack_at:
            self._highs.changeColCost(at, penalty)

    def relaxed(self) -> Relaxed | None:
        """The best that fractions of columns reach; None where the solver could not say."""
        return self._solved(self._highs)

    def whole(self, seconds: float, kept: Iterable[PartColumn] = ()) -> Relaxed | None:
        """The best that whole columns reach within so many seconds, or that was found.

        Parameters
        ----------
        kept
            Columns that are taken whatever else is.
        """
        highs = _Quiet()
        highs.passModel(self._highs.getModel())
        at = {id(column): place for column, place in zip(self.columns, self._column_at, strict=True)}
        for column in kept:
            highs.changeColBounds(at[id(column)], 1.0, 1.0)
        whole = np.array([*self._column_at, *self._nobody_at.values()], dtype=np.int32)
        kinds = np.full(len(whole), int(highspy.HighsVarType.kInteger.value), dtype=np.uint8)
        highs.changeColsIntegrality(len(whole), whole, kinds)
        highs.setOptionValue("mip_max_nodes", NODES)
        highs.setOptionValue("time_limit", max(0.0, seconds))
        found = self._solved(highs)
        self.clocked |= highs.getModelStatus() == highspy.HighsModelStatus.kTimeLimit
        return found

    def taken(self, whole: Relaxed) -> list[PartColumn]:
        """The column of each part in a choice of whole ones."""
        return [column for column, weight in zip(self.columns, whole.weights.tolist(), strict=True) if weight > 0.5]

    def _solved(self, highs: highspy.Highs) -> Relaxed | None:
        highs.run()
        solution = highs.getSolution()
        if not solution.value_valid:
            return None
        found, prices = np.array(solution.col_value), np.zeros(len(self.rows))
        if solution.dual_valid:
            prices = np.maximum(0.0, -np.array(solution.row_dual)[self._parts :])
        weights = found[self._column_at]
        values = np.zeros(self._shared.count)
        for column, weight in zip(self.columns, weights, strict=True):
            if weight > 1e-9:
                values[self._shared.variables(column.part)] += weight * np.array(self._shared.values(column), dtype=np.float64)
        values[list(self._nobody_at)] = found[list(self._nobody_at.values())]
        value = highs.getInfo().objective_function_value + self._aim.constant
        return Relaxed(value, weights, values, prices, found[self._slack_at])


def _entries(entries: Ordered[tuple[int, int]]) -> tuple[npt.NDArray[np.int32], Numbers]:
    return np.array([at for at, _ in entries], dtype=np.int32), np.array([much for _, much in entries], dtype=np.float64)


class _Quiet(highspy.Highs):
    """HiGHS in one thread, printing nothing: as it is made it greets whoever reads the standard output.

    How many threads it might use is left as it is: where the process has asked HiGHS before, another number is refused.
    """

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        for option, value in (("output_flag", False), ("parallel", "off"), ("random_seed", 0)):
            self.setOptionValue(option, value)
