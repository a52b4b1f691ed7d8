"""The starters of every class: assigned aim by aim, each held before the next, and judged before anyone sees them."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.model.calls import EFFORT_PER_SECOND, Calls, StopSignal
from sequencer.sequence import Laid
from sequencer.solve import AimResult, Answer
from sequencer.starters.model import StarterModel
from sequencer.starters.question import Question, question
from sequencer.starters.referee import breaches, starter_aims
from sequencer.starters.words import STARTER_AIMS, Assigned

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
    answer: Answer, seconds: float = SECONDS, seed: int = 0, stop: StopSignal | None = None
) -> tuple[Starters, ...]:
    """Assign the starters of an answer's sequence, class by class; none without a sequence.

    Parameters
    ----------
    answer
        What ``solve`` returned.
    seconds
        Time allowed for each class.
    seed
        Seed of the solver's choices.
    stop
        A signal by which another thread ends the search, keeping the best found so far.

    Raises
    ------
    RefereeDisagrees
        When the referee of starters rejects an assignment, or counts an aim differently: a defect of this package.
    """
    if answer.sequence is None:
        return ()
    laid = Laid(answer.instance, answer.sequence)
    calls = Calls(seed, 1, stop or StopSignal())
    return tuple(_assign(question(laid, facts), calls, seconds) for facts in answer.instance.classes)


def _assign(asked: Question, calls: Calls, seconds: float) -> Starters:
    built = StarterModel(asked)
    ends, effort = time.monotonic() + seconds, seconds * EFFORT_PER_SECOND
    best: tuple[Assigned, ...] = ()
    results: list[AimResult] = []
    aims = built.aims()
    for name in STARTER_AIMS:
        value = starter_aims(asked, best)[name]
        bound = 0
        found: list[Assigned] | None = None
        built.model.minimize(aims[name])
        built.model.clear_hints()  # type: ignore[no-untyped-call]
        for (topic, opening), literal in built.takes.items():
            built.model.add_hint(literal, Assigned(topic, opening) in best)

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal bound, found
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                found = [Assigned(*pair) for pair, literal in built.takes.items() if solver.boolean_value(literal)]
                bound = max(bound, math.ceil(solver.best_objective_bound - 1e-6))
            return status == cp_model.OPTIMAL

        effort -= calls.run(built.model, max(0.0, ends - time.monotonic()), effort, take)
        if found is not None and starter_aims(asked, tuple(found))[name] <= value:
            best = tuple(found)
            value = starter_aims(asked, best)[name]
        results.append(AimResult(name, value, min(bound, value), bound >= value, not all(each.proven for each in results)))
        built.model.add(aims[name] <= value)
    _agree(asked, best, results)
    return Starters(asked, best, tuple(results))


def _agree(asked: Question, assigned: tuple[Assigned, ...], results: list[AimResult]) -> None:
    broken = breaches(asked, assigned)
    if broken:
        raise RefereeDisagrees("; ".join(broken))
    for name, value in starter_aims(asked, assigned).items():
        (result,) = (result for result in results if result.aim == name)
        if result.value != value:
            raise RefereeDisagrees(f"starters, {name}: the model counts {result.value}, the referee {value}")
