"""What a search holds, the best sequence so far with the referee's counts of it, and the questions by which it is bettered."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Generic

from ortools.sat.python import cp_model

from sequencer.aims.base import Objective
from sequencer.errors import RefereeDisagrees
from sequencer.solver.costs import cost
from sequencer.solver.progress import AimWatcher, PricesNow, Progress
from sequencer.solver.solution import fix, hint_solution
from sequencer.solver.solver_calls import FIRST_ALONE, LEAST_EFFORT, NONE, Budget, Calls, StopSignal
from sequencer.solver.sought import Held, Movable, Sought

SHARE_OF_SEEKING = 0.3
"""Share of what is left for one look for a sequence at the bound."""

SHARE_OF_TRY = 0.15
"""Share of what is left for one try with some lessons left as they are."""


Closer = Callable[[cp_model.CpModel, int], None]
"""Says in a model what else is known to hold where an aim is no more than so much."""


def no_closer(model: cp_model.CpModel, most: int) -> None:
    """Nothing else is known."""


class HeldSearch(Generic[Held]):
    """Holds the best that was found of one model and asks the solver for better.

    Parameters
    ----------
    report
        Called with every improvement, from the solver's threads.
    """

    def __init__(
        self,
        model: Sought[Held],
        seed: int,
        workers: int,
        stop: StopSignal,
        report: Callable[[Progress], None] | None = None,
    ) -> None:
        self.model = model
        self.report = report
        self.calls = Calls(seed, workers, stop)
        self.classes = model.class_ids
        self.impossible = False
        """Whether the search has proven that no sequence exists."""
        self.bound = 0
        """What is proven of the aim that is being made small."""
        self._started = time.monotonic()
        self._ways, self._alone = model.way
        self._best: Held | None = None
        self._values: dict[str, int] = {}
        self._held_at: dict[str, int] = {}
        self._least: dict[str, int] = {}

    @property
    def begun(self) -> bool:
        """Whether a sequence is held."""
        return self._best is not None

    @property
    def held(self) -> Held:
        """The best sequence so far."""
        assert self._best is not None, "begin comes first"
        return self._best

    @property
    def held_at(self) -> dict[str, int]:
        """The most of every aim that is held."""
        return self._held_at

    @property
    def held_between(self) -> dict[str, tuple[int, int]]:
        """Of every aim that is held what it comes to at least, as far as that is proven, and at most."""
        floors = {aim.name: aim.floor for aim in self.model.aims}
        return {name: (max(floors[name], self._least.get(name, 0)), most) for name, most in self._held_at.items()}

    def value(self, aim: str) -> int:
        """The referee's count of an aim of the best sequence so far."""
        return self._values[aim]

    def begin(self, budget: Budget) -> bool:
        """Look for a first sequence until the clock's end; whether one is held."""
        for held, free in self.model.begins():
            if not self.begun:
                self._try_near(held, free, Budget(budget.ends, FIRST_ALONE), lambda _: True)
        if not self.begun:
            self.begin_beside(budget)
        if not self.begun:
            self.search(None, budget)
        return self.begun

    def look(self, budget: Budget) -> None:
        """Look for a first sequence with one worker, within so much effort."""
        self.calls.attempt(self.model.solver_model, budget, lambda solver, status: self._take(None, solver, status), NONE)

    def begin_beside(self, budget: Budget) -> None:
        """Look for a first sequence by other means than the solver; nothing unless stated."""

    def start_from(self, held: Held, aim: str | None = None) -> None:
        """Take the part of what is held that is this model's, unless what it holds itself is allowed and better for an aim."""
        own = self.model.own(held)
        values = self.model.counts(own)
        allowed = self._best is not None and all(self._values[name] <= most for name, most in self._held_at.items())
        if not allowed or aim is None or self._values[aim] > values[aim]:
            self._best, self._values = own, values
            self.model.hint(own)

    def hold(self, aim: Objective, most: int) -> None:
        """Let the aim be no more than so much from now on."""
        self._held_at[aim.name] = most
        if aim.terms:
            self.model.solver_model.add(cost(aim) <= most - aim.constant)

    def no_less(self, aim: Objective, bound: int) -> None:
        """Post a bound that was proven."""
        self._least[aim.name] = max(bound, self._least.get(aim.name, aim.floor))
        self.model.solver_model.add(cost(aim) >= bound - aim.constant)

    @contextmanager
    def made_small(self, aim: Objective, bound: int) -> Iterator[None]:
        """The aim as the model's objective for a while, no less than a bound that is known."""
        model = self.model.solver_model
        model.minimize(cost(aim) + aim.constant)
        self.bound = bound
        yield
        model.clear_objective()  # type: ignore[no-untyped-call]

    def search(self, aim: Objective | None, budget: Budget) -> float:
        """Search for a first sequence, or for one that is better on the aim that is made small; the effort it took."""
        self.impossible = False
        watcher = None
        if self.report is not None and aim is not None:
            self.tell(aim.name, self._values[aim.name], self.bound)
            watcher = AimWatcher(self.tell, aim.name, self._values[aim.name], self.bound)

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            return self._take(aim, solver, status)

        return self.calls.run(self.model.solver_model, budget, take, aim is None, watcher, self._ways, self._alone)

    def seek(self, aim: Objective, most: int, budget: Budget, closer: Closer = no_closer) -> bool | None:
        """Look for a sequence in which the aim is no more than so much: whether one exists, None where that is not settled."""
        settled: bool | None = None

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal settled
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                self._keep(solver)
                settled = True
            elif status == cp_model.INFEASIBLE:
                self.no_less(aim, most + 1)
                settled = False
            return settled is not None

        model = self.model.solver_model.clone()
        model.clear_objective()  # type: ignore[no-untyped-call]
        model.add(cost(aim) <= most - aim.constant)
        closer(model, most)
        left = budget.effort * SHARE_OF_SEEKING
        for relaxation, effort in self._ways:
            if settled is None and left > LEAST_EFFORT:
                spent = self.calls.attempt(model, Budget(budget.ends, min(effort, left)), take, relaxation)
                budget.effort -= spent
                left -= spent
        return settled

    def attempt(self, aim: Objective, sequence: Held, free: frozenset[Movable], budget: Budget) -> bool:
        """Look for a better sequence with all lessons but the free ones as they are in a sequence; whether one exists at all."""
        own = budget.with_effort(SHARE_OF_TRY)
        if budget.over or own.effort < LEAST_EFFORT:
            return False
        found, spent = self._try_near(sequence, free, own, lambda value: round(value) < self._values[aim.name])
        budget.effort -= spent
        if found:
            self.tell(aim.name, self._values[aim.name], self.bound)
        return found

    def take_up(self, sequence: Held, budget: Budget, aim: Objective | None = None) -> None:
        """Hold a sequence that was found elsewhere, if the model allows it and it is better for an aim, then for the others."""
        _, spent = self._try_near(sequence, frozenset(), budget.with_effort(SHARE_OF_TRY), lambda _: True, aim)
        budget.effort -= spent
        if aim is not None:
            self.tell(aim.name, self._values[aim.name], self.bound)

    def tell(self, aim: str, value: int, bound: int, prices: PricesNow | None = None) -> None:
        """Report what the search has reached, where anybody listens."""
        if self.report is not None:
            self.report(Progress(aim, self.classes, value, bound, time.monotonic() - self._started, prices))

    def _try_near(
        self,
        sequence: Held,
        free: frozenset[Movable],
        budget: Budget,
        wanted: Callable[[float], bool],
        aim: Objective | None = None,
    ) -> tuple[bool, float]:
        """Search with all lessons but the free ones as they are in a sequence, and keep what is found if its value is wanted.

        Where an aim is given what is found has to be better for it, then for the others.

        Whether a sequence was found, and the effort it took.
        """
        model = self.model.solver_model.clone()
        fix(model, self.model.starts(sequence, free))
        found = False

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal found
            found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
            if found and wanted(solver.objective_value):
                self._keep(solver, aim)
            return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)

        spent = self.calls.attempt(model, budget, take, self._ways[0][0])
        return found, spent

    def _take(self, aim: Objective | None, solver: cp_model.CpSolver, status: object) -> bool:
        """Keep what a call of the solver found and proved; whether that settles the question."""
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._keep(solver, aim)
        if aim is not None and status != cp_model.INFEASIBLE and _has_bound(solver, status):
            self.bound = max(self.bound, math.ceil(solver.best_objective_bound - 1e-6))
        counted = self._values[aim.name] if aim is not None else 0
        if aim is not None and status == cp_model.OPTIMAL and counted != round(solver.objective_value):
            raise RefereeDisagrees(f"{aim.name}: the model counts {solver.objective_value:.0f}, the referee {counted}")
        self.impossible = status == cp_model.INFEASIBLE
        if self.impossible and self._best is not None:
            raise RefereeDisagrees("the model proves that no sequence exists, but one is held")
        return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE) or (aim is None and status == cp_model.FEASIBLE)

    def _keep(self, solver: cp_model.CpSolver, aim: Objective | None = None) -> None:
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


def _has_bound(solver: cp_model.CpSolver, status: object) -> bool:
    """Whether the solver says a bound: cut short before it has found anything it says 0, which losses can be less than."""
    bound = solver.best_objective_bound
    return math.isfinite(bound) and (status != cp_model.UNKNOWN or bound != 0)
