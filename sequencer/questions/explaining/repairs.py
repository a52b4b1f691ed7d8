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
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from sequencer.errors import UnusableInput
from sequencer.instance.load import apply_changes
from sequencer.questions.explaining.known_conflicts import LESSON, Choice, DialKey, Further, KnownConflicts, part_of
from sequencer.questions.explaining.leaving_out import each_turned_back, fewest_left_out, turned_back, without_needless_parts
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.possible import Clock, possible
from sequencer.questions.explaining.statements import Stated
from sequencer.questions.solve import Answer, SolveSettings, solve
from sequencer.scenario.changes.what_ifs import Change, changed
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import EFFORT_PER_SECOND

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

TIME_FOR_ONE_EACH = 0.3
"""Share of the time left for trying one dial for each conflict that is known, without asking what a choice leaves."""

MOST_TRIED = 12
"""Choices of one dial for each conflict that is known that are tried so, at most."""

TIME_FOR_LESS = 0.8
"""Share of the time left for making a way out smaller that was found in haste."""

TIME_FOR_A_SEQUENCE = 0.4
"""Share of the time left in which a solve that verifies a repair must find its first sequence."""

MOST_WAYS = 8
"""Ways to ease one statement that are followed by leaving out what is left, at most."""


@dataclass(frozen=True)
class Repair:
    """Changes, as a what-if lists them, that make the scenario possible; what they cost, and what came of solving it then."""

    changes: tuple[Change, ...]
    cost: int
    scenario: Scenario = field(compare=False)
    answer: Answer = field(compare=False)


Tried = tuple[Repair, Mapping[DialKey, int]]
"""A repair, and how far it turns each dial."""


@dataclass(frozen=True)
class Found:
    """What came of looking for repairs, cheapest first, none part of another.

    ``cheapest`` where everything cheaper than the first was ruled out; ``no_more`` where every other choice of changes was, but
    for those that hold one of these and change more than they need.
    """

    repairs: tuple[Repair, ...]
    cheapest: bool
    no_more: bool


class Repairs:
    """Looks for repairs of one scenario, from its known conflicts on; ``seconds`` is the time of each solve that verifies one."""

    def __init__(self, stated: Stated, conflicts: tuple[Conflict, ...], clock: Clock, seconds: float) -> None:
        self.stated = stated
        self.clock = clock
        self.seconds = seconds
        self.known = KnownConflicts(stated, clock)
        self._tried: dict[Choice, Repair | None] = {}
        self._hasty = False
        """Whether the fewest lessons that could be left out were not proven to be the fewest."""
        for conflict in conflicts:
            self.known.add(conflict, {})

    def cheapest(self, most: int) -> Found:
        """Up to so many repairs, cheapest first, none part of another."""
        fallback = self._fewest_left_out({}, self.clock.left / 4)
        quick = self._search(self.known.by_one_dial(most), most)
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
            fallback = min((each for each in choices if each), key=lambda each: self.known.cost(each.items()), default=None)
            first = self._tried_as_way(fallback) if fallback is not None else None
        if first is None:
            return Found((), False, False)
        # Whatever would cost less is looked for before anything that costs more.
        self.clock.hold_back(TIME_KEPT)
        found = list(self._search(self.known.by_one_step, most, first[0].cost))
        ruled_out = not self.known.unsettled
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
        for repair, turned in self._search(self.known.by_one_step, most - len(found), given=[turned for _, turned in found]):
            found = [*(before for before in found if not part_of(turned, before[1])), (repair, turned)]
        return found, len(found) < most and not self.known.unsettled

    def _with(self, found: list[Tried], turned: Mapping[DialKey, int]) -> list[Tried]:
        """Those found and one more, if that holds none of them, is part of none and makes the scenario possible."""
        if any(part_of(one, turned) or part_of(turned, one) for _, one in found):
            return found
        repair = self._verified(turned, self.known.cost(turned.items()))
        return [*found, (repair, turned)] if repair is not None else found

    def _one_each(self, most: int) -> Tried | None:
        """The cheapest of the first few choices of one dial for each known conflict that makes the scenario possible.

        What such a choice leaves, where it leaves something, is not asked: that takes many times as long.
        """
        self.clock.hold_back(1 - TIME_FOR_ONE_EACH)
        cost = self.known.cost
        ways = [
            sorted(self.known.ways(core, {}, most), key=lambda way: (cost((way,)), way[1], way[0])) for core in self.known.cores
        ]
        heap = [(sum(cost((own[0],)) for own in ways), (0,) * len(ways))] if ways and all(ways) else []
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
                    further = sum(cost((each[place],)) for each, place in zip(ways, following, strict=True)), following
                    if further not in seen:
                        seen.add(further)
                        heapq.heappush(heap, further)
        self.clock.release()
        return first

    def _works(self, turned: Mapping[DialKey, int]) -> bool:
        """Whether it is known that the scenario is possible after a choice."""
        eased = self.known.apart(turned)
        return eased is not None and possible(eased.spread, self.clock) is True

    def _tried_as_way(self, turned: dict[DialKey, int]) -> Tried | None:
        repair = self._verified(turned, self.known.cost(turned.items()))
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
        return min(smaller, key=lambda each: self.known.cost(each.items()))

    def _less(self, turned: Mapping[DialKey, int]) -> dict[DialKey, int]:
        """A choice without what it does not need."""
        fewer = without_needless_parts(turned, lambda dial, steps: self.known.cost(((dial, steps),)), self._works)
        return each_turned_back(fewer, self._works)

    def _of_one_kind(self) -> Iterator[dict[DialKey, int]]:
        """All statements of one kind eased at once, as far as can be: kinds that the conflicts hold, the cheapest first."""
        kinds = {key[0] for core in self.known.cores for key in core.keys} - {LESSON}
        together: dict[tuple[str, str], dict[DialKey, int]] = {}
        for statement in self.stated.statements:
            for dial in statement.dials() if statement.kind in kinds else ():
                self.known.dials[dial.key] = dial
                together.setdefault((statement.kind, dial.key[-1]), {})[dial.key] = len(dial.levels)
        yield from sorted(together.values(), key=lambda each: sum(self.known.dials[dial].levels[0].cost for dial in each))

    def _first_ways(self) -> list[tuple[DialKey, int]]:
        """The cheapest few ways to ease a conflict, other than by leaving out a lesson: one for each dial, turned furthest."""
        furthest: dict[DialKey, int] = {}
        for found in self.known.alone.values():
            for dial, steps in found:
                if dial[0] != LESSON:
                    furthest[dial] = max(steps, furthest.get(dial, 0))
        return sorted(furthest.items(), key=lambda way: self.known.cost((way,)))[:MOST_WAYS]

    def _fewest_left_out(
        self, turned: Mapping[DialKey, int], seconds: float, kept: DialKey | None = None
    ) -> dict[DialKey, int] | None:
        """A choice, and the fewest lessons (not the one kept) without which all else can hold then, as the own aim finds them."""
        if self.clock.over:
            return None
        scenario = changed(self.stated.scenario, self.known.changes(turned))
        settings = self._settings(seconds)
        found = fewest_left_out(scenario, settings, self.clock.stop, (kept[1], kept[2]) if kept is not None else None)
        if found is None:
            return None
        left_out, proven = found
        self._hasty = not proven
        further = dict(turned)
        for owner in left_out:
            statement = self.known.statements.get((LESSON, *owner))
            for dial in statement.dials() if statement is not None else ():
                self.known.dials[dial.key] = dial
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
        self.known.unsettled = False
        for _ in range(MOST_CHOICES):
            if not heap:
                return
            if self.clock.over:
                break
            cost, _steps, choice = heapq.heappop(heap)
            turned = dict(choice)
            if any(part_of(one, turned) for one in before):
                continue
            left = self.known.standing(turned)
            if left is None:
                repair = self._verified(turned, cost)
                if repair is not None:
                    before.append(turned)
                    count += 1
                    yield repair, turned
                    if count >= most:
                        return
                continue
            for dial, steps in further(left, turned):
                chosen = tuple(sorted({**turned, dial: steps}.items()))
                price = self.known.cost(chosen)
                if chosen not in seen and (below is None or price < below):
                    seen.add(chosen)
                    heapq.heappush(heap, (price, sum(number for _, number in chosen), chosen))
        self.known.unsettled = True

    def _settings(self, seconds: float) -> SolveSettings:
        """So much time for a first sequence, which a busy machine needs, and no more effort after it than usual."""
        return SolveSettings(seconds=max(0.1, seconds), effort=self.seconds * EFFORT_PER_SECOND)

    def _verified(self, turned: Mapping[DialKey, int], cost: int) -> Repair | None:
        """The repair, if what it makes of the scenario reads back and a full solve of it ends in a sound sequence."""
        choice = tuple(sorted(turned.items()))
        if choice not in self._tried:
            self._tried[choice] = self._tried_out(self.known.changes(turned), cost)
        return self._tried[choice]

    def _tried_out(self, changes: tuple[Change, ...], cost: int) -> Repair | None:
        try:
            scenario = apply_changes(self.stated.scenario, changes)
        except UnusableInput:
            return None
        settings = self._settings(max(self.seconds, self.clock.left * TIME_FOR_A_SEQUENCE))
        answer = solve(scenario, settings, stop=self.clock.stop)
        self.known.unsettled |= answer.status == "unknown"
        sound = answer.verdict is not None and answer.verdict.sound
        return Repair(changes, cost, scenario, answer) if answer.sequence is not None and sound else None
