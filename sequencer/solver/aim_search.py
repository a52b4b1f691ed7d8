"""One group of classes, solved aim by aim: make the first small, hold what was reached, go on."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Generic

from sequencer.errors import RefereeDisagrees
from sequencer.solver.apart import ClassesApart
from sequencer.solver.costs import cost
from sequencer.solver.neighbourhoods import NearSearch
from sequencer.solver.progress import Progress
from sequencer.solver.raised import RaisedLimit
from sequencer.solver.solver_calls import Budget, StopSignal, share_of_next
from sequencer.solver.sought import Held, Sought

SHARE_APART = 0.8
"""Share of an aim's effort for bounds and sequences of single parts, where classes are coupled."""

SHARE_OF_OWN = 0.5
"""Share of all time and effort that is left for a bound that the model finds out by itself."""

AFTER_OWN = 3
"""After such a bound so many times as many pieces of work are reckoned with: what is held is rarely bettered."""

SHARE_BY_PERIODS, MOST_BY_PERIODS = 1.3, 0.7
"""So many times its share of time and effort an aim has for the programme over the class's periods, and this part of what is left
at most, so that the solver has its turn where that does not end; what is over comes back."""

MOST_TOGETHER = 200
"""Lessons of coupled classes of which, all in one model, a sequence at a bound is asked for: of more that is rarely settled."""

SHARE_OF_BOUNDS = 0.6
"""Share of the effort for single parts that goes to their bounds."""


@dataclass(frozen=True)
class Charge:
    """What it costs that a lesson starts between two slots, both included."""

    lesson: int
    first: int
    last: int
    much: int


@dataclass(frozen=True)
class ClassCost:
    """What one class pays: so much for each of some aims, by name, and for where lessons start."""

    aims: Mapping[str, int]
    charges: tuple[Charge, ...] = ()


@dataclass(frozen=True)
class SteppedThrough:
    """What a class comes to at least under prices; where the lessons of the cheapest sequence found start; what that took.

    Parameters
    ----------
    whole
        Whether all was looked at: none is cheaper.
    """

    least: int
    starts: dict[int, int] | None
    whole: bool
    effort: float


class Periods(ABC, Generic[Held]):
    """What goes through one class's periods by itself, beside the solver (``chain``)."""

    clocked: bool

    @property
    @abstractmethod
    def told(self) -> tuple[str, ...]:
        """The aims of which steps tell what they count, in their order."""

    @abstractmethod
    def first(self, budget: Budget) -> Held | None:
        """A sequence to begin with; it may break what the programme leaves out."""

    @abstractmethod
    def settle(self, place: int, values: Mapping[str, int], budget: Budget) -> tuple[int, Held | None]:
        """A bound of an aim that holds, those before it being held at these values; and a sequence that may be better."""

    @abstractmethod
    def priced(
        self,
        cost: ClassCost,
        held: Mapping[str, int],
        within: Iterable[tuple[ClassCost, int, int]],
        most: int | None,
        budget: Budget,
        likely: bool = False,
    ) -> tuple[SteppedThrough, Held | None] | None:
        """What the class comes to at least on a cost; None where steps do not tell.

        Parameters
        ----------
        held
            Of each aim that is held its most.
        within
            Costs, each with what it comes to at least and at most.
        most
            Only sequences that come to no more are looked for, where it is said.
        likely
            Whether a sequence that is likely to be the cheapest is enough: then little is proven.
        """


@dataclass(frozen=True)
class StageResult:
    """One aim over one group of classes; what is known of it if shared limits allowed more."""

    aim: str
    value: int
    bound: int
    conditional: bool
    raised: tuple[RaisedLimit, ...] = ()

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
    periods
        The programme over the periods of its only class, where that is worth asking.
    """

    def __init__(
        self,
        model: Sought[Held],
        seed: int,
        workers: int,
        stop: StopSignal,
        report: Callable[[Progress], None] | None = None,
        apart: ClassesApart[Held] | None = None,
        periods: Periods[Held] | None = None,
    ) -> None:
        super().__init__(model, seed, workers, stop, report)
        self.apart = apart
        self.periods = periods

    def begin_beside(self, budget: Budget) -> None:
        if self.periods is not None:
            with budget.lent(SHARE_OF_OWN) as own:
                first = self.periods.first(own)
            if first is not None:
                self.take_up(first, budget)

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
                parts *= AFTER_OWN
            if self.periods is not None and self.value(aim.name) > bound:
                bound = max(bound, self._by_periods(self.periods, place, budget, parts))
            if self.value(aim.name) > bound:
                bound = max(bound, self.improve(aim, budget, parts, bound))
        return bound

    def _settle_apart(self, apart: ClassesApart[Held], place: int, budget: Budget, parts: int, known: int) -> int:
        """The bound of the parts together; then a sequence at the bound is looked for."""
        aim = self.model.aims[place]
        with budget.lent(share_of_next(parts) * SHARE_APART) as own:
            with own.lent(SHARE_OF_BOUNDS) as for_bounds:
                bound = max(known, apart.bound(place, aim, self.held, for_bounds))
            self.calls.clocked |= apart.clocked
            if aim.terms and bound > aim.floor:
                self.no_less(aim, bound)
            self.tell_parts(apart)
            with self.made_small(aim, bound):
                few = len(self.model.movable(self.model.class_indices)) <= MOST_TOGETHER
                return self.from_below(aim, bound, own) if few else bound

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

    def _by_periods(self, periods: Periods[Held], place: int, budget: Budget, parts: int) -> int:
        """What the programme over the periods proves; what it finds is taken up where the model allows it."""
        aim = self.model.aims[place]
        with budget.lent(min(MOST_BY_PERIODS, share_of_next(parts) * SHARE_BY_PERIODS)) as own:
            bound, plan = periods.settle(place, self._values, own)
        self.calls.clocked |= periods.clocked
        if plan is not None:
            self.take_up(plan, budget, aim)
        if bound > aim.floor:
            self.no_less(aim, min(bound, self.value(aim.name)))
        return bound
