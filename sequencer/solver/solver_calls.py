"""Calls of the solver: how it is tuned, what it may spend, how a hand stops it, and what cut it short."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TypeVar

from ortools.sat.python import cp_model

EFFORT_PER_SECOND = 1.0
"""Effort (the solver's deterministic time) allowed per second of wall time. Two cores here did 0.4 to 1.6 a second, by model
and load; where the clock runs out first the answer says that it may not be repeated."""

LEAST_EFFORT = 0.05
"""Less is not spent on a try: ended before its work is counted, it would look as if the clock had cut it short."""

SHARE_ALONE = 0.3
"""Share of an aim's effort for which one worker tries by itself before several take turns."""

SHARE_ALONE_CHOOSING = 0.7
"""The same where one class's sequence chooses what is met again."""

NONE, LIGHT, HEAVY = 0, 1, 2
"""How much of a model one worker relaxes to a linear one."""

Ways = tuple[tuple[int, float], ...]
"""How one worker goes about an aim: relaxation and effort, in turn."""

QUICK = 2.0
"""Effort for deduction alone before a relaxation is made: most of what is proven is proven several times sooner so."""

USUAL: Ways = ((NONE, QUICK), (LIGHT, math.inf))

FOR_CHOICE: Ways = ((NONE, QUICK), (HEAVY, math.inf))
"""Where one class's sequence chooses what is met again."""

BY_DEDUCTION: Ways = ((NONE, math.inf),)
"""For a first sequence, and for several futures side by side: no relaxation helps them."""

PROVING = ("core", "max_lp", "default_lp", "reduced_costs", "quick_restart", "no_lp", "pseudo_costs", "lb_tree_search")
"""The solver's searches that take turns to make an aim small, as many as there are workers, most useful first; none of its own
neighbourhood searches, for those of ``neighbourhoods`` find more."""

FIRST_WORKERS = 8
"""Searches that take turns to find a first sequence."""

FIRST_ALONE = 4.0
"""Effort for which one worker looks for a first sequence before several do."""


class StopSignal:
    """Asks a solve to stop and keep the best sequence found so far; may be given before the solve starts."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stopped = False
        self.holding = False
        """Whether the solve holds a sequence, so that to stop it gives one."""
        self.by = "hand"
        """What gave it: ``hand``, or ``time``."""
        self._solvers: list[cp_model.CpSolver] = []

    def stop(self, by: str = "hand") -> None:
        """Stop now, by a hand or since the time is up; safe to call from any thread, more than once."""
        with self._lock:
            if not self._stopped:
                self.by = by
            self._stopped = True
            for solver in self._solvers:
                solver.stop_search()

    @property
    def stopped(self) -> bool:
        """Whether ``stop`` was called."""
        return self._stopped

    @contextmanager
    def watching(self, solver: cp_model.CpSolver) -> Iterator[None]:
        """A solver that ``stop`` has to reach while it searches; there may be several at once."""
        with self._lock:
            self._solvers.append(solver)
            if self._stopped:
                solver.stop_search()
        try:
            yield
        finally:
            with self._lock:
                self._solvers.remove(solver)


class Watcher(cp_model.CpSolverSolutionCallback):
    """Hears of every better sequence and of every better bound while the solver searches."""

    def on_bound(self, bound: float) -> None:
        """A better bound is proven; called from the solver's threads. Nothing is made of it unless overridden."""


@dataclass
class Budget:
    """What is left: the wall clock's end, and effort in the solver's deterministic units."""

    ends: float
    effort: float

    @property
    def over(self) -> bool:
        """Whether nothing is left."""
        return self.effort <= 0 or time.monotonic() >= self.ends

    def with_effort(self, fraction: float) -> Budget:
        """The whole of the clock with this fraction of the effort that is left."""
        return Budget(self.ends, self.effort * fraction)

    def part(self, fraction: float) -> Budget:
        """A budget of its own with this fraction of what is left."""
        now = time.monotonic()
        return Budget(now + max(0.0, self.ends - now) * fraction, max(0.0, self.effort) * fraction)

    @contextmanager
    def lent(self, fraction: float) -> Iterator[Budget]:
        """A part of the budget for a piece of work; what it leaves of the effort comes back."""
        own = self.part(fraction)
        self.effort -= own.effort
        yield own
        self.effort += own.effort


def share_of_next(parts: int) -> float:
    """What the next of so many pieces of work may take of what is left; the early ones may take more."""
    return min(1.0, 1.6 / max(1, parts))


AT_ONCE = 2
"""Searches that are made side by side where they have nothing to do with each other; whatever the cores, for the same answer."""

Found = TypeVar("Found")


def abreast(searches: Sequence[Callable[[Budget], Found]], budget: Budget) -> list[Found]:
    """Searches a few at a time, each in a thread of its own; those at once share the clock, and their effort counts once."""
    found: list[Found] = []
    while len(found) < len(searches):
        few = searches[len(found) : len(found) + AT_ONCE]
        own = budget.part(1 / math.ceil((len(searches) - len(found)) / AT_ONCE))
        budgets = [Budget(own.ends, own.effort) for _ in few]
        with ThreadPoolExecutor(len(few)) as threads:
            found += threads.map(lambda search, share: search(share), few, budgets)
        budget.effort -= max(own.effort - each.effort for each in budgets)
    return found


def tune(solver: cp_model.CpSolver, workers: int, first: bool, relaxation: int = LIGHT) -> None:
    """Search parameters, for the first sequence or for making an aim small.

    On half terms probing, symmetry detection and further rounds of presolve take more time than they save.
    """
    parameters = solver.parameters
    parameters.catch_sigint_signal = False  # the caller's StopSignal stops us; the solver's own handler ends the process
    parameters.num_workers = workers
    parameters.interleave_search = workers > 1
    parameters.cp_model_probing_level = 0
    parameters.symmetry_level = 0
    if workers > 1 and not first:
        parameters.subsolvers.extend(PROVING)
        parameters.use_lns = False
    if workers == 1:
        parameters.max_presolve_iterations = 1
        parameters.linearization_level = NONE if first else relaxation


def solver_for(seed: int, workers: int, first: bool, relaxation: int, seconds: float, effort: float) -> cp_model.CpSolver:
    """A solver within limits."""
    solver = cp_model.CpSolver()
    tune(solver, workers, first, relaxation)
    solver.parameters.random_seed = seed
    solver.parameters.max_time_in_seconds = seconds
    if math.isfinite(effort):
        solver.parameters.max_deterministic_time = effort
    return solver


class Calls:
    """Calls the solver within limits, and knows what cut a call short.

    The number of workers is fixed, whatever the cores, so that the answer can be repeated.
    """

    def __init__(self, seed: int, workers: int, stop: StopSignal) -> None:
        self.seed = seed
        self.workers = workers
        self.stop = stop
        self.stopped_by: str | None = None
        self.clocked = False
        """Whether the clock or a hand cut any call short, so that another run may take another way."""

    def run(
        self,
        model: cp_model.CpModel,
        budget: Budget,
        take: Callable[[cp_model.CpSolver, object], bool],
        first: bool = False,
        watcher: Watcher | None = None,
        ways: Ways = USUAL,
        share_alone: float = SHARE_ALONE,
    ) -> float:
        """Search until the question is settled or a limit is reached; the effort it took.

        One worker first, for a little while: on easy models it is several times faster than many that take turns. ``take`` is
        given every outcome (the solver and its status) and says whether it settles the question. A search for a ``first``
        sequence is ended by the wall clock only.
        """
        ends, effort = budget.ends, math.inf if first else budget.effort
        alone = FIRST_ALONE if first else effort * share_alone
        quick = alone if self.workers > 1 else effort
        finished, spent = False, 0.0
        for relaxation, most in BY_DEDUCTION if first else ways:
            if not finished and quick > spent:
                finished, more = self._call(model, 1, ends, min(most, quick - spent), take, first, watcher, relaxation)
                spent += more
        if not finished and self.workers > 1 and effort > quick:
            workers = max(self.workers, FIRST_WORKERS) if first else self.workers
            finished, more = self._call(model, workers, ends, effort - spent, take, first, watcher)
            spent += more
        if not finished:
            self.stopped_by = self._cut_by(first, ends, effort - spent)
            self.clocked |= self.stopped_by != "effort"
        return spent

    def attempt(
        self,
        model: cp_model.CpModel,
        budget: Budget,
        take: Callable[[cp_model.CpSolver, object], bool],
        relaxation: int,
        watcher: Watcher | None = None,
    ) -> float:
        """One call of one worker, whose being cut short settles nothing and is no news; the effort it took."""
        finished, spent = self._call(model, 1, budget.ends, budget.effort, take, False, watcher, relaxation)
        if not finished and (spent < budget.effort * 0.99 or self.stop.stopped):
            self.clocked = True
        return spent

    def refuted(self, model: cp_model.CpModel, budget: Budget) -> bool:
        """Whether several futures' model is proven to have no solution; the effort is taken from the budget."""
        refuted = False

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal refuted
            refuted = status == cp_model.INFEASIBLE
            return status != cp_model.UNKNOWN

        budget.effort -= self.attempt(model, budget, take, NONE)
        return refuted

    def _cut_by(self, first: bool, ends: float, left: float) -> str:
        """What ended a search that settled nothing; what was cut before by a hand or by the clock stays so."""
        if self.stop.stopped:
            return self.stop.by
        by_clock = first or left > 0 or time.monotonic() >= ends
        return "time" if by_clock or self.stopped_by == "time" else "effort"

    def _call(
        self,
        model: cp_model.CpModel,
        workers: int,
        ends: float,
        effort: float,
        take: Callable[[cp_model.CpSolver, object], bool],
        first: bool,
        watcher: Watcher | None,
        relaxation: int = LIGHT,
    ) -> tuple[bool, float]:
        """One call of the solver: whether it settled the question, and the effort it took."""
        seconds = ends - time.monotonic()
        if self.stop.stopped or seconds <= 0 or effort <= 0:
            return False, 0.0
        solver = solver_for(self.seed, workers, first, relaxation, seconds, effort)
        if watcher is not None:
            solver.best_bound_callback = watcher.on_bound
        with self.stop.watching(solver):
            status = solver.solve(model, watcher)
        if status == cp_model.MODEL_INVALID:
            raise ValueError(model.validate())
        return take(solver, status), solver.response_proto.deterministic_time
