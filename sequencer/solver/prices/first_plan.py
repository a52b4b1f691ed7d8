"""A first plan: block after block of parts beside what is taken, then a few parts at a time where rules are still broken."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from sequencer.plan.sequence import Sequence
from sequencer.solver.prices.columns import PartColumn
from sequencer.solver.prices.few_together import FewTogether
from sequencer.solver.solver_calls import FIRST_ALONE, Budget, StopSignal

MOST_FREE = 4
"""So many parts are planned anew at a time, at most."""

TOGETHER = 400
"""Lessons of parts that are planned together at first."""

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

    def find(self, budget: Budget) -> Plan | None:
        """A plan that breaks nothing; None where none is found, or where one part has none by itself."""
        plan: Plan = {}
        for block in self._few.blocks(TOGETHER):
            found = self._few.anew(plan, block, None, {}, True, Budget(budget.ends, FIRST_ALONE * len(block)))
            for free in ((part,) for part in block) if found is None else ():
                alone = self._few.anew(plan, free, None, {}, True, Budget(budget.ends, FIRST_ALONE))
                if alone is None:
                    self.impossible = self._few.impossible
                    return None
                plan |= self._learn(alone.sequence, free)
            if found is not None:
                plan |= self._learn(found.sequence, block)
        return self.mend(plan, None, {}, budget)

    def mend(self, plan: Plan, place: int | None, most: dict[int, int], budget: Budget) -> Plan | None:
        """A plan that breaks nothing, from one that does; None where none is found."""
        broken = self._broken(plan)
        tries, size = 0, 1
        while broken and not budget.over and not self._stop.stopped and tries < TRIES * self._parts:
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
