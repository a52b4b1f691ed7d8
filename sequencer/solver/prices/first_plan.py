"""A first plan: part after part beside what is taken, then a few parts at a time where rules are still broken."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from random import Random

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.columns import PartColumn
from sequencer.solver.prices.few_together import FewTogether
from sequencer.solver.solver_calls import AT_ONCE, FIRST_ALONE, Budget, StopSignal

MOST_FREE = 4
"""So many parts are planned anew at a time, at most."""

MOST_LOTS = 8
"""So many broken rules are mended at a time, at most."""

EFFORT = 0.5
"""Most effort for one part at a time; more where it has no sequence yet."""

TRIES = 40
"""Tries for each part, on average, after which no plan is looked for any more."""

Plan = dict[int, PartColumn]


class FirstPlan:
    """Finds a plan that breaks no rule, or mends one.

    Parameters
    ----------
    parts
        How many parts there are.
    learn
        The columns of a sequence of some parts.
    broken
        For each rule that a plan breaks over several parts, the parts concerned.
    """

    def __init__(
        self,
        few: FewTogether,
        parts: int,
        learn: Callable[[Sequence, tuple[int, ...]], Plan],
        broken: Callable[[Plan], list[tuple[int, ...]]],
        stop: StopSignal,
        seed: int,
    ) -> None:
        self._few, self._parts, self._learn, self._broken, self._stop = few, parts, learn, broken, stop
        self._random = Random(seed)
        self.impossible = False

    def find(self, budget: Budget, staying: Iterable[int] | None = None) -> Plan | None:
        """A plan that breaks nothing; None where none is found, or where one part has none by itself.

        Parameters
        ----------
        staying
            Where lessons are to stay, which is the first aim: the parts, those first that can stay as they are.
        """
        plan: Plan = {}
        place = None if staying is None else 0
        waiting = self._few.largest_first() if staying is None else [*staying]
        while waiting:
            several = self._side_by_side(waiting)
            for free, found, _ in self._few.several(plan, several, place, {}, True, Budget(budget.ends, FIRST_ALONE)):
                if found is None:
                    self.impossible = self._few.impossible
                    return None
                plan |= self._learn(found.sequence, free)
        return self.mend(plan, place, {}, budget)

    def mend(self, plan: Plan, place: int | None, most: dict[int, int], budget: Budget) -> Plan | None:
        """A plan that breaks nothing, from one that does; None where none is found."""
        broken = self._broken(plan)
        tried: Counter[tuple[int, ...]] = Counter()
        while broken and not budget.over and not self._stop.stopped and tried.total() < TRIES * self._parts:
            lots = self._lots(broken, tried)
            own = Budget(budget.ends, EFFORT * max(len(lot) for lot in lots))
            found = [
                self._learn(anew.sequence, lot)
                for lot, anew, _ in self._few.several(plan, lots, place, most, True, own)
                if anew is not None
            ]
            # All at once, and where that breaks more than it mends each by itself.
            for columns in [{part: column for each in found for part, column in each.items()}, *found]:
                still = self._broken(plan | columns)
                if len(still) <= len(broken):
                    plan, broken = plan | columns, still
                    break
        return None if broken else plan

    def _side_by_side(self, waiting: list[int]) -> list[tuple[int, ...]]:
        """The next part, and others that do not vie with it; they wait no longer."""
        chosen: list[int] = []
        vying: set[int] = set()
        for part in waiting:
            if part not in vying:
                chosen.append(part)
                vying |= self._few.vying(part).keys()
            if len(chosen) == AT_ONCE:
                break
        waiting[:] = [part for part in waiting if part not in chosen]
        return [(part,) for part in chosen]

    def _lots(self, broken: list[tuple[int, ...]], tried: Counter[tuple[int, ...]]) -> list[tuple[int, ...]]:
        """Parts to be planned anew for some broken rules that have nothing to do with each other, more of them at each try."""
        lots: list[tuple[int, ...]] = []
        taken: set[int] = set()
        for concerned in self._random.sample(broken, len(broken)):
            lot = self._lot(concerned, 1 + tried[concerned] % MOST_FREE)
            if taken.isdisjoint(lot):
                tried[concerned] += 1
                lots.append(lot)
                taken |= {other for part in lot for other in (part, *self._few.vying(part))}
            if len(lots) == MOST_LOTS:
                break
        return lots

    def _lot(self, concerned: tuple[int, ...], size: int) -> tuple[int, ...]:
        """So many parts of one broken rule and, where there are too few, others that vie with them."""
        lot = self._random.sample(concerned, min(size, len(concerned)))
        vying = self._few.vying(lot[0])
        for other in sorted(vying, key=lambda each: (-vying[each], self._random.random())):
            if len(lot) < size and other not in lot:
                lot.append(other)
        return tuple(sorted(lot))
