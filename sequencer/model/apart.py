"""Classes that share rules, taken one by one: bounds for all of them, and sequences to start from.

What couples the classes is left out of a class's own model, so that the sum of what each could reach by itself is a bound for all
of them together. An earlier aim, held at its value for all, leaves each class that value less what the others need at least.
"""

from __future__ import annotations

from sequencer.model.aims import Aim
from sequencer.model.calls import Budget
from sequencer.model.search import GroupSearch
from sequencer.sequence import Sequence, joined
from sequencer.words import EVEN_WEEK

NOT_A_SUM = (EVEN_WEEK,)
"""Aims that are not a sum over classes."""


class ClassesApart:
    """One search for each class of a group.

    Parameters
    ----------
    searches
        Over the models of single classes, in the order of the group's classes.
    """

    def __init__(self, searches: tuple[GroupSearch, ...]) -> None:
        self._searches = searches
        self._bounds: list[int] = []
        self._bounds_of = -1

    @property
    def clocked(self) -> bool:
        """Whether the clock cut any of them short."""
        return any(search.clocked for search in self._searches)

    def bound(self, place: int, aim: Aim, held: Sequence, budget: Budget) -> int:
        """A value below which the aim cannot be brought for all classes together, starting from the sequence held."""
        if aim.name in NOT_A_SUM:
            for search in self._searches:
                search.start_from(held, aim.name)
            return aim.floor
        self._bounds, self._bounds_of = [], place
        for left, search in zip(range(len(self._searches), 0, -1), self._searches, strict=True):
            search.start_from(held, aim.name)
            own = Budget(budget.ends, budget.effort / left)
            self._bounds.append(search.improve(search.model.aims[place], own))
            budget.effort -= budget.effort / left - own.effort
        return sum(self._bounds)

    def sequence(self) -> Sequence:
        """The sequences of the single classes side by side; together they may break a rule that couples them."""
        return joined(search.held for search in self._searches)

    def hold(self, place: int, value: int) -> None:
        """Keep the aim at its value over all classes: each class can have that less what the others need at least."""
        aims = [search.model.aims[place] for search in self._searches]
        if aims[0].name in NOT_A_SUM:
            return
        bounds = self._bounds if self._bounds_of == place else [aim.floor for aim in aims]
        for search, aim, bound in zip(self._searches, aims, bounds, strict=True):
            search.hold(aim, value - sum(bounds) + bound)
