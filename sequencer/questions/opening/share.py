"""The best opening for several futures: aim by aim, what not knowing costs the one it costs most; also until several dates."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.errors import RefereeDisagrees
from sequencer.instance.facts import Instance
from sequencer.plan.differences import LessonName, Period
from sequencer.plan.sequence import Laid, Sequence
from sequencer.questions.compare import Comparison, Future
from sequencer.questions.judge import judge
from sequencer.questions.opening.futures_side_by_side import (
    Futures,
    OpeningPeriods,
    Own,
    Together,
    opening_periods,
    prepared_futures,
)
from sequencer.questions.opening.leading import Leading
from sequencer.questions.opening.levels import Levels
from sequencer.questions.opening.losses import Losses, Plans, loss_stages
from sequencer.questions.opening.lossless import Lossless
from sequencer.questions.opening.must import Must
from sequencer.questions.opening.opening_asked import check_opening, weights_of
from sequencer.questions.opening.opening_conflict import OpeningConflict, conflict_of
from sequencer.questions.solve import SolveSettings
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import ClassesApart, parts_of
from sequencer.solver.model import ClassesModel, build_model, coupled_classes
from sequencer.solver.solver_calls import EFFORT_PER_SECOND, Budget, Calls, StopSignal
from sequencer.solver.sought import SequenceSought
from sequencer.words import FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN

WITHOUT_RELAXATION = 2.0
"""Effort per second beside that of other searches: without a relaxation two cores do 1.8 to 2.3."""

SHARE_LOSSLESS = 0.6
"""Share of time and effort for plans in which nothing is lost."""

SHARE_LEADING = 0.6
"""Share of time and effort for plans that begin as one future's own best does, where there are several classes."""


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
    """The answer: an opening until a date with every continuation, or why there is none.

    Parameters
    ----------
    weights
        Those of the futures; None when the worst case counts.
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


@dataclass(frozen=True)
class AimLosses:
    """What all futures lose on one aim with one opening, at least and, where own bests are not proven, at most.

    ``greatest`` is what the future loses that loses most, ``total`` the sum, each times its future's weight where it has one.
    """

    aim: str
    greatest: int
    greatest_most: int
    total: int
    total_most: int


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
        How much a future counts, by its name; 1 where others have one. Those that the what-ifs state where None; without any the
        worst case counts.

    Raises
    ------
    UnusableSettings
        When the date is not in the term, a weight's name is none of a future, or the futures were made close to the base.
    RefereeDisagrees
        When the referee rejects a continuation or the openings differ: a defect of this package.
    """
    settings, stop = settings or SolveSettings(), stop or StopSignal()
    futures = {future.name: future for future in (comparison.base, *comparison.futures)}
    check_opening(comparison.scenario, (until,), comparison.close, weights)
    instances = {name: future.answer.instance for name, future in futures.items()}
    periods = opening_periods(instances, until)
    stated = weights_of(comparison.scenario, weights)
    base_aims = tuple(aim.aim for aim in comparison.base.answer.aims)

    def none(status: str, conflict: OpeningConflict | None) -> SharedOpening:
        return SharedOpening(until, stated, status, periods, {}, (), (), conflict)

    impossible = [name for name, future in futures.items() if future.answer.status == INFEASIBLE]
    if impossible:
        return none(INFEASIBLE, OpeningConflict((impossible[0],), True))
    if any(future.answer.sequence is None for future in futures.values()):
        return none(UNKNOWN, None)
    effort = settings.seconds * EFFORT_PER_SECOND * WITHOUT_RELAXATION if settings.effort is None else settings.effort
    budget = Budget(time.monotonic() + settings.seconds, effort)
    search = _search(futures, until, settings, stated, stop, budget)
    if not search.begun and not search.begin(budget):
        if not search.impossible:
            return none(UNKNOWN, None)
        calls = Calls(settings.seed, settings.workers, stop)
        return none(INFEASIBLE, conflict_of(instances, until, calls, time.monotonic() + settings.seconds))
    result = search.settle(budget)
    opening = same_opening({name: Laid(instances[name], sequence) for name, sequence in result.sequence.items()}, periods)
    stages = tuple(
        Stage(aim, what, stage.value, stage.bound)
        for (aim, what), stage in zip(loss_stages(base_aims, stated), result.stages, strict=True)
    )
    done = all(stage.value == stage.bound for stage in stages)
    proven = done and all(future.answer.status == OPTIMAL for future in futures.values())
    continuations = tuple(_continuation(futures[name], sequence) for name, sequence in result.sequence.items())
    return SharedOpening(until, stated, OPTIMAL if proven else FEASIBLE, periods, opening, continuations, stages, None)


def share_openings(
    comparison: Comparison,
    dates: Iterable[date],
    settings: SolveSettings | None = None,
    weights: Mapping[str, int] | None = None,
    stop: StopSignal | None = None,
    ready: Callable[[SharedOpening], None] | None = None,
) -> tuple[SharedOpening, ...]:
    """One opening for every date by which it may be known which future comes; see ``share_opening``.

    The settings' time is that for each; ``ready`` is called with each as it is done.

    Raises
    ------
    UnusableSettings, RefereeDisagrees
    """
    found = []
    for until in dates:
        found.append(share_opening(comparison, until, settings, weights, stop))
        if ready is not None:
            ready(found[-1])
    return tuple(found)


def losses_by_aim(shared: SharedOpening) -> tuple[AimLosses, ...]:
    """What an opening loses, aim by aim; nothing where there is none."""
    counts = [(shared.weights or {}).get(each.name, 1) for each in shared.continuations]
    return tuple(
        AimLosses(
            losses[0].aim,
            max(loss.loss for loss in losses),
            max(loss.most for loss in losses),
            sum(count * loss.loss for count, loss in zip(counts, losses, strict=True)),
            sum(count * loss.most for count, loss in zip(counts, losses, strict=True)),
        )
        for losses in zip(*(each.losses for each in shared.continuations), strict=True)
    )


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


def _continuation(future: Future, sequence: Sequence) -> Continuation:
    """A future's sequence, judged by the referee in that future."""
    instance = future.answer.instance
    verdict = judge(instance, sequence)
    if not verdict.sound:
        raise RefereeDisagrees(f"{future.name}: " + "; ".join(breach.message for breach in verdict.breaches))
    losses = []
    for own in future.answer.aims:
        assert own.value is not None and own.bound is not None, "every future has a sequence of its own"
        losses.append(Loss(own.aim, verdict.aims[own.aim], own.value, own.bound))
    return Continuation(future.name, instance, sequence, tuple(losses))


def _search(
    futures: Mapping[str, Future],
    until: date,
    settings: SolveSettings,
    weights: Mapping[str, int] | None,
    stop: StopSignal,
    budget: Budget,
) -> GroupSearch[Plans]:
    """The search for the losses of all classes, with those over parts of them where there are several."""
    prepared = prepared_futures({name: future.answer.instance for name, future in futures.items()})
    every = tuple(range(len(next(iter(prepared.values())).instance.classes)))
    parts = parts_of(every, *(each.instance for each in prepared.values()))
    together = Together(prepared, until)
    own = {name: _own_best(future, together.models[name]) for name, future in futures.items()}

    def alone(name: str) -> GroupSearch[Sequence]:
        models = [build_model(prepared[name], part) for part in parts] if len(parts) > 1 else []
        searches = tuple(GroupSearch(SequenceSought(each), settings.seed, settings.workers, stop) for each in models)
        model = SequenceSought(build_model(prepared[name], every))
        return GroupSearch(model, settings.seed, settings.workers, stop, apart=ClassesApart(searches) if searches else None)

    shared = Futures(prepared, own, until, parts, weights)
    levels = Levels(own, next(iter(prepared.values())).instance.aims, shared.in_a_sum, alone)
    calls = Calls(settings.seed, settings.workers, stop)
    must = Must(shared, levels, calls) if len(parts) > 1 else None
    losses = Losses(together, own, weights, levels, calls, must)
    search = GroupSearch(losses, settings.seed, settings.workers, stop)
    leading = Leading(shared, settings.seed, settings.workers, stop)
    lossless = Lossless(shared, leading.continued, settings.seed, settings.workers, stop)
    with budget.lent(SHARE_LOSSLESS) as for_plans:
        known = lossless.best(losses, for_plans)
    if known is None and len(parts) > 1:
        with budget.lent(SHARE_LEADING) as for_leading:
            known = leading.best(losses, for_leading)
    if known is not None:
        search.start_from(known)
    return search


def _own_best(future: Future, model: ClassesModel) -> Own:
    """The best of a future made by itself: what is known of it."""
    sequence, verdict = future.answer.sequence, future.answer.verdict
    assert sequence is not None and verdict is not None, "every future has a sequence of its own"
    floors = {aim.name: aim.floor for aim in model.aims}
    # Groups of classes are held at their own values of earlier aims: where one could be less, another could have more for it.
    apart = len(coupled_classes(future.answer.instance)) > 1
    bounds = {
        aim.aim: floors[aim.aim] if apart and aim.conditional else aim.bound
        for aim in future.answer.aims
        if aim.bound is not None
    }
    return Own(sequence, verdict.aims, bounds, floors)
