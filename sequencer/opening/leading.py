"""Plans that begin alike, as one future's own best does: with the opening settled, every future is planned by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.model.apart import ClassesApart
from sequencer.model.build import Model, Prepared, build_model
from sequencer.model.calls import Budget, StopSignal
from sequencer.model.posting import total
from sequencer.model.search import GroupSearch
from sequencer.model.sought import SequenceSought, Trial
from sequencer.opening.losses import Losses, Own, Plans
from sequencer.opening.model import Begun, begin_as
from sequencer.sequence import Sequence


class Continued(SequenceSought):
    """One future, its opening settled: no aim needs to be made smaller than in its own best.

    Parameters
    ----------
    model
        The future's model, in which the opening is settled.
    own
        The future's own best.
    """

    def __init__(self, model: Model, own: Own) -> None:
        super().__init__(model)
        self._own = own
        self._of_own = self.counts(self.own(own.sequence))

    def begins(self) -> Iterator[Trial[Sequence]]:
        """As few lessons as can be elsewhere than in its own best."""
        own = self.own(self._own.sequence)
        elsewhere = [~start for start, here in self.starts(own, frozenset()) if here]
        self.solver_model.minimize(total((each, 1) for each in elsewhere))
        yield own, self.movable(self.class_indices)
        self.solver_model.clear_objective()  # type: ignore[no-untyped-call]

    def floor(self, place: int, values: Mapping[str, int]) -> int:
        """What the future's own best proves, where nothing is lost on an earlier aim."""
        aim = self.aims[place]
        if any(values[before.name] > self._of_own[before.name] for before in self.aims[:place]):
            return aim.floor
        return max(aim.floor, self._own.bounds[aim.name])


@dataclass(frozen=True)
class Leading:
    """Looks for plans that begin as one future's own best does.

    Parameters
    ----------
    prepared, own
        The futures by name, and the own best of each.
    until
        The date by which it is known which of them comes.
    parts
        The classes in parts.
    seed, workers, stop
        As in any search.
    """

    prepared: Mapping[str, Prepared]
    own: Mapping[str, Own]
    until: date
    parts: tuple[tuple[int, ...], ...]
    seed: int
    workers: int
    stop: StopSignal

    def best(self, losses: Losses, budget: Budget) -> Plans | None:
        """The plans that lose least, of those that begin as any one of the futures does; None where none was found in time."""
        best: Plans | None = None
        for number, lead in enumerate(self.own):
            own = budget.part(1 / (len(self.own) - number))
            allowed = own.effort
            plans = self._led_by(lead, own, losses, best)
            budget.effort -= allowed - own.effort
            if plans is not None:
                best = plans
        return best

    def _led_by(self, lead: str, budget: Budget, losses: Losses, best: Plans | None) -> Plans | None:
        """The plans that begin as one future does; None where they do not exist, were not found or lose more than others."""
        begun = Begun.of({name: each.instance for name, each in self.prepared.items()}, self.until, lead, self.own[lead].sequence)
        plans: dict[str, Sequence] = {name: own.sequence for name, own in self.own.items()}
        others = [name for name in self.own if name != lead]
        for number, name in enumerate(others):
            own = budget.part(1 / (len(others) - number))
            allowed = own.effort
            sequence = self._continued(name, begun, own)
            budget.effort -= allowed - own.effort
            if sequence is None:
                return None
            plans[name] = sequence
            # Those still to come lose nothing in this reckoning.
            if best is not None and not losses.better(plans, best):
                return None
        return plans

    def _continued(self, name: str, begun: Begun, budget: Budget) -> Sequence | None:
        """A future's best sequence with this opening, as far as the budget goes."""
        whole, *alone = (
            self._search(name, begun, classes) for classes in (sum(self.parts, ()), *(self.parts if len(self.parts) > 1 else ()))
        )
        whole.apart = ClassesApart(tuple(alone)) if alone else None
        return whole.settle(budget).sequence if whole.begin(budget) else None

    def _search(self, name: str, begun: Begun, classes: tuple[int, ...]) -> GroupSearch[Sequence]:
        model = build_model(self.prepared[name], tuple(sorted(classes)))
        begin_as(model, begun)
        return GroupSearch(Continued(model, self.own[name]), self.seed, self.workers, self.stop)
