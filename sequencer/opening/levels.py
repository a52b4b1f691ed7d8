"""What futures must lose together once one of them has lost something: bounds of each by itself, put together.

A future that has lost nothing on any earlier aim cannot do better than its own best. One that has may: by how much is asked of
its classes apart, each earlier aim allowed what all futures together have lost on it. How many may have lost something, and on
which aim first, is limited by what was lost in all; the least of all ways in which that can be is the bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import product

from sequencer.model.apart import ClassesApart
from sequencer.model.calls import Budget, abreast
from sequencer.sequence import Sequence

SHARE_OF_EARLIER = 0.3
"""Share of a bound's time and effort for each aim before it that is not held yet."""

MOST_WAYS = 20_000
"""Ways in which futures may have lost something; where there are more, each future is taken at its least."""


GREATEST, SUM = "greatest", "sum"


@dataclass(frozen=True)
class Own:
    """A future's own best.

    Parameters
    ----------
    sequence
        The sequence.
    values, bounds
        What every aim of it comes to, and comes to at least, those before it being no more than in it.
    floors
        What every aim comes to at least, by arithmetic alone.
    seconds
        What the second thoughts of aims come to that could be more in another sequence of the same value.
    """

    sequence: Sequence
    values: Mapping[str, int]
    bounds: Mapping[str, int]
    floors: Mapping[str, int]
    seconds: Mapping[str, int]

    def least(self, aim: str) -> int:
        """The least that can be lost on an aim where nothing is lost on those before it and their second thoughts."""
        return self.bounds[aim] - self.values[aim]


@dataclass(frozen=True)
class Lost:
    """What is lost on one aim at most: the weighted sum over all futures and, where that counts, the greatest of any."""

    total: int
    greatest: int | None


class Levels:
    """Bounds on the losses of all futures, aim by aim.

    Parameters
    ----------
    own
        Each future's own best, by its name.
    aims
        The aims in turn.
    weights
        What the loss of each future counts in a sum.
    apart
        Called with a future for its classes apart.
    """

    def __init__(
        self,
        own: Mapping[str, Own],
        aims: tuple[str, ...],
        weights: Mapping[str, int],
        apart: Callable[[str], ClassesApart[Sequence]],
    ) -> None:
        self._own = own
        self._aims = aims
        self._weights = weights
        self._apart = apart
        self._known: dict[str, ClassesApart[Sequence]] = {}
        self._held = dict.fromkeys(own, 0)
        self._after: dict[tuple[str, str], int] = {}
        """(future, aim) to the least that it loses, whatever it has lost before."""

    def least(self, place: int, lost: Mapping[str, Lost], budget: Budget | None) -> dict[str, int]:
        """The least that the greatest of the losses and their weighted sum come to, given what earlier aims lose at most.

        Without a budget nothing is searched: of a future that may have lost something, only what was found before is known.
        """
        aim = self._aims[place]
        open_to = {name: self._may_have_lost(name, place, lost) for name in self._own}
        if budget is not None:
            seconds = [name for name, own in self._own.items() if any(other in own.seconds for other in self._aims[:place])]
            self._look(place, lost, [name for name, aims in open_to.items() if aims or name in seconds], budget)
        if math.prod(len(aims) + 1 for aims in open_to.values()) > MOST_WAYS:
            return self._together(aim, {name: bool(aims) for name, aims in open_to.items()})
        found = [
            self._together(aim, {name: first is not None for name, first in zip(open_to, way, strict=True)})
            for way in product(*((None, *aims) for aims in open_to.values()))
            if self._can_be(place, dict(zip(open_to, way, strict=True)), lost)
        ]
        return {what: min(each[what] for each in found) for what in (GREATEST, SUM)}

    def _look(self, place: int, lost: Mapping[str, Lost], names: list[str], budget: Budget) -> None:
        """Look for what these futures lose at least, each having lost before what it may."""
        aim = self._aims[place]

        def bound(name: str, share: Budget) -> int:
            self._hold(name, place, lost, share)
            apart = self._classes(name)
            return apart.bound(place, apart.aims[place], self._own[name].sequence, share)

        for name, least in zip(names, abreast([partial(bound, name) for name in names], budget), strict=True):
            self._after[name, aim] = min(least - self._own[name].values[aim], self._own[name].least(aim))

    def _classes(self, name: str) -> ClassesApart[Sequence]:
        if name not in self._known:
            self._known[name] = self._apart(name)
        return self._known[name]

    def _together(self, aim: str, has_lost: Mapping[str, bool]) -> dict[str, int]:
        losses = {name: self._loss(name, aim, before) for name, before in has_lost.items()}
        return {GREATEST: max(losses.values()), SUM: sum(self._weights[name] * loss for name, loss in losses.items())}

    def _loss(self, name: str, aim: str, lost_before: bool) -> int:
        """The least that a future loses on an aim.

        Losses have no second thoughts: after an aim on which a future's own best heeded one, it may gain without losing before.
        """
        heeded = any(other in self._own[name].seconds for other in self._aims[: self._aims.index(aim)])
        if not lost_before and not heeded:
            return self._own[name].least(aim)
        return self._after.get((name, aim), self._own[name].floors[aim] - self._own[name].values[aim])

    def _can_be(self, place: int, first: Mapping[str, int | None], lost: Mapping[str, Lost]) -> bool:
        """Whether futures may first have lost something on these aims: no more than what was lost of each in all."""
        for number, aim in enumerate(self._aims[:place]):
            total = 0
            for name, on in first.items():
                loss = 1 if on == number else self._loss(name, aim, on is not None and on < number)
                total += self._weights[name] * loss
                if lost[aim].greatest is not None and loss > (lost[aim].greatest or 0):
                    return False
            if total > lost[aim].total:
                return False
        return True

    def _may_have_lost(self, name: str, place: int, lost: Mapping[str, Lost]) -> tuple[int, ...]:
        """The aims on which a future may have lost something first."""
        return tuple(number for number, aim in enumerate(self._aims[:place]) if self._most(name, aim, lost[aim]) > 0)

    def _most(self, name: str, aim: str, lost: Lost) -> int:
        """The most that a future may lose on an aim: what is lost in all, less what the others lose at least."""
        others = sum(
            self._weights[other] * min(self._loss(other, aim, True), self._loss(other, aim, False))
            for other in self._own
            if other != name
        )
        most = (lost.total - others) // self._weights[name]
        return most if lost.greatest is None else min(most, lost.greatest)

    def _hold(self, name: str, place: int, lost: Mapping[str, Lost], budget: Budget) -> None:
        """Allow a future what it may lose on the aims before this one."""
        apart, own = self._classes(name), self._own[name]
        for number in range(self._held[name], place):
            aim = self._aims[number]
            # What the others need at least tells each part what it may have.
            apart.bound(number, apart.aims[number], own.sequence, budget.part(SHARE_OF_EARLIER))
            apart.hold(number, own.values[aim] + max(0, self._most(name, aim, lost[aim])))
        self._held[name] = max(self._held[name], place)
