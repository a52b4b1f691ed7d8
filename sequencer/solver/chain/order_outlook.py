"""What a class that is taught in one order still comes to at least, slot by slot: lessons, practice and hosts take slots.

A programme of its own over far fewer states: how many lessons are taught, how many blocks of lessons wait for a host, and by when
the next practice is due. A block is what one host meets. The days off that it costs are no less than its width, whenever the host
comes: the days of the lessons of its second half less those of its first. So each lesson pays by itself for the slot in which it
starts, and nothing needs to be known of those before it. What waits already costs the days off of a date still to come, or is the
beginning of a block.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from sequencer.solver.chain.asked import MetInTurn, Served
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.in_turn_outlook import FAR, InTurnOutlook
from sequencer.solver.chain.states import NONE, Layer, Layout, Whole, alike, bits_of
from sequencer.solver.chain.step_prices import Prices

MOST_WAIT = 4
"""Blocks that wait for a host; the hosts of more are paid for at once."""


LARGEST = 3_000_000
"""Numbers in a table; a larger one would take longer than it saves."""


class OrderOutlook:
    """The programme of one class whose lessons are all taught in one order, and met again in turn.

    Parameters
    ----------
    order
        Its lessons in their order.
    outlook
        What lessons cost on the dates on which they may be met.
    """

    def __init__(self, chain: Chained, layout: Layout, order: list[int], each: MetInTurn, outlook: InTurnOutlook) -> None:
        self._chain, self._order, self._outlook = chain, order, outlook
        self._taught = bits_of(order, chain.size)
        self._met = [lesson in each.lessons for lesson in order]
        self._hosts = sorted(each.room)
        self._room = outlook.room
        self._opens = [(0, 0), *((begun, size) for size in range(2, self._room + 1) for begun in range(1, size))]
        """Blocks begun: how many of their lessons are taught, of how many; first that there is none."""
        self._place = {open_: number for number, open_ in enumerate(self._opens)}
        self._day: Whole = (chain.day - chain.day[0]).astype(np.int64)
        self._due = {served.lesson: self._due_after(served) for served in chain.served}
        # While a dense lesson is under way more slots are left than from its end on.
        ends = (int(due.max(initial=0)) + chain.lessons[lesson].length - 1 for lesson, due in self._due.items() if due.any())
        self._longest = max(ends, default=0)
        self._others = [int(lesson) for lesson in np.flatnonzero(~chain.sure)]
        self._practices = sorted({by for served in chain.served for by in served.by if self._due[served.lesson].any()})
        self._served = [layout.served[served.lesson] for served in chain.served if self._due[served.lesson].any()]

    @classmethod
    def of(cls, chain: Chained, layout: Layout, outlooks: list[InTurnOutlook]) -> OrderOutlook | None:
        """The programme of a class, where one order and one group of lessons to be met are all that there is."""
        if chain.carrying or len(outlooks) != 1:
            return None
        order, (each,) = chain.prepared.order, chain.met_in_turn
        sure = [int(lesson) for lesson in np.flatnonzero(chain.sure)]
        sure.sort(key=lambda lesson: bin(order.before[chain.index[lesson]]).count("1"))
        ordered = all(order.comes_before(chain.index[one], chain.index[other]) for one, other in pairwise(sure))
        practising = {by for served in chain.served for by in served.by}
        apart = not any(chain.sure[host] or host in practising for host in each.room)
        if not ordered or not apart or not each.lessons <= set(sure):
            return None
        found = cls(chain, layout, sure, each, outlooks[0])
        return found if found.size <= LARGEST else None

    @property
    def size(self) -> int:
        """How many numbers its table holds."""
        return (self._chain.count + 1) * (len(self._order) + 1) * len(self._opens) * (MOST_WAIT + 1) * (self._longest + 1)

    def _due_after(self, served: Served) -> Whole:
        """By the slot where a dense lesson starts: slots after it up to the last for its practice; 0 where none is needed."""
        slots = np.arange(self._chain.count)
        left = served.high[: self._chain.count] + 1 - slots - self._chain.lessons[served.lesson].length
        needed = (slots < served.carry_from) & (not any(self._chain.sure[by] for by in served.by))
        found: Whole = np.where(needed & self._chain.can[served.lesson, : self._chain.count], np.maximum(left, 0), 0).astype(
            np.int64
        )
        return found

    @staticmethod
    def _way(size: int, number: int) -> int:
        """How the day of a lesson counts in the width of its block: from it on, up to it, or not at all."""
        half = size // 2
        return -1 if number <= half else 1 if number > size - half else 0

    def _to_come(self, prices: Prices) -> tuple[Whole, Whole]:
        """(slot, lessons taught, block begun, blocks that wait, slots left for practice): what is to come costs at least; by slot
        what a host costs at least from it on.
        """
        if self not in prices.known:
            chain, count, lessons = self._chain, self._chain.count, len(self._order)
            host, practice, idle = (self._least_start(each, prices) for each in (self._hosts, self._practices, self._others))
            later_host = np.minimum.accumulate(np.append(host, FAR)[::-1])[::-1]
            shape = (count + 1, lessons + 1, len(self._opens), MOST_WAIT + 1, self._longest + 1)
            found: Whole = np.full(shape, FAR, dtype=np.int64)
            found[count, lessons, 0, 0, 0] = 0
            for slot in reversed(range(count)):
                here, later = found[slot], self._without_practice(found[slot + 1], 1)
                here[:] = later + min(0, int(idle[slot]))
                here[:, :, 1:] = np.minimum(here[:, :, 1:], later[:, :, :-1] + host[slot])
                here[..., 1:] = np.minimum(here[..., 1:], found[slot + 1][..., :1] + practice[slot])
                for number, lesson in enumerate(self._order):
                    end = slot + chain.lessons[lesson].length
                    if chain.can[lesson, slot] and end <= count:
                        after = self._without_practice(found[end, number + 1], end - slot)
                        if lesson in self._due and (due := int(self._due[lesson][slot])):
                            after = self._with_due(found[end, number + 1], end - slot, due)
                        if self._met[number]:
                            after = self._in_blocks(after, int(self._day[slot]) * prices.distance, later_host[end])
                        here[number] = np.minimum(here[number], after + prices.starts.get((lesson, slot), 0))
            prices.known[self] = found, later_host
        known: tuple[Whole, Whole] = prices.known[self]
        return known

    def _least_start(self, lessons: list[int], prices: Prices) -> Whole:
        """By slot: what it costs at least that one of some lessons starts."""
        found: Whole = np.full(self._chain.count, FAR, dtype=np.int64)
        for lesson in lessons:
            for slot in np.flatnonzero(self._chain.can[lesson, : self._chain.count]).tolist():
                found[slot] = min(found[slot], prices.starts.get((lesson, slot), 0))
        return found

    @staticmethod
    def _without_practice(later: Whole, slots: int) -> Whole:
        """What is to come so many slots sooner, none of them for practice that is due."""
        found: Whole = np.full_like(later, FAR)
        found[..., 0] = later[..., 0]
        if later.shape[-1] > slots + 1:
            found[..., slots + 1 :] = later[..., 1:-slots]
        return found

    @staticmethod
    def _with_due(later: Whole, slots: int, due: int) -> Whole:
        """The same, where practice is due so many slots later at the latest."""
        found: Whole = np.full_like(later, FAR)
        found[..., 0] = later[..., due]
        for left in range(slots + 1, later.shape[-1]):
            found[..., left] = later[..., min(left - slots, due)]
        return found

    def _in_blocks(self, after: Whole, day: int, host: int) -> Whole:
        """(block begun, blocks that wait, slots left): what a lesson comes to that is the next of its block, or begins one."""
        found: Whole = np.empty_like(after)
        full = np.concatenate([after[0, 1:], after[0, -1:] + host])
        found[0] = full
        for size in range(2, self._room + 1):
            found[0] = np.minimum(found[0], after[self._place[1, size]] + self._way(size, 1) * day)
            for begun in range(1, size):
                then = full if begun + 1 == size else after[self._place[begun + 1, size]]
                found[self._place[begun, size]] = then + self._way(size, begun + 1) * day
        return found

    def least(self, layer: Layer, waiting: Whole, prices: Prices) -> Whole:
        """What each state still comes to at least: the days off of what is met in turn, and the starts of all lessons.

        Parameters
        ----------
        waiting
            (place, state): the slots of those that wait, the last one first; -1 where there are no more.
        """
        taught: Whole = np.zeros(len(layer), dtype=np.int64)
        for bits, row in zip(self._taught, layer.done, strict=True):
            taught += np.bitwise_count(row & bits)
        left: Whole = np.full(len(layer), NONE, dtype=np.int64)
        for row in self._served:
            if row in layer.where:
                left = np.minimum(left, layer.row(row))
        left = np.where(left < NONE, np.clip(left - layer.slot + 1, 1, self._longest), 0)
        where, back = alike((taught, left, *np.where(waiting >= 0, layer.slot - waiting, 0)), len(layer))
        return self._least(layer.slot, waiting[:, where], taught[where], left[where], prices)[back]

    def _least(self, slot: int, waiting: Whole, taught: Whole, left: Whole, prices: Prices) -> Whole:
        table, later_host = self._to_come(prices)
        to_come, host = np.moveaxis(table[slot][taught, :, :, left], 0, -1), later_host[slot]
        best = [to_come[0]]
        """By number of the last that wait: (blocks before them that wait, state), what they and all to come cost."""
        found: Whole = best[0][0]
        off: list[Whole] = []
        for place, row in enumerate(waiting):
            if not (row >= 0).any():
                break
            off.append(self._outlook.off(slot, row, prices))
            block, least = np.zeros_like(off[0]), np.full_like(best[0], FAR)
            for size in range(1, min(self._room, place + 1) + 1):
                block = block + off[place + 1 - size]
                before = best[place + 1 - size]
                least = np.minimum(least, block.min(axis=0, initial=FAR) + np.concatenate([before[1:], before[-1:] + host]))
            for size in range(place + 2, self._room + 1):
                # All that wait up to here, with some of those still to come.
                days = sum(self._way(size, place + 1 - at) * self._day[np.maximum(waiting[at], 0)] for at in range(place + 1))
                least = np.minimum(least, to_come[self._place[place + 1, size]] + days * prices.distance)
            best.append(np.minimum(least, FAR))
            found = np.where(row >= 0, best[-1][0], found)
        return found
