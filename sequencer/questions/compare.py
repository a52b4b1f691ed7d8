"""Every what-if of a scenario solved, and put beside the scenario as it stands."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

from sequencer.errors import RefereeDisagrees, UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.instance.load import scenario_from_data
from sequencer.plan.differences import (
    ClassPeriods,
    LessonName,
    Quota,
    Shift,
    carried,
    known_lessons,
    not_placed,
    periods_changed,
    quotas,
    shifts,
    standing,
)
from sequencer.plan.sequence import Laid, Sequence
from sequencer.questions.explaining.explain import ExplainSettings, Explanation, explain
from sequencer.questions.solve import Answer, SolveSettings, solve
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.changes.what_ifs import Change
from sequencer.scenario.schema import Scenario, chain, future
from sequencer.scenario.written import scenario_data
from sequencer.solver.solver_calls import AT_ONCE, StopSignal
from sequencer.words import BASE, INFEASIBLE

EXPLAINED_SECONDS = 60.0
"""Time for saying why a future is impossible, at most; the time for one solve where that is less."""

WAYS_OUT = 2
"""Changes that would give a future a sequence that has none, at most."""


@dataclass(frozen=True)
class Future:
    """One future: the base, or what a what-if makes of it, with its own best sequence as ``answer``.

    Parameters
    ----------
    changes
        All that is changed, in the order in which it is, that of the what-ifs it builds on first.
    explanation
        Why there is no sequence; None where there is one, or none was found in time.
    shifts
        The lessons that lie elsewhere than in the base; None where one of the two has no sequence.
    left_out, carried_over
        Lessons that are not placed; those whose practice or retrieval is left for the next plan.
    hopeless, others
        Classes of a conflict without which the others have a sequence, and that sequence; all else is told of it then.
    """

    name: str
    changes: tuple[Change, ...]
    answer: Answer
    explanation: Explanation | None
    periods: tuple[ClassPeriods, ...]
    shifts: tuple[Shift, ...] | None
    left_out: tuple[LessonName, ...]
    carried_over: tuple[LessonName, ...]
    quotas: tuple[Quota, ...]
    hopeless: tuple[str, ...] = ()
    others: Answer | None = None

    @property
    def shown(self) -> Answer:
        """Its own answer, or that of the classes that have a sequence."""
        return self.answer if self.others is None else self.others

    @property
    def moved(self) -> int | None:
        """How many lessons of the base's sequence lie elsewhere or are not placed; new lessons count nothing."""
        return None if self.shifts is None else sum(shift.old is not None for shift in self.shifts)

    @property
    def fewest_moved(self) -> int | None:
        """The number of such lessons below which none is possible; None where that was not asked or is not known."""
        disruption = self.shown.disruption
        if self.moved is None or disruption is None or disruption.value is None or disruption.bound is None:
            return None
        # Lessons that this future does not know have moved, wherever the others lie.
        return self.moved - disruption.value + disruption.bound


@dataclass(frozen=True)
class Comparison:
    """A scenario as it stands, and each of its what-ifs; ``close`` where each is as close to the base as it can be."""

    scenario: Scenario
    close: bool
    base: Future
    futures: tuple[Future, ...]


def what_if_scenario(scenario: Scenario, name: str) -> Scenario:
    """The scenario as it would be under one of its what-ifs; its title, which stands on all that is made of it, says so.

    Raises
    ------
    UnusableSettings
        When it has no such what-if.
    """
    names = [each.name for each in scenario.what_ifs]
    if name not in names:
        raise UnusableSettings([f"there is no what-if {name}: what-ifs are {', '.join(names) or 'none'}"])
    made = future(scenario, names.index(name))
    told = f"{scenario.title}: what if {name}" if scenario.title else f"What if {name}"
    return scenario_from_data(scenario_data(made.model_copy(update={"title": told})))


def compare(
    scenario: Scenario,
    settings: SolveSettings | None = None,
    close: bool = False,
    stop: StopSignal | None = None,
    ready: Callable[[Future], None] | None = None,
    plan: Sequence | None = None,
) -> Comparison:
    """The scenario as it stands and each of its what-ifs, side by side; a few are solved at once, each with the whole time.

    Parameters
    ----------
    close
        Whether each what-if keeps as many lessons as it can where the base has them, before any aim; freely at its best unless.
    stop
        A signal by which another thread ends the search, keeping what was found.
    ready
        Called with each future as it is done, the base first.
    plan
        The plan as it stands: the base keeps as many of its lessons where they are as can be, and so does each what-if.

    Raises
    ------
    UnusableSettings
        When the scenario has no what-ifs, or alternatives are asked for.
    RefereeDisagrees
        When the referee rejects a sequence, or counts otherwise: a defect of this package.
    """
    settings = settings or SolveSettings()
    problems = [] if scenario.what_ifs else ["the scenario has no what_ifs to compare it with"]
    if settings.alternatives:
        problems.append("alternatives cannot be asked for in a comparison")
    if problems:
        raise UnusableSettings(problems)
    made = [scenario_from_data(scenario_data(future(scenario, place))) for place in range(len(scenario.what_ifs))]

    close = close or plan is not None

    def solved(each: Scenario, near: Laid | None = None) -> Answer:
        return solve(each, settings, None, stop, standing(near, build_instance(each)) if near is not None else None)

    start = Laid(build_instance(scenario), plan) if plan is not None else None
    with ThreadPoolExecutor(AT_ONCE) as threads:
        # Where what-ifs are to be close to it, the base comes before them.
        answers = threads.map(partial(solved, near=start), [scenario] if close else [scenario, *made])
        comparing = _Comparing(settings, stop or StopSignal(), next(answers), solved, ready)
        base = comparing.done(BASE, (), scenario, comparing.base, start or comparing.laid, start)
        near = comparing.laid if close else None
        if close:
            answers = threads.map(partial(solved, near=near), made)
        futures = []
        for place, (what_if, each, answer) in enumerate(zip(scenario.what_ifs, made, answers, strict=True)):
            changes = tuple(change for number in chain(scenario, place) for change in scenario.what_ifs[number].changes)
            futures.append(comparing.done(what_if.name, changes, each, answer, comparing.laid, near))
    return Comparison(scenario, close, base, tuple(futures))


class _Comparing:
    """Puts one answer after the other beside the base's."""

    def __init__(
        self,
        settings: SolveSettings,
        stop: StopSignal,
        base: Answer,
        solved: Callable[[Scenario, Laid | None], Answer],
        ready: Callable[[Future], None] | None,
    ) -> None:
        self.base = base
        self.laid = Laid(base.instance, base.sequence) if base.sequence is not None else None
        self._seconds = min(settings.seconds, EXPLAINED_SECONDS)
        self._stop = stop
        self._solved = solved
        self._ready = ready

    def done(
        self, name: str, changes: tuple[Change, ...], scenario: Scenario, answer: Answer, beside: Laid | None, near: Laid | None
    ) -> Future:
        """A future beside a sequence; where it has none, with one of the classes that have, ``near`` what it was to be near."""
        why: Explanation | None = None
        hopeless: tuple[str, ...] = ()
        others: Answer | None = None
        if answer.status == INFEASIBLE:
            why = explain(scenario, ExplainSettings(self._seconds, conflicts=1, repairs=WAYS_OUT), self._stop)
            hopeless, others = self._without_conflict(scenario, why, near)
        shown = answer if others is None else others
        laid = Laid(shown.instance, shown.sequence) if shown.sequence is not None else None
        moved = shifts(beside, laid) if beside is not None and laid is not None else None
        moved = tuple(shift for shift in moved if shift.name[0] not in hopeless) if moved is not None else None
        left_out, later, live = (not_placed(laid), carried(laid), quotas(laid)) if laid is not None else ((), (), ())
        periods = periods_changed(self.base.instance, answer.instance)
        found = Future(name, changes, answer, why, periods, moved, left_out, later, live, hopeless, others)
        _agree(found)
        if self._ready is not None:
            self._ready(found)
        return found

    def _without_conflict(self, scenario: Scenario, why: Explanation, near: Laid | None) -> tuple[tuple[str, ...], Answer | None]:
        """The classes of a conflict, and a sequence of the others; none where there are no others, or these have none either."""
        gone = {place for conflict in why.conflicts for one in conflict.statements for place in one.classes}
        names = tuple(each.id for place, each in enumerate(scenario.classes) if place in gone)
        if not gone or len(gone) == len(scenario.classes):
            return names, None
        left = edited(scenario, [Edit(("classes", place)) for place in sorted(gone)])
        answer = self._solved(left.model_copy(update={"what_ifs": ()}), near)
        return names, answer if answer.sequence is not None else None


def _agree(found: Future) -> None:
    """The lessons that moved, counted by name, are as many as the search says, those apart that this future does not know."""
    disruption = found.shown.disruption
    if found.shifts is None or disruption is None:
        return
    known = known_lessons(found.shown.instance)
    counted = sum(shift.old is not None and shift.name in known for shift in found.shifts)
    if counted != disruption.value:
        raise RefereeDisagrees(f"{found.name}: the model moves {disruption.value} lessons, counted by name it is {counted}")
