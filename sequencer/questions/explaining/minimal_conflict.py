"""A minimal conflict: statements that cannot all hold, any one of which taken away leaves a scenario that can.

The search asks one question only, whether a scenario has a sequence: of the scenario without some of its statements. Without
its calendar a scenario has more periods, so a rule that counts them may be broken there and kept in the school's own weeks:
statements are a conflict only where they cannot hold together with that calendar either. Classes
first (one class alone is often the whole trouble), then kinds of statement as wholes, then the single statements of those kinds
by divide and conquer. Whatever it comes to is then proven: all together impossible, each one taken away possible. A statement
that fails that proof (taking something away may also make a scenario harder, as when a closure that keeps two pinned lessons
side by side goes) is dropped, and the proof begins again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from sequencer.questions.explaining.possible import Clock, possible
from sequencer.questions.explaining.statement import Statement, rank_of
from sequencer.questions.explaining.statements import Stated, idle_lessons
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.schema import Scenario

Thing = TypeVar("Thing")


CALENDAR = frozenset({"periods", "closure", "lost", "leaves"})
"""Kinds of statements that say which periods there are: each leaves fewer."""

WANT_PERIODS = frozenset({*CALENDAR, "lesson", "length", "made", "on", "not before", "not after"})
"""Kinds of statements that hold the less the fewer periods there are; all others may count them."""


@dataclass(frozen=True)
class Conflict:
    """Statements that cannot all hold, in the order of their kinds; ``core`` is the scenario with them alone, spread out.

    Where ``proven`` the rest can hold without any one of them; the time ran out before that otherwise.
    """

    statements: tuple[Statement, ...]
    proven: bool
    core: Scenario


class Search:
    """Looks for conflicts among the statements of one scenario; those put aside are taken away whatever is looked at."""

    def __init__(self, stated: Stated, clock: Clock, aside: Iterable[Statement] = ()) -> None:
        self.stated = stated
        self.clock = clock
        gone = {statement.key for statement in aside}
        left = (statement for statement in stated.statements if statement.key not in gone)
        self.statements = tuple(sorted(left, key=rank_of))
        self._gone = tuple(statement for statement in stated.statements if statement.key in gone)
        self._answers: dict[tuple[frozenset[tuple[str, ...]], frozenset[int], bool], bool | None] = {}

    def kept(self, statements: Iterable[Statement], classes: frozenset[int] | None = None, calendar: bool = False) -> Scenario:
        """The scenario with these statements and no others, of some classes; ``calendar`` keeps what was put aside of it."""
        statements = tuple(statements)
        kept = {statement.key for statement in statements}
        edits = [edit for statement in self.statements if statement.key not in kept for edit in statement.edits]
        edits += idle_lessons(self.stated, statements)
        if classes is not None:
            count = len(self.stated.scenario.classes)
            edits = [Edit(("classes", place)) for place in range(count) if place not in classes] + edits
        gone = (statement for statement in self._gone if not (calendar and statement.kind in CALENDAR))
        return edited(self.stated.spread, [*edits, *(edit for statement in gone for edit in statement.edits)])

    def contradict(self, statements: Iterable[Statement], classes: frozenset[int] | None = None) -> bool | None:
        """Whether these statements cannot all hold, alone and beside the whole calendar; None where that was not settled."""
        statements = tuple(statements)
        if (alone := self._hold(statements, classes)) is not False:
            return None if alone is None else False
        if all(statement.kind in WANT_PERIODS for statement in statements):
            return True
        beside = self._hold((*statements, *(one for one in self.statements if one.kind in CALENDAR)), classes, calendar=True)
        return None if beside is None else not beside

    def _hold(
        self, statements: tuple[Statement, ...], classes: frozenset[int] | None = None, calendar: bool = False
    ) -> bool | None:
        key = (frozenset(statement.key for statement in statements), classes or frozenset(), calendar and self._aside_of_it)
        if self._answers.get(key) is None and not self.clock.over:
            self._answers[key] = possible(self.kept(statements, classes, calendar), self.clock)
        return self._answers.get(key)

    @property
    def _aside_of_it(self) -> bool:
        """Whether something of the calendar was put aside."""
        return any(statement.kind in CALENDAR for statement in self._gone)

    def conflict(self, proof: bool = True) -> Conflict | None:
        """A conflict among the statements; None where they can all hold, or where none was found in time.

        The statements must be known not to hold together. Of a scenario that is impossible without any of them the conflict is
        empty. Without its proof a conflict may hold more than it must.
        """
        classes = self._classes()
        if classes is None:
            return None
        found = self._among(self.statements, classes)
        if not proof:
            return Conflict(found, False, self.kept(found))
        everyone = frozenset(range(len(self.stated.scenario.classes)))
        if classes != everyone and self.contradict(found) is False:
            found = self._among(self.statements, everyone)
        return self._proven(found)

    def _classes(self) -> frozenset[int] | None:
        """The fewest classes, tried one after the other, whose statements alone cannot all hold."""
        everyone = frozenset(range(len(self.stated.scenario.classes)))
        for place in sorted(everyone) if len(everyone) > 1 else ():
            if self.contradict(self._of(frozenset({place})), frozenset({place})):
                return frozenset({place})
        if not self.contradict(self.statements, everyone):
            return None
        kept = everyone
        for place in sorted(everyone):
            fewer = kept - {place}
            if fewer and self.contradict(self._of(fewer), fewer):
                kept = fewer
        return kept

    def _of(self, classes: frozenset[int]) -> tuple[Statement, ...]:
        """The statements that concern some classes; of a count over several classes nothing can be said without them all."""
        return tuple(
            one
            for one in self.statements
            if not one.classes or (classes.issuperset if one.kind == "quota" else classes.intersection)(one.classes)
        )

    def _among(self, statements: tuple[Statement, ...], classes: frozenset[int]) -> tuple[Statement, ...]:
        """A conflict among statements of some classes: kinds first, then the statements of these kinds."""
        kinds: dict[str, list[Statement]] = {}
        for statement in self._of(classes):
            kinds.setdefault(statement.kind, []).append(statement)
        if self.contradict((), classes):
            return ()

        def together(groups: Sequence[Sequence[Statement]]) -> bool:
            return bool(self.contradict((one for group in groups for one in group), classes))

        groups = fewest(together, [], list(kinds.values()), False)
        singles = [[statement] for group in groups for statement in group]
        return tuple(one for group in fewest(together, [], singles, False) for one in group)

    def _proven(self, found: tuple[Statement, ...]) -> Conflict:
        """The conflict with its proof over the whole scenario; what the proof shows to be needless is dropped."""
        while True:
            proven = self.contradict(found) is True
            for place, _ in enumerate(found):
                fewer = found[:place] + found[place + 1 :]
                still = self.contradict(fewer)
                if still:
                    found = fewer
                    break
                proven = proven and still is False
            else:
                return Conflict(found, proven, self.kept(found))


def fewest(impossible: Callable[[list[Thing]], bool], background: list[Thing], things: list[Thing], added: bool) -> list[Thing]:
    """Fewest things that are impossible beside the background, by divide and conquer; earlier ones where there is a choice."""
    if added and impossible(background):
        return []
    if len(things) == 1:
        return things
    half = len(things) // 2
    first, second = things[:half], things[half:]
    of_second = fewest(impossible, background + first, second, bool(first))
    of_first = fewest(impossible, background + of_second, first, bool(of_second))
    return of_first + of_second
