"""States that another is as good as, whatever comes: they need not be gone on with."""

from __future__ import annotations

from copy import copy
from typing import NamedTuple

import numpy as np

from sequencer.solver.chain.asked import Flags, MeetingWindow, Numbers
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.sharing import Keys
from sequencer.solver.chain.states import LOAD, NONE, RUN, Layer, Whole
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.chain.steps import Steps, Threads

COMPARED, COMPARED_IN_BEAM = 12, 8
"""With so many of the best states in which the same is placed each state is compared."""

AT_A_TIME = 10_000
"""About so many states are looked through by one thread."""

MOST_GAINED = 400
"""A state that costs so many days more than another is not compared with it."""


def undominated(
    steps: Steps,
    layer: Layer,
    expected: Whole,
    prices: Prices,
    most_load: int | None = None,
    compared: int = COMPARED,
    threads: Threads = map,
    compare: Pairwise | None = None,
) -> Whole:
    """Positions of the states that no other was found to be as good as.

    Parameters
    ----------
    compare
        The layer's states, where they are few enough to be laid out at once.
    """
    keys = Keys(steps, layer, prices)
    order = np.lexsort((layer.cost, expected, keys.number))
    new = keys.differ(order)
    alone = new & np.r_[new[1:], True]
    by_itself, order, new = order[alone], order[~alone], new[~alone]
    if not len(order):
        return np.sort(by_itself)
    begins = np.flatnonzero(new)
    cuts = np.unique(np.searchsorted(begins, np.arange(AT_A_TIME, len(order), AT_A_TIME)))
    parts = np.split(order, begins[cuts[cuts < len(begins)]])
    heads = np.split(np.cumsum(new), begins[cuts[cuts < len(begins)]])

    def left(part: tuple[Whole, Whole]) -> Whole:
        some, head = part
        if compare is not None:
            return _alive(compare, some, head, compared)
        found: Whole = some[_alive(Pairwise(steps, layer.kept(some), prices, most_load), np.arange(len(some)), head, compared)]
        return found

    return np.sort(np.concatenate([by_itself, *threads(left, zip(parts, heads, strict=True))]))


def _alive(compare: Pairwise, some: Whole, head: Whole, compared: int) -> Whole:
    """Of some states, sorted by what is placed (``head``) and by what is expected, those that no other is as good as."""
    alive = np.arange(len(head))
    for number in range(compared):
        # Those left of each head stand together: all from the next one on are compared with it.
        places = np.arange(len(alive))
        begins = np.maximum.accumulate(np.where(np.r_[True, head[alive[1:]] != head[alive[:-1]]], places, 0))
        later = np.flatnonzero(places - begins > number)
        if not len(later):
            break
        good = compare.as_good(some[alive[begins[later] + number]], some[alive[later]])
        alive = np.delete(alive, later[good])
    return some[alive]


class _Dates(NamedTuple):
    """Days that are counted to something still to come: of each state.

    Parameters
    ----------
    lesson
        What is still to come, or for what there is a meeting still to come.
    wanted, first, last
        The day wanted, and the first and last day that are possible.
    placed
        Whether days are counted at all; in every state unless stated.
    unsure
        Whether it may never come; it does in every state unless stated.
    """

    lesson: int
    wanted: Numbers
    first: Numbers
    last: Numbers
    placed: Flags | None
    unsure: Flags | None


class Pairwise:
    """States of which pairs are compared: facts that must be no worse, and days that dates may cost more."""

    def __init__(self, steps: Steps, layer: Layer, prices: Prices, most_load: int | None) -> None:
        chain, layout, slot = steps.chain, steps.layout, layer.slot
        self._cost, self._spent, self._prices = layer.cost, layer.spent, prices
        self._no_more: list[tuple[np.ndarray, np.ndarray]] = []
        self._dates: list[_Dates] = []
        no_more = [layer.row(RUN)]
        if most_load is not None:
            # A week's load does not matter while what is left of the week cannot make it too heavy.
            free = most_load - int(chain.left_of_week[slot]) * chain.greatest_load if slot < chain.count else 0
            no_more.append(np.maximum(layer.row(LOAD), free))
        no_more += [layer.row(row) for row in layout.alone.values() if row in layer.where]
        for counted in layout.counted:
            if counted.row in layer.where:
                if counted.most is not None:
                    no_more.append(layer.row(counted.row))
                if counted.least is not None:
                    value = layer.row(counted.row)
                    no_more.append(-np.minimum(value, counted.least) if counted.most is None else -value)
        self._no_more += ((row, row) for row in no_more)
        for lesson in steps.ends:
            if layer.everywhere >> lesson & 1:
                continue
            row = layout.low.get(lesson)
            members = steps.met[lesson].members if lesson in steps.met else ()
            begun = any((layer.row(layout.at[member]) >= 0).any() for member in members if layout.at[member] in layer.where)
            if row in layer.where or begun:
                self._look_at(steps, layer, lesson)
        for awaited in steps.meetings.awaited(layer):
            self._await(awaited.each.lesson, awaited.window, awaited.which, awaited.slot, chain, layer)
        for waiting in steps.in_turn.waiting(layer):
            self._await(-2 - waiting.row, waiting.window, waiting.which, waiting.slot, chain, layer)
        if steps.in_turn.rows and steps.hosts.any():
            used = sum(np.bitwise_count(row & bits) for row, bits in zip(layer.done, steps.hosts, strict=True)).astype(np.int16)
            self._no_more.append((used, used))
        states = len(layer)
        self._better, self._worse = (_by_state([pair[side] for pair in self._no_more], states) for side in (0, 1))
        dates = self._dates
        self._met = np.array([each.lesson for each in dates], dtype=np.int64)
        self._wanted = _by_state([each.wanted for each in dates], states)
        self._first = _by_state([each.first for each in dates], states)
        self._last = _by_state([each.last for each in dates], states)
        self._placed = _flags([each.placed for each in dates], states, True)
        self._unsure = _flags([each.unsure for each in dates], states, False)
        self._no_more.clear()
        self._dates.clear()

    def kept(self, which: Whole) -> Pairwise:
        """Some of the states."""
        found = copy(self)
        found._cost, found._better, found._worse = self._cost[which], self._better[which], self._worse[which]
        found._spent = self._spent[:, which]
        found._wanted, found._first, found._last = self._wanted[which], self._first[which], self._last[which]
        found._placed = None if self._placed is None else self._placed[which]
        found._unsure = None if self._unsure is None else self._unsure[which]
        return found

    def _await(self, lesson: int, time: MeetingWindow, which: Whole, slot: Whole, chain: Chained, layer: Layer) -> None:
        """A meeting still to come, counted from a slot that is known."""
        carried = None
        if chain.carrying:
            carried, late = np.zeros(len(layer), dtype=bool), np.zeros(len(layer), dtype=bool)
            carried[which], late[which] = slot >= time.carry_from, time.late[slot]
            self._no_more += [(~carried, ~carried), (late, late)]
        low, high = np.zeros(len(layer), dtype=np.int32), np.full(len(layer), NONE, dtype=np.int32)
        low[which], high[which] = np.maximum(time.low[slot], layer.slot), time.high[slot]
        wanted, placed = np.zeros(len(layer), dtype=np.int32), np.zeros(len(layer), dtype=bool)
        wanted[which], placed[which] = chain.day[slot] + np.int32(time.preferred), True
        latest = np.minimum(high, chain.count - 1)
        self._no_more += [(low, np.maximum(low, layer.slot)), (-high, -latest)]
        first, last = chain.day[np.minimum(low, chain.count)], chain.day[latest]
        self._dates.append(_Dates(lesson, wanted, first, last, placed, carried))

    def _look_at(self, steps: Steps, layer: Layer, lesson: int) -> None:
        """A lesson still to come: the slots left to it, and the dates from which its days are counted."""
        chain, layout, slot = steps.chain, steps.layout, layer.slot
        bound = layout.low.get(lesson) in layer.where
        low = layer.row(layout.low[lesson]) if bound else np.zeros(len(layer), dtype=np.int16)
        high = layer.row(layout.high[lesson]) if bound else np.full(len(layer), NONE, dtype=np.int16)
        soonest = np.maximum(low, max(slot, int(chain.first_start[lesson]))).astype(np.int32)
        for window in steps.ends[lesson]:
            if chain.sure[window.before]:
                first = min(max(slot, int(chain.first_start[window.before])), chain.count - 1)
                soonest = np.where(layer.has(window.before), soonest, np.maximum(soonest, window.low[first]))
        latest = np.minimum(high, int(chain.last_start[lesson])).astype(np.int32)
        if low.any() or (high < NONE).any():
            self._no_more += [(low, soonest), (-high, -latest)]
        if lesson in steps.met:
            met = steps.met[lesson]
            first_day = chain.day[np.minimum(soonest, chain.count)]
            last_day = chain.day[np.clip(latest, 0, chain.count - 1)]
            unsure = None if chain.sure[lesson] else np.ones(len(layer), dtype=bool)
            for member, preferred in zip(met.members, met.preferred, strict=True):
                if layout.at[member] in layer.where:
                    at = layer.row(layout.at[member])
                    if (placed := at >= 0).any():
                        which = None if placed.all() else placed
                        wanted = chain.day[np.maximum(at, 0)] + np.int32(preferred)
                        self._dates.append(_Dates(lesson, wanted, first_day, last_day, which, unsure))

    def as_good(self, better: Whole, worse: Whole, lessons: Whole | None = None, more: Whole | None = None) -> np.ndarray:
        """Of which pairs the first is as good as the second, whatever comes.

        Parameters
        ----------
        lessons
            Of each pair one that is placed in the first alone, if any.
        more
            So much more is sure to come to the second.
        """
        found = np.zeros(len(better), dtype=bool)
        allowed = self._cost[worse] if more is None else self._cost[worse] + more
        kept = np.flatnonzero(self._cost[better] <= allowed + MOST_GAINED * self._prices.distance)
        one, other = better[kept], worse[kept]
        fits = (self._better[one] <= self._worse[other]).all(axis=1)
        if len(self._spent):
            fits &= (self._spent[:, one] <= self._spent[:, other]).all(axis=0)
        if not fits.all():
            kept, one, other = kept[fits], one[fits], other[fits]
        days = np.zeros(len(kept), dtype=np.int64)
        if len(self._met):
            mine, its, soon, late = self._wanted[one], self._wanted[other], self._first[other], self._last[other]
            change = np.maximum(np.abs(soon - mine) - np.abs(soon - its), np.abs(late - mine) - np.abs(late - its))
            if self._unsure is not None:
                # What may never come to the second spares the first nothing.
                change = np.where(self._unsure[other], np.maximum(change, 0), change)
            if self._placed is not None:
                change *= self._placed[other]
            if lessons is not None:
                change *= lessons[kept][:, None] != self._met
            days = change.sum(axis=1)
        found[kept[self._cost[one] + days * self._prices.distance <= allowed[kept]]] = True
        return found


def _flags(rows: list[Flags | None], states: int, unless_stated: bool) -> Flags | None:
    """What is stated of each state, one row each, as (state, fact); None where nothing is."""
    if all(row is None for row in rows):
        return None
    usual = np.full(states, unless_stated)
    return _by_state([usual if row is None else row for row in rows], states, bool)


def _by_state(rows: list[np.ndarray], states: int, kind: type = np.int16) -> np.ndarray:
    """Facts of so many states, one row each, as (state, fact)."""
    found: np.ndarray = np.empty((states, len(rows)), dtype=kind)
    for place, row in enumerate(rows):
        found[:, place] = row
    return found
