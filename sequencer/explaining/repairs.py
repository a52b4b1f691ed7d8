"""The cheapest changes that make an impossible scenario possible.

Every conflict must be eased somewhere: so many steps of so many dials. Choices of steps are looked at in the order of their
cost; one that leaves a conflict (known, or found when the search says that there is no sequence) leads to those with one step
more in one of the dials of that conflict. The first choices that leave none are the cheapest repairs.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from sequencer.changes.apply import apply_changes, changed
from sequencer.changes.schema import Change
from sequencer.errors import UnusableInput
from sequencer.explaining.conflict import Conflict, Search
from sequencer.explaining.dials import Dial, dials_of
from sequencer.explaining.gained import gained
from sequencer.explaining.possible import Clock, possible
from sequencer.explaining.shortage import shortage_of
from sequencer.explaining.statements import Stated, take_apart
from sequencer.scenario.schema import Scenario
from sequencer.solve import Answer, SolveSettings, solve

MOST_CHOICES = 4000
"""Choices that are looked at, at most."""

DialKey = tuple[str, ...]
Choice = tuple[tuple[DialKey, int], ...]
"""How far each dial is turned, those that are not left out."""


@dataclass(frozen=True)
class Repair:
    """Changes that make the scenario possible.

    Parameters
    ----------
    changes
        As a what-if lists them.
    cost
        By the scenario's costs.
    scenario
        The scenario with the changes made.
    answer
        What came of solving it.
    """

    changes: tuple[Change, ...]
    cost: int
    scenario: Scenario = field(compare=False)
    answer: Answer = field(compare=False)


@dataclass(frozen=True)
class _Known:
    """A conflict that stands as long as none of its dials is turned further than so."""

    dials: tuple[DialKey, ...]
    turned: Mapping[DialKey, int]

    def stands(self, choice: Mapping[DialKey, int]) -> bool:
        return all(choice.get(dial, 0) <= self.turned.get(dial, 0) for dial in self.dials)


class Repairs:
    """Looks for repairs of one scenario.

    Parameters
    ----------
    stated
        The scenario taken apart.
    conflicts
        Conflicts that are known of it.
    clock
        The time there is.
    seconds
        Time for each full solve that verifies a repair.
    """

    def __init__(self, stated: Stated, conflicts: tuple[Conflict, ...], clock: Clock, seconds: float) -> None:
        self.stated = stated
        self.clock = clock
        self.seconds = seconds
        self.complete = True
        """Whether everything cheaper than the last repair was ruled out."""
        self._statements = {statement.key: statement for statement in stated.statements}
        self._dials: dict[DialKey, Dial] = {}
        self._cores: list[tuple[frozenset[tuple[str, ...]], tuple[DialKey, ...]]] = []
        self._known: list[_Known] = []
        for conflict in conflicts:
            self._add(conflict, {})

    def cheapest(self) -> Iterator[Repair]:
        """Repairs in the order of their cost; none is part of another."""
        heap: list[tuple[int, int, Choice]] = [(0, 0, ())]
        seen: set[Choice] = {()}
        given: list[Mapping[DialKey, int]] = []
        for _ in range(MOST_CHOICES):
            if not heap:
                return
            cost, _steps, choice = heapq.heappop(heap)
            turned = dict(choice)
            if any(all(turned.get(dial, 0) >= steps for dial, steps in before.items()) for before in given):
                continue
            conflict = self._standing(turned)
            if conflict is None:
                if self.clock.over:
                    break
                repair = self._verified(turned, cost)
                if repair is not None:
                    given.append(turned)
                    yield repair
                continue
            for dial in conflict.dials:
                steps = conflict.turned.get(dial, 0) + 1
                if steps > len(self._dials[dial].levels):
                    continue
                further = tuple(sorted({**turned, dial: steps}.items()))
                if further not in seen:
                    seen.add(further)
                    heapq.heappush(heap, (self._cost(further), sum(number for _, number in further), further))
        self.complete = False

    def _cost(self, choice: Choice) -> int:
        return sum(self._dials[dial].levels[steps - 1].cost for dial, steps in choice)

    def _changes(self, turned: Mapping[DialKey, int]) -> tuple[Change, ...]:
        return tuple(change for dial, steps in sorted(turned.items()) for change in self._dials[dial].levels[steps - 1].changes)

    def _standing(self, turned: Mapping[DialKey, int]) -> _Known | None:
        """A conflict that the choice leaves; None when it leaves none, or when that was not settled in time."""
        for known in self._known:
            if known.stands(turned):
                return known
        eased = take_apart(changed(self.stated.scenario, self._changes(turned)))
        search = Search(eased, self.clock)
        for keys, dials in self._cores if turned else ():
            kept = [statement for statement in eased.statements if statement.key in keys]
            if search.holds(kept) is False:
                self._known.append(_Known(dials, turned))
                return self._known[-1]
        holds = possible(eased.spread, self.clock)
        if holds is not False:
            return None
        conflict = search.conflict()
        return self._add(conflict, turned) if conflict is not None else _Known((), turned)

    def _add(self, conflict: Conflict, turned: Mapping[DialKey, int]) -> _Known:
        """Note a conflict, with every dial that could ease it."""
        found: dict[DialKey, Dial] = {}
        lessons = {index for statement in conflict.statements for index in statement.lessons}
        owners = {(self.stated.instance.class_of(lesson).id, f"{lesson.unit}/{lesson.role}") for lesson in self.stated.instance.lessons if lesson.index in lessons}  # noqa: E501
        keys = [statement.key for statement in conflict.statements]
        keys += [key for owner in sorted(owners) if (key := ("lesson", *owner)) in self._statements and key not in keys]
        for key in keys:
            statement = self._statements.get(key)
            if statement is None:
                continue
            if statement.kind == "periods":
                dial = gained(self.stated, statement, shortage_of(conflict.core))
                own = (dial,) if dial is not None else ()
            else:
                own = dials_of(self.stated, statement)
            found |= {dial.key: dial for dial in own}
        self._dials |= found
        core = frozenset(statement.key for statement in conflict.statements)
        self._cores.append((core, tuple(found)))
        self._known.append(_Known(tuple(found), dict(turned)))
        return self._known[-1]

    def _verified(self, turned: Mapping[DialKey, int], cost: int) -> Repair | None:
        """The repair, if what it makes of the scenario reads back and a full solve of it ends in a sound sequence."""
        changes = self._changes(turned)
        try:
            scenario = apply_changes(self.stated.scenario, changes)
        except UnusableInput:
            return None
        answer = solve(scenario, SolveSettings(seconds=self.seconds), stop=self.clock.stop)
        sound = answer.verdict is not None and answer.verdict.sound
        return Repair(changes, cost, scenario, answer) if answer.sequence is not None and sound else None
