"""One group of classes, solved aim by aim: make the first small, hold what was reached, go on."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any, Protocol

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.model.aims import Aim
from sequencer.model.build import Model
from sequencer.model.found import carried_over, fix, group_values, hint, sequence_found
from sequencer.model.posting import total
from sequencer.sequence import Sequence
from sequencer.tidy import without_idle_live

EFFORT_PER_SECOND = 0.5
"""Effort (the solver's deterministic time) allowed per second of wall time. Two cores here did 0.2 to 1.6 a second, by model
and load; where the clock runs out first the answer says that it may not be repeated."""

SHARE_APART = 0.4
"""Share of an aim's effort for bounds and sequences of single classes, where classes are coupled."""

SHARE_OF_TRY = 0.25
"""Share of what is left of that for one try with some classes left as they are."""

SHARE_ALONE = 0.65
"""Share of an aim's effort for which one worker tries by itself before several take turns."""

FIRST_ALONE = 4.0
"""Effort for which one worker looks for a first sequence before several do."""


class StopSignal:
    """Asks a solve to stop and keep the best sequence found so far; may be given before the solve starts."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stopped = False
        self._solver: cp_model.CpSolver | None = None

    def stop(self) -> None:
        """Stop now; safe to call from any thread, more than once."""
        with self._lock:
            self._stopped = True
            if self._solver is not None:
                self._solver.stop_search()

    @property
    def stopped(self) -> bool:
        """Whether ``stop`` was called."""
        return self._stopped

    def watch(self, solver: cp_model.CpSolver | None) -> None:
        """The solver that ``stop`` has to reach; None between solves."""
        with self._lock:
            self._solver = solver
            if solver is not None and self._stopped:
                solver.stop_search()


@dataclass(frozen=True)
class Progress:
    """What a solve has reached: an aim's best value and bound for some classes, seconds since the solve began."""

    aim: str
    classes: tuple[str, ...]
    value: int | None
    bound: int
    seconds: float


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


@dataclass
class Budget:
    """What is left: the wall clock's end, and effort in the solver's deterministic units."""

    ends: float
    effort: float

    def share(self, parts: int) -> tuple[float, float]:
        """Wall seconds and effort for the next of ``parts`` pieces of work; the early ones may take more."""
        fraction = min(1.0, 1.6 / max(1, parts))
        return max(0.0, self.ends - time.monotonic()) * fraction, max(0.0, self.effort) * fraction


@dataclass(frozen=True)
class GroupResult:
    """The sequence of one group of classes, and every aim over them in order."""

    sequence: Sequence
    stages: tuple[StageResult, ...]


def tune(solver: cp_model.CpSolver, workers: int, first: bool) -> None:
    """Search parameters, for the first sequence or for making an aim small.

    Measured on half terms of about 30 lessons: probing, symmetry detection and further rounds of presolve took more time than
    they saved; one worker proved fastest with a light linear relaxation, and found first sequences fastest with none.
    """
    parameters = solver.parameters
    parameters.catch_sigint_signal = False  # the caller's StopSignal stops us; the solver's own handler ends the process
    parameters.num_workers = workers
    parameters.interleave_search = workers > 1
    parameters.cp_model_probing_level = 0
    parameters.symmetry_level = 0
    if workers == 1:
        parameters.max_presolve_iterations = 1
        parameters.linearization_level = 0 if first else 1


class GroupSearch:
    """Settles the aims of one model in order.

    Parameters
    ----------
    model
        The model of the group.
    seed, workers
        Handed to the solver. The number of workers is fixed, whatever the cores, so that the answer can be repeated.
    stop
        The caller's signal.
    report
        Called with every improvement, from the solver's threads.
    apart
        Searches over its single classes, when it has several.
    """

    def __init__(
        self,
        model: Model,
        seed: int,
        workers: int,
        stop: StopSignal,
        report: Callable[[Progress], None] | None = None,
        apart: Apart | None = None,
    ) -> None:
        self.model = model
        self.apart = apart
        self.seed = seed
        self.workers = workers
        self.stop = stop
        self.report = report
        self.classes = tuple(facts.id for facts in model.parts.classes())
        self.started = time.monotonic()
        self._best: Sequence | None = None
        self._values: dict[str, int] = {}
        self._held_at: dict[str, int] = {}
        self._bound = 0
        self._stopped_by: str | None = None
        self._impossible = False
        self.clocked = False
        """Whether the clock cut any call short, so that another run may take another way."""

    def begin(self, budget: Budget) -> bool:
        """Look for a first sequence until the clock's end; whether one is held."""
        return self._solve(None, budget, 1)

    @property
    def stopped_by(self) -> str | None:
        """What cut the search short so far; None when nothing did."""
        return self._stopped_by

    @property
    def impossible(self) -> bool:
        """Whether the search has proven that no sequence exists."""
        return self._impossible

    def settle(self, budget: Budget) -> GroupResult:
        """Every aim in turn within the budget, from the first sequence on; the best sequence when it runs out."""
        assert self._best is not None, "begin comes first"
        bounds: list[int] = []
        aims = self.model.aims
        for place, aim in enumerate(aims):
            bound = aim.floor
            if self._values[aim.name] > bound:
                bound = max(bound, self._settle_one(place, aim, budget))
            value = self._values[aim.name]
            if bound > value:
                raise RefereeDisagrees(f"{aim.name}: the model proves at least {bound}, the referee counts {value}")
            bounds.append(bound)
            self.tell(aim.name, value, bound)
            self.hold(aim, value)
            if self.apart is not None:
                self.apart.hold(place, value)
            self._break_ties(aim, budget, len(aims) - place)
        # A later stage may have bettered an aim that was not proven: what counts is the sequence that is handed out.
        stages: list[StageResult] = []
        for aim, bound in zip(aims, bounds, strict=True):
            conditional = any(not stage.proven for stage in stages)
            stages.append(StageResult(aim.name, self._values[aim.name], bound, conditional))
        return GroupResult(self._best, tuple(stages))

    def _settle_one(self, place: int, aim: Aim, budget: Budget) -> int:
        """Make one aim small, first class by class where that helps; the bound proven."""
        parts = len(self.model.aims) - place
        bound = aim.floor
        if self.apart is not None:
            bound = max(bound, self._settle_apart(self.apart, place, aim, budget, parts))
        return bound if self._values[aim.name] <= bound else max(bound, self.improve(aim, budget, parts, bound))

    def _settle_apart(self, apart: Apart, place: int, aim: Aim, budget: Budget, parts: int) -> int:
        """The bound of the single classes together; what they found is tried, and then one or two of them at a time."""
        seconds, effort = budget.share(parts)
        own = Budget(time.monotonic() + seconds * SHARE_APART, effort * SHARE_APART)
        allowed = own.effort
        bound = apart.bound(place, aim, self.held, own)
        self.clocked |= apart.clocked
        if aim.terms and bound > aim.floor:
            self.model.parts.posting.model.add(_cost(aim) >= bound - aim.constant)
        with self._made_small(aim):
            self._bound = bound
            self._side_by_side(aim, apart.sequence(), own)
            self._by_neighbourhoods(aim, bound, own)
        budget.effort -= allowed - own.effort
        return bound

    def _side_by_side(self, aim: Aim, sequence: Sequence, budget: Budget) -> None:
        """All classes as they are best by themselves or, where they do not go together, as many as do, the largest first."""
        parts = self.model.parts
        classes = parts.variables.class_indices
        if self._try(aim, sequence, (), budget):
            return
        left = sorted(classes, key=lambda index: -len(parts.instance.classes[index].lessons))
        kept: set[int] = set()
        for index in left:
            free = tuple(other for other in classes if other not in kept and other != index)
            if self._try(aim, sequence, free, budget):
                kept.add(index)

    def _by_neighbourhoods(self, aim: Aim, bound: int, budget: Budget) -> None:
        """Better the sequence held with all classes but one, and then but two, left as they are, while that helps."""
        classes = self.model.parts.variables.class_indices
        for size in (1, 2):
            waiting = list(combinations(classes, min(size, len(classes))))
            while waiting and self._values[aim.name] > bound and budget.effort > 0 and time.monotonic() < budget.ends:
                before = self._values[aim.name]
                free = waiting.pop(0)
                self._try(aim, self.held, free, budget)
                if self._values[aim.name] < before:
                    waiting = list(combinations(classes, size))

    def improve(self, aim: Aim, budget: Budget, parts: int = 1, bound: int = 0) -> int:
        """Make the aim small from the sequence held so far; the bound proven, no less than the one known."""
        with self._made_small(aim):
            self._solve(aim, budget, parts, bound)
        return self._bound

    @contextmanager
    def _made_small(self, aim: Aim) -> Iterator[None]:
        """The aim as the model's objective, for a while."""
        model = self.model.parts.posting.model
        model.minimize(_cost(aim) + aim.constant)
        yield
        model.clear_objective()  # type: ignore[no-untyped-call]

    def hold(self, aim: Aim, most: int) -> None:
        """Let the aim be no more than so much from now on."""
        self._held_at[aim.name] = most
        if aim.terms:
            self.model.parts.posting.model.add(_cost(aim) <= most - aim.constant)

    @property
    def held(self) -> Sequence:
        """The best sequence so far."""
        assert self._best is not None, "begin comes first"
        return self._best

    def start_from(self, sequence: Sequence, aim: str) -> None:
        """Take the part of a sequence that is this model's, unless the one held is allowed and better for an aim."""
        parts = self.model.parts
        members = set(parts.variables.lessons)
        own = Sequence(
            tuple(each for each in sequence.placements if each.lesson in members),
            revisits=tuple(each for each in sequence.revisits if each.lesson in members),
        )
        values = group_values(parts, own)
        allowed = self._best is not None and all(self._values[name] <= most for name, most in self._held_at.items())
        if not allowed or self._values[aim] > values[aim]:
            self._best, self._values = own, values
            hint(parts, own)

    def _break_ties(self, aim: Aim, budget: Budget, parts: int) -> None:
        """Among the sequences of the value reached, the one that the aim's second thought prefers."""
        if not aim.then or self._values[aim.name] == 0:
            return
        within = replace(aim, terms=aim.then, constant=0, floor=0, then=())
        self.improve(within, budget, parts)
        self.model.parts.posting.model.add(_cost(within) <= carried_over(self.model.parts, self.held))

    def _try(self, aim: Aim, sequence: Sequence, free: tuple[int, ...], budget: Budget) -> bool:
        """Look for a better sequence with all classes but the free ones as they are in a sequence; whether one exists at all."""
        if budget.effort <= 0 or time.monotonic() >= budget.ends:
            return False
        model = self.model.parts.posting.model.clone()
        fix(self.model.parts, model, sequence, free)
        effort = budget.effort * SHARE_OF_TRY
        solver = self._solver(1, max(0.0, budget.ends - time.monotonic()), effort)
        status = self._watched(solver, model, None)
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        if found and round(solver.objective_value) < self._values[aim.name]:
            self._take(solver)
        spent = solver.response_proto.deterministic_time
        budget.effort -= spent
        self.clocked |= spent < effort and time.monotonic() >= budget.ends
        return found

    def _solve(self, aim: Aim | None, budget: Budget, parts: int, bound: int = 0) -> bool:
        """Search for a sequence, or for a better one; whether a sequence is held afterwards.

        One worker first, for a little while: on easy models it is several times faster than many that take turns. Until a
        first sequence is found only the wall clock ends the search.
        """
        self._impossible = False
        self._bound = max(bound, aim.floor) if aim else 0
        seconds, effort = budget.share(parts)
        if aim is None:
            effort = math.inf
        ends = time.monotonic() + seconds
        alone = FIRST_ALONE if aim is None else effort * SHARE_ALONE
        quick = alone if self.workers > 1 else effort
        finished, spent = self._call(aim, 1, ends, quick)
        if not finished and self.workers > 1 and effort > quick:
            finished, more = self._call(aim, self.workers, ends, effort - spent)
            spent += more
        if aim is not None:
            budget.effort -= spent
        if not finished:
            self._stopped_by = self._cut_by(aim, ends, effort - spent)
            self.clocked |= self._stopped_by != "effort"
        return self._best is not None

    def _cut_by(self, aim: Aim | None, ends: float, left: float) -> str:
        """What ended a search that settled nothing; what was cut before by a hand or by the clock stays so."""
        if self.stop.stopped:
            return "hand"
        by_clock = aim is None or left > 0 or time.monotonic() >= ends
        return "time" if by_clock or self._stopped_by == "time" else "effort"

    def _solver(self, workers: int, seconds: float, effort: float, first: bool = False) -> cp_model.CpSolver:
        solver = cp_model.CpSolver()
        tune(solver, workers, first)
        solver.parameters.random_seed = self.seed
        solver.parameters.max_time_in_seconds = seconds
        if math.isfinite(effort):
            solver.parameters.max_deterministic_time = effort
        return solver

    def _watched(self, solver: cp_model.CpSolver, model: cp_model.CpModel, watcher: _Watcher | None) -> Any:
        """Solve where the caller's signal can reach it."""
        self.stop.watch(solver)
        try:
            status = solver.solve(model, watcher)
        finally:
            self.stop.watch(None)
        if status == cp_model.MODEL_INVALID:
            raise ValueError(model.validate())
        return status

    def _call(self, aim: Aim | None, workers: int, ends: float, effort: float) -> tuple[bool, float]:
        """One call of the solver: whether it settled the question, and the effort it took."""
        seconds = ends - time.monotonic()
        if self.stop.stopped or seconds <= 0 or effort <= 0:
            return False, 0.0
        model = self.model.parts.posting.model
        solver = self._solver(workers, seconds, effort, first=aim is None)
        status = self._watched(solver, model, _Watcher(self, aim) if aim is not None and self.report is not None else None)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._take(solver)
        if aim is not None and status != cp_model.INFEASIBLE and math.isfinite(solver.best_objective_bound):
            self._bound = max(self._bound, math.ceil(solver.best_objective_bound - 1e-6))
        counted = self._counted(aim) if aim is not None else 0
        if aim is not None and status == cp_model.OPTIMAL and counted != round(solver.objective_value):
            raise RefereeDisagrees(f"{aim.name}: the model counts {solver.objective_value:.0f}, the referee {counted}")
        self._impossible = status == cp_model.INFEASIBLE
        if self._impossible and self._best is not None:
            raise RefereeDisagrees("the model proves that no sequence exists, but one is held")
        settled = status in (cp_model.OPTIMAL, cp_model.INFEASIBLE) or (aim is None and status == cp_model.FEASIBLE)
        return settled, solver.response_proto.deterministic_time

    def _counted(self, aim: Aim) -> int:
        """The referee's count of what is made small: an aim, or of several sequences of one value the carried over alone."""
        settled = any(aim is each for each in self.model.aims)
        return self._values[aim.name] if settled else carried_over(self.model.parts, self.held)

    def _take(self, solver: cp_model.CpSolver) -> None:
        """Keep the sequence found, with the referee's count of every aim, and hand it to the next call as a hint."""
        parts = self.model.parts
        self._best = without_idle_live(parts.instance, sequence_found(parts, solver))
        self._values = group_values(self.model.parts, self._best)
        proto = parts.posting.model.proto
        parts.posting.model.clear_hints()  # type: ignore[no-untyped-call]
        solution = solver.response_proto.solution
        for place, value in enumerate(solution):
            proto.solution_hint.vars.append(place)
            proto.solution_hint.values.append(value)

    def tell(self, aim: str, value: int, bound: int) -> None:
        """Report what the search has reached, where anybody listens."""
        if self.report is not None:
            self.report(Progress(aim, self.classes, value, bound, time.monotonic() - self.started))


class Apart(Protocol):
    """What a search asks of those over its single classes (``apart.ClassesApart``)."""

    @property
    def clocked(self) -> bool:
        """Whether the clock cut any of them short."""

    def bound(self, place: int, aim: Aim, held: Sequence, budget: Budget) -> int:
        """A bound for all classes together."""

    def sequence(self) -> Sequence:
        """What the single classes found, side by side."""

    def hold(self, place: int, value: int) -> None:
        """Keep an aim at its value over all classes."""


def _cost(aim: Aim) -> cp_model.LinearExpr:
    return total((term.variable, term.weight) for term in aim.terms)


class _Watcher(cp_model.CpSolverSolutionCallback):
    def __init__(self, search: GroupSearch, aim: Aim) -> None:
        super().__init__()
        self._search = search
        self._aim = aim.name

    def on_solution_callback(self) -> None:
        self._search.tell(self._aim, round(self.objective_value), math.ceil(self.best_objective_bound - 1e-6))
