"""Columns: whole sequences of one part, as the rows see them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.rows import Coupling, SharedRow
from sequencer.solver.prices.shared_aims import SharedAim
from sequencer.solver.prices.shared_names import Said, SequenceSays

Numbers = npt.NDArray[np.float64]
Thousandths = npt.NDArray[np.int64]


@dataclass(frozen=True)
class PartColumn:
    """One sequence of a part.

    Parameters
    ----------
    values
        What it says of the part's variables that stand in rows, in their order.
    counts
        The referee's count of every aim.
    """

    part: int
    sequence: Sequence
    values: Numbers
    counts: Mapping[str, int]


@dataclass
class Shared:
    """The rows, with the variables of each part that stand in them.

    Parameters
    ----------
    variables
        For each part its variables in rows, rising.
    says
        For each part what they say, in this order.
    count
        The number of variables of the model of all classes.
    """

    coupling: Coupling
    aims: tuple[SharedAim, ...]
    variables: tuple[tuple[int, ...], ...]
    says: tuple[tuple[Said, ...], ...]
    count: int
    place: dict[int, int] = field(init=False)

    def __post_init__(self) -> None:
        self.place = {variable: place for of in self.variables for place, variable in enumerate(of)}

    def column(self, part: int, sequence: Sequence, told: SequenceSays, counts: Mapping[str, int]) -> PartColumn:
        """A sequence of a part as a column."""
        values = np.array([told.holds(each) for each in self.says[part]], dtype=np.float64)
        return PartColumn(part, sequence, values, counts)

    def weighs(self, column: PartColumn, row: SharedRow) -> int:
        """What a column adds to the sum of a row."""
        part_of = self.coupling.part_of
        found = sum(
            much * int(column.values[self.place[variable]]) for variable, much in row.terms if part_of[variable] == column.part
        )
        return found + (self.aims[row.aim].cost(column.part, column.counts) if row.aim is not None else 0)
