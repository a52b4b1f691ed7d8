"""One group of classes, solved aim by aim: make the first small, hold what was reached, go on."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Generic

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.solver.aim_terms import Aim
from sequencer.solver.neighbourhoods import Apart, by_futures, by_parts, by_time, from_below, side_by_side
from sequencer.solver.posting import total
from sequencer.solver.progress import AimWatcher, Progress
from sequencer.solver.solution import fix, hint_solution
from sequencer.solver.solver_calls import FIRST_ALONE, Budget, Calls, StopSignal
from sequencer.solver.sought import Held, Movable, Sought
from sequencer.words import DISTANCE

SHARE_APART = 0.8
"""Share of an aim's effort for bounds and sequences of single parts, where classes are coupled."""

SHARE_OF_OWN = 0.5
"""Share of all time and effort that is left for a bound that the model finds out by itself."""

AFTER_OWN = 3
"""After such a bound so many times as many pieces of work are reckoned with: what is held is rarely bettered."""

SHARE_OF_UNITS = 0.3
"""Share of an aim's effort for what each unit needs at least, where that is worth looking for."""

SHARE_NEAR = 0.3
"""Share of an aim's time and effort for sequences near the one held, before the whole model is searched."""

SHARE_OF_BOUNDS = 0.6
"""Share of that for the bounds alone."""

SHARE_OF_SEEKING = 0.3
"""Share of what is left of it for one look for a sequence at the bound.

Measured on six coupled classes, distance held at 69 where the parts alone come to 64: a sequence at 64 within 0.3 s, where
making the distance of the whole model small ended at 69 after 40 s; where there is none, that is proven in 0.3 to 9 s for each
value up to the best."""

SHARE_OF_TRY = 0.15
"""Share of what is left of that for one try with some parts left as they are."""


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


class GroupSearch(Generic[Held]):
    """Settles the aims of one model in order.

    Parameters
    ----------
    model
        The model of the group, and what is held of it.
    seed, workers
        Handed to the solver. The number of workers is fixed, whatever the cores, so that the answer can be repeated.
    stop
        The caller's signal.
    report
        Called with every improvement, from the solver's threads.
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
        apart: Apart[Held] | None = None,
        units: UnitBounds | None = None,
    ) -> None:
        self.model = model
        self.apart = apart
        self.units = units
        self.report = report
        self._calls = Calls(seed, workers, stop)
        self.classes = model.class_ids
        self.started = time.monotonic()
        self._ways, self._alone = model.way
        self._best: Held | None = None
        self._values: dict[str, int] = {}
        self._held_at: dict[str, int] = {}
        self._bound = 0
        self._impossible = False

    def begin(self, budget: Budget) -> bool:
        """Look for a first sequence until the clock's end; whether one is held."""
        return self._construct(budget) or self._solve(None, budget, 1)

    def _construct(self, budget: Budget) -> bool:
        """Take a first sequence made without search, where that is worth while and the model allows it; whether it does."""
        for held, free in self.model.begins():
            if self._best is None:
                self._try_near(held, free, budget.ends, FIRST_ALONE, lambda _: True)
        return self._best is not None

    @property
    def stopped_by(self) -> str | None:
        """What cut the search short so far; None when nothing did."""
        return self._calls.stopped_by

    @property
    def clocked(self) -> bool:
        """Whether the clock cut any call short, so that another run may take another way."""
        return self._calls.clocked

    @property
    def impossible(self) -> bool:
        """Whether the search has proven that no sequence exists."""
        return self._impossible

    def settle(self, budget: Budget) -> GroupResult[Held]:
        """Every aim in turn within the budget, from the first sequence on; the best sequence when it runs out."""
        assert self._best is not None, "begin comes first"
        bounds: list[int] = []
        aims = self.model.aims
        for place, aim in enumerate(aims):
            bound = self.model.floor(place, self._held_at)
            if self._values[aim.name] > bound:
                bound = max(bound, self._settle_one(place, aim, budget, bound, len(aims) - place))
            value = self._values[aim.name]
            if bound > value:
                raise RefereeDisagrees(f"{aim.name}: the model proves at least {bound}, the referee counts {value}")
            bounds.append(bound)
            self.tell(aim.name, value, bound)
            self.hold(aim, value)
            if self.apart is not None:
                self.apart.hold(place, value)
        # A later stage may have bettered an aim that was not proven: what counts is the sequence that is handed out.
        stages: list[StageResult] = []
        for aim, bound in zip(aims, bounds, strict=True):
            conditional = any(not stage.proven for stage in stages)
            stages.append(StageResult(aim.name, self._values[aim.name], bound, conditional))
        return GroupResult(self._best, tuple(stages))

    def least(self, place: int, budget: Budget) -> int:
        """A bound of one aim, those before it being held already; with it a sequence, as good as was found."""
        aim = self.model.aims[place]
        bound = self.model.floor(place, self._held_at)
        return self._settle_one(place, aim, budget, bound, 1) if self._values[aim.name] > bound else bound

    def _settle_one(self, place: int, aim: Aim, budget: Budget, bound: int, parts: int) -> int:
        """Make one aim small, first part by part where there are several; the bound proven, no less than the one known."""
        own = self._by_itself(place, budget)
        if own > aim.floor:
            bound, parts = max(bound, own), parts * AFTER_OWN
        if self.apart is not None:
            bound = max(bound, self._settle_apart(self.apart, place, aim, budget, parts, bound))
        if self.units is not None and aim.name == DISTANCE:
            bound = max(bound, self._by_units(self.units, aim, budget, parts))
        return bound if self._values[aim.name] <= bound else max(bound, self.improve(aim, budget, parts, bound))

    def _settle_apart(self, apart: Apart[Held], place: int, aim: Aim, budget: Budget, parts: int, known: int) -> int:
        """The bound of the parts together; what they found is tried, then the bound itself, then one or two parts at a time."""
        seconds, effort = budget.share(parts)
        own = Budget(time.monotonic() + seconds * SHARE_APART, effort * SHARE_APART)
        allowed = own.effort
        with own.lent(SHARE_OF_BOUNDS) as for_bounds:
            bound = max(known, apart.bound(place, aim, self.held, for_bounds))
        self._calls.clocked |= apart.clocked
        if aim.terms and bound > aim.floor:
            self._no_less(aim, bound)
        self.tell_parts(apart)
        with self._made_small(aim):
            self._bound = bound
            if apart.within(self._held_at):
                side_by_side(self, aim, apart, own)
            bound = from_below(self, aim, bound, own)
            by_parts(self, aim, apart, bound, own)
            bound = from_below(self, aim, bound, own)
        budget.effort -= allowed - own.effort
        return bound

    def tell_parts(self, apart: Apart[Held]) -> None:
        """Say in the model what each part comes to at least on the aim that was bounded last."""
        for place, classes, least in apart.least():
            self.model.solver_model.add(_cost(self.model.aims[place], classes) >= least)

    def _by_itself(self, place: int, budget: Budget) -> int:
        """What the model knows to find out of a bound, and nobody else; posted."""
        with budget.lent(SHARE_OF_OWN) as own:
            bound = self.model.bound(place, self._held_at, self.held, own)
        if bound > self.model.aims[place].floor:
            self._no_less(self.model.aims[place], bound)
        return bound

    def _by_units(self, units: UnitBounds, aim: Aim, budget: Budget, parts: int) -> int:
        """Say in the model what each unit's distances come to at least; what they come to together."""
        seconds, effort = budget.share(parts)
        own = Budget(time.monotonic() + seconds * SHARE_OF_UNITS, effort * SHARE_OF_UNITS)
        budget.effort -= own.effort
        together = 0
        for lessons, least in units(self._calls, own):
            own_terms = total((term.variable, term.weight) for term in aim.terms if term.lesson in lessons)
            self.model.solver_model.add(own_terms >= least)
            together += least
        budget.effort += own.effort
        self._no_less(aim, together)
        return together

    def seek(self, aim: Aim, most: int, budget: Budget) -> bool | None:
        """Look for a sequence in which the aim is no more than so much: whether one exists, None where that is not settled."""
        settled: bool | None = None

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal settled
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                self._keep(solver)
                settled = True
            elif status == cp_model.INFEASIBLE:
                self._no_less(aim, most + 1)
                settled = False
            return settled is not None

        model = self.model.solver_model.clone()
        model.clear_objective()  # type: ignore[no-untyped-call]
        model.add(_cost(aim) <= most - aim.constant)
        budget.effort -= self._calls.attempt(model, budget.ends, budget.effort * SHARE_OF_SEEKING, take, self._ways[0][0])
        return settled

    def _no_less(self, aim: Aim, bound: int) -> None:
        """Post a bound that was proven."""
        self.model.solver_model.add(_cost(aim) >= bound - aim.constant)

    def improve(self, aim: Aim, budget: Budget, parts: int = 1, bound: int | None = None) -> int:
        """Make the aim small from the sequence held so far; the bound proven, no less than the one known."""
        with self._made_small(aim):
            self._solve(aim, budget, parts, bound)
        return self._bound

    @contextmanager
    def _made_small(self, aim: Aim) -> Iterator[None]:
        """The aim as the model's objective, for a while."""
        model = self.model.solver_model
        model.minimize(_cost(aim) + aim.constant)
        yield
        model.clear_objective()  # type: ignore[no-untyped-call]

    def hold(self, aim: Aim, most: int) -> None:
        """Let the aim be no more than so much from now on."""
        self._held_at[aim.name] = most
        if aim.terms:
            self.model.solver_model.add(_cost(aim) <= most - aim.constant)

    def value(self, aim: str) -> int:
        """The referee's count of an aim of the best sequence so far."""
        return self._values[aim]

    @property
    def begun(self) -> bool:
        """Whether a sequence is held."""
        return self._best is not None

    @property
    def held(self) -> Held:
        """The best sequence so far."""
        assert self._best is not None, "begin comes first"
        return self._best

    def start_from(self, held: Held, aim: str | None = None) -> None:
        """Take the part of what is held that is this model's, unless what it holds itself is allowed and better for an aim."""
        own = self.model.own(held)
        values = self.model.counts(own)
        allowed = self._best is not None and all(self._values[name] <= most for name, most in self._held_at.items())
        if not allowed or aim is None or self._values[aim] > values[aim]:
            self._best, self._values = own, values
            self.model.hint(own)

    def attempt(self, aim: Aim, sequence: Held, free: frozenset[Movable], budget: Budget) -> bool:
        """Look for a better sequence with all lessons but the free ones as they are in a sequence; whether one exists at all."""
        if budget.effort <= 0 or time.monotonic() >= budget.ends:
            return False
        found, spent = self._try_near(
            sequence, free, budget.ends, budget.effort * SHARE_OF_TRY, lambda value: round(value) < self._values[aim.name]
        )
        budget.effort -= spent
        if found:
            self.tell(aim.name, self._values[aim.name], self._bound)
        return found

    def _try_near(
        self, sequence: Held, free: frozenset[Movable], ends: float, effort: float, wanted: Callable[[float], bool]
    ) -> tuple[bool, float]:
        """Search with all lessons but the free ones as they are in a sequence, and keep what is found if its value is wanted.

        Whether a sequence was found, and the effort it took.
        """
        model = self.model.solver_model.clone()
        fix(model, self.model.starts(sequence, free))
        found = False

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal found
            found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
            if found and wanted(solver.objective_value):
                self._keep(solver)
            return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)

        spent = self._calls.attempt(model, ends, effort, take, self._ways[0][0])
        return found, spent

    def _solve(self, aim: Aim | None, budget: Budget, parts: int, bound: int | None = None) -> bool:
        """Search for a first sequence, or for one that is better on an aim; whether a sequence is held afterwards."""
        self._impossible = False
        if aim is not None:
            self._bound = aim.floor if bound is None else max(bound, aim.floor)
        seconds, effort = budget.share(parts)

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            return self._take(aim, solver, status)

        if aim is not None:
            own = Budget(time.monotonic() + seconds * SHARE_NEAR, effort * SHARE_NEAR)
            allowed = own.effort
            by_futures(self, aim, self._bound, own)
            by_time(self, aim, self._bound, own)
            budget.effort -= allowed - own.effort
        watcher = None
        if self.report is not None and aim is not None:
            self.tell(aim.name, self._values[aim.name], self._bound)
            watcher = AimWatcher(self.tell, aim.name, self._values[aim.name], self._bound)
        spent = self._calls.run(self.model.solver_model, seconds, effort, take, aim is None, watcher, self._ways, self._alone)
        if aim is not None:
            budget.effort -= spent
        return self._best is not None

    def _take(self, aim: Aim | None, solver: cp_model.CpSolver, status: object) -> bool:
        """Keep what a call of the solver found and proved; whether that settles the question."""
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._keep(solver, aim)
        if aim is not None and status != cp_model.INFEASIBLE and _has_bound(solver, status):
            self._bound = max(self._bound, math.ceil(solver.best_objective_bound - 1e-6))
        counted = self._values[aim.name] if aim is not None else 0
        if aim is not None and status == cp_model.OPTIMAL and counted != round(solver.objective_value):
            raise RefereeDisagrees(f"{aim.name}: the model counts {solver.objective_value:.0f}, the referee {counted}")
        self._impossible = status == cp_model.INFEASIBLE
        if self._impossible and self._best is not None:
            raise RefereeDisagrees("the model proves that no sequence exists, but one is held")
        return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE) or (aim is None and status == cp_model.FEASIBLE)

    def _keep(self, solver: cp_model.CpSolver, aim: Aim | None = None) -> None:
        """Keep what was found, with the referee's count of every aim, and hand it to the next call as a hint.

        What is as good for the aim that was made small is kept only where it is better for the others, in order.
        """
        found = self.model.found(solver)
        values = self.model.counts(found)
        if aim is not None and self._best is not None:
            names = [aim.name, *(each.name for each in self.model.aims)]
            if [values[name] for name in names] >= [self._values[name] for name in names]:
                return
        self._best, self._values = found, values
        hint_solution(self.model.solver_model, solver)

    def tell(self, aim: str, value: int, bound: int) -> None:
        """Report what the search has reached, where anybody listens."""
        if self.report is not None:
            self.report(Progress(aim, self.classes, value, bound, time.monotonic() - self.started))


def _has_bound(solver: cp_model.CpSolver, status: object) -> bool:
    """Whether the solver says a bound: cut short before it has found anything it says 0, which losses can be less than."""
    bound = solver.best_objective_bound
    return math.isfinite(bound) and (status != cp_model.UNKNOWN or bound != 0)


def _cost(aim: Aim, classes: tuple[int, ...] | None = None) -> cp_model.LinearExpr:
    """What the aim's terms come to, of all classes or of some."""
    return total((term.variable, term.weight) for term in aim.terms if classes is None or term.of in classes)
