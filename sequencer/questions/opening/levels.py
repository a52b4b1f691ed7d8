"""What futures must lose together once one of them has lost something: bounds of each by itself, put together.

A future that has lost nothing on any earlier aim cannot do better than its own best. One that has may: by how much is asked of
its classes apart, each earlier aim allowed what all futures together have lost on it. How many may have lost something, and on
which aim first, is limited by what was lost in all; the least of all ways in which that can be is the bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from itertools import product

from sequencer.plan.sequence import Sequence
from sequencer.questions.opening.futures_side_by_side import Own
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import Beside
from sequencer.solver.solver_calls import Budget, abreast

SHARE_OF_EARLIER = 0.3
"""Share of a bound's time and effort for each aim before it that is not held yet."""

MOST_WAYS = 20_000
"""Ways in which futures may have lost something; where there are more, each future is taken at its least."""


GREATEST, SUM = "greatest", "sum"


@dataclass(frozen=True)
class Lost:
    """What is lost on one aim at most: the weighted sum over all futures and, where that counts, the greatest of any."""

    total: int
    greatest: int | None


@dataclass(frozen=True)
class Sure:
    """What a future loses on an aim, or some classes of it come to, at least, where no more than ``total`` is lost in all."""

    least: int
    total: int


class Levels:
    """Bounds on the losses of all futures, aim by aim; ``search`` is called with a future for a search of it alone."""

    def __init__(
        self,
        own: Mapping[str, Own],
        aims: tuple[str, ...],
        weights: Mapping[str, int],
        search: Callable[[str], GroupSearch[Sequence]],
    ) -> None:
        self._own, self.aims, self._weights = own, aims, weights
        self._alone = cache(search)
        """The search of a future alone."""
        self._held = dict.fromkeys(own, 0)
        self._leasts: dict[str, list[dict[tuple[int, ...], int]]] = {name: [] for name in own}
        """Future to what each of its parts comes to at least, aim by aim."""
        self._after: dict[tuple[str, str], int] = {}
        """(future, aim) to the least that it loses, whatever it has lost before."""
        self._sure: dict[tuple[str, str], Sure] = {}
        self._least: dict[object, dict[str, int]] = {}
        self._sure_of_parts: dict[tuple[str, int], list[tuple[tuple[int, ...], Sure]]] = {}

    def know(self, name: str, aim: str, least: int, total: int) -> None:
        """Know what a future loses on an aim at least, where no more than so much is lost in all."""
        self._sure[name, aim] = Sure(least, total)
        self._least.clear()

    def know_of_part(self, name: str, place: int, classes: tuple[int, ...], least: int, total: int) -> None:
        """Know what the aim at this place comes to at least for some classes of a future, where no more is lost in all."""
        self._sure_of_parts.setdefault((name, place), []).append((classes, Sure(least, total)))

    def losing(self, name: str, place: int, held: Sequence) -> list[Beside]:
        """The parts of a future in which more is lost on an aim than in its own best; none where the aim is no sum of theirs."""
        search, own = self._alone(name), self._own[name].sequence
        if search.apart is None or not search.model.aims[place].summed:
            return []
        return [each for each in search.apart.beside(place, held, own) if each.value > each.other]

    def least(self, place: int, lost: Mapping[str, Lost]) -> dict[str, int]:
        """The least that the greatest of the losses and their weighted sum come to, given what earlier aims lose at most."""
        asked = place, tuple(lost.items())
        if asked not in self._least:
            self._least[asked] = self._least_of_ways(place, lost)
        return self._least[asked]

    def _least_of_ways(self, place: int, lost: Mapping[str, Lost]) -> dict[str, int]:
        """The least of all ways in which the futures may have lost something before."""
        aim = self.aims[place]
        open_to = {name: self._may_have_lost(name, place, lost) for name in self._own}
        if math.prod(len(aims) + 1 for aims in open_to.values()) > MOST_WAYS:
            return self._together(aim, {name: bool(aims) for name, aims in open_to.items()})
        found = [
            self._together(aim, {name: first is not None for name, first in zip(open_to, way, strict=True)})
            for way in product(*((None, *aims) for aims in open_to.values()))
            if self._can_be(place, dict(zip(open_to, way, strict=True)), lost)
        ]
        return {what: min(each[what] for each in found) for what in (GREATEST, SUM)}

    def least_of(self, name: str, place: int, lost: Mapping[str, Lost]) -> int:
        """The least that one future loses on an aim, given what earlier aims lose at most."""
        return self._loss(name, self.aims[place], bool(self._may_have_lost(name, place, lost)))

    def look(self, place: int, lost: Mapping[str, Lost], held: Mapping[str, Sequence], budget: Budget) -> None:
        """Look for what the futures that may have lost something before lose at least on an aim, from these sequences on."""
        aim = self.aims[place]
        names = [name for name in self._own if self._may_have_lost(name, place, lost)]

        def bound(name: str, share: Budget) -> int:
            self._hold(name, place, lost, held[name], share)
            search = self._alone(name)
            # What it found itself may be less than its parts are known to come to by now.
            search.start_from(held[name])
            return search.least(place, share)

        for name, least in zip(names, abreast([partial(bound, name) for name in names], budget), strict=True):
            self._after[name, aim] = min(least - self._own[name].values[aim], self._own[name].least(aim))
        self._least.clear()

    def _together(self, aim: str, has_lost: Mapping[str, bool]) -> dict[str, int]:
        losses = {name: self._loss(name, aim, before) for name, before in has_lost.items()}
        return {GREATEST: max(losses.values()), SUM: sum(self._weights[name] * loss for name, loss in losses.items())}

    def _loss(self, name: str, aim: str, lost_before: bool, total: int | None = None) -> int:
        """The least that a future loses on an aim; of those on which no more than a total is lost, more may be known."""
        sure = self._sure.get((name, aim))
        if sure is not None and total is not None and total <= sure.total:
            return sure.least
        if not lost_before:
            return self._own[name].least(aim)
        return self._after.get((name, aim), self._own[name].floors[aim] - self._own[name].values[aim])

    def _can_be(self, place: int, first: Mapping[str, int | None], lost: Mapping[str, Lost]) -> bool:
        """Whether futures may first have lost something on these aims: no more than what was lost of each in all."""
        for number, aim in enumerate(self.aims[:place]):
            total = 0
            for name, on in first.items():
                loss = self._loss(name, aim, on is not None and on < number, lost[aim].total)
                loss = max(loss, 1) if on == number else loss
                total += self._weights[name] * loss
                if lost[aim].greatest is not None and loss > (lost[aim].greatest or 0):
                    return False
            if total > lost[aim].total:
                return False
        return True

    def _may_have_lost(self, name: str, place: int, lost: Mapping[str, Lost]) -> tuple[int, ...]:
        """The aims on which a future may have lost something first."""
        return tuple(number for number in range(place) if self._mosts(number, lost)[name] > 0)

    def most(self, name: str, place: int, lost: Mapping[str, Lost]) -> int:
        """The most that a future may lose on the aim at a place."""
        return self._mosts(place, lost)[name]

    def _mosts(self, place: int, lost: Mapping[str, Lost]) -> dict[str, int]:
        """The most that every future may lose on the aim at a place: what is lost in all, less what the others lose at least."""
        may_have = dict.fromkeys(self._own, False)
        for aim in self.aims[: place + 1]:
            least = {
                name: min(self._loss(name, aim, before, lost[aim].total) for before in {False, may_have[name]})
                for name in self._own
            }
            weighed = {name: self._weights[name] * loss for name, loss in least.items()}
            mosts = {name: (lost[aim].total - sum(weighed.values()) + weighed[name]) // self._weights[name] for name in self._own}
            greatest = lost[aim].greatest
            if greatest is not None:
                mosts = {name: min(most, greatest) for name, most in mosts.items()}
            may_have = {name: before or mosts[name] > 0 for name, before in may_have.items()}
        return mosts

    def leasts(
        self, name: str, place: int, lost: Mapping[str, Lost], held: Sequence, budget: Budget
    ) -> list[dict[tuple[int, ...], int]]:
        """What each part of a future comes to at least on the aims up to a place, those before it allowed what may be lost."""
        self._hold(name, place, lost, held, budget)
        if len(self._leasts[name]) == place:
            self._leasts[name].append(self._bound_parts(name, place, None, held, budget))
        return self._leasts[name][: place + 1]

    def _bound_parts(self, name: str, place: int, lost: int | None, held: Sequence, budget: Budget) -> dict[tuple[int, ...], int]:
        """Look for what each part comes to at least on an aim, those before it held; ``lost`` is what all lose where settled."""
        search = self._alone(name)
        if search.apart is None:
            return {}
        # Its own best may come to less, in some part, than the parts are known to with what was found of them.
        search.apart.bound(place, search.model.aims[place], held if place else self._own[name].sequence, budget)
        for classes, sure in self._sure_of_parts.get((name, place), ()):
            if lost is not None and lost <= sure.total:
                search.apart.know(place, classes, sure.least)
        search.tell_parts(search.apart)
        return search.apart.bounds(place)

    def _hold(self, name: str, place: int, lost: Mapping[str, Lost], held: Sequence, budget: Budget) -> None:
        """Allow a future what it may lose on the aims before this one."""
        search, own = self._alone(name), self._own[name]
        for number in range(self._held[name], place):
            aim = self.aims[number]
            most = own.values[aim] + max(0, self.most(name, number, lost))
            search.hold(search.model.aims[number], most)
            # What the others need at least tells each part what it may have.
            leasts = self._bound_parts(name, number, lost[aim].total, held, budget.part(SHARE_OF_EARLIER))
            self._leasts[name][number:] = [leasts]
            if search.apart is not None:
                search.apart.hold(number, most)
        self._held[name] = max(self._held[name], place)
