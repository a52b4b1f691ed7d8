"""A scenario solved again beside the plan made before: as little as can be moves, or so much at most, or each number in turn."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.instance.facts import LessonFacts
from sequencer.plan.differences import LessonName, MoveWeights, Period, Shift, Standing, displaced
from sequencer.plan.sequence import Gone, Laid, Previous, Sequence
from sequencer.questions.compare import EXPLAINED_SECONDS
from sequencer.questions.explaining.explain import ExplainSettings, Explanation, explain
from sequencer.questions.solve import AimResult, Answer, SolveSettings, solve
from sequencer.scenario.schema import Scenario
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import StopSignal
from sequencer.words import FEASIBLE, INFEASIBLE, OPTIMAL, day_text

LEAST_SECONDS = 1.0
"""What the last sequence of a trade-off has at least, so that it is not cut off before it is begun."""

_NAMED = 3
"""Lessons that are named where nothing is recorded of many."""


@dataclass(frozen=True)
class Turned:
    """One lesson that keeps its date and period and is to be taught otherwise: in class, live or as set work."""

    name: LessonName
    title: str
    at: Period
    old: str
    new: str


@dataclass(frozen=True)
class Replanned:
    """A plan made again; the answer's ``disruption`` is what the moves weigh, with the bound.

    Parameters
    ----------
    standing, taught
        Where the lessons stood that were still to be taught, and how they were to be, as far as the plan before says it.
    moved
        How many of them lie elsewhere, or are not placed; None without a sequence.
    most_moved
        How many were allowed to; None where as little as can be moves.
    gone
        Lessons of the plan before, still to be taught then, that are not to be taught any more; they count as no moves.
    explanation
        Why there is no sequence, whatever moves; where one is possible, it is the number allowed that is too small.
    """

    answer: Answer
    standing: Standing
    moved: int | None
    most_moved: int | None
    gone: tuple[Gone, ...] = ()
    explanation: Explanation | None = None
    taught: Mapping[int, str] = field(default_factory=dict)

    def shifts(self) -> tuple[Shift, ...]:
        """Every lesson that lies elsewhere, falls away or is new; class by class, in order of time."""
        instance, sequence = self.answer.instance, self.answer.sequence
        if sequence is None:
            return ()
        laid = Laid(instance, sequence)
        found = []
        for lesson in laid.lessons():
            old, new = self.standing.get(lesson.index), _at(laid, lesson)
            first = old or new
            if lesson.delivered is None and old != new and first is not None:
                name = (instance.class_of(lesson).id, lesson.unit, lesson.id)
                found.append((lesson.class_index, first, lesson.index, Shift(name, lesson.title, old, new)))
        return tuple(shift for *_, shift in sorted(found, key=lambda entry: entry[:3]))

    def turned(self) -> tuple[Turned, ...]:
        """Every lesson that lies where it lay and is taught otherwise; class by class, in order of time. They are no moves."""
        instance, sequence = self.answer.instance, self.answer.sequence
        if sequence is None:
            return ()
        laid = Laid(instance, sequence)
        found = []
        for lesson in laid.lessons():
            old, at = self.taught.get(lesson.index), _at(laid, lesson)
            if lesson.delivered is not None or old is None or at is None or at != self.standing.get(lesson.index):
                continue
            if old != (new := laid.taught(lesson.index)):
                name = (instance.class_of(lesson).id, lesson.unit, lesson.id)
                found.append((lesson.class_index, at, Turned(name, lesson.title, at, old, new)))
        return tuple(turned for *_, turned in sorted(found, key=lambda entry: entry[:2]))


@dataclass(frozen=True)
class TradeOff:
    """Best sequences by how many lessons move, from as few as can be to as many as pay; each better than all before it.

    ``afresh`` is never worse than a step: where the time did not find it as good a sequence, it is the last step's.

    ``complete`` where the last is as good as one made afresh, and every one is proven best for its number.
    """

    steps: tuple[Replanned, ...]
    afresh: Answer
    complete: bool


def replan(
    scenario: Scenario,
    previous: Sequence | Previous,
    settings: SolveSettings | None = None,
    most_moved: int | None = None,
    stop: StopSignal | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> Replanned:
    """The plan made again: what was taught stays, as the record says it, and of the rest as little moves as can be.

    Parameters
    ----------
    previous
        The sequence that was planned before, read against the scenario as it is now.
    most_moved
        How many lessons may move: then the best sequence with no more is looked for, instead of the least disruption.
    progress
        Called with every improvement, from the solver's threads.

    Raises
    ------
    UnusableSettings
        When fewer than no lesson may move.
    """
    if most_moved is not None and most_moved < 0:
        raise UnusableSettings([f"the lessons that may move must be at least 0 (got {most_moved})"])
    stood, gone, taught, notes = _beside(scenario, previous)
    again = replace(_solved(scenario, stood, settings, most_moved, stop, notes, progress), gone=gone, taught=taught)
    if again.answer.status != INFEASIBLE:
        return again
    seconds = min((settings or SolveSettings()).seconds, EXPLAINED_SECONDS)
    return replace(again, explanation=explain(scenario, ExplainSettings(seconds, conflicts=1, repairs=1), stop))


def beside_before(answer: Answer, previous: Sequence | Previous) -> Replanned:
    """A plan that there is, as one that followed another: what moved from there; nothing is looked for."""
    assert answer.sequence is not None
    stood, gone, taught, _ = _beside(answer.instance.scenario, previous)
    moved = displaced(Laid(answer.instance, answer.sequence), stood)
    return Replanned(answer, stood, moved, None, gone, taught=taught)


def trade_off(
    scenario: Scenario, previous: Sequence | Previous, settings: SolveSettings | None = None, stop: StopSignal | None = None
) -> TradeOff:
    """The best sequence for each number of moves, from the fewest possible until none is better; the time is that for all.

    A number that gains nothing over a smaller one is left out.
    """
    settings = settings or SolveSettings()
    ends = time.monotonic() + settings.seconds
    stood, gone, taught, notes = _beside(scenario, previous)

    def left() -> SolveSettings:
        return replace(settings, seconds=max(LEAST_SECONDS, ends - time.monotonic()))

    afresh = solve(scenario, replace(settings, seconds=settings.seconds / 3), None, stop)
    # The fewest moves count each lesson once, whatever it weighs.
    fewest = solve(scenario, replace(settings, seconds=settings.seconds / 3), None, stop, stood)
    if fewest.disruption is None or fewest.disruption.value is None:
        return TradeOff((), afresh, False)
    proven = afresh.status == OPTIMAL and fewest.disruption.proven
    steps: list[Replanned] = []
    for most in range(fewest.disruption.value, len(stood) + 1):
        if (stop is not None and stop.stopped) or time.monotonic() >= ends:
            break
        step = replace(_solved(scenario, stood, left(), most, stop, notes), gone=gone, taught=taught)
        proven &= step.answer.status == OPTIMAL
        if step.answer.sequence is not None and (not steps or _values(step.answer) < _values(steps[-1].answer)):
            steps.append(step)
        if steps and _values(steps[-1].answer) <= _values(afresh):
            return TradeOff(tuple(steps), _not_below(afresh, steps[-1].answer), proven)
    return TradeOff(tuple(steps), _not_below(afresh, steps[-1].answer) if steps else afresh, False)


def move_weights(scenario: Scenario) -> MoveWeights:
    """What it costs to move a lesson of this scenario."""
    stated = scenario.disruption
    near = tuple(sorted(((each.days, each.weight) for each in stated.near), key=lambda each: each[0]))
    shared = {place: stated.shared for place, class_ in enumerate(scenario.classes) if class_.plan_shared}
    return MoveWeights(scenario.today, near, shared)


def _beside(
    scenario: Scenario, previous: Sequence | Previous
) -> tuple[Standing, tuple[Gone, ...], Mapping[int, str], tuple[str, ...]]:
    """Where lessons stood, which are gone, how they were to be taught, and what there is to say of the past."""
    before = previous if isinstance(previous, Previous) else Previous(previous)
    laid, today = Laid(build_instance(scenario), before.sequence), scenario.today
    gone = tuple(each for each in before.gone if today is None or each.date >= today)
    return _where_it_stood(laid), gone, _how_it_was_taught(laid), _not_recorded_note(laid, today)


def _not_recorded_note(laid: Laid, today: date | None) -> tuple[str, ...]:
    """What is to be said where the earlier plan has lessons before ``today`` and nothing is recorded of them.

    They are still to be taught: whether they were is for the record to say, in whatever form a plan is read back.
    """
    left = [
        lesson
        for lesson in laid.all_placed()
        if today is not None and lesson.delivered is None and laid.first_slot(lesson.index).date < today
    ]
    if not left or today is None:
        return ()
    named = [f'{laid.instance.class_of(lesson).id} "{lesson.title}"' for lesson in left[:_NAMED]]
    listed = ", ".join([*named, *(["…"] if len(left) > _NAMED else [])])
    what = "1 lesson is" if len(left) == 1 else f"{len(left)} lessons are"
    still = "it is still to be taught" if len(left) == 1 else "they are still to be taught"
    return (
        f"Of what the earlier plan has before {day_text(today)}, {what} not recorded ({listed}): {still}. "
        "If that is wrong, record what became of each.",
    )


def _where_it_stood(laid: Laid) -> Standing:
    """Where each lesson still to be taught stood, in a period that is still there or not."""
    stood = {lesson.index: _at(laid, lesson) for lesson in laid.all_placed()}
    stood |= {stray.lesson: (stray.date, stray.period) for stray in laid.sequence.strays}
    return {index: at for index, at in stood.items() if at is not None and laid.instance.lessons[index].delivered is None}


def _at(laid: Laid, lesson: LessonFacts) -> Period | None:
    """The date and period that a lesson begins in; None where it is not placed."""
    slot = laid.first_slot(lesson.index) if laid.placed(lesson.index) else None
    return (slot.date, slot.period) if slot is not None else None


def _how_it_was_taught(laid: Laid) -> Mapping[int, str]:
    """How each lesson still to be taught was to be taught; none of those whose period is not there any more."""
    placements = laid.sequence.placements
    return {each.lesson: each.taught for each in placements if laid.instance.lessons[each.lesson].delivered is None}


def _solved(
    scenario: Scenario,
    stood: Standing,
    settings: SolveSettings | None,
    most: int | None,
    stop: StopSignal | None,
    notes: tuple[str, ...],
    progress: Callable[[Progress], None] | None = None,
) -> Replanned:
    answer = solve(scenario, settings, progress, stop, stood, move_weights(scenario), most)
    answer = replace(answer, notes=(*answer.notes, *notes))
    moved = None if answer.sequence is None else displaced(Laid(answer.instance, answer.sequence), stood)
    return Replanned(answer, stood, moved, most)


def _not_below(afresh: Answer, step: Answer) -> Answer:
    """What is told as made afresh: where a step is better than what was found in the time, the step's sequence.

    Whoever makes a plan afresh may make that one too. Bounds are those found without a cap on moves: each holds for values of
    the aims before it that are no worse, and none is told where one is.
    """
    if _values(afresh) and _values(afresh) <= _values(step):
        return afresh
    aims: tuple[AimResult, ...] = ()
    still_holds = True
    for aim, found in zip(step.aims, afresh.aims, strict=True):
        bound = found.bound if still_holds else None
        aims += (replace(aim, bound=bound, proven=bound is not None and aim.value == bound),)
        still_holds &= aim.value is not None and found.value is not None and aim.value <= found.value
    # A later bound holds for the values before it only, unless all of those are proven.
    aims = tuple(replace(aim, conditional=not all(each.proven for each in aims[:at])) for at, aim in enumerate(aims))
    return replace(step, status=OPTIMAL if all(aim.proven for aim in aims) else FEASIBLE, aims=aims, disruption=None)


def _values(answer: Answer) -> tuple[int, ...]:
    return tuple(aim.value for aim in answer.aims if aim.value is not None)
