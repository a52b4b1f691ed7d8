"""Prices over the parts of a group of classes, aim by aim; columns, rows and cuts are kept from one aim to the next."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial

import numpy as np

from sequencer.plan.sequence import Sequence, joined
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import Prepared
from sequencer.solver.prices.asking import Asking, PartsAsked
from sequencer.solver.prices.columns import Numbers, PartColumn
from sequencer.solver.prices.covers import Items, broken_cover, knapsacks
from sequencer.solver.prices.elsewhere import AskMany
from sequencer.solver.prices.lazy_rows import NEAR, LazyRows
from sequencer.solver.prices.leeway import Leeway
from sequencer.solver.prices.master import Relaxed
from sequencer.solver.prices.near import near
from sequencer.solver.prices.one_aim import PricedAim
from sequencer.solver.prices.pricing import SCALE, PricedPart
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.setting_up import set_up
from sequencer.solver.prices.shared_names import SequenceSays
from sequencer.solver.prices.worth import Worth, shared_limits
from sequencer.solver.progress import PricesNow
from sequencer.solver.raised import RaisedLimit
from sequencer.solver.solver_calls import LEAST_EFFORT, Budget, abreast

SHARE_OF_LEEWAY = 0.1
"""Where what is held above its least comes to no more than this part of the aim, at the price of all that the dearest part pays,
the parts are asked at that price what they come to."""

FEW_HARD = 8
"""No more parts than this are looked at at length, for what they come to by themselves."""

SHARE_OF_HARD = 0.7
"""Share of what is left for them."""

Pays = dict[tuple[str, ...], tuple[int, int]]
"""What classes pay, and at least, by their ids."""

NOTHING = -(10**12)
"""What is known of an aim that is no sum over parts before any price is asked."""


class SharedPrices:
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
        self.beside: Sequence | None = None
        """The plan that is held, of which it is told what each part pays."""
        self._worth: Worth | None = None
        self._told: set[str] = set()
        self.leeways: list[tuple[Leeway, int]] = []
        """Of aims that are held what their prices leave each part, and what they are held at."""
        self.aim: PricedAim | None = None
        self._asked_first: tuple[int, tuple[SharedRow, ...], PartsAsked] | None = None
        """Rows of aims held above their least, with what was asked at a price of them before any other: of the aim at a place."""
        self.clocked = False
        """Whether the clock cut the choice of whole columns short."""
        self.heard: Callable[[PricesNow, int], None] | None = None
        """Is told every round's prices and bound."""

    def alone(self, place: int, held: Sequence, values: Mapping[str, int], budget: Budget) -> int:
        """What every part comes to at least on an aim by itself, posted in its model; all of it together.

        Where aims before it are held at a little more than the parts need, each part alone could have all of that. Then it has a
        price, and what a part comes to at that price says more of all of them together.

        Parameters
        ----------
        values
            What the aims come to in what is held.
        """
        aim, self.beside = self.shared.aims[place], held
        if not aim.summed_by_parts:
            return aim.floor
        if budget.effort < LEAST_EFFORT:
            return max(aim.floor, self._together(place))
        floors = [part.model.aims[place].floor for part in self.parts]
        columns = [self.column(part.number, part.model.own(held)) for part in self.parts]
        open_parts = [part for part in self.parts if columns[part.number].counts[aim.name] > floors[part.number]]
        if rows := self._held_loosely(place, values, columns):
            return max(aim.floor, self._alone_at_a_price(place, rows, columns, budget))
        leasts, hard = list(floors), []
        asked = Asking(self.shared, self.parts, place).alone(open_parts, columns, budget)
        for part, priced in zip(open_parts, asked, strict=True):
            leasts[part.number] = max(floors[part.number], -(-priced.least // SCALE) + aim.constants[part.number])
            for sequence in priced.sequences:
                self._learn(part, sequence)
            if not priced.whole:
                hard.append(part)
        if len(hard) <= FEW_HARD:
            with budget.lent(SHARE_OF_HARD) as own:
                at_length = [partial(self._at_length, part, place, leasts[part.number], held) for part in hard]
                for part, least in zip(hard, abreast(at_length, own), strict=True):
                    leasts[part.number] = least
                    self._learn(part, part.search.held)
        self._apart.bounded(place, leasts)
        self._apart.no_less(place)
        return max(aim.floor, self._together(place))

    def _held_loosely(self, place: int, values: Mapping[str, int], columns: list[PartColumn]) -> dict[SharedRow, int]:
        """Rows of aims held at a little more than the parts come to by themselves, with a price of each, in thousandths."""
        aim, rows = self.shared.aims[place], {}
        dearest = max(aim.cost(column.part, column.counts) for column in columns)
        leeway = 0
        for number, before in enumerate(self.shared.aims[:place]):
            if before.alone:
                between = (part.search.held_between for part in self.parts)
                over = values[before.name] - sum(held[before.name][0] for held in between if before.name in held)
                if over > 0:
                    rows[self._held(number, values)] = SCALE * dearest
                    leeway += over
        return rows if dearest * leeway <= SHARE_OF_LEEWAY * values[aim.name] else {}

    def _alone_at_a_price(self, place: int, rows: Mapping[SharedRow, int], columns: list[PartColumn], budget: Budget) -> int:
        """What all parts together come to at least at prices of some rows."""
        asked = Asking(self.shared, self.parts, place).every([*rows], [*rows.values()], columns, budget, open_again=True)
        for part, priced in zip(self.parts, asked.found, strict=True):
            for sequence in priced.sequences:
                self._learn(part, sequence)
        self._apart.bounded(place, [part.model.aims[place].floor for part in self.parts])
        self._asked_first = place, tuple(rows), asked
        return -(-asked.least // SCALE)

    def asked_at_a_price(self, place: int) -> bool:
        """Whether aims before one were held so loosely that a price for that was asked first."""
        return self._asked_first is not None and self._asked_first[0] == place

    def _held(self, number: int, values: Mapping[str, int]) -> SharedRow:
        """The row of an aim that is held."""
        aim = self.shared.aims[number]
        return SharedRow(f"{aim.name} as held", tuple(aim.of_nobody.items()), values[aim.name] - aim.constant, number)

    def leasts(self, place: int) -> list[int]:
        """What each part comes to at least by itself, as far as it is known."""
        return list(self._apart.bounds(place).values())

    def _at_length(self, part: PricedPart, place: int, least: int, held: Sequence, budget: Budget) -> int:
        """What a part comes to at least by itself, found out as for one class alone, from what is known on.

        It begins from what is held of it: what it found for itself before may be more than its leeway is now.
        """
        part.search.start_from(held)
        return part.search.improve(part.model.aims[place], budget, bound=least)

    def _together(self, place: int) -> int:
        """What all parts come to at least by themselves, without prices."""
        bounds = self.shared.coupling.bounds
        together = sum(
            min(much * end for end in bounds[variable]) for variable, much in self.shared.aims[place].of_nobody.items()
        )
        return sum(self.leasts(place)) + together

    def bound(self, place: int, known: int, value: int, held: Mapping[str, int], budget: Budget) -> int:
        """A value below which an aim cannot be brought, those before it being held at so much at most.

        Parameters
        ----------
        known, value
            A bound that is known, and what was reached.
        """
        aims = self.shared.aims
        _, priced, asked = (
            self._asked_first if self._asked_first is not None and self.asked_at_a_price(place) else (place, (), None)
        )
        rows = tuple(row for number in range(place) if (row := self._held(number, held)) not in priced)
        columns = [column for column in self._columns if self._allowed(column)]
        self.aim = PricedAim(
            self.shared, self.parts, place, rows, columns, (*priced, *self._kept), self._take_broken, self._cut, self._learn
        )
        least = SCALE * self._together(place) if aims[place].summed_by_parts else NOTHING
        worth = Worth(self._limits, self._cuts, least, frozenset(self._told))
        self._worth = worth
        pays = self._pays(place) if self.heard is not None and aims[place].summed_by_parts else {}
        self.aim.proved = lambda *proved: self._proved(worth, pays, *proved)
        if priced and asked is not None:
            self.aim.asked_first(asked)
        return self.aim.bound(known, value, budget)

    def leeway(self, place: int) -> Leeway | None:
        """What prices prove of an aim, part by part; nothing where none were asked for it."""
        return self.aim.leeway() if self.aim is not None and self.aim.place == place else None

    def hold(self, place: int, value: int) -> None:
        """Let each part pay no more, under the prices that proved most of an aim, than the value that it is held at leaves."""
        leeway = self.leeway(place)
        if leeway is not None and self.aim is not None and self._worth is not None:
            for part in self.parts:
                leeway.post([part], part.model, part.model.solver_model, value)
            self.leeways.append((leeway, value))
            self._told.update(self._worth.priced(*self.aim.best_prices))

    def worth(self, place: int) -> tuple[RaisedLimit, ...]:
        """What an aim comes to at least with more of what the parts share; nothing where no prices were asked for it."""
        asked = self.aim is not None and self.aim.place == place
        return self._worth.proven() if asked and self._worth is not None else ()

    def _pays(self, place: int) -> Pays:
        """What each part's classes pay in the plan that is held, and at least."""
        assert self.beside is not None, "what the parts come to by themselves is asked first"
        name, pays = self.shared.aims[place].name, {}
        for part, bound in zip(self.parts, self.leasts(place), strict=True):
            pays[part.model.class_ids] = part.model.counts(part.model.own(self.beside))[name], bound
        return pays

    def _proved(self, worth: Worth, pays: Pays, rows: list[SharedRow], *proven: tuple[int, list[int]]) -> None:
        for least, prices in proven:
            worth.take(least, rows, prices)
        if self.heard is not None:
            self.heard(worth.now(pays), worth.bound)

    def chosen(self, budget: Budget) -> Sequence | None:
        """For the aim bounded last the best choice of what the parts found; it may break rules that wait."""
        found = self.aim.chosen(budget) if self.aim is not None else None
        self.clocked |= self.aim is not None and self.aim.clocked
        return joined(found) if found is not None else None

    def near(self, held: Sequence) -> list[tuple[int, ...]]:
        """For the aim bounded last a few parts at a time that may do better together than in what is held, best first."""
        return near(self.aim, held) if self.aim is not None else []

    def _allowed(self, column: PartColumn) -> bool:
        """Whether a part may still have this sequence, by the aims that it is held to and what prices leave it."""
        held_at = self._apart.searches[column.part].held_at
        held = all(column.counts[name] <= most for name, most in held_at.items())
        return held and all(leeway.allows(column, self.shared, value) for leeway, value in self.leeways)

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
