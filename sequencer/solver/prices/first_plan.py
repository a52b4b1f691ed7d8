"""A first plan: part after part beside what is taken, then a few parts at a time where rules are still broken."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from random import Random

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.columns import PartColumn
from sequencer.solver.prices.few_together import FewTogether
from sequencer.solver.solver_calls import AT_ONCE, FIRST_ALONE, Budget, StopSignal

FREE = (1, 2, 4, 8, 16, 32)
"""So many parts are planned anew at a time: more after each try that mended nothing, then few again."""

FEW_FREE = 4
"""Of more parts than this those that are kept in step with them are planned anew, too: else they could hardly move."""

MOST_LESSONS, MOST_FOR_AN_AIM = 900, 300
"""So many lessons are planned anew at a time, at most; and where there is a plan already and an aim is to be small."""

MOST_LOTS = 8
"""So many broken rules are mended at a time, at most."""

EFFORT = 0.5
"""Most effort for one part at a time; more where it has no sequence yet."""

TRIES = 40
"""Tries for each part, on average, after which no plan is looked for any more, unless stated."""

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

    def find(self, budget: Budget, staying: Iterable[int] | None = None, tries: int = TRIES) -> Plan | None:
        """A plan that breaks nothing; None where none is found, or where one part has none by itself.

        Parameters
        ----------
        staying
            Where lessons are to stay, which is the first aim: the parts, those first that can stay as they are.
        tries
            Tries for each part, on average, after which no plan is looked for any more.
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
                plan |= self._learn(found, free)
        return self.mend(plan, place, {}, budget, tries)

    def mend(self, plan: Plan, place: int | None, most: dict[int, int], budget: Budget, tries: int = TRIES) -> Plan | None:
        """A plan that breaks nothing, from one that does; None where none is found."""
        broken = self._broken(plan)
        in_vain, tries = 0, tries * self._parts
        while broken and not budget.over and not self._stop.stopped and tries > 0:
            fewest = len(broken)
            lots = self._lots(broken, FREE[in_vain % len(FREE)], MOST_LESSONS if place is None else MOST_FOR_AN_AIM)
            tries -= len(lots)
            own = Budget(budget.ends, EFFORT * max(len(lot) for lot in lots))
            found = [
                self._learn(anew, lot)
                for lot, anew, _ in self._few.several(plan, lots, place, most, True, own)
                if anew is not None
            ]
            # All at once, and where that breaks more than it mends each by itself.
            together = {part: column for each in found for part, column in each.items()}
            for columns in (together, *(found if len(found) > 1 else ())):
                still = self._broken(plan | columns)
                if len(still) <= len(broken):
                    plan, broken = plan | columns, still
                    break
            in_vain = 0 if len(broken) < fewest else in_vain + 1
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

    def _lots(self, broken: list[tuple[int, ...]], size: int, most: int = MOST_LESSONS) -> list[tuple[int, ...]]:
        """Parts to be planned anew for some broken rules that have nothing to do with each other."""
        lots: list[tuple[int, ...]] = []
        taken: set[int] = set()
        for concerned in self._random.sample(broken, len(broken)):
            lot = self._lot(concerned, size, most)
            if taken.isdisjoint(lot):
                lots.append(lot)
                taken |= {other for part in lot for other in (part, *self._few.vying(part))}
            if len(lots) == MOST_LOTS:
                break
        return lots

    def _lot(self, concerned: tuple[int, ...], size: int, most: int = MOST_LESSONS) -> tuple[int, ...]:
        """So many parts of one broken rule and, where there are too few, others that could make room."""
        around = self._few.around(concerned)
        lot: dict[int, int] = {}
        for part in [*self._random.sample(concerned, len(concerned)), *self._random.sample(around, len(around))]:
            if len(lot) >= size:
                break
            for each in (part, *(self._few.beside(part) if size > FEW_FREE else ())):
                if not lot or sum(lot.values()) + self._few.lessons[each] <= most:
                    lot[each] = self._few.lessons[each]
        return tuple(sorted(lot))
