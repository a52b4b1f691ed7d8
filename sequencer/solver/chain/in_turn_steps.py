"""Lessons alike in when they are met again, in whichever lesson has room: those taught first are met first.

It does not matter which of them are still to be met, only where these lie. A state keeps their slots, the last one first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from sequencer.solver.chain.asked import Flags, MeetingWindow, MetInTurn
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.in_turn_outlook import InTurnOutlook
from sequencer.solver.chain.meeting_steps import least_days
from sequencer.solver.chain.order_outlook import OrderOutlook
from sequencer.solver.chain.states import Layer, Layout, Whole, alike
from sequencer.solver.chain.step_prices import Prices


@dataclass(frozen=True)
class Waiting:
    """A place among those that wait, in the states in which a lesson has it, and the slot where that lies in each."""

    row: int
    which: Whole
    slot: Whole
    window: MeetingWindow


@dataclass(frozen=True)
class _Now:
    """What the lessons of one group that wait come to in a slot, of each state.

    Parameters
    ----------
    count
        How many wait.
    may, must
        How many may be met, and how many would come to more later.
    days, late
        (how many are met, state): the days off of those that wait longest, and how many of them are late.
    """

    count: Whole
    may: Whole
    must: Whole
    days: Whole
    late: Whole


class InTurnSteps:
    """What steps do about lessons that are met in turn."""

    def __init__(self, chain: Chained, layout: Layout) -> None:
        self._chain = chain
        self._groups = [(each, layout.waiting[number]) for number, each in enumerate(chain.met_in_turn)]
        self._room = chain.met_in_turn[0].room if chain.met_in_turn else {}
        self._nobody = (0,) * len(self._groups)
        self._outlooks = [InTurnOutlook(chain, each) for each in chain.met_in_turn]
        self._ordered = OrderOutlook.of(chain, layout, self._outlooks)
        self._least = [least_days(chain, each.room, each.window) for each in chain.met_in_turn]
        self.rows = [row for rows in layout.waiting for row in rows]

    def now(self, layer: Layer) -> list[_Now]:
        """What those that wait come to in the slot, group by group."""
        return [self._now(layer, each, rows) for each, rows in self._groups]

    def _now(self, layer: Layer, each: MetInTurn, rows: list[int]) -> _Now:
        day, slot, window = self._chain.day, layer.slot, each.window
        at = _kept(layer, rows).astype(np.int64)
        waits, at = at >= 0, np.maximum(at, 0)
        inside = waits & (window.low[at] <= slot)
        off = np.where(inside, day[slot] - day[at], 0).astype(np.int64)
        count, may = waits.sum(axis=0), inside.sum(axis=0)
        must = (inside & (off >= window.preferred)).sum(axis=0)
        most = min(max(each.room.values()), len(at))
        days: Whole = np.zeros((most + 1, len(layer)), dtype=np.int64)
        late = days.copy()
        states = np.arange(len(layer))
        for number in range(1, most + 1):
            place = np.maximum(count - number, 0)
            days[number] = days[number - 1] + np.abs(off[place, states] - window.preferred)
            late[number] = late[number - 1] + window.late[at[place, states]]
        return _Now(count, may, must, days, late)

    def ways(
        self, now: list[_Now], lesson: int, which: Whole, prices: Prices
    ) -> list[tuple[Whole, tuple[int, ...]]]:  # fmt: skip
        """The ways in which a lesson may start in some states: in which of them, and how many of each group are met in it.

        Where a lesson made to meet others may stand idle, all are met, as there is room, that would be met further off later.
        """
        room = self._room.get(lesson, 0)
        if not room:
            return [(which, self._nobody)]
        may, must = [each.may[which] for each in now], [each.must[which] for each in now]
        found = []
        for met in product(*(range(min(room, int(each.max(initial=0))) + 1) for each in may)):
            if sum(met) <= room and (any(met) or prices.idle_hosts or not self._chain.made_to_meet(lesson)):
                fits: Flags = np.ones(len(which), dtype=bool)
                for number, most, least in zip(met, may, must, strict=True):
                    fits &= number <= most
                    if prices.idle_hosts and sum(met) < room:
                        fits &= least <= number
                if fits.any():
                    found.append((which[fits], met))
        return found

    def place(
        self, now: list[_Now], grown: Layer, part: slice, lesson: int, which: Whole, met: tuple[int, ...]
    ) -> tuple[Whole | int, Whole | int]:
        """Note that a lesson starts, and how many are met in it; the days off and how many are late, for each of the states."""
        days: Whole | int = 0
        late: Whole | int = 0
        for (each, rows), own, number in zip(self._groups, now, met, strict=True):
            waiting = _kept(grown, rows)[:, part]
            if number:
                days, late = days + own.days[number, which], late + own.late[number, which]
                waiting[np.arange(len(waiting))[:, None] >= own.count[which] - number] = -1
            if lesson in each.lessons and len(waiting):
                waiting[1:] = waiting[:-1].copy()
                waiting[0] = grown.slot - 1
        return days, late

    def lawful(self, layer: Layer) -> Flags:
        """The states in which all that wait can still be met, as far as last slots tell."""
        fits: Flags = np.ones(len(layer), dtype=bool)
        for each, rows in self._groups:
            at = _kept(layer, rows)
            if len(at):
                waits_from = each.window.carry_from if self._chain.carrying else self._chain.count
                fits &= ((at < 0) | (each.window.high[np.maximum(at, 0)] >= layer.slot) | (at >= waits_from)).all(axis=0)
        return fits

    def left_over(self, layer: Layer) -> Whole:
        """How many each state leaves to the next plan, after the last slot."""
        found: Whole = np.zeros(len(layer), dtype=np.int64)
        for _, rows in self._groups:
            found += (_kept(layer, rows) >= 0).sum(axis=0)
        return found

    def least(self, layer: Layer, prices: Prices) -> Whole:
        """What each state still comes to at least, as far as days off and the starts of hosts cost something."""
        cost: Whole = np.zeros(len(layer), dtype=np.int64)
        for (_, rows), outlook in zip(self._groups, self._outlooks, strict=True):
            to_come = outlook.to_come(layer)
            at = _kept(layer, rows)
            where, back = alike((to_come, *np.where(at >= 0, layer.slot - at, 0)), len(layer))
            cost += outlook.least(layer.slot, at[:, where].astype(np.int64), to_come[where], prices)[back]
        return cost

    def in_order(self, layer: Layer, prices: Prices) -> Whole | None:
        """What all that is still to come costs each state at least, with the starts; None where there is no one order of it."""
        if self._ordered is None:
            return None
        ((_, rows),) = self._groups
        return self._ordered.least(layer, _kept(layer, rows).astype(np.int64), prices)

    def hosts(self, layer: Layer, prices: Prices) -> Whole:
        """What the starts of hosts still cost each state at least, by the number of those to be met alone."""
        cost: Whole = np.zeros(len(layer), dtype=np.int64)
        for (_, rows), outlook in zip(self._groups, self._outlooks, strict=True):
            to_meet = outlook.to_come(layer) + (_kept(layer, rows) >= 0).sum(axis=0)
            cost += outlook.hosts(layer.slot, to_meet, prices)
        return cost

    def waiting(self, layer: Layer) -> Iterator[Waiting]:
        """All that wait."""
        for each, rows in self._groups:
            for row in rows:
                if row in layer.where:
                    at = layer.row(row)
                    which = np.flatnonzero(at >= 0)
                    if len(which):
                        yield Waiting(row, which, at[which].astype(np.int64), each.window)

    def last_of(self, layer: Layer, prices: Prices) -> Iterator[tuple[int, Whole, Whole]]:
        """By the row of those that have waited longest: the states in which that is so, and what they come to at least."""
        for (_, rows), least in zip(self._groups, self._least, strict=True) if prices.idle_hosts else ():
            at = _kept(layer, rows)
            count = (at >= 0).sum(axis=0)
            for place, row in enumerate(at):
                which = np.flatnonzero(count == place + 1)
                if len(which):
                    yield rows[place], which, least[layer.slot, row[which].astype(np.int64)].astype(np.int64)


def _kept(layer: Layer, rows: list[int]) -> npt.NDArray[np.int16]:
    """The slots of those that wait, the last one first, as far as any state has so many; to be written into, too.

    Rows stand side by side, and where one says nothing of any state those after it do not either.
    """
    kept = sum(row in layer.where for row in rows)
    first = layer.where[rows[0]] if kept else 0
    found: npt.NDArray[np.int16] = layer.facts[first : first + kept]
    return found
