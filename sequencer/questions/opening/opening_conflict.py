"""Which futures cannot share an opening, when not all of them can, the first period that keeps them apart, and why.

Why is told by as few of their statements as that takes, each said of the futures that make it. Statements, and what takes each
away, are those of a scenario by itself (``explaining``); the question asked of what is left is whether the futures can begin
alike. What all of them state counts as one statement, and is taken away from all.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from ortools.sat.python import cp_model

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance
from sequencer.plan.differences import LessonName, Period
from sequencer.questions.explaining.minimal_conflict import fewest
from sequencer.questions.explaining.statement import Statement, rank_of
from sequencer.questions.explaining.statements import take_apart
from sequencer.questions.opening.futures_side_by_side import (
    OpeningPeriods,
    Together,
    can_share,
    opening_periods,
    prepared_futures,
    solved,
)
from sequencer.scenario.changes.edits import edited
from sequencer.scenario.schema import Scenario
from sequencer.solver.posting import PostedStatement, total
from sequencer.solver.solver_calls import Calls

LONGEST_CALL = 5.0
"""Seconds for one question at most."""


@dataclass(frozen=True)
class Wanted:
    """What one future could hold in the period: lessons, and None where it could be spare."""

    future: str
    lessons: tuple[LessonName | None, ...]


@dataclass(frozen=True)
class Clash:
    """Where futures must part: the first period of a class that they cannot share, though they could share every one before it.

    ``wanted`` is for each future all that it could hold there, whatever the others do from there on.
    """

    class_id: str
    period: Period
    wanted: tuple[Wanted, ...]

    @property
    def apart(self) -> bool:
        """Whether nothing could be held by all; otherwise what could be takes different lessons before it."""
        return not set.intersection(*(set(each.lessons) for each in self.wanted))


@dataclass(frozen=True)
class Reason:
    """A statement that takes part in the conflict, and the futures that make it."""

    futures: tuple[str, ...]
    text: str


@dataclass(frozen=True)
class Reasons:
    """Statements that cannot all hold where these futures begin alike; ``minimal`` where that is proven of each."""

    reasons: tuple[Reason, ...]
    minimal: bool


@dataclass(frozen=True)
class OpeningConflict:
    """Futures that cannot share an opening, by their names; one alone when that future has no sequence at all.

    Parameters
    ----------
    minimal
        Whether without any one of them the others are proven to share an opening.
    possible_until
        The latest first day of a period until which these could share one, or the date asked about where that is known; None
        where not even a first period is shared or the time ran out before it was known.
    clash, reasons
        The first period that they cannot share, and what in them cannot hold together; None where that was not found in time.
    """

    futures: tuple[str, ...]
    minimal: bool
    possible_until: date | None = None
    clash: Clash | None = None
    reasons: Reasons | None = None


def conflict_of(instances: Mapping[str, Instance], until: date, calls: Calls, ends: float) -> OpeningConflict:
    """Of futures that cannot share an opening, a set of which none can be left out.

    One future after the other is left out for good where the rest still cannot share an opening.
    """
    kept, minimal = dict(instances), True
    for name in reversed(list(instances)):
        rest = {other: instance for other, instance in kept.items() if other != name}
        if not rest:
            continue
        possible = can_share(rest, until, calls, ends)
        if possible is False:
            kept = rest
        minimal &= possible is not None
    if len(kept) == 1:
        return OpeningConflict(tuple(kept), minimal)
    periods = opening_periods(kept, until)
    days = sorted({period[0] for each in periods for period in each.common})
    last = _last_possible(kept, days, calls, ends)
    clash = first_clash(kept, days[last], periods, calls, ends) if last is not None else None
    reasons = reasons_of({name: instance.scenario for name, instance in kept.items()}, until, calls, ends)
    return OpeningConflict(tuple(kept), minimal, days[last] if last else None, clash, reasons)


def _last_possible(instances: Mapping[str, Instance], days: list[date], calls: Calls, ends: float) -> int | None:
    """The place of the latest day until which they can share an opening: an earlier one asks for less; None without time."""
    low, high = 0, len(days) - 1  # before the first day nothing is shared; what comes after the last is known to be impossible
    while low < high:
        middle = (low + high + 1) // 2
        possible = can_share(instances, days[middle], calls, ends)
        if possible is None:
            return None
        low, high = (middle, high) if possible else (low, middle - 1)
    return low


def first_clash(
    instances: Mapping[str, Instance], day: date, periods: tuple[OpeningPeriods, ...], calls: Calls, ends: float
) -> Clash | None:
    """The clash on a day before which these futures could begin alike, and after which not; None when the time ran out.

    Periods are looked at in order of time, and where classes meet at one time, in the order of the classes.
    """
    order = sorted(
        ((period, place) for place, each in enumerate(periods) for period in each.common if period[0] == day),
    )
    shared = 0
    while shared < len(order) - 1:
        possible = solved(_together(instances, day, periods, order[: shared + 1]), calls, ends)
        if possible is None:
            return None
        if not possible:
            break
        shared += 1
    period, place = order[shared]
    class_id = periods[place].class_id
    wanted = []
    for name in instances:
        lessons = _could_hold(_together(instances, day, periods, order[:shared]), name, class_id, period, calls, ends)
        if lessons is None:
            return None
        wanted.append(Wanted(name, lessons))
    return Clash(class_id, period, tuple(wanted))


def _together(
    instances: Mapping[str, Instance], day: date, periods: tuple[OpeningPeriods, ...], also: list[tuple[Period, int]]
) -> Together:
    """The futures alike before the day, and in these of its periods."""
    together = Together(prepared_futures(instances), day)
    for place, each in enumerate(periods):
        together.begin_alike(replace(each, common=tuple(period for period, of in also if of == place)))
    return together


def _could_hold(
    together: Together, name: str, class_id: str, period: Period, calls: Calls, ends: float
) -> tuple[LessonName | None, ...] | None:
    """All that one future could hold in the period, found one after the other; None when the time ran out."""
    literals = together.holding(name, class_id, period)
    found: list[LessonName | None] = []

    def hear(solver: cp_model.CpSolver) -> None:
        held = (lesson for lesson, here in literals.items() if any(solver.boolean_value(literal) for literal, _ in here))
        found.append(next(held, None))

    while possible := solved(together, calls, ends, hear):
        last = found[-1]
        label = f"{class_id}: {last[1:] if last is not None else 'nothing'} no more in period {period[1]} of {period[0]}"
        if last is not None:
            together.posting.linear(PostedStatement(0, label), total(literals[last]) == 0)
        elif literals:
            every = [literal for here in literals.values() for literal in here]
            together.posting.linear(PostedStatement(0, label), total(every) >= 1)
        else:
            return (None,)
    lessons = [lesson for lesson in (*literals, None) if lesson in found]
    return tuple(lessons) if possible is False else None


_Said = tuple[tuple[str, Statement], ...]
"""One statement in each future that makes it."""


def reasons_of(futures: Mapping[str, Scenario], until: date, calls: Calls, ends: float) -> Reasons | None:
    """What keeps futures from sharing an opening; None where nothing was found in time.

    Parameters
    ----------
    futures
        Scenarios by the names of their futures, known not to share an opening, while all but any one of them can.
    """
    apart = {name: take_apart(scenario) for name, scenario in futures.items()}
    said: dict[tuple[object, ...], list[tuple[str, Statement]]] = {}
    for name, stated in apart.items():
        for statement in stated.statements:
            said.setdefault((statement.key, statement.text), []).append((name, statement))
    # What all say is kept first where there is a choice: the conflict lies in what only some say.
    every: list[_Said] = sorted(map(tuple, said.values()), key=lambda each: (-len(each), rank_of(each[0][1])))
    settled: dict[frozenset[int], bool | None] = {}

    def holds(kept: Iterable[_Said]) -> bool | None:
        names = frozenset(id(each) for each in kept)
        if names not in settled:
            gone = [each for each in every if id(each) not in names]
            left = {
                name: edited(stated.spread, [e for each in gone for where, one in each if where == name for e in one.edits])
                for name, stated in apart.items()
            }
            instances = {name: build_instance(scenario) for name, scenario in left.items()}
            settled[names] = can_share(instances, until, calls, min(ends, time.monotonic() + LONGEST_CALL))
        return settled[names]

    if holds(every) is not False or holds(()) is False:
        return None
    kinds: dict[tuple[str, int], list[_Said]] = {}
    for each in every:
        kinds.setdefault((each[0][1].kind, len(each)), []).append(each)

    def impossible(groups: list[list[_Said]]) -> bool:
        return holds(each for group in groups for each in group) is False

    groups = fewest(impossible, [], list(kinds.values()), False)
    found = [each for group in fewest(impossible, [], [[each] for group in groups for each in group], False) for each in group]
    minimal, place = True, 0
    while place < len(found):
        rest = [*found[:place], *found[place + 1 :]]
        without = holds(rest)
        if without is False:
            found, place, minimal = rest, 0, True
            continue
        minimal = minimal and without is True
        place += 1
    return Reasons(tuple(Reason(tuple(name for name, _ in each), each[0][1].text) for each in found), minimal)
