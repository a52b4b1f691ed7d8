"""The best opening for several futures: aim by aim, what not knowing costs the one it costs most."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from ortools.sat.python import cp_model

from sequencer.check import judge
from sequencer.comparing.compare import Comparison, Future
from sequencer.comparing.differences import LessonName, Period
from sequencer.errors import RefereeDisagrees, UnusableSettings
from sequencer.facts import Instance
from sequencer.model.calls import EFFORT_PER_SECOND, Budget, Calls, StopSignal
from sequencer.model.found import group_values, hint_solution, sequence_found
from sequencer.opening.conflict import OpeningConflict, conflict_of
from sequencer.opening.model import OpeningPeriods, Together, opening_periods
from sequencer.scenario.schema import Scenario
from sequencer.sequence import Laid, Sequence
from sequencer.solve import SolveSettings
from sequencer.tidy import without_idle_live
from sequencer.words import BASE, FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN

MOST_WEIGHT = 1000


@dataclass(frozen=True)
class Loss:
    """What one aim of one future loses by not knowing: its value with the shared opening beside its own best.

    The loss is at least ``value - own_value``, what is known of its own best; ``most`` where that is not proven.
    """

    aim: str
    value: int
    own_value: int
    own_bound: int

    @property
    def loss(self) -> int:
        return self.value - self.own_value

    @property
    def most(self) -> int:
        return self.value - self.own_bound


@dataclass(frozen=True)
class Continuation:
    """One future with the shared opening: its sequence, which the referee has judged, and every aim's loss."""

    name: str
    instance: Instance
    sequence: Sequence
    losses: tuple[Loss, ...]


@dataclass(frozen=True)
class Stage:
    """What was made small for one aim, ``greatest`` or ``sum`` of the losses; none smaller than the bound is possible."""

    aim: str
    what: str
    value: int
    bound: int


@dataclass(frozen=True)
class SharedOpening:
    """The answer: an opening with every continuation, or why there is none.

    Parameters
    ----------
    until
        The date by which it is known which future comes.
    weights
        Those of the futures; None when the worst case counts.
    periods
        Every class's periods before the date.
    opening
        For each class and common period the lesson that holds it; None where it is spare.
    stages
        What was made small in turn; a bound holds under the values reached before it.
    """

    until: date
    weights: Mapping[str, int] | None
    status: str
    periods: tuple[OpeningPeriods, ...]
    opening: Mapping[tuple[str, Period], LessonName | None]
    continuations: tuple[Continuation, ...]
    stages: tuple[Stage, ...]
    conflict: OpeningConflict | None


def share_opening(
    comparison: Comparison,
    until: date,
    settings: SolveSettings | None = None,
    weights: Mapping[str, int] | None = None,
    stop: StopSignal | None = None,
) -> SharedOpening:
    """One opening for the base and all of its what-ifs, the best for the worst case or by weight.

    Parameters
    ----------
    comparison
        The futures, each made freely at its best.
    until
        The date by which it is known which of them comes; the sequences are one and the same before it.
    settings
        The time is that for the opening, and again for saying why there is none.
    weights
        How much a future counts, by its name; 1 where others have one. Without any the worst case counts.
    stop
        A signal by which another thread ends the search, keeping what was found.

    Raises
    ------
    UnusableSettings
        When the date is not in the term, a weight's name is none of a future, or the futures were made close to the base.
    RefereeDisagrees
        When the referee rejects a continuation or the openings differ: a defect of this package.
    """
    settings, stop = settings or SolveSettings(), stop or StopSignal()
    futures = {future.name: future for future in (comparison.base, *comparison.futures)}
    check_opening(comparison.scenario, until, comparison.close, weights)
    instances = {name: future.answer.instance for name, future in futures.items()}
    periods = opening_periods(instances, until)
    stated = {name: (weights or {}).get(name, 1) for name in futures} if weights else None
    calls = Calls(settings.seed, settings.workers, stop)

    def none(status: str, conflict: OpeningConflict | None) -> SharedOpening:
        return SharedOpening(until, stated, status, periods, {}, (), (), conflict)

    impossible = [name for name, future in futures.items() if future.answer.status == INFEASIBLE]
    if impossible:
        return none(INFEASIBLE, OpeningConflict((impossible[0],), True))
    if any(future.answer.sequence is None for future in futures.values()):
        return none(UNKNOWN, None)
    search = _Search(futures, Together(instances, until), calls, settings)
    if not search.begin():
        if not search.impossible:
            return none(UNKNOWN, None)
        return none(INFEASIBLE, conflict_of(instances, until, calls, time.monotonic() + settings.seconds))
    stages = search.settle(stated)
    opening = same_opening({name: Laid(instances[name], sequence) for name, sequence in search.best.items()}, periods)
    done = all(stage.value == stage.bound for stage in stages)
    proven = done and all(future.answer.status == OPTIMAL for future in futures.values())
    return SharedOpening(
        until, stated, OPTIMAL if proven else FEASIBLE, periods, opening, search.continuations(), stages, None
    )  # fmt: skip


def check_opening(scenario: Scenario, until: date, close: bool = False, weights: Mapping[str, int] | None = None) -> None:
    """That an opening until a date can be asked for, before anything is solved.

    Raises
    ------
    UnusableSettings
        When the date is not in the term, a weight's name is none of a future, or the futures are made close to the base.
    """
    problems = []
    term, names = scenario.term, [BASE, *(what_if.name for what_if in scenario.what_ifs)]
    if not term.first < until <= term.last:
        problems.append(
            f"opening-until: {until} must be after the first day of term, {term.first}, and not after the last, {term.last}"
        )
    if close:
        problems.append("a shared opening is measured against each future's own best: leave --close out")
    for name, weight in (weights or {}).items():
        if name not in names:
            problems.append(f"weights: no future is called {name!r}; there are {', '.join(names)}")
        elif not 1 <= weight <= MOST_WEIGHT:
            problems.append(f"weights: that of {name} must be from 1 to {MOST_WEIGHT}")
    if problems:
        raise UnusableSettings(problems)


def same_opening(laid: Mapping[str, Laid], periods: tuple[OpeningPeriods, ...]) -> dict[tuple[str, Period], LessonName | None]:
    """What every common period holds in all futures, compared period by period.

    Raises
    ------
    RefereeDisagrees
        When two futures differ in one.
    """
    found: dict[tuple[str, Period], LessonName | None] = {}
    for each in periods:
        for period in each.common:
            held = {name: _held(one, each.class_id, period) for name, one in laid.items()}
            if len(set(held.values())) > 1:
                raise RefereeDisagrees(f"{each.class_id} on {period[0]}, period {period[1]}: the openings differ, {held}")
            found[each.class_id, period] = next(iter(held.values()))
    return found


def _held(laid: Laid, class_id: str, period: Period) -> LessonName | None:
    facts = next(facts for facts in laid.instance.classes if facts.id == class_id)
    number = next(slot.number for slot in facts.slots if (slot.date, slot.period) == period)
    index = laid.holders[facts.index].get(number)
    lesson = laid.instance.lessons[index] if index is not None else None
    return (class_id, lesson.unit, lesson.id) if lesson is not None else None


class _Search:
    """Settles the losses in turn, and holds the best continuations found."""

    def __init__(self, futures: Mapping[str, Future], together: Together, calls: Calls, settings: SolveSettings) -> None:
        self._together, self._calls = together, calls
        effort = settings.seconds * EFFORT_PER_SECOND if settings.effort is None else settings.effort
        self._budget = Budget(time.monotonic() + settings.seconds, effort)
        self._own = {name: {aim.aim: aim for aim in future.answer.aims} for name, future in futures.items()}
        self._aims = next(iter(together.models.values())).parts.instance.aims
        self.best: dict[str, Sequence] = {}
        self._values: dict[str, dict[str, int]] = {}
        self.impossible = False

    def begin(self) -> bool:
        """Look for a first opening with all its continuations; whether one is held."""
        seconds, _ = self._budget.share(1)

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            self.impossible = status == cp_model.INFEASIBLE
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                self._keep(solver)
            return bool(self.best) or self.impossible

        self._calls.run(self._together.posting.model, seconds, math.inf, take, first=True)
        return bool(self.best)

    def settle(self, weights: Mapping[str, int] | None) -> tuple[Stage, ...]:
        """Aim by aim the greatest loss and then the sum of all; the weighted sum alone where there are weights."""
        kinds = ("sum",) if weights else ("greatest", "sum")
        every = [(place, aim, what) for place, aim in enumerate(self._aims) for what in kinds]
        bounds = []
        for number, (place, aim, what) in enumerate(every):
            losses = self._together.losses(place, {name: self._own_value(name, aim) for name in self._own})
            shown = (weights or {}) if what == "sum" else {}
            made_small = (
                self._together.greatest(losses, aim)
                if what == "greatest"
                else sum((loss * shown.get(name, 1) for name, loss in losses.items()), start=cp_model.LinearExpr.sum([]))
            )
            bound = self._make_small(aim, what, weights, made_small, len(every) - number)
            bounds.append(bound)
            self._together.posting.model.add(made_small <= self._counted(aim, what, weights))
        # A later search may have bettered what was not proven: what counts is what is handed out.
        return tuple(
            Stage(aim, what, self._counted(aim, what, weights), bound)
            for (_, aim, what), bound in zip(every, bounds, strict=True)
        )  # fmt: skip

    def _make_small(
        self, aim: str, what: str, weights: Mapping[str, int] | None, made_small: cp_model.LinearExprT, parts: int
    ) -> int:
        model, bound = self._together.posting.model, -math.inf

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal bound
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                self._keep(solver)
            if status == cp_model.INFEASIBLE:
                raise RefereeDisagrees("the model proves that no opening exists, but one is held")
            if math.isfinite(solver.best_objective_bound):
                bound = max(bound, math.ceil(solver.best_objective_bound - 1e-6))
            if status == cp_model.OPTIMAL and self._counted(aim, what, weights) != round(solver.objective_value):
                raise RefereeDisagrees(f"{aim}, {what} of the losses: the model counts {solver.objective_value:.0f}")
            return status == cp_model.OPTIMAL

        seconds, effort = self._budget.share(parts)
        model.minimize(made_small)
        self._budget.effort -= self._calls.run(model, seconds, effort, take)
        model.clear_objective()  # type: ignore[no-untyped-call]
        weighted = {name: (weights or {}).get(name, 1) if what == "sum" else 1 for name in self._own}
        floors = [
            weighted[name] * (self._together.models[name].aims[self._aims.index(aim)].floor - self._own_value(name, aim))
            for name in self._own
        ]
        floor = sum(floors) if what == "sum" else max(floors)
        return floor if math.isinf(bound) else max(floor, int(bound))

    def continuations(self) -> tuple[Continuation, ...]:
        """Every future's sequence, judged by the referee in that future."""
        found = []
        for name, sequence in self.best.items():
            instance = self._together.models[name].parts.instance
            verdict = judge(instance, sequence)
            if not verdict.sound:
                raise RefereeDisagrees(f"{name}: " + "; ".join(breach.message for breach in verdict.breaches))
            losses = []
            for aim in self._aims:
                own = self._own[name][aim]
                assert own.value is not None and own.bound is not None, "every future has a sequence of its own"
                losses.append(Loss(aim, verdict.aims[aim], own.value, own.bound))
            found.append(Continuation(name, instance, sequence, tuple(losses)))
        return tuple(found)

    def _own_value(self, name: str, aim: str) -> int:
        value = self._own[name][aim].value
        assert value is not None, "every future has a sequence of its own"
        return value

    def _counted(self, aim: str, what: str, weights: Mapping[str, int] | None) -> int:
        """The referee's count of what is made small."""
        losses = {name: self._values[name][aim] - self._own_value(name, aim) for name in self._own}
        return max(losses.values()) if what == "greatest" else sum(loss * (weights or {}).get(n, 1) for n, loss in losses.items())

    def _keep(self, solver: cp_model.CpSolver) -> None:
        for name, model in self._together.models.items():
            sequence = without_idle_live(model.parts.instance, sequence_found(model.parts, solver))
            self.best[name] = sequence
            self._values[name] = group_values(model.parts, sequence)
        hint_solution(self._together.posting.model, solver)
