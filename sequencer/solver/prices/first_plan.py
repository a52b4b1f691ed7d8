"""A first plan of all parts: one after another beside what is taken, then a few at a time where rules are still broken."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.columns import PartColumn
from sequencer.solver.prices.few_together import FewTogether
from sequencer.solver.solver_calls import FIRST_ALONE, Budget, StopSignal

MOST_FREE = 4
"""So many parts are planned anew at a time, at most."""

EFFORT = 0.3
"""Most effort for one part at a time; more where it has no sequence yet."""

TRIES = 40
"""Tries for each part, on average, after which no plan is looked for any more."""

Plan = dict[int, PartColumn]


class FirstPlan:
    """Finds a plan that breaks no rule, or mends one.

    Parameters
    ----------
    order
        The parts, the hardest first.
    learn
        The columns of a sequence of some parts.
    broken
        For each rule that a plan breaks over several parts, the parts concerned.
    """

    def __init__(
        self,
        few: FewTogether,
        order: list[int],
        learn: Callable[[Sequence, tuple[int, ...]], Plan],
        broken: Callable[[Plan], list[tuple[int, ...]]],
        stop: StopSignal,
        seed: int,
    ) -> None:
        self._few, self._order, self._learn, self._broken, self._stop = few, order, learn, broken, stop
        self._random = Random(seed)
        self.impossible = False

    def find(self, budget: Budget) -> Plan | None:
        """A plan that breaks nothing; None where none is found, or where one part has none by itself."""
        plan: Plan = {}
        for part in self._order:
            for effort in (EFFORT, FIRST_ALONE):
                found = self._few.anew(plan, (part,), None, {}, True, Budget(budget.ends, effort))
                if found is not None or self._few.impossible:
                    break
            if found is None:
                self.impossible = self._few.impossible
                return None
            plan |= self._learn(found.sequence, (part,))
        return self.mend(plan, None, {}, budget)

    def mend(self, plan: Plan, place: int | None, most: dict[int, int], budget: Budget) -> Plan | None:
        """A plan that breaks nothing, from one that does; None where none is found."""
        broken = self._broken(plan)
        tries, size = 0, 1
        while broken and not budget.over and not self._stop.stopped and tries < TRIES * len(self._order):
            free = self._some(broken, min(size, MOST_FREE))
            found = self._few.anew(plan, free, place, most, True, Budget(budget.ends, EFFORT * len(free)))
            tries += 1
            after = plan | self._learn(found.sequence, free) if found is not None else plan
            still = self._broken(after)
            if len(still) >= len(broken):
                size = size % MOST_FREE + 1
            if len(still) <= len(broken):
                plan, broken = after, still
        return None if broken else plan

    def _some(self, broken: list[tuple[int, ...]], size: int) -> tuple[int, ...]:
        """Parts of one broken rule and, where there are too few, of others, or that vie with them."""
        concerned = list(self._random.choice(broken))
        self._random.shuffle(concerned)
        free = concerned[:size]
        vying = self._few.vying(free[0])
        for other in sorted(vying, key=lambda each: (-vying[each], self._random.random())):
            if len(free) < size and other not in free:
                free.append(other)
        return tuple(sorted(free))
