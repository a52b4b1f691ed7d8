"""Parts asked elsewhere: what is sent, what comes back, and how it is worked out there.

Elsewhere every part's model is built once, as here. What was added to it here since, its objective and its hint are sent with
each question, a few thousand bytes; so both are the same model, and the answer is the same wherever it is worked out.
"""

from __future__ import annotations

import threading
import time
import zlib
from array import array
from collections import deque
from collections.abc import Callable, Iterable
from collections.abc import Sequence as Ordered
from dataclasses import dataclass

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import CpModelProto

from sequencer.instance.build import build_instance
from sequencer.plan.differences import MoveWeights, Standing
from sequencer.scenario.schema import Scenario
from sequencer.solver.deadline import NO_DEADLINE
from sequencer.solver.model import Prepared, build_model, prepare
from sequencer.solver.solver_calls import NONE, Watcher, solver_for

KEPT = 3
"""So many of the last sequences that a search finds become columns."""


@dataclass(frozen=True)
class PartQuestion:
    """One search of one part.

    Parameters
    ----------
    classes
        The part.
    built
        Numbers of variables and constraints of its model as it was built.
    added
        What was added since, with objective and hint.
    """

    classes: tuple[int, ...]
    built: tuple[int, int]
    added: bytes
    seed: int
    seconds: float
    effort: float


@dataclass(frozen=True)
class PartAnswer:
    """How a search of a part ended: the solver's status, its bound, the last solutions, the best one last, and what it took."""

    status: int
    bound: float
    solutions: tuple[bytes, ...]
    effort: float
    seconds: float = 0.0
    """Of the processor."""

    def found(self) -> list[list[int]]:
        """The solutions: a number for each variable."""
        return [array("q", zlib.decompress(each)).tolist() for each in self.solutions]


AskMany = Callable[[Ordered[PartQuestion]], Iterable[PartAnswer | None]]
"""Asks parts elsewhere; answers in the order of the questions, None where one was lost and has to be asked here."""


def added(model: cp_model.CpModel, built: tuple[int, int]) -> bytes:
    """What was added to a model since it was built, with its objective and hint."""
    whole, change = model.model_proto, CpModelProto()
    for place in range(built[0], len(whole.variables)):
        change.variables.append(whole.variables[place])
    for place in range(built[1], len(whole.constraints)):
        change.constraints.append(whole.constraints[place])
    change.objective.copy_from(whole.objective)
    # An empty hint would be one: the solver goes another way with it than with none.
    if whole.has_solution_hint():
        change.solution_hint.copy_from(whole.solution_hint)
    return zlib.compress(str(change).encode())


def answered(model: cp_model.CpModel, question: PartQuestion) -> PartAnswer:
    """Search a part's model as it was built, with what was added."""
    change = CpModelProto()
    change.parse_text_format(zlib.decompress(question.added).decode())
    whole = model.clone()
    whole.model_proto.merge_from(change)
    solver = solver_for(question.seed, 1, False, NONE, question.seconds, question.effort)
    seen, began = LastSolutions(), time.thread_time()
    status = solver.solve(whole, seen)
    packed = tuple(zlib.compress(array("q", each).tobytes()) for each in seen.last)
    spent = solver.response_proto.deterministic_time
    return PartAnswer(int(status), solver.best_objective_bound, packed, spent, time.thread_time() - began)


class LastSolutions(Watcher):
    """Keeps the last solutions that a search finds."""

    def __init__(self) -> None:
        super().__init__()
        self.last: deque[list[int]] = deque(maxlen=KEPT)

    def on_solution_callback(self) -> None:
        self.last.append(list(self.response_proto.solution))


@dataclass(frozen=True)
class Recipe:
    """What every part's model is built from."""

    scenario: Scenario
    standing: Standing | None = None
    weights: MoveWeights | None = None


class PartsBuilt:
    """The models of a scenario's parts, each built when it is first asked for; safe to ask from several threads."""

    def __init__(self, recipe: Recipe) -> None:
        self._recipe = recipe
        self._lock = threading.Lock()
        self._prepared: Prepared | None = None
        self._models: dict[tuple[int, ...], cp_model.CpModel] = {}

    def answer(self, question: PartQuestion) -> PartAnswer:
        """Answer one question.

        Raises
        ------
        ValueError
            When the model here is not the one that it was asked of.
        """
        with self._lock:
            model = self._model(question.classes)
        if (len(model.model_proto.variables), len(model.model_proto.constraints)) != question.built:
            raise ValueError("the model of these classes is another one here")
        return answered(model, question)

    def _model(self, classes: tuple[int, ...]) -> cp_model.CpModel:
        recipe = self._recipe
        if self._prepared is None:
            self._prepared = prepare(build_instance(recipe.scenario), recipe.standing is None, NO_DEADLINE)
        if classes not in self._models:
            built = build_model(self._prepared, classes, standing=recipe.standing, weights=recipe.weights)
            self._models[classes] = built.parts.posting.model
        return self._models[classes]
