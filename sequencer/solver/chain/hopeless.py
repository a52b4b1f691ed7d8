"""States that no sequence can be made of any more, as far as limits tell, and what the others cost at least."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from sequencer.solver.chain.asked import NEVER, Flags, Served
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.in_turn_steps import InTurnSteps
from sequencer.solver.chain.meeting_steps import MeetingSteps
from sequencer.solver.chain.outlook import GroupOutlook
from sequencer.solver.chain.states import BUSY, LOAD, NONE, Layer, Layout, Whole, Words, all_of, bits_of
from sequencer.solver.chain.step_prices import Prices


class Hopes:
    """What is known of all that is still to come in a class."""

    def __init__(self, chain: Chained, layout: Layout, meetings: MeetingSteps, in_turn: InTurnSteps) -> None:
        self.chain, self.layout, self._meetings, self._in_turn = chain, layout, meetings, in_turn
        size, sure = chain.size, [int(lesson) for lesson in np.flatnonzero(chain.sure)]
        self.every = bits_of(sure, size)
        self._late = [bits_of((each for each in sure if chain.last_start[each] < slot), size) for slot in range(chain.count + 1)]
        longer = bits_of((lesson for lesson in sure if chain.lessons[lesson].length > 1), size)
        self._slots = [(1, self.every), (1, longer)]
        """What lessons take at least that are sure to be placed: a slot each, and another one for each longer one."""
        loads = sorted({chain.lessons[lesson].load for lesson in sure})
        self._loads = [(load, bits_of((each for each in sure if chain.lessons[each].load == load), size)) for load in loads]
        order = chain.prepared.order
        self._before = {
            lesson: bits_of((each for each in sure if order.before[chain.index[lesson]] >> chain.index[each] & 1), size)
            | bits_of([lesson], size)
            for lesson in layout.high
            if chain.sure[lesson]
        }
        self._in_a_row = _in_a_row(chain)
        self._needed = _needed(chain, self._in_a_row)
        self._groups = {met.lesson: GroupOutlook(chain, met) for met in chain.met}

    def lawful(self, layer: Layer, most_load: int | None) -> Flags:
        """The states of which a sequence may still come; first and last slots that bind no more are forgotten."""
        slot, layout = layer.slot, self.layout
        fits = all_of(layer.done, self._late[slot])
        busy = layer.row(BUSY).astype(np.int64)
        fits &= _left(layer, self._slots) + busy <= self.chain.count - slot
        for row in layout.served.values():
            if row in layer.where:
                fits &= layer.row(row) >= slot
        if most_load is not None:
            room = most_load * len(np.unique(self.chain.week[max(slot - 1, 0) : self.chain.count])) - layer.row(LOAD)
            fits &= (layer.row(LOAD) <= most_load) & (_left(layer, self._loads) <= room)
        for each in layout.counted:
            if each.row in layer.where:
                value = layer.row(each.row)
                if each.most is not None:
                    fits &= value <= each.most
                if each.least is not None:
                    fits &= value + each.to_come(slot) >= each.least
        return fits & self._meetings.lawful(layer) & self._in_turn.lawful(layer) & self._in_time(layer, busy)

    def _in_time(self, layer: Layer, busy: Whole) -> Flags:
        """Whether all that has to come before each last slot still fits, everything with one together."""
        slot = layer.slot
        fits: Flags = np.ones(len(layer), dtype=bool)
        open_ = []
        for lesson, before in self._before.items():
            row = self.layout.high[lesson]
            if row not in layer.where:
                continue
            low, high = layer.row(self.layout.low[lesson]), layer.row(row)
            fits &= high >= slot
            high[high >= self.chain.last_start[lesson]] = NONE
            low[low <= slot] = 0
            if (high < NONE).any():
                open_.append((high, before))
        for high, before in open_:
            some = np.flatnonzero(fits & (high < NONE))
            by = high[some]
            wanted = np.repeat(before[:, None], len(some), axis=1)
            for other, also in open_:
                if other is not high:
                    sooner = other[some] <= by
                    for word, bits in enumerate(also):
                        if bits & ~before[word]:
                            wanted[word] |= np.where(sooner, bits, np.uint64(0))
            needed = busy[some]
            for word, row in enumerate(layer.done):
                needed = needed + np.bitwise_count(wanted[word] & ~row[some])
            fits[some] &= needed <= by.astype(np.int64) - slot + 1
        return fits

    def outlook(self, layer: Layer, prices: Prices) -> Whole:
        """What is still to come costs each state at least."""
        days = self._meetings.least(layer) if prices.distance else np.zeros(len(layer), dtype=np.int64)
        for group in self._groups.values() if prices.distance else ():
            if group.last < layer.slot or layer.everywhere >> group.met.lesson & 1:
                continue
            days += self._of_group(group, layer)
        rest = self._in_turn.in_order(layer, prices)
        if rest is None:
            rest = self._in_turn.least(layer, prices) + self._starts(layer, prices)
        found: Whole = np.where(days >= NEVER, NEVER * NEVER, days * prices.distance) + rest
        return found

    def within(self, layer: Layer, prices: Prices) -> Flags:
        """The states that can still come to no more than each limit."""
        fits: Flags = np.ones(len(layer), dtype=bool)
        for spent, (limit, most) in zip(layer.spent, prices.limits, strict=True):
            fits &= spent + self._in_turn.hosts(layer, limit) + self._starts(layer, limit) <= most
        return fits

    def _starts(self, layer: Layer, prices: Prices) -> Whole:
        """What the starts of lessons still to come cost at least: of those sure to be placed, and of made practice."""
        found: Whole = np.zeros(len(layer), dtype=np.int64)
        if not prices.starts:
            return found
        least = self._least_starts(prices)[:, layer.slot]
        sure_least = np.where(self.chain.sure, least, np.minimum(least, 0))
        for lesson in np.flatnonzero(sure_least).tolist():
            if not layer.everywhere >> lesson & 1:
                found += sure_least[lesson] * ~layer.has(lesson)
        if self._in_a_row and (much := int(least[list(self._in_a_row[0].by)].min())) > 0:
            found += much * self._practices(layer)
        return found

    def _practices(self, layer: Layer) -> Whole:
        """How many practice lessons each state still needs at least."""
        taught: Whole = np.zeros(len(layer), dtype=np.int64)
        due: Flags = np.zeros(len(layer), dtype=bool)
        for served in self._in_a_row:
            taught += layer.has(served.lesson)
            row = self.layout.served[served.lesson]
            if row in layer.where:
                due |= layer.row(row) != NONE
        return np.maximum(self._needed[taught], due)

    def least_start(self, lesson: int, slot: int, prices: Prices) -> int:
        """What it costs at least that a lesson starts in a slot or later, if it does."""
        least = int(self._least_starts(prices)[lesson, slot]) if prices.starts else 0
        return least if self.chain.sure[lesson] else min(0, least)

    def _least_starts(self, prices: Prices) -> Whole:
        """(lesson, slot): what its start costs at least from the slot on."""
        if self not in prices.known:
            far = NEVER * NEVER
            costs: Whole = np.full((self.chain.size, self.chain.count + 1), far, dtype=np.int64)
            costs[self.chain.can] = 0
            costs[:, self.chain.count] = far
            for (lesson, slot), cost in prices.starts.items():
                if self.chain.can[lesson, slot]:
                    costs[lesson, slot] = cost
            costs = np.minimum.accumulate(costs[:, ::-1], axis=1)[:, ::-1].copy()
            costs[costs >= far] = 0
            prices.known[self] = costs
        found: Whole = prices.known[self]
        return found

    def of_group(self, lesson: int, layer: Layer, which: Whole, prices: Prices) -> Whole:
        """What a lesson that meets others again costs some states at least that have it still to come; other lessons cost 0."""
        if lesson in self._groups and prices.distance:
            return self._of_group(self._groups[lesson], layer)[which] * prices.distance
        return np.zeros(len(which), dtype=np.int64)

    def _of_group(self, group: GroupOutlook, layer: Layer) -> Whole:
        """What one retrieval lesson costs each state at least, 0 where it is placed."""
        if not group.lessons & layer.anywhere:
            return np.full(len(layer), group.untouched[layer.slot], dtype=np.int64)
        rows = [self.layout.at[member] for member in group.met.members]
        nowhere = np.full(len(layer), -1, dtype=np.int16)
        at = np.stack([layer.row(row) if row in layer.where else nowhere for row in rows])
        waiting = ~layer.has(group.met.lesson)
        begun = waiting & (at >= 0).any(axis=0)
        days: Whole = np.where(waiting & ~begun, group.untouched[layer.slot], 0)
        which = np.flatnonzero(begun)
        if len(which):
            days[which] = group.least(layer.slot, at[:, which])
        return days


def _in_a_row(chain: Chained) -> list[Served]:
    """Dense lessons sure to be taught, each after the one before, that only lessons practise that may be left out."""
    order, every = chain.prepared.order, chain.served
    if not all(chain.sure[each.lesson] and not any(chain.sure[by] for by in each.by) for each in every):
        return []
    if len({frozenset(each.by) for each in every}) > 1 or any(each.carry_from < chain.count for each in every):
        return []
    found = sorted(every, key=lambda each: bin(order.before[chain.index[each.lesson]]).count("1"))
    rises = all(order.comes_before(chain.index[one.lesson], chain.index[other.lesson]) for one, other in pairwise(found))
    return found if rises else []


def _needed(chain: Chained, served: list[Served]) -> Whole:
    """By how many of some dense lessons in a row are taught: how many practice lessons the others need at least."""
    needed: Whole = np.zeros(len(served) + 1, dtype=np.int64)
    for first in reversed(range(len(served))):
        last = first
        while last + 1 < len(served) and _may_share(chain, served[first], served[last + 1]):
            last += 1
        needed[first] = 1 + needed[last + 1]
    return needed


def _may_share(chain: Chained, one: Served, other: Served) -> bool:
    """Whether one practice lesson may serve two dense lessons."""
    order = chain.prepared.order
    between = order.between(chain.index[one.lesson], chain.index[other.lesson])
    length = chain.lessons[one.lesson].length + sum(each.length for each in chain.lessons if between >> each.index & 1)
    starts = np.flatnonzero(chain.can[one.lesson])
    soonest = starts + length + chain.lessons[other.lesson].length
    return bool((one.high[starts] >= soonest).any())


def _left(layer: Layer, weighed: list[tuple[int, Words]]) -> Whole:
    """What lessons that are not placed come to, where those of each set count so much."""
    found: Whole = np.zeros(len(layer), dtype=np.int64)
    for much, lessons in weighed:
        for bits, row in zip(lessons, layer.done, strict=True):
            if bits:
                found += much * np.bitwise_count(bits & ~row).astype(np.int64)
    return found
