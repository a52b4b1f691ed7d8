"""The starters of every class: assigned aim by aim, each held before the next, and judged before anyone sees them."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from functools import partial

from sequencer.errors import RefereeDisagrees
from sequencer.lists.starters.question import Question, question
from sequencer.lists.starters.starter_aims import Assigned
from sequencer.lists.starters.starter_model import StarterModel
from sequencer.lists.starters.starter_referee import breaches, starter_aims
from sequencer.lists.starters.starter_search import StarterSearch
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import AimResult, Answer
from sequencer.solver.solver_calls import StopSignal

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

    Parameters
    ----------
    answer
        What ``solve`` returned.
    seconds
        Time allowed for all classes together.
    seed
        Seed of the solver's choices.
    stop
        A signal by which another thread ends the search, keeping the best found so far.
    each
        Time allowed for each class.

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
    search = StarterSearch(StarterModel(asked), partial(starter_aims, asked), seconds, seed, stop)
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
