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
        self.hopes = Hopes(chain, self.steps.layout, self.steps.meetings)
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
        layer = self.steps.start()
        low: Whole = self.hopes.outlook(layer, prices)
        trail: list[tuple[np.ndarray, Acts]] = []
        cut, seen, bound = False, 0, most + 1
        for slot in range(self.chain.count):
            hopeless = hope is not None and seen > hope and slot < self.chain.count // PART_OF_HOPE
            if over() or hopeless or seen > states or (widest is not None and len(layer) > widest):
                return RunFound(None, {}, min(bound, int(low.min())), False, seen, slot)
            grown, parents, acts, expected, more = self._next(layer, low, prices, most, most_load)
            seen += more
            if not len(grown):
                return RunFound(None, {}, bound, not cut, seen, slot)
            if most_load is None or self.chain.week[slot + 1] != self.chain.week[slot]:
                grown.row(LOAD)[:] = 0
            keep: Whole = np.arange(len(grown))
            if beam is not None and len(keep) > BEFORE_COMPARING * beam:
                keep = self._promising(grown, expected, keep, BEFORE_COMPARING * beam)
                cut = True
            some = grown if len(keep) == len(grown) else grown.kept(keep)
            compared = COMPARED if beam is None else COMPARED_IN_BEAM
            few = Pairwise(self.steps, some, prices, most_load) if len(some) <= AT_A_TIME else None
            left = undominated(self.steps, some, expected[keep], prices, most_load, compared, self._threads, few)
            some, keep = some.kept(left), keep[left]
            compare = Pairwise(self.steps, some, prices, most_load) if few is None else few.kept(left)
            keep = keep[self._more.left(some, expected[keep], prices, compare, compared)]
            if beam is not None and len(keep) > beam:
                keep = self._promising(grown, expected, keep, beam)
                cut = True
            layer, low = grown.kept(keep).without_empty(self.steps.layout), expected[keep]
            trail.append((parents[keep].astype(np.int32), acts[keep]))
        whole = np.flatnonzero(all_of(layer.done, self.hopes.every))
        if not len(whole):
            return RunFound(None, {}, bound, not cut, seen, self.chain.count)
        cost = (layer.cost + self.steps.meetings.left_over(layer) * prices.carried)[whole]
        for lesson, absent in prices.absent.items():
            cost = cost + np.where(layer.has(lesson)[whole], 0, absent)
        best = int(cost.min())
        if best > most:
            return RunFound(None, {}, bound, not cut, seen, self.chain.count)
        starts = _starts(trail, int(whole[np.argmin(cost)]))
        return RunFound(best, starts, min(best, bound), not cut, seen, self.chain.count)

    def _next(
        self, layer: Layer, low: Whole, prices: Prices, most: int, most_load: int | None
    ) -> tuple[Layer, Whole, Acts, Whole, int]:
        """The states one slot later that may come to no more than the limit.

        Those that they come from, how, what they come to at least, and how many were looked at.
        """
        ways = int(self.chain.can[:, layer.slot].sum()) // 4 + 2
        together = max(500, CHUNK // (ways * (2 * len(layer.rows) + 16 * len(layer.done))))

        def gone_on(begin: int) -> tuple[Layer, Whole, Acts, Whole, int]:
            some = layer if len(layer) <= together else layer.kept(np.arange(begin, min(begin + together, len(layer))))
            grown, parents, acts = self.steps.grown(some, prices, most_load)
            seen = len(parents)
            keep = np.flatnonzero(self.hopes.lawful(grown, most_load))
            grown, parents, acts = grown.kept(keep), parents[keep] + begin, acts[keep]
            expected = np.maximum(grown.cost + self.hopes.outlook(grown, prices), low[parents])
            keep = np.flatnonzero(expected <= most)
            return grown.kept(keep), parents[keep], acts[keep], expected[keep], seen

        pieces: list[tuple[Layer, Whole, Acts, Whole, int]] = list(self._threads(gone_on, range(0, len(layer), together)))
        seen = sum(piece[-1] for piece in pieces)
        if len(pieces) == 1:
            return pieces[0]
        every = side_by_side([piece[0] for piece in pieces])
        parents, acts, expected = (np.concatenate([piece[number] for piece in pieces]) for number in (1, 2, 3))
        return every, parents, acts, expected, seen

    @staticmethod
    def _promising(layer: Layer, expected: Whole, among: Whole, count: int) -> Whole:
        """So many states: those that come to least, and of these in which most is placed."""
        placed = np.bitwise_count(layer.done[:, among]).astype(np.int64).sum(axis=0)
        return np.sort(among[np.lexsort((-placed, expected[among]))[:count]])


def _starts(trail: list[tuple[np.ndarray, Acts]], at: int) -> dict[int, int]:
    """The slots in which lessons start, on the way to a state."""
    found = {}
    for slot in range(len(trail) - 1, -1, -1):
        parents, acts = trail[slot]
        if acts[at] >= 0:
            found[int(acts[at])] = slot
        at = int(parents[at])
    return found
