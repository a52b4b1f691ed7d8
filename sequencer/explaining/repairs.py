"""The cheapest changes that make an impossible scenario possible.

Every conflict must be eased somewhere: so many steps of so many dials. Choices of steps are looked at in the order of their
cost; one that leaves a conflict (known, or found when the search says that there is no sequence) leads to further ones. First
each conflict is eased by one dial alone, turned just as far as it must be: that is soon done, and what is found is almost always
cheapest. Then, as far as the time goes, every choice that costs less is ruled out, step by step, several dials together.
"""

from __future__ import annotations

import heapq
from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from sequencer.changes.apply import changed
from sequencer.changes.edits import Edit, edited
from sequencer.changes.read_again import apply_changes
from sequencer.errors import UnusableInput
from sequencer.explaining.conflict import Conflict, Search
from sequencer.explaining.dials import dials_of
from sequencer.explaining.gained import gained
from sequencer.explaining.possible import Clock, possible
from sequencer.explaining.shortage import shortage_of
from sequencer.explaining.statements import Stated, take_apart
from sequencer.explaining.steps import Dial
from sequencer.scenario.changes_schema import Change
from sequencer.scenario.schema import Scenario
from sequencer.sequence import Laid
from sequencer.solve import Answer, SolveSettings, solve
from sequencer.words import LEFT_OUT

MOST_CHOICES = 4000
"""Choices that are looked at, at most."""

TIME_FOR_WAYS = 0.8
"""Share of the time left for ways out that ease one statement and leave out what is left, where no cheaper one was found."""

TIME_KEPT = 0.35
"""Share of the time left that is kept for ruling out what would cost less."""

MOST_PRIORITY, MOST_WAYS = 1000, 8

DialKey = tuple[str, ...]
Choice = tuple[tuple[DialKey, int], ...]
"""How far each dial is turned, those that are not left out."""

Further = Callable[["_Known", Mapping[DialKey, int]], list[tuple[DialKey, int]]]
"""What a choice that leaves a conflict leads to: one dial more, or one turned further."""


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


def _part_of(one: Mapping[DialKey, int], other: Mapping[DialKey, int]) -> bool:
    """Whether one choice turns no dial further than another does."""
    return all(other.get(dial, 0) >= steps for dial, steps in one.items())


@dataclass(frozen=True)
class _Core:
    """A conflict: its statements' keys, and the dials that could ease it."""

    keys: frozenset[tuple[str, ...]]
    dials: tuple[DialKey, ...]
    minimal: bool = True


@dataclass(frozen=True)
class _Known:
    """A conflict that stands as long as none of its dials is turned further than so."""

    core: _Core
    turned: Mapping[DialKey, int]

    def stands(self, choice: Mapping[DialKey, int]) -> bool:
        return all(choice.get(dial, 0) <= self.turned.get(dial, 0) for dial in self.core.dials)


_NOWHERE = _Known(_Core(frozenset(), ()), {})
"""What stands where a choice leads nowhere: nothing that is turned further will help."""


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
        self._statements = {statement.key: statement for statement in stated.statements}
        self._dials: dict[DialKey, Dial] = {}
        self._cores: list[_Core] = []
        self._known: list[_Known] = []
        self._eased: dict[tuple[_Core, Choice], bool] = {}
        self._alone: dict[tuple[_Core, Choice], list[tuple[DialKey, int]]] = {}
        self._unsettled = False
        for conflict in conflicts:
            self._add(conflict, {})

    def cheapest(self, most: int) -> tuple[tuple[Repair, ...], bool]:
        """Up to so many repairs, cheapest first, none part of another; and whether nothing cheaper than the first is left."""
        fallback = self._fewest_left_out({}, self.clock.left / 4)
        found: list[tuple[Repair, Mapping[DialKey, int]]] = []
        quick = self._search(self._by_one_dial(most), most, None)
        self.clock.hold_back(TIME_KEPT)
        first = next(quick, None)
        self.clock.release()
        if first is None:
            ways = self._first_ways()
            share = self.clock.left * TIME_FOR_WAYS / max(1, len(ways))
            choices = [fallback, *(self._fewest_left_out({dial: steps}, share) for dial, steps in ways)]
            fallback = min((each for each in choices if each), key=lambda each: self._cost(tuple(each.items())), default=None)
            repair = self._verified(fallback, self._cost(tuple(fallback.items()))) if fallback is not None else None
            first = (repair, fallback) if repair is not None and fallback is not None else None
        if first is None:
            return (), False
        # Whatever would cost less is looked for before anything that costs more.
        self.clock.hold_back(TIME_KEPT)
        found = list(self._search(self._by_one_step, most, first[0].cost))
        ruled_out = not self._unsettled
        self.clock.release()
        for each in (first, *quick):
            if len(found) < most and not any(_part_of(turned, each[1]) for _, turned in found):
                found.append(each)
        if len(found) < most and fallback is not None and not any(_part_of(turned, fallback) for _, turned in found):
            last = self._verified(fallback, self._cost(tuple(fallback.items())))
            found += [(last, fallback)] if last is not None else []
        ranked = sorted((repair for repair, _ in found), key=lambda repair: repair.cost)
        return tuple(ranked[:most]), ruled_out

    def _first_ways(self) -> list[tuple[DialKey, int]]:
        """The cheapest few ways to ease a conflict, other than by leaving out a lesson: one for each dial, turned furthest."""
        furthest: dict[DialKey, int] = {}
        for found in self._alone.values():
            for dial, steps in found:
                if dial[0] != "lesson":
                    furthest[dial] = max(steps, furthest.get(dial, 0))
        return sorted(furthest.items(), key=lambda way: self._cost((way,)))[:MOST_WAYS]

    def _fewest_left_out(self, turned: Mapping[DialKey, int], seconds: float) -> dict[DialKey, int] | None:
        """A choice, and the fewest lessons without which all else can hold then, as the product's own aim finds them."""
        if self.clock.over:
            return None
        scenario = changed(self.stated.scenario, self._changes(turned))
        edits = []
        for place, unit in enumerate(scenario.units):
            for number, lesson in enumerate(unit.lessons):
                path = ("units", place, "lessons", number)
                edits += [Edit((*path, "optional"), True), Edit((*path, "priority"), 1 if lesson.optional else MOST_PRIORITY)]
        softened = edited(scenario, edits).model_copy(update={"aims": (LEFT_OUT,)})
        answer = solve(softened, SolveSettings(seconds=max(0.1, min(self.seconds, seconds))), stop=self.clock.stop)
        if answer.sequence is None:
            return None
        laid = Laid(answer.instance, answer.sequence)
        further = dict(turned)
        for facts in answer.instance.lessons:
            statement = self._statements.get(("lesson", answer.instance.class_of(facts).id, f"{facts.unit}/{facts.role}"))
            if laid.placed(facts.index) or statement is None:
                continue
            for dial in dials_of(self.stated, statement):
                self._dials[dial.key] = dial
                further[dial.key] = 1
        return further or None

    def _search(self, further: Further, most: int, below: int | None) -> Iterator[tuple[Repair, Mapping[DialKey, int]]]:
        """Repairs in the order of their cost, as far as the choices led to reach; below a cost where one is given."""
        heap: list[tuple[int, int, Choice]] = [(0, 0, ())]
        seen: set[Choice] = {()}
        given: list[Mapping[DialKey, int]] = []
        count = 0
        self._unsettled = False
        for _ in range(MOST_CHOICES):
            if not heap:
                return
            if self.clock.over:
                break
            cost, _steps, choice = heapq.heappop(heap)
            turned = dict(choice)
            if any(_part_of(before, turned) for before in given):
                continue
            known = self._standing(turned)
            if known is None:
                repair = self._verified(turned, cost)
                if repair is not None:
                    given.append(turned)
                    count += 1
                    yield repair, turned
                    if count >= most:
                        return
                continue
            for dial, steps in further(known, turned):
                chosen = tuple(sorted({**turned, dial: steps}.items()))
                price = self._cost(chosen)
                if chosen not in seen and (below is None or price < below):
                    seen.add(chosen)
                    heapq.heappush(heap, (price, sum(number for _, number in chosen), chosen))
        self._unsettled = True

    def _by_one_step(self, known: _Known, _turned: Mapping[DialKey, int]) -> list[tuple[DialKey, int]]:
        steps = ((dial, known.turned.get(dial, 0) + 1) for dial in known.core.dials)
        return [(dial, number) for dial, number in steps if number <= len(self._dials[dial].levels)]

    def _by_one_dial(self, most: int) -> Further:
        """For a conflict that a choice leaves: each dial that alone ends it, turned as far as it must be; the cheapest few."""

        def further(known: _Known, turned: Mapping[DialKey, int]) -> list[tuple[DialKey, int]]:
            core = known.core
            here = tuple(sorted((dial, steps) for dial, steps in turned.items() if dial in core.dials))
            if (core, here) not in self._alone:
                self._alone[core, here] = list(self._ways(core, dict(here), most))
            return self._alone[core, here]

        return further

    def _ways(self, core: _Core, here: dict[DialKey, int], most: int) -> Iterator[tuple[DialKey, int]]:
        prices: list[int] = []
        few_steps_first = sorted(core.dials, key=lambda dial: (len(self._dials[dial].levels), self._dials[dial].levels[0].cost))
        for dial in few_steps_first:
            # What costs more than as many ways as are asked for (and one for each further conflict) need not be looked at.
            enough = sorted(prices)[most + 1] if len(prices) > most + 1 else None
            costs = [level.cost for level in self._dials[dial].levels]
            last = len(costs) if enough is None else bisect_right(costs, enough)
            first = here.get(dial, 0) + 1
            # Without one of its statements a minimal conflict is none.
            taken_away = core.minimal and last == len(costs) and self._dials[dial].whole and dial[:-1] in core.keys
            if last < first or not (taken_away or self._is_eased(core, {**here, dial: last})):
                continue
            while first < last:
                middle = (first + last) // 2
                if self._is_eased(core, {**here, dial: middle}):
                    last = middle
                else:
                    first = middle + 1
            prices.append(costs[last - 1])
            yield dial, last

    def _is_eased(self, core: _Core, turned: Mapping[DialKey, int]) -> bool:
        """Whether the statements of a conflict can hold together after a choice; so it seems too when that was not settled."""
        key = core, tuple(sorted(turned.items()))
        if key not in self._eased:
            eased = self._apart(turned)
            if eased is None:
                self._eased[key] = False
                return False
            kept = [statement for statement in eased.statements if statement.key in core.keys]
            self._eased[key] = Search(eased, self.clock).holds(kept) is not False
        return self._eased[key]

    def _cost(self, choice: Choice) -> int:
        return sum(self._dials[dial].levels[steps - 1].cost for dial, steps in choice)

    def _changes(self, turned: Mapping[DialKey, int]) -> tuple[Change, ...]:
        return tuple(change for dial, steps in sorted(turned.items()) for change in self._dials[dial].levels[steps - 1].changes)

    def _standing(self, turned: Mapping[DialKey, int]) -> _Known | None:
        """A conflict that the choice leaves; None when it leaves none, or when that was not settled in time."""
        for known in self._known:
            if known.stands(turned):
                return known
        for core in self._cores if turned else ():
            of_core = {dial: steps for dial, steps in turned.items() if dial in core.dials}
            if not self._is_eased(core, of_core):
                self._known.append(_Known(core, of_core))
                return self._known[-1]
        eased = self._apart(turned)
        if eased is None:
            return _NOWHERE
        if possible(eased.spread, self.clock) is not False:
            return None
        conflict = Search(eased, self.clock).conflict(proof=False)
        return self._add(conflict, turned) if conflict is not None else _NOWHERE

    def _apart(self, turned: Mapping[DialKey, int]) -> Stated | None:
        """The scenario with a choice made, taken apart; None where the changes cannot be made together."""
        try:
            return take_apart(changed(self.stated.scenario, self._changes(turned)))
        except UnusableInput:
            return None

    def _add(self, conflict: Conflict, turned: Mapping[DialKey, int]) -> _Known:
        """Note a conflict, with every dial that could ease it."""
        found: dict[DialKey, Dial] = {}
        lessons = {index for statement in conflict.statements for index in statement.lessons}
        owners = {
            (self.stated.instance.class_of(lesson).id, f"{lesson.unit}/{lesson.role}")
            for lesson in self.stated.instance.lessons
            if lesson.index in lessons
        }
        keys: list[tuple[str, ...]] = [statement.key for statement in conflict.statements]
        keys += [("lesson", *owner) for owner in sorted(owners) if ("lesson", *owner) in self._statements]
        for key in dict.fromkeys(keys):
            statement = self._statements.get(key)
            if statement is None:
                continue
            if statement.kind == "periods":
                dial = gained(self.stated, statement, shortage_of(conflict.core, self.stated.instance))
                own: tuple[Dial, ...] = (dial,) if dial is not None else ()
            else:
                own = dials_of(self.stated, statement)
            found |= {dial.key: dial for dial in own}
        self._dials |= found
        core = frozenset(statement.key for statement in conflict.statements)
        self._cores.append(_Core(core, tuple(found), conflict.proven))
        self._known.append(_Known(self._cores[-1], dict(turned)))
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
