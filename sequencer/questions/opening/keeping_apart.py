"""Why futures cannot share an opening: as few of their statements as that takes, each said of the futures that make it.

Statements and what takes each away are those of a scenario by itself (``explaining``). The question asked of what is left is
whether these futures can begin alike. What all of them state counts as one statement, and is taken away from all.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.instance.build import build_instance
from sequencer.questions.explaining.minimal_conflict import fewest
from sequencer.questions.explaining.statement import Statement, rank_of
from sequencer.questions.explaining.statements import take_apart
from sequencer.questions.opening.futures_side_by_side import can_share
from sequencer.scenario.changes.edits import edited
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import Calls

LONGEST_CALL = 5.0
"""Seconds for one question at most."""


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
