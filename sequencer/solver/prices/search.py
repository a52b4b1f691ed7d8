"""Prices over the parts of a group of classes, aim by aim; columns, rows and cuts are kept from one aim to the next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from sequencer.plan.sequence import Sequence, joined
from sequencer.solver.aim_search import PricedParts
from sequencer.solver.apart import ClassesApart
from sequencer.solver.prices.columns import Numbers, PartColumn
from sequencer.solver.prices.covers import broken_cover, knapsacks
from sequencer.solver.prices.lazy_rows import NEAR, LazyRows
from sequencer.solver.prices.near import near
from sequencer.solver.prices.one_aim import PricedAim
from sequencer.solver.prices.pricing import PricedPart
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.setting_up import set_up
from sequencer.solver.prices.shared_names import SequenceSays
from sequencer.solver.solver_calls import Budget
from sequencer.solver.sought import Sought


class SharedPrices(PricedParts[Sequence]):
    """Prices over the parts of one group of classes.

    Parameters
    ----------
    whole
        The model of all classes.
    apart
        The searches of the parts.
    posted
        How many constraints of the model of all classes state its rules; what a search posted later is no row.
    """

    def __init__(self, whole: Sought[Sequence], apart: ClassesApart[Sequence], posted: int) -> None:
        self._apart = apart
        self.shared, self._parts = set_up(whole, apart, posted)
        self._lazy = LazyRows(self.shared.coupling.rows)
        self._knapsacks = tuple(knapsacks(self.shared))
        self._columns: list[PartColumn] = []
        self._known: set[tuple[object, ...]] = set()
        self._kept: dict[SharedRow, None] = {}
        self.aim: PricedAim | None = None
        self.clocked = False

    def learn(self, held: Sequence) -> None:
        for part in self._parts:
            self._learn(part, part.model.own(held))
            self._learn(part, part.search.held)

    def bound(self, place: int, known: int, value: int, held: Mapping[str, int], budget: Budget) -> int:
        aims = self.shared.aims
        rows = tuple(
            SharedRow(f"{aim.name} as held", tuple(aim.of_nobody.items()), held[aim.name] - aim.constant, number)
            for number, aim in enumerate(aims[:place])
        )
        columns = [column for column in self._columns if self._allowed(column)]
        self.aim = PricedAim(
            self.shared, self._parts, place, rows, columns, tuple(self._kept), self._take_broken, self._cut, self._learn
        )
        return self.aim.bound(known, value, budget)

    def chosen(self, budget: Budget) -> tuple[Sequence, tuple[int, ...]] | None:
        found = self.aim.chosen(budget) if self.aim is not None else None
        self.clocked |= self.aim is not None and self.aim.clocked
        if found is None:
            return None
        sequences, broken = found
        return joined(sequences), tuple(index for part in sorted(broken) for index in self._apart.parts[part])

    def near(self, held: Sequence) -> list[tuple[int, ...]]:
        if self.aim is None:
            return []
        found = near(self.aim, held)
        return [tuple(index for part in parts for index in self._apart.parts[part]) for parts in found]

    def _allowed(self, column: PartColumn) -> bool:
        """Whether a part may still have this sequence, by the aims that it is held to."""
        held_at = self._apart.searches[column.part].held_at
        return all(column.counts[name] <= most for name, most in held_at.items())

    def _learn(self, part: PricedPart, sequence: Sequence) -> PartColumn | None:
        """Keep a sequence of a part; its column where it is new."""
        told = SequenceSays(part.model.model.parts.instance, sequence)
        column = self.shared.column(part.number, sequence, told, part.model.counts(sequence))
        key = (part.number, column.values.tobytes(), tuple(column.counts.items()))
        if key in self._known:
            return None
        self._known.add(key)
        self._columns.append(column)
        return column

    def _take_broken(self, values: Numbers) -> list[SharedRow]:
        return self._keep(self._lazy.take_broken(values))

    def _cut(self, values: Numbers) -> list[SharedRow]:
        """Cover cuts that the relaxation breaks."""
        shares = {int(variable): float(values[variable]) for variable in np.flatnonzero(values > NEAR)}
        cuts = (broken_cover(row, items, shares) for row, items in self._knapsacks)
        return self._keep(cut for cut in cuts if cut is not None)

    def _keep(self, rows: Iterable[SharedRow]) -> list[SharedRow]:
        """Keep rows for the aims to come; those that are new."""
        new = [row for row in dict.fromkeys(rows) if row not in self._kept]
        self._kept.update(dict.fromkeys(new))
        return new
