"""Plans in which no future loses anything, the classes of each part by themselves; where there are none, as little as must be.

A part is asked for plans that begin alike and are, on no aim, worse in any future than that future's own best. Where there are
none, the first aims for which there are some are looked for, then plans that lose least on the next. What a future then loses
buys it something on the aims after it: its best with that loss takes the place of its own best, and the part is asked again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from ortools.sat.python import cp_model

from sequencer.plan.sequence import Sequence
from sequencer.questions.judge import judge
from sequencer.questions.opening.futures_side_by_side import Begun, Futures, Own, Together, begin_as
from sequencer.questions.opening.losses import Losses, Plans
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.costs import cost
from sequencer.solver.model import build_model
from sequencer.solver.solution import hint
from sequencer.solver.solver_calls import NONE, Budget, Calls, StopSignal, abreast
from sequencer.solver.sought import SequenceSought

Most = dict[str, dict[str, int]]
"""Future and aim to what the aim may come to."""

SHARE_OF_PLANS = 0.5
"""Share of what a part has left for one question."""

SHARE_OF_BEST = 0.5
"""Share of what it has left for the best of futures that lose something."""

SHARE_OF_PARTS = 0.85
"""Share of all for the parts; the rest is for putting them together."""


@dataclass(frozen=True)
class Lossless:
    """Looks for plans in which nothing is lost."""

    futures: Futures
    continued: Callable[[str, Begun, Sequence | None, Budget], Sequence | None]
    """Looks for a future's best plan with an opening that is settled."""
    seed: int
    workers: int
    stop: StopSignal

    def best(self, losses: Losses, budget: Budget) -> Plans | None:
        """Plans of all classes; None where none were found in time, or a future cannot keep the rules that couple them."""
        with budget.lent(SHARE_OF_PARTS) as for_parts:
            found = abreast([partial(self._part, classes) for classes in self.futures.parts], for_parts)
        plans = [each.plans for each in found if each.plans is not None]
        if len(plans) < len(found):
            return None
        return plans[0] if len(plans) == 1 else self._side_by_side(found, losses.joined(plans), budget)

    def _part(self, classes: tuple[int, ...], budget: Budget) -> _Part:
        """One part, with plans where they were found."""
        asked = _Part(self.futures.together(classes), self.futures.own, Calls(self.seed, self.workers, self.stop))
        while not asked.done(budget):
            place = asked.reached
            lost = asked.least_lost(place, self.futures.weights, budget)
            if lost is None:
                break
            share = budget.part(SHARE_OF_BEST)
            for name in lost:
                asked.most[name] |= self._best_after(name, classes, place, asked, share)
        return asked

    def _best_after(self, name: str, classes: tuple[int, ...], place: int, asked: _Part, budget: Budget) -> dict[str, int]:
        """What the aims of a future come to after one on which it loses something."""
        assert asked.plans is not None, "it loses something in them"
        sequence, most = asked.plans[name], asked.most[name]
        search = GroupSearch(
            SequenceSought(build_model(self.futures.prepared[name], classes)), self.seed, self.workers, self.stop
        )
        search.start_from(sequence)
        for aim in search.model.aims[: place + 1]:
            search.hold(aim, most[aim.name])
        return {stage.aim: stage.value for stage in search.settle(budget, place + 1).stages}

    def _side_by_side(self, found: list[_Part], joined: Plans, budget: Budget) -> Plans | None:
        """The plans of the parts side by side; where a future's do not go together, another plan of it that begins as they do."""
        plans = dict(joined)
        broken = [name for name, sequence in plans.items() if not judge(self.futures.prepared[name].instance, sequence).sound]
        most = {name: {aim: sum(each.most[name][aim] for each in found) for aim in found[0].most[name]} for name in broken}
        mended = abreast([partial(self._mended, name, plans[name], most[name]) for name in broken], budget)
        for name, sequence in zip(broken, mended, strict=True):
            if sequence is None:
                return None
            plans[name] = sequence
        return plans

    def _mended(self, name: str, sequence: Sequence, most: Mapping[str, int], budget: Budget) -> Sequence | None:
        """A plan of one future that begins as a sequence does: within what is asked if it can be, else as good as can be."""
        begun = self.futures.begun(name, sequence)
        model = build_model(self.futures.prepared[name], self.futures.every)
        begin_as(model, begun)
        sought = SequenceSought(model)
        sought.hint(sequence)
        asked = sought.solver_model.clone()
        for aim in sought.aims:
            if aim.summed:
                asked.add(cost(aim) + aim.constant <= most[aim.name])
        found: Sequence | None = None

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal found
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                found = sought.found(solver)
            return status != cp_model.UNKNOWN

        calls = Calls(self.seed, self.workers, self.stop)
        budget.effort -= calls.attempt(asked, budget.part(SHARE_OF_PLANS), take, NONE)
        return found if found is not None else self.continued(name, begun, None, budget)


class _Part:
    """One part, and what is asked of it: no more than ``most`` of any aim in any future."""

    def __init__(self, together: Together, own: Mapping[str, Own], calls: Calls) -> None:
        self._calls = calls
        self._model = together.posting.model
        self._each = {name: SequenceSought(model) for name, model in together.models.items()}
        self._names = tuple(self._each)
        self.aims = tuple(aim.name for aim in next(iter(self._each.values())).aims)
        sequences = {name: each.own(own[name].sequence) for name, each in self._each.items()}
        self.most: Most = {name: each.counts(sequences[name]) for name, each in self._each.items()}
        self.plans: Plans | None = None
        self.reached = 0
        self._hint(sequences)

    def done(self, budget: Budget) -> bool:
        """Look for plans within all that is asked or, where none are found, on as many of the first aims as can be."""
        every = len(self.aims)
        if self.reached < every and not self._within(every, budget):
            while self.reached < every and self._within(self.reached + 1, budget):
                pass
        return self.reached == len(self.aims)

    def least_lost(self, place: int, weights: Mapping[str, int] | None, budget: Budget) -> list[str] | None:
        """Plans that lose least on an aim, and nothing before it, are what is asked from now on; who loses, None without any."""
        model = self._asked(place)
        own, greatest = [], model.new_int_var(0, 10**7, "greatest loss")
        for name in self._names:
            own.append(model.new_int_var(0, 10**7, f"loss of {name}"))
            model.add(own[-1] >= self._value(name, place) - self.most[name][self.aims[place]])
            model.add(own[-1] <= greatest)
        weighed = sum((weights or {}).get(name, 1) * loss for name, loss in zip(self._names, own, strict=True))
        model.minimize(weighed if weights is not None else weighed + 10**3 * greatest)
        if not self._solved(model, budget) or self.plans is None:
            return None
        values = {name: each.counts(self.plans[name]) for name, each in self._each.items()}
        aim = self.aims[place]
        lost = [name for name in self._names if values[name][aim] > self.most[name][aim]]
        for name in lost:
            self.most[name] |= {before: values[name][before] for before in self.aims[: place + 1]}
        self.reached = max(self._kept(self.plans), place + 1)
        return lost

    def _within(self, number: int, budget: Budget) -> bool:
        """Look for plans within what is asked on so many of the first aims; whether they were found."""
        return self._solved(self._asked(number), budget)

    def _asked(self, number: int) -> cp_model.CpModel:
        """A copy of the model with what is asked on so many of the first aims."""
        model = self._model.clone()
        for name in self._names:
            for place in range(number):
                model.add(self._value(name, place) <= self.most[name][self.aims[place]])
        return model

    def _kept(self, plans: Plans) -> int:
        """The number of first aims on which plans are within what is asked."""
        values = {name: each.counts(plans[name]) for name, each in self._each.items()}
        fine = [all(values[name][aim] <= self.most[name][aim] for name in self._names) for aim in self.aims]
        return fine.index(False) if False in fine else len(fine)

    def _solved(self, model: cp_model.CpModel, budget: Budget) -> bool:
        """Whether plans are found; they are kept, and are where the next search begins."""
        found = False

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal found
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                found = True
                self.plans = {name: each.found(solver) for name, each in self._each.items()}
                self.reached = self._kept(self.plans)
                self._hint(self.plans)
            return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)

        budget.effort -= self._calls.attempt(model, budget.part(SHARE_OF_PLANS), take, NONE)
        return found

    def _hint(self, plans: Plans) -> None:
        hint(self._model, [start for name, each in self._each.items() for start in each.starts(plans[name], frozenset())])

    def _value(self, name: str, place: int) -> cp_model.LinearExpr:
        aim = self._each[name].aims[place]
        return cost(aim) + aim.constant
