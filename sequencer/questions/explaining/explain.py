"""Why a scenario has no sequence, and what would give it one."""

from __future__ import annotations

from dataclasses import dataclass, field

from sequencer.instance.facts import Instance
from sequencer.questions.explaining.minimal_conflict import Conflict, Search
from sequencer.questions.explaining.possible import Clock, possible
from sequencer.questions.explaining.repairs import Found, Repair, Repairs
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import take_apart
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal

TIME_FOR_WAYS_OUT = 0.5
"""Of the time, what conflicts leave to repairs: whoever is told why there is no sequence wants to know what helps."""


@dataclass(frozen=True)
class ExplainSettings:
    """How a scenario is explained: the seconds in all, and how many conflicts and repairs are looked for at most.

    Each full solve that verifies a repair takes about ``solve_seconds`` once it has a first sequence: that one has the time it
    needs.
    """

    seconds: float = 60.0
    conflicts: int = 3
    repairs: int = 3
    solve_seconds: float = 5.0


@dataclass(frozen=True)
class Explanation:
    """What came of explaining a scenario.

    Parameters
    ----------
    possible
        Whether the scenario has a sequence; None when that was not settled in time.
    conflicts, repairs
        Disjoint minimal conflicts, in the order found, and the cheapest changes that make the scenario possible.
    more
        Whether the rest, without the statements of all these conflicts, is impossible still; None when that is not known.
    cheapest, no_more
        Whether everything cheaper than the first repair was ruled out; and whether it is sure that there is no further one that
        changes no more than it needs.
    seconds
        Time until the first conflict was found and proven.
    stopped
        Whether somebody ended the search before it was done.
    """

    instance: Instance
    possible: bool | None
    conflicts: tuple[Conflict, ...] = ()
    more: bool | None = None
    repairs: tuple[Repair, ...] = ()
    cheapest: bool = True
    no_more: bool = False
    seconds: float | None = field(default=None, compare=False)
    stopped: bool = field(default=False, compare=False)


def explain(scenario: Scenario, settings: ExplainSettings | None = None, stop: StopSignal | None = None) -> Explanation:
    """Disjoint minimal conflicts of a scenario that has no sequence, and the cheapest repairs, each tried.

    ``stop`` is a signal by which another thread ends the search, keeping what was found.
    """
    settings = settings or ExplainSettings()
    clock = Clock(settings.seconds, settings.seconds / 4, stop)
    stated = take_apart(scenario)
    there_is = possible(stated.spread, clock)
    if there_is is not False:
        return Explanation(stated.instance, there_is, stopped=clock.stop.stopped)
    conflicts: list[Conflict] = []
    aside: list[Statement] = []
    more: bool | None = True
    first = None
    clock.hold_back(TIME_FOR_WAYS_OUT if settings.repairs else 0.0)
    while len(conflicts) < settings.conflicts and more:
        search = Search(stated, clock, aside)
        found = search.conflict()
        if found is None:
            more = None
            break
        first = clock.elapsed if first is None else first
        conflicts.append(found)
        if not found.statements:
            break
        aside += found.statements
        search = Search(stated, clock, aside)
        more = search.contradict(search.statements)
    clock.release()
    mended = Found((), False, False)
    if settings.repairs and all(conflict.statements for conflict in conflicts):
        looking = Repairs(stated, tuple(conflicts), clock, settings.solve_seconds)
        mended = looking.cheapest(settings.repairs)
    return Explanation(
        stated.instance, False, tuple(conflicts), more, mended.repairs, mended.cheapest, mended.no_more, first, clock.stop.stopped
    )
