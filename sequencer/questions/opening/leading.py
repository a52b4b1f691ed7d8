"""Plans that begin alike, as one future's own best does: with the opening settled, every future is planned by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from sequencer.plan.sequence import Sequence
from sequencer.questions.opening.futures_side_by_side import Begun, Futures, Own, begin_as
from sequencer.questions.opening.losses import Losses, Plans
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import ClassesModel, build_model
from sequencer.solver.prices import many_classes
from sequencer.solver.solver_calls import AT_ONCE, Budget, StopSignal, abreast
from sequencer.solver.sought import SequenceSought, Trial


class Continued(SequenceSought):
    """One future, its opening settled in its model: no aim needs to be made smaller than in its own best."""

    def __init__(self, model: ClassesModel, own: Own) -> None:
        super().__init__(model)
        self._own = own

    def begins(self) -> Iterator[Trial[Sequence]]:
        """Nothing, but its own best is a hint."""
        self.hint(self.own(self._own.sequence))
        yield from ()

    def floor(self, place: int, values: Mapping[str, int]) -> int:
        """What the future's own best proves, where nothing is lost on an earlier aim."""
        aim = self.aims[place]
        if any(values[before.name] > self._own.values[before.name] for before in self.aims[:place]):
            return aim.floor
        return max(aim.floor, self._own.bounds[aim.name])


SHARE_OF_ALL = 0.5
"""Share of time and effort in which every future's opening is looked at."""


@dataclass(frozen=True)
class Leading:
    """Looks for plans that begin as one future's own best does."""

    futures: Futures
    seed: int
    workers: int
    stop: StopSignal

    def best(self, losses: Losses, budget: Budget) -> Plans | None:
        """The plans that lose least, of those that begin as any one of the futures does; None where none was found in time.

        Every opening is looked at for a while, and the best of them then for the rest of the time.
        """
        best: Plans | None = None
        leading = None
        with budget.lent(SHARE_OF_ALL) as first:
            for number, lead in enumerate(self.futures.own):
                with first.lent(1 / (len(self.futures.own) - number)) as own:
                    plans = self._led_by(lead, own, losses, best)
                if plans is not None:
                    best, leading = plans, lead
        if best is None or leading is None:
            return None
        again = self._led_by(leading, budget, losses, None, best)
        return again if again is not None and losses.better(again, best) else best

    def _led_by(self, lead: str, budget: Budget, losses: Losses, best: Plans | None, known: Plans | None = None) -> Plans | None:
        """The plans that begin as one future does; None where they do not exist, were not found or lose more than the best."""
        begun = self.futures.begun(lead, self.futures.own[lead].sequence)
        plans: dict[str, Sequence] = {name: own.sequence for name, own in self.futures.own.items()}
        others = [name for name in self.futures.own if name != lead]
        for first in range(0, len(others), AT_ONCE):
            few = others[first : first + AT_ONCE]
            searches = [partial(self.continued, name, begun, known[name] if known is not None else None) for name in few]
            with budget.lent(1 / -(-(len(others) - first) // AT_ONCE)) as own:
                found = abreast(searches, own)
            for name, sequence in zip(few, found, strict=True):
                if sequence is None:
                    return None
                plans[name] = sequence
            # Those still to come lose nothing in this reckoning.
            if best is not None and not losses.better(plans, best):
                return None
        return plans

    def continued(self, name: str, begun: Begun, known: Sequence | None, budget: Budget) -> Sequence | None:
        """A future's best sequence with this opening, as far as the budget goes."""
        whole = self._search(name, begun, self.futures.every)
        if known is not None:
            whole.start_from(known)
        elif not whole.begin(budget):
            return None
        if len(self.futures.parts) == 1:
            return whole.settle(budget).sequence
        prepared = self.futures.prepared[name]
        apart = ClassesApart(tuple(self._search(name, begun, part) for part in self.futures.parts))
        build = partial(self._model, name, begun)
        several = many_classes(prepared, apart, build, self.seed, self.workers, self.stop, floor=whole.model.floor)
        several.start_from(whole.held)
        return several.settle(budget).sequence

    def _model(self, name: str, begun: Begun, classes: tuple[int, ...]) -> ClassesModel:
        model = build_model(self.futures.prepared[name], classes)
        begin_as(model, begun)
        return model

    def _search(self, name: str, begun: Begun, classes: tuple[int, ...]) -> GroupSearch[Sequence]:
        model = self._model(name, begun, classes)
        return GroupSearch(Continued(model, self.futures.own[name]), self.seed, self.workers, self.stop)
