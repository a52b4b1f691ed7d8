"""What lessons met in turn cost at least from a slot on: those that wait and those still to come, in blocks of one host each.

Those taught first are met first, so a host meets lessons that follow one another, no more than it has room for. Such a block
costs at least the days off the host's date: of those that wait from where they lie, of those still to come from slots that no two
of them share. A shortest path over the blocks bounds all of it, with what each host costs.
"""

from __future__ import annotations

import numpy as np

from sequencer.solver.chain.asked import NEVER, MetInTurn
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.states import Layer, Whole, bits_of
from sequencer.solver.chain.step_prices import Prices

FAR = 10**14
"""More than anything can cost, prices included."""


class InTurnOutlook:
    """The blocks of one group of lessons met in turn.

    Attributes
    ----------
    lessons
        Those that are sure to be taught, as bits.
    count
        How many these are.
    room
        How many a host can meet.
    """

    def __init__(self, chain: Chained, each: MetInTurn) -> None:
        self._chain, self._hosts = chain, each.room.keys()
        sure = [lesson for lesson in sorted(each.lessons) if chain.sure[lesson]]
        self.lessons, self.count = bits_of(sure, chain.size), len(sure)
        self.room = min(max(each.room.values()), len(each.lessons))
        practising = {lesson for served in chain.served for lesson in served.by}
        self._paid_once = not any(chain.sure[host] or host in practising for host in self._hosts)
        """Whether the start of a host is paid for nowhere else."""
        day, window = chain.day[: chain.count], each.window
        hosted = np.any(chain.can[sorted(self._hosts), : chain.count], axis=0)
        self._dates: Whole = np.array(
            [np.flatnonzero(hosted & (day == one))[-1] for one in np.unique(day[hosted])], dtype=np.int64
        )
        """The last slot of every date on which a host may start."""
        may = (window.low <= self._dates[:, None]) & (self._dates[:, None] <= window.high)
        self._off: Whole = np.where(may, np.abs(day[self._dates][:, None] - day - window.preferred), NEVER).astype(np.int64)
        """(date, slot of a lesson): days off."""
        taught = np.any(chain.can[sorted(each.lessons), : chain.count], axis=0)
        off: Whole = np.where(taught, self._off, NEVER)
        self._blocks = [_block(off, size) for size in range(1, self.room + 1)]
        """By size less one: (slot from which on all lie, slot of the last): days off at least."""
        self._loose: Whole = np.full((self.room, chain.count + 1, len(self._dates)), NEVER, dtype=np.int64)
        """(lessons less one, slot from which on they lie, date): days off at least, no two sharing a slot."""
        for slot in range(chain.count):
            least = np.sort(off[:, slot:], axis=1)[:, : self.room].cumsum(axis=1)
            self._loose[: least.shape[1], slot] = np.minimum(least.T, NEVER)
        self._waits_from = window.carry_from if chain.carrying else chain.count
        """The first slot from which a lesson may be left to the next plan."""

    def _to_come(self, prices: Prices) -> tuple[Whole, Whole]:
        """(lessons still to come, slot): what they cost at least; by slot what the start of a host costs at least."""
        if self not in prices.known:
            count = self._chain.count
            host: Whole = np.zeros(count + 1, dtype=np.int64)
            if self._paid_once and prices.starts:
                costs: Whole = np.full(count, FAR, dtype=np.int64)
                for lesson in self._hosts:
                    for slot in np.flatnonzero(self._chain.can[lesson, :count]).tolist():
                        costs[slot] = min(costs[slot], max(0, prices.starts.get((lesson, slot), 0)))
                # A host may meet lessons of every group.
                host[:count] = np.minimum.accumulate(costs[::-1])[::-1] // len(self._chain.met_in_turn)
            rest: Whole = np.full((self.count + 1, count + 2), FAR, dtype=np.int64)
            rest[0] = 0
            for lessons in range(1, len(rest)):
                for size in range(1, min(self.room, lessons) + 1):
                    days = self._blocks[size - 1]
                    block = np.where(days < NEVER, days * prices.distance, FAR) + rest[lessons - size, 1 : count + 1]
                    rest[lessons, :count] = np.minimum(rest[lessons, :count], block.min(axis=1) + host[:count])
                fit = np.maximum(np.arange(count), self._waits_from) + lessons <= count
                rest[lessons, :count][fit] = np.minimum(rest[lessons, :count][fit], lessons * prices.carried)
            prices.known[self] = np.minimum(rest, FAR), host
        found: tuple[Whole, Whole] = prices.known[self]
        return found

    def off(self, slot: int, row: Whole, prices: Prices) -> Whole:
        """(date from a slot on, state): what it costs to be met then for a lesson that lies in a slot in each state."""
        days = self._off[self._dates >= slot][:, np.maximum(row, 0)]
        found: Whole = np.where(days < NEVER, days * prices.distance, FAR)
        return found

    def to_come(self, layer: Layer) -> Whole:
        """Of each state how many of those that are sure to be taught are still to come."""
        found: Whole = np.full(len(layer), self.count, dtype=np.int64)
        for bits, row in zip(self.lessons, layer.done, strict=True):
            found -= np.bitwise_count(row & bits)
        return found

    def hosts(self, slot: int, to_meet: Whole, prices: Prices) -> Whole:
        """What the starts of hosts cost at least where so many are to be met."""
        if self._chain.carrying:
            return np.zeros_like(to_meet)
        found: Whole = -(-to_meet // self.room) * self._to_come(prices)[1][slot]
        return found

    def least(self, slot: int, waiting: Whole, to_come: Whole, prices: Prices) -> Whole:
        """What each state comes to at least.

        Parameters
        ----------
        waiting
            (place, state): the slots of those that wait, the last one first; -1 where there are no more.
        to_come
            Of each state how many of those that are sure to be taught are still to come.
        """
        rest, host = self._to_come(prices)
        found = rest[to_come, slot]
        ahead = self._dates >= slot
        if not ahead.any():
            left = ((waiting >= 0).sum(axis=0) + to_come) * prices.carried
            must = ((waiting >= 0) & (waiting < self._waits_from)).any(axis=0)
            return np.where(must, FAR, np.where((waiting >= 0).any(axis=0), left, found))
        loose = self._loose[:, slot][:, ahead]
        loose = np.where(loose < NEVER, loose * prices.distance, FAR)
        best, at = [found], []
        for place, row in enumerate(waiting):
            if not (row >= 0).any():
                break
            at.append(self.off(slot, row, prices))
            block = at[place]
            least = block.min(axis=0) + best[place]
            for size in range(2, min(self.room, place + 1) + 1):
                block = block + at[place + 1 - size]
                least = np.minimum(least, block.min(axis=0) + best[place + 1 - size])
            for more in range(1, self.room - place):
                # All that wait up to here, with the first of those still to come.
                left = rest[np.maximum(to_come - more, 0), min(slot + more, rest.shape[1] - 1)]
                mixed = (block + loose[more - 1][:, None]).min(axis=0) + left
                least = np.where(to_come >= more, np.minimum(least, mixed), least)
            least = least + host[slot]
            left = (place + 1 + to_come) * prices.carried
            best.append(np.where(row >= self._waits_from, np.minimum(least, left), least))
            found = np.where(row >= 0, best[-1], found)
        least_of_all: Whole = np.minimum(found, FAR)
        return least_of_all


def _block(off: Whole, size: int) -> Whole:
    """(slot from which on so many lessons lie, slot of the last): days off at least, all met on one date."""
    slots = np.arange(off.shape[1])
    reached: Whole = np.where(slots[:, None] <= slots, off[:, None, :], NEVER)
    for _ in range(size - 1):
        before: Whole = np.full_like(reached, NEVER)
        before[:, :, 1:] = np.minimum.accumulate(reached, axis=2)[:, :, :-1]
        reached = np.minimum(before + off[:, None, :], NEVER)
    found: Whole = reached.min(axis=0, initial=NEVER)
    return found
