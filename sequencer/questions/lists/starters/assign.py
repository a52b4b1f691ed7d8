"""The starters of every class: assigned aim by aim, each held before the next, and judged before anyone sees them."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.starters.question import STARTER_AIMS, WORST, Assigned, Question, question
from sequencer.questions.lists.starters.starter_model import StarterModel
from sequencer.questions.lists.starters.starter_referee import breaches, starter_aims
from sequencer.questions.solve import AimResult, Answer
from sequencer.solver.solver_calls import EFFORT_PER_SECOND, StopSignal

SECONDS = 5.0
"""Time allowed for each class unless stated."""


@dataclass(frozen=True)
class Starters:
    """The starters of one class, with every aim's value and bound."""

    question: Question
    assigned: tuple[Assigned, ...]
    aims: tuple[AimResult, ...]

    @property
    def proven(self) -> bool:
        """Whether every aim is proven best."""
        return all(aim.proven for aim in self.aims)


def assign_starters(
    answer: Answer, seconds: float = math.inf, seed: int = 0, stop: StopSignal | None = None, each: float = SECONDS
) -> tuple[Starters, ...]:
    """Assign the starters of an answer's sequence, class by class; none without a sequence.

    So many ``seconds`` are allowed for all classes together, and ``each`` for one class; another thread may end the search by
    the ``stop`` signal, which keeps the best found so far.

    Raises
    ------
    RefereeDisagrees
        When the referee of starters rejects an assignment, or counts an aim differently: a defect of this package.
    """
    if answer.sequence is None:
        return ()
    stop = stop or StopSignal()
    ends = time.monotonic() + seconds
    return tuple(
        _assign(
            question(Laid(answer.instance, answer.sequence, (facts.index,)), facts),
            max(0.0, min(each, ends - time.monotonic())),
            seed,
            stop,
        )
        for facts in answer.instance.classes
    )


def _assign(asked: Question, seconds: float, seed: int, stop: StopSignal) -> Starters:
    search = _Search(StarterModel(asked), partial(starter_aims, asked), seconds, seed, stop)
    stages = search.settle()
    broken = breaches(asked, search.assigned)
    if broken:
        raise RefereeDisagrees("; ".join(broken))
    values = starter_aims(asked, search.assigned)
    proven = True
    results = []
    for stage in stages:
        # An aim that was not proven may have come out better while a later one was made small.
        value = values[stage.aim]
        if not stage.bound <= value <= stage.value:
            raise RefereeDisagrees(f"starters, {stage.aim}: held at {stage.value}, the referee counts {value}")
        results.append(AimResult(stage.aim, value, stage.bound, stage.bound == value, not proven))
        proven &= stage.bound == value
    return Starters(asked, search.assigned, tuple(results))


LIGHT, HEAVY = 1, 2
SHARE_WORST, SHARE_LIGHT = 0.4, 0.4


@dataclass(frozen=True)
class _Stage:
    """What was reached on one aim: the value, and the value below which none is possible given those before it."""

    aim: str
    value: int
    bound: int


@dataclass
class _Search:
    """Looks for the best assignment within limits; ``count`` is the referee's count of an assignment's aims.

    A heavy linear relaxation proves these aims at once where a light one never does. For the worst-served topic a light one
    finds better assignments first where it is hard, over a whole year; so it has a part of that aim's time.
    """

    built: StarterModel
    count: Callable[[tuple[Assigned, ...]], dict[str, int]]
    seconds: float
    seed: int
    stop: StopSignal
    assigned: tuple[Assigned, ...] = ()

    def __post_init__(self) -> None:
        self._ends = time.monotonic() + self.seconds
        self._effort = self.seconds * EFFORT_PER_SECOND

    def settle(self) -> tuple[_Stage, ...]:
        """Make aim after aim small, from the empty assignment on."""
        stages = []
        for place, aim in enumerate(STARTER_AIMS):
            share = SHARE_WORST if aim == WORST else min(1.0, 1.6 / (len(STARTER_AIMS) - place))
            seconds, effort = max(0.0, self._ends - time.monotonic()) * share, max(0.0, self._effort) * share
            bound = 0
            self.built.model.minimize(self.built.aims[aim])
            for level in (LIGHT, HEAVY) if aim == WORST else (HEAVY,):
                part = SHARE_LIGHT if level == LIGHT else 1.0
                bound = max(bound, self._call(aim, level, seconds * part, effort * part))
                value = self.count(self.assigned)[aim]
                if bound >= value:
                    break
            stages.append(_Stage(aim, value, min(bound, value)))
            self.built.model.add(self.built.aims[aim] <= value)
        return tuple(stages)

    def _call(self, aim: str, level: int, seconds: float, effort: float) -> int:
        """One call of the solver: keeps what it found, and gives the bound of the aim that it looked at.

        Before an aim is proven what it counts may lie above what the assignment is worth: it need not choose the nearest meeting.
        """
        if self.stop.stopped or seconds <= 0 or effort <= 0:
            return 0
        model = self.built.model
        model.clear_hints()  # type: ignore[no-untyped-call]
        for (topic, opening), literal in self.built.takes.items():
            model.add_hint(literal, Assigned(topic, opening) in self.assigned)
        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.catch_sigint_signal = False
        parameters.num_workers = 1
        parameters.linearization_level = level
        parameters.cp_model_probing_level = 0
        parameters.symmetry_level = 0
        parameters.max_presolve_iterations = 1
        parameters.random_seed = self.seed
        parameters.max_time_in_seconds = seconds
        parameters.max_deterministic_time = effort
        with self.stop.watching(solver):
            status = solver.solve(model)
        self._effort -= solver.response_proto.deterministic_time
        if status == cp_model.MODEL_INVALID:
            raise ValueError(model.validate())
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return 0
        found = tuple(Assigned(*pair) for pair, literal in self.built.takes.items() if solver.boolean_value(literal))
        counted, modelled = self.count(found)[aim], solver.value(self.built.aims[aim])
        if counted > modelled or (status == cp_model.OPTIMAL and counted < modelled):
            raise RefereeDisagrees(f"starters, {aim}: the model counts {modelled}, the referee {counted}")
        if counted <= self.count(self.assigned)[aim]:
            self.assigned = found
        return math.ceil(solver.best_objective_bound - 1e-6)
