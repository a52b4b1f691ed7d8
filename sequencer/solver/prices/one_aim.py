"""One aim under prices: master and parts in turn, until the bound and the relaxation meet or hardly a column is new.

A round: the master takes fractions of columns and says what one more unit of each row would be worth, its price. Each part then
pays its own share of the aim and the prices of what it uses, and says what that comes to at least. All these together, less the
price of what the rows allow, are a bound of the aim, whatever the prices are (Lagrange). Its cheapest sequences are new columns.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.asking import Asking, PartsAsked
from sequencer.solver.prices.best_prices import BestPrices
from sequencer.solver.prices.columns import Numbers, PartColumn, Shared, Thousandths
from sequencer.solver.prices.lazy_rows import NEAR
from sequencer.solver.prices.leeway import Leeway
from sequencer.solver.prices.master import Master, Relaxed
from sequencer.solver.prices.pricing import SCALE, Priced, PricedPart
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.solver_calls import LEAST_EFFORT, Budget

PENALTY, LATER = 12.0, 10 / 3
"""What a unit of a broken row costs at first, less where less than that is to be gained; how many times that it costs later."""

FEW_ROUNDS = 3

STALLED = 20
"""Where the relaxation came to no less, and fewer than one part in so many has a new column, more of such rounds gain little."""

DEARER = 4.0
"""By how much a penalty grows that turns out too small."""

DEAREST = 1e5

CENTRED = 0.5
"""How far prices are drawn back to those of the best bound."""

SECONDS_WHOLE, SECONDS_FEW = 40.0, 5.0
"""Most time for whole columns of all parts, and for those of few of them after each choice."""


class PricedAim:
    """The search for one aim.

    Parameters
    ----------
    held
        Rows of the aims that are held.
    broken
        Takes up what waits of the rows, where what variables come to breaks it.
    cuts
        New cuts that the relaxation breaks.
    learn
        Keeps a sequence of a part; its column where it is new.
    """

    def __init__(
        self,
        shared: Shared,
        parts: tuple[PricedPart, ...],
        place: int,
        held: tuple[SharedRow, ...],
        columns: Iterable[PartColumn],
        rows: Iterable[SharedRow],
        broken: Callable[[Relaxed, list[PartColumn]], list[SharedRow]],
        cuts: Callable[[Numbers], list[SharedRow]],
        learn: Callable[[PricedPart, Sequence], PartColumn | None],
    ) -> None:
        self.shared = shared
        self.parts = parts
        self.place = place
        self.cost = shared.aims[place].cost
        self._waiting = list(held)
        self._broken, self._cuts, self._learn = broken, cuts, learn
        self._penalty = PENALTY
        self.proved: Callable[..., None] = lambda *_: None
        """Is told what every round's prices of the rows prove, and the best so far, all in thousandths."""
        self.relaxed: Relaxed | None = None
        """What fractions of columns came to last."""
        self.asking = Asking(shared, parts, place)
        self._best = BestPrices(shared)
        self._master = Master(shared, place, self._penalty)
        for column in columns:
            self._master.add_column(column)
        for row in rows:
            self._master.add_row(row)

    def asked_first(self, asked: PartsAsked) -> None:
        """Begin from what was asked at prices of the first rows."""
        prices = asked.prices + [0] * (len(self.rows) - len(asked.prices))
        proven = self._best.take(self.rows, replace(asked, prices=prices), set(range(len(self.parts))))
        self.proved(self.rows, (asked.least, prices), (proven, self._best.prices))

    def bound(self, known: int, value: int, budget: Budget) -> int:
        """The best bound that rounds of prices prove, from one that is known up to the value reached."""
        best, rounds, drawn_back, before = self._best, 0, True, math.inf
        proven: float = best.proven if best.leasts else -math.inf
        # Breaking a row need not cost more than all that is to be gained.
        self._penalty_times(min(1.0, max(1, value - known) / PENALTY))
        while known < value and not self.over_with(budget):
            relaxed = self._relaxed(budget)
            if relaxed is None:
                break
            if relaxed.value <= max(known, proven / SCALE) + NEAR:
                if not self._tighten(relaxed):
                    break
                continue
            missing = len(relaxed.prices) - len(best.prices)
            centre = np.pad(np.array(best.prices, dtype=np.float64) / SCALE, (0, missing))
            weight = CENTRED * drawn_back * np.pad(np.array(best.new, dtype=np.float64), (0, missing), constant_values=1.0)
            prices = np.round(SCALE * (weight * centre + (1 - weight) * relaxed.prices)).astype(np.int64)
            asked, fresh = self.ask(prices, budget, rounds >= FEW_ROUNDS)
            proven = best.take(self._master.rows, asked, fresh)
            self.proved(self._master.rows, (asked.least, asked.prices), (proven, best.prices))
            known = max(known, -(-proven // SCALE))
            rounds += 1
            stalled = STALLED * len(fresh) < len(self.parts) and relaxed.value > before - NEAR
            before = relaxed.value
            if rounds == FEW_ROUNDS:
                self._penalty_times(LATER)
                before = math.inf
            elif fresh and not stalled:
                drawn_back = True
            elif drawn_back:
                drawn_back = False
            elif not asked.whole and self.asking.ask_harder():
                continue
            elif self._tighten(relaxed):
                before = math.inf
            elif not fresh:
                break
        return known

    @property
    def best_prices(self) -> tuple[list[SharedRow], list[int]]:
        """The rows, and the prices of them that proved most."""
        return self.rows[: len(self._best.prices)], self._best.prices

    def leeway(self) -> Leeway | None:
        """What the best prices prove; nothing where none were asked."""
        best = self._best
        return Leeway(self.asking.paid(*self.best_prices), best.leasts, best.proven) if best.leasts else None

    def chosen(self, budget: Budget) -> list[Sequence] | None:
        """The best choice of whole columns that was found; None where there is none.

        It may break rows: those that are cheaper broken than kept, and where time ran out any.
        """
        chosen, ends = None, min(budget.ends, time.monotonic() + SECONDS_WHOLE)
        while not self.over_with(budget) and (whole := self._master.whole(ends - time.monotonic())) is not None:
            known = len(self.rows)
            settled = self._settled(whole, budget)
            if chosen is None or settled.value <= chosen.value:
                chosen = settled
            if settled.value <= whole.value + NEAR or len(self.rows) == known:
                break
        return None if chosen is None else [column.sequence for column in self._master.taken(chosen)]

    def _settled(self, whole: Relaxed, budget: Budget) -> Relaxed:
        """A choice of whole columns in which those parts choose anew that stand in rows that it breaks, until it breaks none.

        Where the search has to end before, it counts as worse than any other.
        """
        ends, free = min(budget.ends, time.monotonic() + SECONDS_FEW), set[int]()
        while True:
            new = self._take_up(whole)
            broken = new or [row for row, over in zip(self.rows, whole.over.tolist(), strict=True) if over > NEAR]
            more = {part for row in broken for part in self.shared.parts_under(row)} - free
            if not new and not more:
                return whole
            free |= more
            kept = [column for column in self._master.taken(whole) if column.part not in free]
            over = self.over_with(budget) or time.monotonic() >= ends
            anew = None if over else self._master.whole(ends - time.monotonic(), kept)
            if anew is None:
                return replace(whole, value=math.inf)
            whole = anew

    def over_with(self, budget: Budget) -> bool:
        """Whether the search has to end: nothing is left, or a hand stopped it."""
        return budget.over or budget.effort < LEAST_EFFORT or self.parts[0].search.calls.stop.stopped

    @property
    def clocked(self) -> bool:
        """Whether the clock cut the choice of whole columns short."""
        return self._master.clocked

    def _relaxed(self, budget: Budget) -> Relaxed | None:
        """What the master comes to once no row that waits is broken."""
        while not self.over_with(budget):
            relaxed = self._master.relaxed()
            self.relaxed = relaxed or self.relaxed
            if relaxed is None or not self._take_up(relaxed):
                return relaxed
        return None

    def _take_up(self, found: Relaxed) -> list[SharedRow]:
        """Take up the rows that are broken but do not stand in the master yet."""
        new = self._broken(found, self._master.columns)
        new += [row for row in self._waiting if self._sum(row, found) > row.most + NEAR]
        self._waiting = [row for row in self._waiting if row not in new]
        for row in new:
            self._master.add_row(row)
        return new

    def _sum(self, row: SharedRow, found: Relaxed) -> float:
        """What the terms of a row come to, with what is paid of the aim that it holds."""
        own = sum(much * float(found.values[variable]) for variable, much in row.terms)
        if row.aim is None:
            return own
        taken = zip(self._master.columns, found.weights, strict=True)
        return own + sum(float(weight) * self.shared.pays(column, row) for column, weight in taken if weight > NEAR)

    def _tighten(self, relaxed: Relaxed) -> bool:
        """Ask more of the relaxation: a dearer penalty where that was too small, else cuts; whether there was more to ask."""
        if relaxed.over.sum() > NEAR:
            self._penalty_times(DEARER)
            return self._penalty < DEAREST
        cuts = self._cuts(relaxed.values)
        for cut in cuts:
            self._master.add_row(cut)
        return bool(cuts)

    def _penalty_times(self, times: float) -> None:
        self._penalty *= times
        self._master.set_penalty(self._penalty)

    @property
    def columns(self) -> list[PartColumn]:
        """The columns that the master knows."""
        return self._master.columns

    @property
    def rows(self) -> list[SharedRow]:
        """The rows that have prices."""
        return self._master.rows

    def ask(self, prices: Thousandths, budget: Budget, open_again: bool = False) -> tuple[PartsAsked, set[int]]:
        """Ask all parts under prices of the rows, in thousandths: what they answer, and which parts have new columns."""
        asked = self.asking.every(self._master.rows, prices.tolist(), self._master.columns, budget, open_again)
        return asked, {part for part, priced in enumerate(asked.found) if self._take(part, priced)}

    def _take(self, part: int, priced: Priced) -> int:
        """Take up what a part found; how much of it is new."""
        found = (self._learn(self.parts[part], sequence) for sequence in priced.sequences)
        columns = [column for column in found if column is not None]
        for column in columns:
            self._master.add_column(column)
        return len(columns)
