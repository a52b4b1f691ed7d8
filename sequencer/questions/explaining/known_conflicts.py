"""Choices of dials and steps, the conflicts that are known of a scenario, and which choice leaves which."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from sequencer.errors import UnusableInput
from sequencer.questions.explaining.minimal_conflict import CALENDAR, WANT_PERIODS, Conflict, Search
from sequencer.questions.explaining.possible import Clock, possible
from sequencer.questions.explaining.shortage import gained, shortage_of
from sequencer.questions.explaining.statement import Dial
from sequencer.questions.explaining.statements import Stated, take_apart
from sequencer.scenario.changes.what_ifs import Change, changed

LESSON = "lesson"
"""First word of the key of a dial that leaves out a lesson."""

DialKey = tuple[str, ...]
Choice = tuple[tuple[DialKey, int], ...]
"""How far each dial is turned, those that are not left out."""

Further = Callable[["Known", Mapping[DialKey, int]], list[tuple[DialKey, int]]]
"""What a choice that leaves a conflict leads to: one dial more, or one turned further."""


def part_of(one: Mapping[DialKey, int], other: Mapping[DialKey, int]) -> bool:
    """Whether one choice turns no dial further than another does."""
    return all(other.get(dial, 0) >= steps for dial, steps in one.items())


@dataclass(frozen=True)
class Core:
    """A conflict: its statements' keys, and the dials that could ease it.

    ``alone`` where further statements cannot make possible what these make impossible: not where one may count periods, of which
    there are fewer between two lessons when the timetable and the closures hold as well.
    """

    keys: frozenset[tuple[str, ...]]
    dials: tuple[DialKey, ...]
    minimal: bool = True
    alone: bool = True


@dataclass(frozen=True)
class Known:
    """A conflict that stands as long as none of its dials is turned further than so."""

    core: Core
    turned: Mapping[DialKey, int]

    def stands(self, choice: Mapping[DialKey, int]) -> bool:
        return all(choice.get(dial, 0) <= self.turned.get(dial, 0) for dial in self.core.dials)


NOWHERE = Known(Core(frozenset(), ()), {})
"""What stands where a choice leads nowhere: nothing that is turned further will help."""


class KnownConflicts:
    """The conflicts that are known of a scenario, the dials that could ease them, and what choices of these leave."""

    def __init__(self, stated: Stated, clock: Clock) -> None:
        self.stated = stated
        self.clock = clock
        self.statements = {statement.key: statement for statement in stated.statements}
        self.dials: dict[DialKey, Dial] = {}
        self.cores: list[Core] = []
        self.alone: dict[tuple[Core, Choice], list[tuple[DialKey, int]]] = {}
        self.unsettled = False
        """Whether some choice was given up without an answer."""
        self._known: list[Known] = []
        self._eased: dict[tuple[Core, Choice], bool] = {}

    def by_one_step(self, known: Known, _turned: Mapping[DialKey, int]) -> list[tuple[DialKey, int]]:
        """For a conflict that a choice leaves: each dial turned one step further."""
        steps = ((dial, known.turned.get(dial, 0) + 1) for dial in known.core.dials)
        return [(dial, number) for dial, number in steps if number <= len(self.dials[dial].levels)]

    def by_one_dial(self, most: int) -> Further:
        """For a conflict that a choice leaves: each dial that alone ends it, turned as far as it must be; the cheapest few."""

        def further(known: Known, turned: Mapping[DialKey, int]) -> list[tuple[DialKey, int]]:
            core = known.core
            here = tuple(sorted((dial, steps) for dial, steps in turned.items() if dial in core.dials))
            if (core, here) not in self.alone:
                self.alone[core, here] = list(self.ways(core, dict(here), most))
            return self.alone[core, here]

        return further

    def ways(self, core: Core, here: dict[DialKey, int], most: int) -> Iterator[tuple[DialKey, int]]:
        """The dials that alone end a conflict, beside a choice, each with how far it must be turned."""
        prices: list[int] = []
        few_steps_first = sorted(core.dials, key=lambda dial: (len(self.dials[dial].levels), self.dials[dial].levels[0].cost))
        for dial in few_steps_first:
            # What costs more than as many ways as are asked for (and one for each further conflict) need not be looked at.
            enough = sorted(prices)[most + 1] if len(prices) > most + 1 else None
            costs = [level.cost for level in self.dials[dial].levels]
            last = len(costs) if enough is None else bisect_right(costs, enough)
            first = here.get(dial, 0) + 1
            # Without one of its statements a minimal conflict is none.
            taken_away = core.minimal and last == len(costs) and self.dials[dial].whole and dial[:-1] in core.keys
            if last < first or not (taken_away or self.is_eased(core, {**here, dial: last})):
                continue
            while first < last:
                middle = (first + last) // 2
                if self.is_eased(core, {**here, dial: middle}):
                    last = middle
                else:
                    first = middle + 1
            prices.append(costs[last - 1])
            yield dial, last

    def is_eased(self, core: Core, turned: Mapping[DialKey, int]) -> bool:
        """Whether the statements of a conflict can hold together after a choice; so it seems too when that was not settled."""
        key = core, tuple(sorted(turned.items()))
        if key not in self._eased:
            if self.clock.over:
                return True
            eased = self.apart(turned)
            if eased is None:
                self._eased[key] = False
                return False
            kept = [each for each in eased.statements if each.key in core.keys]
            self._eased[key] = Search(eased, self.clock).contradict(kept) is not True
        return self._eased[key]

    def cost(self, choice: Iterable[tuple[DialKey, int]]) -> int:
        """What a choice costs."""
        return sum(self.dials[dial].levels[steps - 1].cost for dial, steps in choice)

    def changes(self, turned: Mapping[DialKey, int]) -> tuple[Change, ...]:
        """The changes that a choice stands for."""
        return tuple(change for dial, steps in sorted(turned.items()) for change in self.dials[dial].levels[steps - 1].changes)

    def standing(self, turned: Mapping[DialKey, int]) -> Known | None:
        """A conflict that the choice leaves; None when it leaves none, or when that was not settled in time."""
        for known in self._known:
            if known.stands(turned) and self._counts_alike(known.core, turned):
                return known
        for core in self.cores:
            of_core = {dial: steps for dial, steps in turned.items() if dial in core.dials}
            if turned and self._counts_alike(core, turned) and not self.is_eased(core, of_core):
                self._known.append(Known(core, of_core))
                return self._known[-1]
        eased = self.apart(turned)
        if eased is None:
            return NOWHERE
        if possible(eased.spread, self.clock) is not False:
            return None
        conflict = Search(eased, self.clock).conflict(proof=False)
        if conflict is None:
            self.unsettled = True
            return NOWHERE
        return self.add(conflict, turned)

    @staticmethod
    def _counts_alike(core: Core, turned: Mapping[DialKey, int]) -> bool:
        """Whether a core says something after a choice: not where it counts periods and others of the calendar are changed."""
        return core.alone or not any(dial[0] in CALENDAR for dial in turned.keys() - set(core.dials))

    def apart(self, turned: Mapping[DialKey, int]) -> Stated | None:
        """The scenario with a choice made, taken apart; None where the changes cannot be made together."""
        try:
            return take_apart(changed(self.stated.scenario, self.changes(turned)))
        except UnusableInput:
            return None

    def add(self, conflict: Conflict, turned: Mapping[DialKey, int]) -> Known:
        """Note a conflict, with every dial that could ease it."""
        found: dict[DialKey, Dial] = {}
        lessons = {index for statement in conflict.statements for index in statement.lessons}
        owners = {
            (self.stated.instance.class_of(lesson).id, f"{lesson.unit}/{lesson.role}")
            for lesson in self.stated.instance.lessons
            if lesson.index in lessons
        }
        keys: list[tuple[str, ...]] = [statement.key for statement in conflict.statements]
        keys += [(LESSON, *owner) for owner in sorted(owners) if (LESSON, *owner) in self.statements]
        for key in dict.fromkeys(keys):
            statement = self.statements.get(key)
            if statement is None:
                continue
            if statement.kind == "periods":
                dial = gained(self.stated, statement, shortage_of(conflict.core, self.stated.instance))
                own: tuple[Dial, ...] = (dial,) if dial is not None else ()
            else:
                own = statement.dials()
            found |= {dial.key: dial for dial in own}
        self.dials |= found
        core = frozenset(statement.key for statement in conflict.statements)
        alone = all(statement.kind in WANT_PERIODS for statement in conflict.statements)
        self.cores.append(Core(core, tuple(found), conflict.proven, alone))
        self._known.append(Known(self.cores[-1], dict(turned)))
        return self._known[-1]
