"""Prices over the parts of a group of classes, aim by aim; columns, rows and cuts are kept from one aim to the next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from sequencer.plan.sequence import Sequence, joined
from sequencer.solver.aim_search import PricedParts
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import Prepared
from sequencer.solver.prices.asking import Asking
from sequencer.solver.prices.columns import Numbers, PartColumn
from sequencer.solver.prices.covers import Items, broken_cover, knapsacks
from sequencer.solver.prices.elsewhere import AskMany
from sequencer.solver.prices.lazy_rows import NEAR, LazyRows
from sequencer.solver.prices.master import Relaxed
from sequencer.solver.prices.near import near
from sequencer.solver.prices.one_aim import PricedAim
from sequencer.solver.prices.pricing import SCALE, PricedPart
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.setting_up import set_up
from sequencer.solver.prices.shared_names import SequenceSays
from sequencer.solver.prices.worth import Worth, shared_limits
from sequencer.solver.raised import RaisedLimit
from sequencer.solver.solver_calls import Budget

NOTHING = -(10**12)
"""What is known of an aim that is no sum over parts before any price is asked."""


class SharedPrices(PricedParts[Sequence]):
    """Prices over the parts of one group of classes.

    Parameters
    ----------
    apart
        The searches of the parts.
    elsewhere
        Asks parts elsewhere.
    """

    def __init__(self, prepared: Prepared, apart: ClassesApart[Sequence], elsewhere: AskMany | None = None) -> None:
        self._apart = apart
        self.shared, self.steps, self.parts = set_up(prepared, apart, elsewhere)
        self._lazy = LazyRows(self.shared.coupling.rows)
        self._knapsacks = tuple(knapsacks(self.shared))
        self._columns: list[PartColumn] = []
        self._known: dict[tuple[object, ...], PartColumn] = {}
        self._kept: dict[SharedRow, None] = {}
        self._cuts: dict[SharedRow, tuple[SharedRow, Items]] = {}
        self._limits = shared_limits(prepared.instance, apart.parts)
        self._beside: Sequence | None = None
        self._worth: tuple[int, Worth] | None = None
        self.aim: PricedAim | None = None
        self.clocked = False

    def learn(self, held: Sequence) -> None:
        self._beside = held
        for part in self.parts:
            self._learn(part, part.model.own(held))
            self._learn(part, part.search.held)

    def alone(self, place: int, held: Sequence, budget: Budget) -> int:
        """What every part comes to at least on an aim by itself, posted in its model; all of it together."""
        aim, self._beside = self.shared.aims[place], held
        if not aim.summed_by_parts:
            return aim.floor
        floors = [part.model.aims[place].floor for part in self.parts]
        paid = [part.model.counts(part.model.own(held))[aim.name] for part in self.parts]
        open_parts = [part for part in self.parts if paid[part.number] > floors[part.number]]
        leasts = list(floors)
        for part, priced in zip(open_parts, Asking(self.shared, self.parts, place).alone(open_parts, budget), strict=True):
            leasts[part.number] = max(floors[part.number], -(-priced.least // SCALE) + aim.constants[part.number])
            for sequence in priced.sequences:
                self._learn(part, sequence)
        self._apart.bounded(place, leasts)
        self._apart.no_less(place)
        return max(aim.floor, self._together(place))

    def _together(self, place: int) -> int:
        """What all parts come to at least by themselves, without prices."""
        bounds = self.shared.coupling.bounds
        together = sum(
            min(much * end for end in bounds[variable]) for variable, much in self.shared.aims[place].of_nobody.items()
        )
        return sum(self._apart.bounds(place).values()) + together

    def bound(self, place: int, known: int, value: int, held: Mapping[str, int], budget: Budget) -> int:
        aims = self.shared.aims
        rows = tuple(
            SharedRow(f"{aim.name} as held", tuple(aim.of_nobody.items()), held[aim.name] - aim.constant, number)
            for number, aim in enumerate(aims[:place])
        )
        columns = [column for column in self._columns if self._allowed(column)]
        self.aim = PricedAim(
            self.shared, self.parts, place, rows, columns, tuple(self._kept), self._take_broken, self._cut, self._learn
        )
        least = SCALE * self._together(place) if aims[place].summed_by_parts else NOTHING
        worth = Worth(self._limits, self._cuts, least)
        self._worth = place, worth
        self.aim.proved = lambda *proved: self._proved(worth, place, *proved)
        return self.aim.bound(known, value, budget)

    def worth(self, place: int) -> tuple[RaisedLimit, ...]:
        return self._worth[1].proven() if self._worth is not None and self._worth[0] == place else ()

    def _proved(self, worth: Worth, place: int, rows: list[SharedRow], *proven: tuple[int, list[int]]) -> None:
        for least, prices in proven:
            worth.take(least, rows, prices)
        if self.heard is not None and self._beside is not None:
            name, pays = self.shared.aims[place].name, {}
            for part, bound in zip(self.parts, self._apart.bounds(place).values(), strict=True):
                pays[part.model.class_ids] = part.model.counts(part.model.own(self._beside))[name], bound
            self.heard(worth.now(pays if self.shared.aims[place].summed_by_parts else {}), worth.bound)

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

    def column(self, part: int, sequence: Sequence) -> PartColumn:
        """The column of a sequence of a part."""
        return self._learned(self.parts[part], sequence)[0]

    def _learn(self, part: PricedPart, sequence: Sequence) -> PartColumn | None:
        """Keep a sequence of a part; its column where it is new."""
        column, new = self._learned(part, sequence)
        return column if new else None

    def _learned(self, part: PricedPart, sequence: Sequence) -> tuple[PartColumn, bool]:
        told = SequenceSays(part.model.model.parts.instance, sequence)
        column = PartColumn(part.number, sequence, told, part.model.counts(sequence))
        key = (part.number, sequence.placements, tuple(column.counts.items()))
        if key in self._known:
            return self._known[key], False
        self._known[key] = column
        self._columns.append(column)
        return column, True

    def _take_broken(self, found: Relaxed, columns: list[PartColumn]) -> list[SharedRow]:
        taken = [(column, weight) for column, weight in zip(columns, found.weights.tolist(), strict=True) if weight > NEAR]
        return self._keep([*self._lazy.take_broken(found.values), *self.steps.take_broken(taken)])

    def _cut(self, values: Numbers) -> list[SharedRow]:
        """Cover cuts that the relaxation breaks."""
        shares = {int(variable): float(values[variable]) for variable in np.flatnonzero(values > NEAR)}
        new = {cut: of for of in self._knapsacks if (cut := broken_cover(*of, shares)) is not None}
        self._cuts.update(new)
        return self._keep(new)

    def _keep(self, rows: Iterable[SharedRow]) -> list[SharedRow]:
        """Keep rows for the aims to come; those that are new."""
        new = [row for row in dict.fromkeys(rows) if row not in self._kept]
        self._kept.update(dict.fromkeys(new))
        return new
