"""The search for starters: aim by aim, each held before the next is looked at.

A heavy linear relaxation proves these aims at once where a light one never does: the days off of a half term with one place an
opening in 0.02 s, against a bound of 144 for 271 after 4 s. For the worst-served topic a light one finds better assignments
first where it is hard, over a whole year; so it has a part of that aim's time.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.lists.starters.starter_aims import STARTER_AIMS, WORST, Assigned
from sequencer.lists.starters.starter_model import StarterModel
from sequencer.solver.solver_calls import EFFORT_PER_SECOND, StopSignal

Count = Callable[[tuple[Assigned, ...]], dict[str, int]]

LIGHT, HEAVY = 1, 2
SHARE_WORST, SHARE_LIGHT = 0.4, 0.4


@dataclass(frozen=True)
class Stage:
    """What was reached on one aim: the value, and the value below which none is possible given those before it."""

    aim: str
    value: int
    bound: int


class StarterSearch:
    """Looks for the best assignment within limits.

    Parameters
    ----------
    built
        The model.
    count
        The referee's count of an assignment's aims.
    seconds, seed, stop
        Wall-clock time for all aims, seed of the solver's choices, and the caller's signal.
    """

    def __init__(self, built: StarterModel, count: Count, seconds: float, seed: int, stop: StopSignal) -> None:
        self.built = built
        self.assigned: tuple[Assigned, ...] = ()
        self._count = count
        self._ends = time.monotonic() + seconds
        self._effort = seconds * EFFORT_PER_SECOND
        self._seed = seed
        self._stop = stop

    def settle(self) -> tuple[Stage, ...]:
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
                value = self._count(self.assigned)[aim]
                if bound >= value:
                    break
            stages.append(Stage(aim, value, min(bound, value)))
            self.built.model.add(self.built.aims[aim] <= value)
        return tuple(stages)

    def _call(self, aim: str, level: int, seconds: float, effort: float) -> int:
        """One call of the solver: keeps what it found, and gives the bound of the aim that it looked at.

        Before an aim is proven what it counts may lie above what the assignment is worth: it need not choose the nearest meeting.
        """
        if self._stop.stopped or seconds <= 0 or effort <= 0:
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
        parameters.random_seed = self._seed
        parameters.max_time_in_seconds = seconds
        parameters.max_deterministic_time = effort
        with self._stop.watching(solver):
            status = solver.solve(model)
        self._effort -= solver.response_proto.deterministic_time
        if status == cp_model.MODEL_INVALID:
            raise ValueError(model.validate())
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return 0
        found = tuple(Assigned(*pair) for pair, literal in self.built.takes.items() if solver.boolean_value(literal))
        counted, modelled = self._count(found)[aim], solver.value(self.built.aims[aim])
        if counted > modelled or (status == cp_model.OPTIMAL and counted < modelled):
            raise RefereeDisagrees(f"starters, {aim}: the model counts {modelled}, the referee {counted}")
        if counted <= self._count(self.assigned)[aim]:
            self.assigned = found
        return math.ceil(solver.best_objective_bound - 1e-6)
