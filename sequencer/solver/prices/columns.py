"""Columns: whole sequences of one part, as the rows see them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.elsewhere import AskMany
from sequencer.solver.prices.rows import Coupling, SharedRow
from sequencer.solver.prices.shared_aims import SharedAim
from sequencer.solver.prices.shared_names import Said, SequenceSays

Numbers = npt.NDArray[np.float64]
Thousandths = npt.NDArray[np.int64]


@dataclass(eq=False)
class PartColumn:
    """One sequence of a part.

    Parameters
    ----------
    counts
        The referee's count of every aim.
    values
        What it says of the part's variables that stand in rows, in their order, as far as that was asked.
    """

    part: int
    sequence: Sequence
    told: SequenceSays
    counts: Mapping[str, int]
    values: list[bool] = field(default_factory=list)


@dataclass
class Shared:
    """The rows, with the variables of each part that stand in them.

    Parameters
    ----------
    says
        What the variables of parts say, by variable; more of them are named as rows of them are taken up.
    part_of
        The part of each variable; those that belong to nobody have none.
    count
        The number of variables.
    elsewhere
        Asks parts elsewhere; they are asked here where there is none.
    """

    coupling: Coupling
    aims: tuple[SharedAim, ...]
    says: dict[int, Said]
    part_of: dict[int, int]
    parts: int
    count: int
    elsewhere: AskMany | None = None
    _of_parts: list[list[int]] = field(init=False)
    _place: dict[int, int] = field(init=False)
    _named: dict[Said, int] = field(init=False)

    def __post_init__(self) -> None:
        self._of_parts = [[] for _ in range(self.parts)]
        self._place = {}
        self._named = {each: variable for variable, each in self.says.items()}
        for variable in sorted(self.says):
            self._know(variable)

    def variable(self, part: int, each: Said) -> int:
        """The variable of a part that says this."""
        if each not in self._named:
            variable, self.count = self.count, self.count + 1
            self._named[each], self.says[variable], self.part_of[variable] = variable, each, part
            self._know(variable)
        return self._named[each]

    def _know(self, variable: int) -> None:
        own = self._of_parts[self.part_of[variable]]
        self._place[variable] = len(own)
        own.append(variable)

    def variables(self, part: int) -> list[int]:
        """The variables of a part that stand in rows."""
        return self._of_parts[part]

    def values(self, column: PartColumn) -> list[bool]:
        """What a column says of its part's variables."""
        own, values = self._of_parts[column.part], column.values
        if len(values) < len(own):
            # A list of its own, since two threads may ask at once.
            column.values = values = [*values, *(column.told.holds(self.says[each]) for each in own[len(values) :])]
        return values

    def holds(self, column: PartColumn, variable: int) -> bool:
        """Whether a column says what one of its part's variables says."""
        return self.values(column)[self._place[variable]]

    def parts_in(self, row: SharedRow) -> set[int]:
        """The parts whose variables stand in a row."""
        return {self.part_of[variable] for variable, _ in row.terms if variable in self.part_of}

    def parts_under(self, row: SharedRow) -> set[int]:
        """The parts whose variables stand in a row, and those that pay of the aim that it holds."""
        paying = self.aims[row.aim].of_parts if row.aim is not None else ()
        return self.parts_in(row) | {part for part, terms in enumerate(paying) if terms}

    def by_part(self, terms: Iterable[tuple[int, int]]) -> dict[int, list[tuple[int, int]]]:
        """The terms of a row by part, each variable by its place there."""
        found: dict[int, list[tuple[int, int]]] = {}
        for variable, much in terms:
            part = self.part_of.get(variable)
            if part is not None:
                found.setdefault(part, []).append((self._place[variable], much))
        return found

    def weighs(self, column: PartColumn, row: SharedRow, terms: list[tuple[int, int]]) -> int:
        """What a column adds to the sum of a row, given the row's terms of its part."""
        values = self.values(column)
        return sum(much for place, much in terms if values[place]) + self.pays(column, row)

    def pays(self, column: PartColumn, row: SharedRow) -> int:
        """What a column pays of the aim that a row holds."""
        return self.aims[row.aim].cost(column.part, column.counts) if row.aim is not None else 0
