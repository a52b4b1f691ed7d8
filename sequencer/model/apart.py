"""Classes that share rules, taken apart: bounds for all of them, and sequences to start from.

Parallel classes that are kept in step stay together, since each follows the other day by day; whatever else couples classes is
left out of a part's own model. So the sum of what the parts could reach by themselves is a bound for all of them together. An
earlier aim, held at its value for all, leaves each part that value less what the others need at least.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sequencer.facts import Instance
from sequencer.model.aims import Aim
from sequencer.model.calls import Budget
from sequencer.model.search import GroupSearch
from sequencer.sequence import Sequence, joined
from sequencer.words import EVEN_WEEK

NOT_A_SUM = (EVEN_WEEK,)
"""Aims that are not a sum over classes."""


def parts_of(instance: Instance, group: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """A group of classes in parts, those that are kept in step together; positions of classes."""
    part = {class_index: class_index for class_index in group}
    for parallel in instance.parallels:
        lessons = (instance.lessons[index] for index in parallel)
        bound = sorted({lesson.class_index for lesson in lessons if lesson.in_step is not None and lesson.class_index in part})
        for class_index in bound[1:]:
            old, new = part[class_index], part[bound[0]]
            part = {each: new if of == old else of for each, of in part.items()}
    return tuple(tuple(each for each in group if part[each] == first) for first in dict.fromkeys(part.values()))


class ClassesApart:
    """One search for each part of a group of classes.

    Parameters
    ----------
    searches
        Over the models of the parts.
    """

    def __init__(self, searches: tuple[GroupSearch, ...]) -> None:
        self._searches = searches
        self._bounds: list[int] = []
        self._bounds_of = -1

    @property
    def parts(self) -> tuple[tuple[int, ...], ...]:
        """The classes of each part."""
        return tuple(search.model.parts.variables.class_indices for search in self._searches)

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
            # A hard part leaves the others their share of the clock, too.
            own = budget.part(1 / left)
            allowed = own.effort
            self._bounds.append(search.improve(search.model.aims[place], own))
            budget.effort -= allowed - own.effort
        return sum(self._bounds)

    def least(self, place: int) -> Iterator[tuple[tuple[int, ...], int]]:
        """The classes of each part, and what their terms of the aim whose bound was asked for last come to at least."""
        if self._bounds_of != place:
            return
        for classes, search, bound in zip(self.parts, self._searches, self._bounds, strict=True):
            aim = search.model.aims[place]
            if all(term.of is not None for term in aim.terms):
                yield classes, bound - aim.constant

    def sequence(self) -> Sequence:
        """The sequences of the parts side by side; together they may break a rule that couples them."""
        return joined(search.held for search in self._searches)

    def within(self, most: Mapping[str, int]) -> bool:
        """Whether the sequences of the parts, side by side, come to no more than so much on any aim that is a sum."""
        sums = {aim: sum(search.value(aim) for search in self._searches) for aim in most if aim not in NOT_A_SUM}
        return all(value <= most[aim] for aim, value in sums.items())

    def hold(self, place: int, value: int) -> None:
        """Keep the aim at its value over all classes: each part can have that less what the others need at least."""
        aims = [search.model.aims[place] for search in self._searches]
        if aims[0].name in NOT_A_SUM:
            return
        bounds = self._bounds if self._bounds_of == place else [aim.floor for aim in aims]
        for search, aim, bound in zip(self._searches, aims, bounds, strict=True):
            search.hold(aim, value - sum(bounds) + bound)
