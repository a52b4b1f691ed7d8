"""One group of classes, solved aim by aim: make the first small, hold what was reached, go on."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.aims import aim_values
from sequencer.errors import RefereeDisagrees
from sequencer.model.aims import Aim
from sequencer.model.build import Model
from sequencer.model.calls import Budget, Calls, StopSignal
from sequencer.model.parts import Parts
from sequencer.model.posting import total
from sequencer.sequence import Laid, Placement, Sequence
from sequencer.tidy import without_idle_live
from sequencer.words import LIVE, OPEN, SET_WORK


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


@dataclass(frozen=True)
class GroupResult:
    """The sequence of one group of classes, and every aim over them in order."""

    sequence: Sequence
    stages: tuple[StageResult, ...]


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
    """

    def __init__(
        self, model: Model, seed: int, workers: int, stop: StopSignal, report: Callable[[Progress], None] | None
    ) -> None:
        self.model = model
        self.report = report
        self._calls = Calls(seed, workers, stop)
        self.classes = tuple(facts.id for facts in model.parts.classes())
        self.started = time.monotonic()
        self._best: Sequence | None = None
        self._values: dict[str, int] = {}
        self._impossible = False

    def begin(self, budget: Budget) -> bool:
        """Look for a first sequence until the clock's end; whether one is held."""
        return self._solve(None, budget, 1)

    @property
    def stopped_by(self) -> str | None:
        """What cut the search short so far; None when nothing did."""
        return self._calls.stopped_by

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
                bound = max(bound, self._improve(aim, budget, len(aims) - place))
            value = self._values[aim.name]
            if bound > value:
                raise RefereeDisagrees(f"{aim.name}: the model proves at least {bound}, the referee counts {value}")
            bounds.append(bound)
            self.tell(aim.name, value, bound)
            self._hold(aim, value)
        # A later stage may have bettered an aim that was not proven: what counts is the sequence that is handed out.
        stages: list[StageResult] = []
        for aim, bound in zip(aims, bounds, strict=True):
            conditional = any(not stage.proven for stage in stages)
            stages.append(StageResult(aim.name, self._values[aim.name], bound, conditional))
        return GroupResult(self._best, tuple(stages))

    def _improve(self, aim: Aim, budget: Budget, parts: int) -> int:
        """Make the aim small from the sequence held so far; the bound proven."""
        posting = self.model.parts.posting
        posting.model.minimize(total((term.variable, term.weight) for term in aim.terms) + aim.constant)
        self._solve(aim, budget, parts)
        bound = self._bound
        posting.model.clear_objective()  # type: ignore[no-untyped-call]
        return bound

    def _hold(self, aim: Aim, value: int) -> None:
        if aim.terms:
            cost = total((term.variable, term.weight) for term in aim.terms)
            self.model.parts.posting.model.add(cost <= value - aim.constant)

    def _solve(self, aim: Aim | None, budget: Budget, parts: int) -> bool:
        """Search for a first sequence, or for one that is better on an aim; whether a sequence is held afterwards."""
        self._impossible = False
        self._bound = aim.floor if aim else 0
        seconds, effort = budget.share(parts)
        watcher = _Watcher(self, aim) if aim is not None and self.report is not None else None

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            return self._take(aim, solver, status)

        spent = self._calls.run(self.model.parts.posting.model, seconds, effort, take, aim is None, watcher)
        if aim is not None:
            budget.effort -= spent
        return self._best is not None

    def _take(self, aim: Aim | None, solver: cp_model.CpSolver, status: object) -> bool:
        """Keep what a call of the solver found and proved; whether that settles the question."""
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            parts = self.model.parts
            self._best = without_idle_live(parts.instance, read_sequence(parts, solver))
            self._values = group_values(self.model, self._best)
            hint_solution(parts.posting.model, solver)
        if aim is not None and status != cp_model.INFEASIBLE and math.isfinite(solver.best_objective_bound):
            self._bound = max(self._bound, math.ceil(solver.best_objective_bound - 1e-6))
        if aim is not None and status == cp_model.OPTIMAL and self._values[aim.name] != round(solver.objective_value):
            counted = self._values[aim.name]
            raise RefereeDisagrees(f"{aim.name}: the model counts {solver.objective_value:.0f}, the referee {counted}")
        self._impossible = status == cp_model.INFEASIBLE
        if self._impossible and self._best is not None:
            raise RefereeDisagrees("the model proves that no sequence exists, but one is held")
        return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE) or (aim is None and status == cp_model.FEASIBLE)

    def tell(self, aim: str, value: int, bound: int) -> None:
        """Report what the search has reached, where anybody listens."""
        if self.report is not None:
            self.report(Progress(aim, self.classes, value, bound, time.monotonic() - self.started))


def read_sequence(parts: Parts, solver: cp_model.CpSolver) -> Sequence:
    """The sequence that the solver found, over the classes of one model."""
    placements = []
    for index, variables in parts.variables.lessons.items():
        for start in variables.starts:
            if solver.boolean_value(variables.at(start)):
                placements.append(Placement(index, start, _taught(parts, solver, index, start)))
                break
    return Sequence(tuple(placements))


def _taught(parts: Parts, solver: cp_model.CpSolver, index: int, start: int) -> str:
    lesson = parts.variables.lessons[index].lesson
    together = parts.variables.taught_from(lesson, start)
    if together != OPEN:
        return together
    live = parts.variables.classes[lesson.class_index].live_starts[start]
    return LIVE if solver.boolean_value(live) else SET_WORK


def hint_solution(model: cp_model.CpModel, solver: cp_model.CpSolver) -> None:
    """Hand what the solver found to the next call as a hint."""
    model.clear_hints()  # type: ignore[no-untyped-call]
    for place, value in enumerate(solver.response_proto.solution):
        model.proto.solution_hint.vars.append(place)
        model.proto.solution_hint.values.append(value)


def group_values(model: Model, sequence: Sequence) -> dict[str, int]:
    """Every aim's value over the classes of a model, as the referee counts it."""
    return aim_values(Laid(model.parts.instance, sequence, model.parts.variables.class_indices))


class _Watcher(cp_model.CpSolverSolutionCallback):
    def __init__(self, search: GroupSearch, aim: Aim) -> None:
        super().__init__()
        self._search = search
        self._aim = aim.name

    def on_solution_callback(self) -> None:
        self._search.tell(self._aim, round(self.objective_value), math.ceil(self.best_objective_bound - 1e-6))
