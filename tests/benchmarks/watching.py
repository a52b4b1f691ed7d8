"""What a solve did and when, seen from outside: it wraps what ``sequencer.questions.solve`` calls, in a process of its own.

The product reports improvements of the aim in hand only; the first sequence, the values of the other aims, and the solver's
effort are taken from the calls themselves.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import wraps
from typing import Any

from ortools.sat.python import cp_model

from sequencer import Answer, Progress, Scenario, SolveSettings
from sequencer.solver.aim_search import GroupSearch


@dataclass
class Watched:
    """One solve.

    Parameters
    ----------
    first
        Seconds until every group of classes had a first sequence; None when it never came to that.
    seen
        (seconds, first class of the group, aim, value), in order of time.
    settled
        (seconds, first class of the group, aim): when the group had done with the aim.
    """

    answer: Answer | None = None
    seconds: float = 0.0
    first: float | None = None
    effort: float = 0.0
    calls: int = 0
    models: list[tuple[int, int]] = field(default_factory=list)
    parts: dict[str, float] = field(default_factory=dict)
    seen: list[tuple[float, str, str, int]] = field(default_factory=list)
    settled: list[tuple[float, str, str]] = field(default_factory=list)

    def reached(self, aims: tuple[str, ...], goals: dict[str, int]) -> dict[str, float | None]:
        """For each aim, from when on it and all aims before it stayed within its goal; None when they never did."""
        values: dict[str, dict[str, int]] = {aim: {} for aim in aims}
        since: dict[str, float | None] = dict.fromkeys(aims)
        groups = {group for _, group, _, _ in self.seen}
        for seconds, group, changed, value in self.seen:
            values[changed][group] = value
            good = True
            for aim in aims:
                good = good and len(values[aim]) == len(groups) and sum(values[aim].values()) <= goals[aim]
                if not good:
                    since[aim] = None
                elif since[aim] is None:
                    since[aim] = seconds
        return since

    def done(self, aims: tuple[str, ...]) -> dict[str, float | None]:
        """For each aim, when the last group had done with it."""
        return {aim: max((seconds for seconds, _, settled in self.settled if settled == aim), default=None) for aim in aims}


def watched(scenario: Scenario, settings: SolveSettings) -> Watched:
    """Solve a scenario and note what happens; for a process of its own, since the wrapping stays."""
    seen = Watched()
    began = time.perf_counter()

    def now() -> float:
        return time.perf_counter() - began

    def timed(name: str, call: Callable[..., Any], after: Callable[..., None] | None = None) -> Callable[..., Any]:
        @wraps(call)
        def wrapped(*given: Any, **named: Any) -> Any:
            start = now()
            result = call(*given, **named)
            seen.parts[name] = seen.parts.get(name, 0.0) + now() - start
            if after is not None:
                after(result, *given)
            return result

        return wrapped

    def size(model: Any, *_: Any) -> None:
        proto = model.parts.posting.model.proto
        seen.models.append((len(proto.variables), len(proto.constraints)))

    def main(search: GroupSearch) -> bool:
        """Searches over parts of a group report to nobody."""
        return search.report is not None

    def note(search: GroupSearch) -> None:
        for aim in search.model.aims:
            seen.seen.append((now(), search.classes[0], aim.name, search.value(aim.name)))

    def begun(found: bool, search: GroupSearch, *_: Any) -> None:
        if main(search) and found:
            note(search)
            seen.first = now()

    def held(_: None, search: GroupSearch, aim: Any, *__: Any) -> None:
        if main(search):
            note(search)
            seen.settled.append((now(), search.classes[0], aim.name))

    def spent(_: Any, solver: cp_model.CpSolver, *__: Any) -> None:
        seen.effort += solver.response_proto.deterministic_time
        seen.calls += 1

    def progress(step: Progress) -> None:
        if step.value is not None:
            seen.seen.append((now(), step.classes[0], step.aim, step.value))

    module: Any = sys.modules["sequencer.questions.solve"]  # the package's own name for it is the function
    module.build_instance = timed("instance", module.build_instance)
    module.prepare = timed("prepare", module.prepare)
    module.build_model = timed("model", module.build_model, size)
    module.judge = timed("judge", module.judge)
    wrapped: Any = GroupSearch
    wrapped.begin = timed("begin", wrapped.begin, begun)
    wrapped.hold = timed("hold", wrapped.hold, held)
    solver: Any = cp_model.CpSolver
    solver.solve = timed("solver", solver.solve, spent)

    seen.answer = module.solve(scenario, settings, progress)
    seen.seconds = now()
    return seen
