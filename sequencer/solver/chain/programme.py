"""The programme: all states after so many slots, layer by layer, without what is dominated, hopeless or too dear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.dominance import AT_A_TIME, COMPARED, COMPARED_IN_BEAM, Pairwise, undominated
from sequencer.solver.chain.hopeless import Hopes
from sequencer.solver.chain.placed_more import PlacedMore
from sequencer.solver.chain.states import LOAD, Layer, Whole, all_of, side_by_side
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.chain.steps import Acts, Steps, Threads

CHUNK = 6_000_000
"""States are gone on with so many at a time that what comes of them takes about so many bytes."""

BEFORE_COMPARING = 6
"""A beam compares so many times its width."""

WORTH_COMPARING = 300
"""Fewer states than this are gone on with sooner than they are compared with others that have one lesson more."""

PART_OF_HOPE = 8
"""A run that did not come to this part of the slots with what states it was given shows that a proof would take too many."""


@dataclass(frozen=True)
class RunFound:
    """What a run found.

    Parameters
    ----------
    best
        The least price found, None where there is none within the limit.
    starts
        Lesson to slot, of the sequence at that price.
    bound
        No sequence costs less, or there is none within the limit; with what is within it where the run was ended.
    whole
        Whether the run went through: what is best within the limit is proven.
    states
        How many states were looked at: the effort, which does not depend on the machine.
    reached
        How many of the slots were gone through.
    """

    best: int | None
    starts: dict[int, int]
    bound: int
    whole: bool
    states: int
    reached: int


class Programme:
    """One class, ready to be stepped through any number of times."""

    def __init__(self, chain: Chained, threads: Threads = map) -> None:
        self.chain = chain
        self._threads = threads
        self.steps = Steps(chain)
        self.hopes = Hopes(chain, self.steps.layout, self.steps.meetings, self.steps.in_turn)
        self._more = PlacedMore(self.steps, self.hopes)

    def run(
        self,
        prices: Prices,
        most: int,
        beam: int | None = None,
        most_load: int | None = None,
        states: float = float("inf"),
        widest: int | None = None,
        over: Callable[[], bool] = lambda: False,
        hope: int | None = None,
    ) -> RunFound:
        """Step through all slots, keeping what can come to no more than ``most``.

        Parameters
        ----------
        beam
            How many states are kept after each slot, the most promising ones; all unless stated.
        most_load
            Greatest load of a school week.
        states, widest, over
            The run ends after so many states, where so many are left after a slot, or when this says so.
        hope
            The run ends, too, where so many states took it through no more than an eighth of the slots: a proof is hopeless.
        """
        layer = self.steps.start(len(prices.limits))
        low: Whole = self.hopes.outlook(layer, prices)
        trail: list[tuple[np.ndarray, Acts]] = []
        cut, seen, bound, ways = False, 0, most + 1, 1.0
        for slot in range(self.chain.count):
            hopeless = hope is not None and seen > hope and slot < self.chain.count // PART_OF_HOPE
            # A slot is gone through whole: what it is likely to take has to be left.
            if over() or hopeless or seen + ways * len(layer) > states or (widest is not None and len(layer) > widest):
                return RunFound(None, {}, min(bound, int(low.min())), False, seen, slot)
            grown, more = self._next(layer, low, prices, most, most_load)
            seen, ways = seen + more, more / len(layer)
            del layer  # what they come from is needed no more, and takes memory
            if not len(grown.layer):
                return RunFound(None, {}, bound, not cut, seen, slot)
            if most_load is None or self.chain.week[slot + 1] != self.chain.week[slot]:
                grown.layer.row(LOAD)[:] = 0
            if beam is not None and len(grown.layer) > BEFORE_COMPARING * beam:
                grown, cut = grown.promising(BEFORE_COMPARING * beam, prices), True
            compared = COMPARED if beam is None else COMPARED_IN_BEAM
            few = Pairwise(self.steps, grown.layer, prices, most_load) if len(grown.layer) <= AT_A_TIME else None
            left = undominated(self.steps, grown.layer, grown.expected, prices, most_load, compared, self._threads, few)
            grown = grown.kept(left)
            if beam is None and len(grown.layer) > WORTH_COMPARING:
                compare = Pairwise(self.steps, grown.layer, prices, most_load) if few is None else few.kept(left)
                grown = grown.kept(self._more.left(grown.layer, grown.expected, prices, compare, compared))
            elif beam is not None and len(grown.layer) > beam:
                grown, cut = grown.promising(beam, prices), True
            layer, low = grown.layer.without_empty(self.steps.layout), grown.expected
            trail.append((grown.parents.astype(np.int32), grown.acts))
        whole = np.flatnonzero(all_of(layer.done, self.hopes.every))
        if not len(whole):
            return RunFound(None, {}, bound, not cut, seen, self.chain.count)
        cost = (layer.cost + (self.steps.meetings.left_over(layer) + self.steps.in_turn.left_over(layer)) * prices.carried)[whole]
        for lesson, absent in prices.absent.items():
            cost = cost + np.where(layer.has(lesson)[whole], 0, absent)
        best = int(cost.min())
        if best > most:
            return RunFound(None, {}, bound, not cut, seen, self.chain.count)
        starts = _starts(trail, int(whole[np.argmin(cost)]))
        return RunFound(best, starts, min(best, bound), not cut, seen, self.chain.count)

    def _next(self, layer: Layer, low: Whole, prices: Prices, most: int, most_load: int | None) -> tuple[_Grown, int]:
        """The states one slot later that may come to no more than the limit, and how many were looked at."""
        ways = int(self.chain.can[:, layer.slot].sum()) // 4 + 2
        together = max(500, CHUNK // (ways * (2 * len(layer.rows) + 16 * len(layer.done))))

        def gone_on(begin: int) -> tuple[_Grown, int]:
            some = layer if len(layer) <= together else layer.kept(np.arange(begin, min(begin + together, len(layer))))
            grown, parents, acts = self.steps.grown(some, prices, most_load)
            seen = len(parents)
            keep = np.flatnonzero(self.hopes.lawful(grown, most_load))
            grown, parents, acts = grown.kept(keep), parents[keep] + begin, acts[keep]
            expected = np.maximum(grown.cost + self.hopes.outlook(grown, prices), low[parents])
            cheap = _Grown(grown, parents, acts, expected).kept(np.flatnonzero(expected <= most))
            return (cheap.kept(np.flatnonzero(self.hopes.within(cheap.layer, prices))) if prices.limits else cheap), seen

        pieces: list[tuple[_Grown, int]] = list(self._threads(gone_on, range(0, len(layer), together)))
        seen = sum(each for _, each in pieces)
        if len(pieces) == 1:
            return pieces[0]
        every = side_by_side([piece.layer for piece, _ in pieces])
        parents, acts, expected = (
            np.concatenate([getattr(piece, name) for piece, _ in pieces]) for name in ("parents", "acts", "expected")
        )
        return _Grown(every, parents, acts, expected), seen


@dataclass(frozen=True)
class _Grown:
    """States one slot later: those that they come from, how, and what they come to at least."""

    layer: Layer
    parents: Whole
    acts: Acts
    expected: Whole

    def kept(self, which: Whole) -> _Grown:
        """Some of the states."""
        return _Grown(self.layer.kept(which), self.parents[which], self.acts[which], self.expected[which])

    def promising(self, count: int, prices: Prices) -> _Grown:
        """So many states: those that come to least, where each lesson placed is worth a day of distance.

        What is still to come costs more than is sure of it, the more the more there is of it.
        """
        placed = np.bitwise_count(self.layer.done).astype(np.int64).sum(axis=0)
        likely = self.expected - prices.distance * placed
        return self.kept(np.sort(np.lexsort((-placed, likely))[:count]))


def _starts(trail: list[tuple[np.ndarray, Acts]], at: int) -> dict[int, int]:
    """The slots in which lessons start, on the way to a state."""
    found = {}
    for slot in range(len(trail) - 1, -1, -1):
        parents, acts = trail[slot]
        if acts[at] >= 0:
            found[int(acts[at])] = slot
        at = int(parents[at])
    return found
