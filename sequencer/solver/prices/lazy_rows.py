"""Which rows a choice of columns breaks: most never are, so that the master takes a row up only then."""

from __future__ import annotations

import numpy as np

from sequencer.solver.prices.columns import Numbers
from sequencer.solver.prices.rows import SharedRow

AT_A_TIME = 100
"""Most rows that are taken up together, those broken most first."""

NEAR = 1e-6


class LazyRows:
    """Rows that wait until they are broken."""

    def __init__(self, rows: tuple[SharedRow, ...]) -> None:
        self._rows = rows
        self._row_of = np.array([place for place, row in enumerate(rows) for _ in row.terms], dtype=np.int64)
        self._variable = np.array([variable for row in rows for variable, _ in row.terms], dtype=np.int64)
        self._much = np.array([much for row in rows for _, much in row.terms], dtype=np.float64)
        self._most = np.array([row.most for row in rows], dtype=np.float64)
        self._waiting = np.ones(len(rows), dtype=bool)

    def take_broken(self, values: Numbers) -> list[SharedRow]:
        """The rows still waiting that are broken by what the variables come to; they wait no longer."""
        over = np.bincount(self._row_of, self._much * values[self._variable], len(self._most)) - self._most
        broken = np.flatnonzero(self._waiting & (over > NEAR))
        taken = broken[np.argsort(-over[broken], kind="stable")][:AT_A_TIME]
        self._waiting[taken] = False
        return [self._rows[place] for place in taken]
