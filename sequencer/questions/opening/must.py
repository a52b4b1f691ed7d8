"""What a future must lose, asked of the classes that lose it: all others cannot do better than by themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from sequencer.plan.sequence import Sequence
from sequencer.questions.opening.futures_side_by_side import Futures
from sequencer.questions.opening.levels import Levels, Lost
from sequencer.solver.costs import cost
from sequencer.solver.solver_calls import Budget, Calls, abreast

SHARE_OF_LEASTS = 0.4
"""Share of time and effort for what all other classes need at least."""


@dataclass(frozen=True)
class Must:
    """Asks what futures must lose; ``levels`` knows the parts of each future, and is told what was found."""

    futures: Futures
    levels: Levels
    calls: Calls

    def least(
        self, name: str, place: int, lost: Mapping[str, Lost], weighed: int, held: Mapping[str, Sequence], budget: Budget
    ) -> int | None:
        """What a future loses at least on the aim at a place, where no more is lost in all; None where that was not found.

        Every part in which it loses something in what is held is asked whether it could lose less.
        """
        aim = self.levels.aims[place]
        names = tuple(self.futures.own)
        searches = [partial(self.levels.leasts, each, place, lost, held[each]) for each in names]
        with budget.lent(SHARE_OF_LEASTS) as share:
            leasts = dict(zip(names, abreast(searches, share), strict=True))
        losing = self.levels.losing(name, place, held[name])
        for part in losing:
            if not self._refuted(name, place, part.classes, part.value - 1, lost, weighed, leasts, budget):
                return None
        for part in losing:
            self.levels.know_of_part(name, place, part.classes, part.value, weighed)
        at_least = leasts[name][place] | {part.classes: part.value for part in losing}
        return sum(at_least.values()) - self.futures.own[name].values[aim] if losing else None

    def _refuted(
        self,
        name: str,
        place: int,
        classes: tuple[int, ...],
        most: int,
        lost: Mapping[str, Lost],
        weighed: int,
        leasts: Mapping[str, list[dict[tuple[int, ...], int]]],
        budget: Budget,
    ) -> bool:
        """Whether some classes of a future cannot come to so little on the aim at a place."""
        together = self.futures.together(classes)
        model = together.posting.model
        losses = []
        # Another future may gain, which leaves this one more to lose.
        floors = {each: self.futures.in_a_sum[each] * self.levels.least_of(each, place, lost) for each in self.futures.own}
        for each, own in self.futures.own.items():
            for number, aim in enumerate(together.models[each].aims[: place + 1]):
                if not aim.summed:
                    continue
                others = sum(least for part, least in leasts[each][number].items() if part != classes)
                if number == place:
                    may_lose = (weighed - sum(floors.values()) + floors[each]) // self.futures.in_a_sum[each]
                else:
                    may_lose = self.levels.most(each, number, lost)
                value = cost(aim) + aim.constant
                model.add(value <= own.values[aim.name] + max(0, may_lose) - others)
                if number == place:
                    losses.append(self.futures.in_a_sum[each] * (value + others - own.values[aim.name]))
                    if each == name:
                        model.add(value <= most)
        model.add(sum(losses) <= weighed)
        return self.calls.refuted(model, budget)
