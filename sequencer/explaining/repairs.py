"""The cheapest changes that make an impossible scenario possible.

Every conflict must be eased somewhere: so many steps of so many dials. First one dial for each conflict that is known is tried.
Where none of these choices will do, and the fewest lessons that could be left out were found in haste, that way out is made
smaller. Then choices of steps are looked at in the order of their cost; one that leaves a conflict (known, or found when the
search says that there is no sequence) leads to further ones. First each conflict is eased by one dial alone, turned just as far
as it must be: that is soon done, and what is found is almost always cheapest. Then, as far as the time goes, every choice that
costs less is ruled out, step by step, several dials together.
"""

from __future__ import annotations

import heapq
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping

from sequencer.changes.apply import changed
from sequencer.changes.read_again import apply_changes
from sequencer.errors import UnusableInput
from sequencer.explaining.choices import NOWHERE, Choice, Core, DialKey, Further, Known, part_of
from sequencer.explaining.conflict import CALENDAR, WANT_PERIODS, Conflict, Search
from sequencer.explaining.dials import dials_of
from sequencer.explaining.gained import gained
from sequencer.explaining.leaving_out import fewest_left_out
from sequencer.explaining.possible import Clock, possible
from sequencer.explaining.reducing import each_turned_back, turned_back, without_needless_parts
from sequencer.explaining.repair import Found, Repair, Tried
from sequencer.explaining.shortage import shortage_of
from sequencer.explaining.statements import Stated, take_apart
from sequencer.explaining.steps import Dial
from sequencer.scenario.changes_schema import Change
from sequencer.solve import SolveSettings, solve

MOST_CHOICES = 4000
"""Choices that are looked at, at most."""

TIME_FOR_WAYS = 0.8
"""Share of the time left for ways out that ease one statement and leave out what is left, where no cheaper one was found."""

TIME_KEPT = 0.35
"""Share of the time left that is kept for ruling out what would cost less."""

TIME_FOR_QUICK = 0.4
"""Share of the time left for further repairs of one dial for each conflict, after the first."""

TIME_FOR_OTHERS = 0.15
"""Share of the time left for each way of leaving out other lessons than a repair that is known does."""

LESSON = "lesson"
"""First word of the key of a dial that leaves out a lesson."""

TIME_FOR_ONE_EACH = 0.3
"""Share of the time left for trying one dial for each conflict that is known, without asking what a choice leaves."""

MOST_TRIED = 12
"""Choices of one dial for each conflict that is known that are tried so, at most."""

TIME_FOR_LESS = 0.8
"""Share of the time left for making a way out smaller that was found in haste."""

MOST_WAYS = 8
"""Ways to ease one statement that are followed by leaving out what is left, at most."""


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
        self._cores: list[Core] = []
        self._known: list[Known] = []
        self._eased: dict[tuple[Core, Choice], bool] = {}
        self._alone: dict[tuple[Core, Choice], list[tuple[DialKey, int]]] = {}
        self._tried: dict[Choice, Repair | None] = {}
        self._hasty = False
        """Whether the fewest lessons that could be left out were not proven to be the fewest."""
        self._unsettled = False
        for conflict in conflicts:
            self._add(conflict, {})

    def cheapest(self, most: int) -> Found:
        """Up to so many repairs, cheapest first, none part of another."""
        fallback = self._fewest_left_out({}, self.clock.left / 4)
        quick = self._search(self._by_one_dial(most), most)
        first = self._one_each(most)
        if first is None and fallback is not None and self._hasty:
            fallback = self._smaller(fallback)
            first = self._tried_as_way(fallback)
        if first is None:
            self.clock.hold_back(TIME_KEPT)
            first = next(quick, None)
            self.clock.release()
        if first is None:
            ways = self._first_ways()
            share = self.clock.left * TIME_FOR_WAYS / max(1, len(ways))
            choices = [fallback, *(self._fewest_left_out({dial: steps}, share) for dial, steps in ways)]
            fallback = min((each for each in choices if each), key=self._price, default=None)
            first = self._tried_as_way(fallback) if fallback is not None else None
        if first is None:
            return Found((), False, False)
        # Whatever would cost less is looked for before anything that costs more.
        self.clock.hold_back(TIME_KEPT)
        found = list(self._search(self._by_one_step, most, first[0].cost))
        ruled_out = not self._unsettled
        self.clock.release()
        self.clock.hold_back(1 - TIME_FOR_QUICK)
        for each in (first, *quick):
            if not any(part_of(turned, each[1]) for _, turned in found):
                found.append(each)
        self.clock.release()
        found, no_more = self._more(found[:most], fallback, most)
        ranked = sorted((repair for repair, _ in found), key=lambda repair: repair.cost)
        return Found(tuple(ranked[:most]), ruled_out, no_more)

    def _more(self, found: list[Tried], fallback: Mapping[DialKey, int] | None, most: int) -> tuple[list[Tried], bool]:
        """Those found and, where they are too few, further ones, none part of another; and whether it is sure that these are all.

        Where lessons are left out, others can mostly be left out instead; too many choices lead there one by one.
        """
        tried = [turned for _, turned in found]
        if fallback is not None:
            tried.append(fallback)
            found = self._with(found, fallback) if len(found) < most else found
        for turned in tried:
            for lesson in turned:
                if len(found) >= most or self.clock.over:
                    return found, False
                if lesson[0] == LESSON:
                    rest = {dial: steps for dial, steps in turned.items() if dial[0] != LESSON}
                    other = self._fewest_left_out(rest, self.clock.left * TIME_FOR_OTHERS, lesson)
                    found = self._with(found, other) if other is not None else found
        for repair, turned in self._search(self._by_one_step, most - len(found), given=[turned for _, turned in found]):
            found = [*(before for before in found if not part_of(turned, before[1])), (repair, turned)]
        return found, len(found) < most and not self._unsettled

    def _with(self, found: list[Tried], turned: Mapping[DialKey, int]) -> list[Tried]:
        """Those found and one more, if that holds none of them, is part of none and makes the scenario possible."""
        if any(part_of(one, turned) or part_of(turned, one) for _, one in found):
            return found
        repair = self._verified(turned, self._cost(tuple(turned.items())))
        return [*found, (repair, turned)] if repair is not None else found

    def _one_each(self, most: int) -> Tried | None:
        """The cheapest of the first few choices of one dial for each known conflict that makes the scenario possible.

        What such a choice leaves, where it leaves something, is not asked: that takes many times as long.
        """
        self.clock.hold_back(1 - TIME_FOR_ONE_EACH)
        ways = [sorted(self._ways(core, {}, most), key=lambda way: (self._cost((way,)), way[1], way[0])) for core in self._cores]
        heap = [(sum(self._cost((own[0],)) for own in ways), (0,) * len(ways))] if ways and all(ways) else []
        first, seen = None, set(heap)
        for _ in range(MOST_TRIED):
            if not heap or first is not None or self.clock.over:
                break
            _, places = heapq.heappop(heap)
            turned: dict[DialKey, int] = {}
            for own, place in zip(ways, places, strict=True):
                dial, steps = own[place]
                turned[dial] = max(steps, turned.get(dial, 0))
            if self._works(turned):
                first = self._tried_as_way(turned)
            for number, own in enumerate(ways):
                if places[number] + 1 < len(own):
                    following = (*places[:number], places[number] + 1, *places[number + 1 :])
                    further = sum(self._cost((each[place],)) for each, place in zip(ways, following, strict=True)), following
                    if further not in seen:
                        seen.add(further)
                        heapq.heappush(heap, further)
        self.clock.release()
        return first

    def _works(self, turned: Mapping[DialKey, int]) -> bool:
        """Whether it is known that the scenario is possible after a choice."""
        eased = self._apart(turned)
        return eased is not None and possible(eased.spread, self.clock) is True

    def _price(self, turned: Mapping[DialKey, int]) -> int:
        return self._cost(tuple(turned.items()))

    def _tried_as_way(self, turned: dict[DialKey, int]) -> Tried | None:
        repair = self._verified(turned, self._price(turned))
        return (repair, turned) if repair is not None else None

    def _smaller(self, way: dict[DialKey, int]) -> dict[DialKey, int]:
        """A way out found in haste made smaller: statements of one kind eased instead, or what it does not need dropped."""
        self.clock.hold_back(1 - TIME_FOR_LESS)
        smaller = [way]
        for eased in self._of_one_kind():
            if self.clock.over:
                break
            if self._works(eased):
                smaller.append(self._less(turned_back(eased, self._works)))
        if len(smaller) == 1:
            smaller.append(self._less(way))
        self.clock.release()
        return min(smaller, key=self._price)

    def _less(self, turned: Mapping[DialKey, int]) -> dict[DialKey, int]:
        """A choice without what it does not need."""
        fewer = without_needless_parts(turned, lambda dial, steps: self._cost(((dial, steps),)), self._works)
        return each_turned_back(fewer, self._works)

    def _of_one_kind(self) -> Iterator[dict[DialKey, int]]:
        """All statements of one kind eased at once, as far as can be: kinds that the conflicts hold, the cheapest first."""
        kinds = {key[0] for core in self._cores for key in core.keys} - {LESSON}
        together: dict[tuple[str, str], dict[DialKey, int]] = {}
        for statement in self.stated.statements:
            for dial in dials_of(self.stated, statement) if statement.kind in kinds else ():
                self._dials[dial.key] = dial
                together.setdefault((statement.kind, dial.key[-1]), {})[dial.key] = len(dial.levels)
        yield from sorted(together.values(), key=lambda each: sum(self._dials[dial].levels[0].cost for dial in each))

    def _first_ways(self) -> list[tuple[DialKey, int]]:
        """The cheapest few ways to ease a conflict, other than by leaving out a lesson: one for each dial, turned furthest."""
        furthest: dict[DialKey, int] = {}
        for found in self._alone.values():
            for dial, steps in found:
                if dial[0] != LESSON:
                    furthest[dial] = max(steps, furthest.get(dial, 0))
        return sorted(furthest.items(), key=lambda way: self._cost((way,)))[:MOST_WAYS]

    def _fewest_left_out(
        self, turned: Mapping[DialKey, int], seconds: float, kept: DialKey | None = None
    ) -> dict[DialKey, int] | None:
        """A choice, and the fewest lessons (not the one kept) without which all else can hold then, as the own aim finds them."""
        if self.clock.over:
            return None
        scenario = changed(self.stated.scenario, self._changes(turned))
        settings = SolveSettings(seconds=max(0.1, min(self.seconds, seconds)))
        found = fewest_left_out(scenario, settings, self.clock.stop, (kept[1], kept[2]) if kept is not None else None)
        if found is None:
            return None
        left_out, proven = found
        self._hasty = not proven
        further = dict(turned)
        for owner in left_out:
            statement = self._statements.get((LESSON, *owner))
            for dial in dials_of(self.stated, statement) if statement is not None else ():
                self._dials[dial.key] = dial
                further[dial.key] = 1
        return further or None

    def _search(
        self, further: Further, most: int, below: int | None = None, given: Iterable[Mapping[DialKey, int]] = ()
    ) -> Iterator[Tried]:
        """Repairs in the order of their cost, as far as the choices led to reach: below a cost where one is stated, and none of
        which one given is part."""
        heap: list[tuple[int, int, Choice]] = [(0, 0, ())]
        seen: set[Choice] = {()}
        before = list(given)
        count = 0
        self._unsettled = False
        for _ in range(MOST_CHOICES):
            if not heap:
                return
            if self.clock.over:
                break
            cost, _steps, choice = heapq.heappop(heap)
            turned = dict(choice)
            if any(part_of(one, turned) for one in before):
                continue
            known = self._standing(turned)
            if known is None:
                repair = self._verified(turned, cost)
                if repair is not None:
                    before.append(turned)
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

    def _by_one_step(self, known: Known, _turned: Mapping[DialKey, int]) -> list[tuple[DialKey, int]]:
        steps = ((dial, known.turned.get(dial, 0) + 1) for dial in known.core.dials)
        return [(dial, number) for dial, number in steps if number <= len(self._dials[dial].levels)]

    def _by_one_dial(self, most: int) -> Further:
        """For a conflict that a choice leaves: each dial that alone ends it, turned as far as it must be; the cheapest few."""

        def further(known: Known, turned: Mapping[DialKey, int]) -> list[tuple[DialKey, int]]:
            core = known.core
            here = tuple(sorted((dial, steps) for dial, steps in turned.items() if dial in core.dials))
            if (core, here) not in self._alone:
                self._alone[core, here] = list(self._ways(core, dict(here), most))
            return self._alone[core, here]

        return further

    def _ways(self, core: Core, here: dict[DialKey, int], most: int) -> Iterator[tuple[DialKey, int]]:
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

    def _is_eased(self, core: Core, turned: Mapping[DialKey, int]) -> bool:
        """Whether the statements of a conflict can hold together after a choice; so it seems too when that was not settled."""
        key = core, tuple(sorted(turned.items()))
        if key not in self._eased:
            if self.clock.over:
                return True
            eased = self._apart(turned)
            if eased is None:
                self._eased[key] = False
                return False
            kept = [each for each in eased.statements if each.key in core.keys]
            self._eased[key] = Search(eased, self.clock).contradict(kept) is not True
        return self._eased[key]

    def _cost(self, choice: Choice) -> int:
        return sum(self._dials[dial].levels[steps - 1].cost for dial, steps in choice)

    def _changes(self, turned: Mapping[DialKey, int]) -> tuple[Change, ...]:
        return tuple(change for dial, steps in sorted(turned.items()) for change in self._dials[dial].levels[steps - 1].changes)

    def _standing(self, turned: Mapping[DialKey, int]) -> Known | None:
        """A conflict that the choice leaves; None when it leaves none, or when that was not settled in time."""
        for known in self._known:
            if known.stands(turned) and self._counts_alike(known.core, turned):
                return known
        for core in self._cores:
            of_core = {dial: steps for dial, steps in turned.items() if dial in core.dials}
            if turned and self._counts_alike(core, turned) and not self._is_eased(core, of_core):
                self._known.append(Known(core, of_core))
                return self._known[-1]
        eased = self._apart(turned)
        if eased is None:
            return NOWHERE
        if possible(eased.spread, self.clock) is not False:
            return None
        conflict = Search(eased, self.clock).conflict(proof=False)
        if conflict is None:
            self._unsettled = True
            return NOWHERE
        return self._add(conflict, turned)

    @staticmethod
    def _counts_alike(core: Core, turned: Mapping[DialKey, int]) -> bool:
        """Whether a core says something after a choice: not where it counts periods and others of the calendar are changed."""
        return core.alone or not any(dial[0] in CALENDAR for dial in turned.keys() - set(core.dials))

    def _apart(self, turned: Mapping[DialKey, int]) -> Stated | None:
        """The scenario with a choice made, taken apart; None where the changes cannot be made together."""
        try:
            return take_apart(changed(self.stated.scenario, self._changes(turned)))
        except UnusableInput:
            return None

    def _add(self, conflict: Conflict, turned: Mapping[DialKey, int]) -> Known:
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
        alone = all(statement.kind in WANT_PERIODS for statement in conflict.statements)
        self._cores.append(Core(core, tuple(found), conflict.proven, alone))
        self._known.append(Known(self._cores[-1], dict(turned)))
        return self._known[-1]

    def _verified(self, turned: Mapping[DialKey, int], cost: int) -> Repair | None:
        """The repair, if what it makes of the scenario reads back and a full solve of it ends in a sound sequence."""
        choice = tuple(sorted(turned.items()))
        if choice not in self._tried:
            self._tried[choice] = self._tried_out(self._changes(turned), cost)
        return self._tried[choice]

    def _tried_out(self, changes: tuple[Change, ...], cost: int) -> Repair | None:
        try:
            scenario = apply_changes(self.stated.scenario, changes)
        except UnusableInput:
            return None
        answer = solve(scenario, SolveSettings(seconds=self.seconds), stop=self.clock.stop)
        self._unsettled |= answer.status == "unknown"
        sound = answer.verdict is not None and answer.verdict.sound
        return Repair(changes, cost, scenario, answer) if answer.sequence is not None and sound else None
