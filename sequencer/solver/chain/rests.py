"""The rest of a long class by itself: what its retrievals cost at least together, from a lesson on.

Each retrieval by itself costs little, since nothing lies in its way. All that surely follows a lesson, with nothing left over
from before, is a shorter class of its own; what that costs at least, begun in a slot, holds wherever the lesson is still to come.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sequencer.solver.chain.asked import NEVER
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.outlook import GroupOutlook
from sequencer.solver.chain.states import BUSY, Layer, Whole, bits_of


@dataclass(frozen=True)
class Rest:
    """All lessons that surely follow one, with it.

    Parameters
    ----------
    first, lessons
        By position in the instance.
    least
        By slot: the least days off preferred distances, if the first starts in this slot or later.
    """

    first: int
    lessons: frozenset[int]
    least: Whole


class RestOutlook:
    """What a rest costs more than its retrievals by themselves, for the states of a class that have not begun it."""

    def __init__(self, chain: Chained, rest: Rest, groups: list[GroupOutlook]) -> None:
        order = chain.prepared.order
        self._first = chain.place[rest.first]
        before = [place for place, index in enumerate(chain.index) if chain.sure[place] and order.comes_before(index, rest.first)]
        self.before = [(1, bits_of(before, chain.size))]
        """What is sure to lie before it, for counting slots."""
        within = {met.lesson for met in chain.met_within(rest.lessons)}
        self._least = rest.least
        self._alone = sum((group.untouched for group in groups if group.met.lesson in within), np.zeros_like(rest.least))
        self.last = int(chain.last_start[self._first])

    def more(self, layer: Layer, left: Whole) -> Whole:
        """How much more each state costs at least than its retrievals by themselves; 0 where the rest has begun.

        Parameters
        ----------
        left
            Lessons still to come before it, of each state.
        """
        soonest = np.minimum(layer.slot + layer.row(BUSY) + left, len(self._least) - 1)
        return np.where(layer.has(self._first), 0, np.maximum(self._least[soonest] - min(int(self._alone[layer.slot]), NEVER), 0))
