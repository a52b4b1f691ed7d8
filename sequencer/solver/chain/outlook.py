"""What is still to come costs at least: each retrieval lesson by itself, from where its lessons lie and the slot reached."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from sequencer.solver.chain.asked import NEVER, MeetsAgain, Numbers
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.states import alike, mask_of


class GroupOutlook:
    """One retrieval lesson and what it meets again: the least days off the preferred ones, whatever else is placed.

    ``apart[i][r, s]`` says what it costs that member i starts in slot s and is met r slots after the first in which it may be.
    ``rest[i][r, s]`` says the least that the members from i on cost together, met there, where none starts before slot s: with
    the slots between them that they need, where they are sure to follow one another; otherwise of member i alone.
    """

    def __init__(self, chain: Chained, met: MeetsAgain) -> None:
        self.met = met
        self.lessons = mask_of((met.lesson, *met.members))
        """The retrieval lesson and what it meets, as a bit mask."""
        self.gaps = _gaps(chain, met)
        starts = np.flatnonzero(chain.can[met.lesson])
        self.first, self.last = (int(starts[0]), int(starts[-1])) if len(starts) else (0, -1)
        count, members, slots = chain.count, len(met.members), self.last + 1 - self.first
        self.apart = [self._apart(chain, member, days) for member, days in zip(met.members, met.preferred, strict=True)]
        self.rest: list[Numbers] = [np.zeros((slots, count + 1), dtype=np.int32)] * (members + 1)
        for number in reversed(range(members)):
            here = np.full((slots, count + 1), NEVER, dtype=np.int32)
            here[:, :count] = self.apart[number]
            if self.gaps is not None and number + 1 < members:
                later = np.full((slots, count + 1), NEVER, dtype=np.int32)
                gap = min(self.gaps[number], count + 1)
                later[:, : count + 1 - gap] = self.rest[number + 1][:, gap:]
                here = here + later
            if not chain.sure[met.members[number]]:
                here = np.zeros_like(here)  # it may be left out
            self.rest[number] = np.minimum(np.minimum.accumulate(here[:, ::-1], axis=1)[:, ::-1], NEVER)
        whole = self.rest[0] if self.gaps is not None else sum(self.rest[:members], np.zeros_like(self.rest[0]))
        self.untouched = np.minimum(whole, NEVER).min(axis=0, initial=NEVER).astype(np.int64)
        """By slot: what it costs at least when nothing of it was begun before that slot."""

    def least(self, slot: int, at: np.ndarray) -> np.ndarray:
        """For each state the least that it costs from a slot on.

        Parameters
        ----------
        at
            (member, state): the slots in which its members lie, -1 for those still to come.
        """
        where, back = alike(at + 1, at.shape[1])
        few = at[:, where].astype(np.int64)
        if slot > self.last:
            return np.full(at.shape[1], NEVER, dtype=np.int64)
        met = slice(max(slot - self.first, 0), self.last + 1 - self.first)
        sums = np.zeros((met.stop - met.start, len(where)), dtype=np.int32)
        for number, row in enumerate(few):
            waiting = self.rest[number][met, slot][:, None] if self.gaps is None else 0
            sums += np.where(row >= 0, self.apart[number][met][:, np.maximum(row, 0)], waiting)
        if self.gaps is not None:
            begun = (few >= 0).sum(axis=0)
            for taught in np.unique(begun[begun < len(few)]):
                which = begun == taught
                soonest = np.full(int(which.sum()), slot)
                if taught:
                    soonest = np.maximum(slot, few[taught - 1, which] + self.gaps[taught - 1])
                sums[:, which] += self.rest[taught][met][:, np.minimum(soonest, self.rest[0].shape[1] - 1)]
        least: npt.NDArray[np.int64] = np.minimum(sums.min(axis=0), NEVER).astype(np.int64)[back]
        return least

    def _apart(self, chain: Chained, member: int, preferred: int) -> Numbers:
        """(slot of the retrieval, slot of the member): days off; ``NEVER`` where the two cannot lie so."""
        meets, slots, day = np.arange(self.first, self.last + 1), np.arange(chain.count), chain.day[: chain.count]
        off = np.abs(day[meets][:, None] - day[None, :] - preferred)
        may = chain.can[self.met.lesson, meets][:, None] & chain.can[member, None, : chain.count]
        may &= meets[:, None] >= slots[None, :] + chain.lessons[member].length
        for window in chain.windows_into.get(self.met.lesson, ()):
            if window.before == member:
                may &= (meets[:, None] >= window.low[None, :]) & (meets[:, None] <= window.high[None, :])
        return np.where(may, off, NEVER).astype(np.int32)


def _gaps(chain: Chained, met: MeetsAgain) -> list[int] | None:
    """Slots at least from each member's start to the next one's; None where it is not sure that they follow one another."""
    order, gaps = chain.prepared.order, []
    for one, other in zip(met.members, met.members[1:], strict=False):
        before, after = chain.index[one], chain.index[other]
        if not order.comes_before(before, after) or not (chain.sure[one] and chain.sure[other]):
            return None
        between = order.between(before, after)
        gaps.append(chain.lessons[one].length + sum(each.length for each in chain.lessons if between >> each.index & 1))
    return gaps
