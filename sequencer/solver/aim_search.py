"""One group of classes, solved aim by aim: make the first small, hold what was reached, go on."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic

from sequencer.aims.base import Objective
from sequencer.errors import RefereeDisagrees
from sequencer.solver.apart import ClassesApart
from sequencer.solver.costs import cost
from sequencer.solver.neighbourhoods import NearSearch
from sequencer.solver.posting import total
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import Budget, Calls, StopSignal, share_of_next
from sequencer.solver.sought import Held, Sought
from sequencer.words import DISTANCE

SHARE_APART = 0.8
"""Share of an aim's effort for bounds and sequences of single parts, where classes are coupled."""

SHARE_OF_OWN = 0.5
"""Share of all time and effort that is left for a bound that the model finds out by itself."""

AFTER_OWN = 3
"""After such a bound so many times as many pieces of work are reckoned with: what is held is rarely bettered."""

SHARE_OF_UNITS = 0.3
"""Share of an aim's effort for what each unit needs at least, where that is worth looking for."""

SHARE_OF_BOUNDS = 0.6
"""Share of the effort for single parts that goes to their bounds."""

UnitBounds = Callable[[Calls, Budget], Iterable[tuple[frozenset[int], int]]]
"""Given what may call the solver and what it may spend: lessons, and what their distances come to at least."""


@dataclass(frozen=True)
class StageResult:
    """One aim over one group of classes."""

    aim: str
    value: int
    bound: int
    conditional: bool

    @property
    def proven(self) -> bool:
        """Whether no smaller value is possible (under the values held before)."""
        return self.value == self.bound


@dataclass(frozen=True)
class GroupResult(Generic[Held]):
    """What was found for one group of classes, one sequence unless several were asked for, and every aim in order."""

    sequence: Held
    stages: tuple[StageResult, ...]


class GroupSearch(NearSearch[Held]):
    """Settles the aims of one model in order.

    Parameters
    ----------
    apart
        Searches over parts of its classes, when it has several.
    units
        What the distances of some lessons come to at least, unit by unit, where that is worth looking for.
    """

    def __init__(
        self,
        model: Sought[Held],
        seed: int,
        workers: int,
        stop: StopSignal,
        report: Callable[[Progress], None] | None = None,
        apart: ClassesApart[Held] | None = None,
        units: UnitBounds | None = None,
    ) -> None:
        super().__init__(model, seed, workers, stop, report)
        self.apart = apart
        self.units = units

    def settle(self, budget: Budget, first: int = 0) -> GroupResult[Held]:
        """Every aim from one on in turn, those before it being held; the best sequence when the budget runs out."""
        bounds: list[int] = []
        aims = self.model.aims
        for place, aim in list(enumerate(aims))[first:]:
            bound = self.least(place, budget, len(aims) - place)
            value = self.value(aim.name)
            if bound > value:
                raise RefereeDisagrees(f"{aim.name}: the model proves at least {bound}, the referee counts {value}")
            bounds.append(bound)
            self.tell(aim.name, value, bound)
            self.hold(aim, value)
            if self.apart is not None:
                self.apart.hold(place, value)
        # A later stage may have bettered an aim that was not proven: what counts is the sequence that is handed out.
        stages: list[StageResult] = []
        for aim, bound in zip(aims[first:], bounds, strict=True):
            conditional = any(not stage.proven for stage in stages)
            stages.append(StageResult(aim.name, self.value(aim.name), bound, conditional))
        return GroupResult(self.held, tuple(stages))

    def least(self, place: int, budget: Budget, parts: int = 1) -> int:
        """Make one aim small, those before it being held already: a bound of it, with a sequence as good as was found."""
        aim = self.model.aims[place]
        bound = self.model.floor(place, self._held_at)
        if self.value(aim.name) > bound:
            own = self._by_itself(place, budget)
            if own > aim.floor:
                bound, parts = max(bound, own), parts * AFTER_OWN
            if self.apart is not None:
                bound = self._settle_apart(self.apart, place, budget, parts, bound)
            if self.units is not None and aim.name == DISTANCE:
                bound = max(bound, self._by_units(self.units, aim, budget, parts))
            if self.value(aim.name) > bound:
                bound = max(bound, self.improve(aim, budget, parts, bound))
        return bound

    def _settle_apart(self, apart: ClassesApart[Held], place: int, budget: Budget, parts: int, known: int) -> int:
        """The bound of the parts together; what they found is tried, then the bound itself, then one or two parts at a time."""
        aim = self.model.aims[place]
        with budget.lent(share_of_next(parts) * SHARE_APART) as own:
            with own.lent(SHARE_OF_BOUNDS) as for_bounds:
                bound = max(known, apart.bound(place, aim, self.held, for_bounds))
            self.calls.clocked |= apart.clocked
            if aim.terms and bound > aim.floor:
                self.no_less(aim, bound)
            self.tell_parts(apart)
            with self.made_small(aim, bound):
                if apart.within(self._held_at):
                    self.side_by_side(aim, apart.sequence(), apart.parts, own)
                self.bound = self.from_below(aim, bound, own)
                self.by_parts(aim, apart.parts, own)
                return self.from_below(aim, self.bound, own)

    def tell_parts(self, apart: ClassesApart[Held]) -> None:
        """Say in the model what each part comes to at least on the aim that was bounded last."""
        for place, classes, least in apart.least():
            self.model.solver_model.add(cost(self.model.aims[place], classes) >= least)

    def _by_itself(self, place: int, budget: Budget) -> int:
        """What the model knows to find out of a bound, and nobody else; posted."""
        with budget.lent(SHARE_OF_OWN) as own:
            bound = self.model.bound(place, self._held_at, self.held, own)
        if bound > self.model.aims[place].floor:
            self.no_less(self.model.aims[place], bound)
        return bound

    def _by_units(self, units: UnitBounds, aim: Objective, budget: Budget, parts: int) -> int:
        """Say in the model what each unit's distances come to at least; what they come to together."""
        together = 0
        with budget.lent(share_of_next(parts) * SHARE_OF_UNITS) as own:
            for lessons, least in units(self.calls, own):
                own_terms = total((term.variable, term.weight) for term in aim.terms if term.lesson in lessons)
                self.model.solver_model.add(own_terms >= least)
                together += least
        self.no_less(aim, together)
        return together
