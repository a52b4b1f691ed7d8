"""Classes that share rules, taken apart: bounds for all of them, and sequences to start from.

Parallel classes that are kept in step stay together, since each follows the other day by day; whatever else couples classes is
left out of a part's own model. So the sum of what the parts could reach by themselves is a bound for all of them together. An
earlier aim, held at its value for all, leaves each part that value less what the others need at least.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Generic

from sequencer.aims.base import Objective
from sequencer.instance.facts import Instance
from sequencer.solver.neighbourhoods import NearSearch
from sequencer.solver.solver_calls import Budget
from sequencer.solver.sought import Held


def parts_of(group: tuple[int, ...], *instances: Instance) -> tuple[tuple[int, ...], ...]:
    """A group of classes in parts, those together that are kept in step in any of the instances; positions of classes."""
    part = {class_index: class_index for class_index in group}
    for lessons in ([each.lessons[index] for index in parallel] for each in instances for parallel in each.parallels):
        bound = sorted({lesson.class_index for lesson in lessons if lesson.in_step is not None and lesson.class_index in part})
        for class_index in bound[1:]:
            old, new = part[class_index], part[bound[0]]
            part = {each: new if of == old else of for each, of in part.items()}
    return tuple(tuple(each for each in group if part[each] == first) for first in dict.fromkeys(part.values()))


@dataclass(frozen=True)
class Beside:
    """What an aim comes to for some classes in one sequence and in another; ``constant`` is what is no term of the aim."""

    classes: tuple[int, ...]
    value: int
    other: int
    constant: int


class ClassesApart(Generic[Held]):
    """One search for each part of a group of classes."""

    def __init__(self, searches: tuple[NearSearch[Held], ...]) -> None:
        self._searches = searches
        self._bounds: list[int] = []
        self._bounds_of = -1

    @property
    def searches(self) -> tuple[NearSearch[Held], ...]:
        """The search of each part."""
        return self._searches

    @property
    def parts(self) -> tuple[tuple[int, ...], ...]:
        """The classes of each part."""
        return tuple(search.model.class_indices for search in self._searches)

    @property
    def clocked(self) -> bool:
        """Whether the clock cut any of them short."""
        return any(search.calls.clocked for search in self._searches)

    def bound(self, place: int, aim: Objective, held: Held, budget: Budget) -> int:
        """A value below which the aim cannot be brought for all classes together, starting from the sequence held."""
        if not aim.summed:
            for search in self._searches:
                search.start_from(held, aim.name)
            self._bounds_of = -1
            return aim.floor
        known = self._bounds if self._bounds_of == place else [each.model.aims[place].floor for each in self._searches]
        self._bounds, self._bounds_of = [], place
        for number, (search, bound) in enumerate(zip(self._searches, known, strict=True)):
            search.start_from(held, aim.name)
            if search.value(aim.name) == bound:
                self._bounds.append(bound)
                continue
            # A hard part leaves the others their share of the clock, too.
            with budget.lent(1 / (len(self._searches) - number)) as own:
                self._bounds.append(search.improve(search.model.aims[place], own, bound=bound))
        return sum(self._bounds)

    def bounded(self, place: int, bounds: list[int]) -> None:
        """Take over what the aim at a place comes to at least for each part."""
        self._bounds, self._bounds_of = bounds, place

    def no_less(self, place: int) -> None:
        """Post in each part's own model what the aim last bounded comes to at least."""
        if self._bounds_of == place:
            for search, bound in zip(self._searches, self._bounds, strict=True):
                if bound > search.model.aims[place].floor:
                    search.no_less(search.model.aims[place], bound)

    def least(self) -> Iterator[tuple[int, tuple[int, ...], int]]:
        """For each part the place of the aim that was last bounded, its classes, and what their terms come to at least."""
        place = self._bounds_of
        if place < 0:
            return
        for classes, search, bound in zip(self.parts, self._searches, self._bounds, strict=True):
            aim = search.model.aims[place]
            if all(term.of is not None for term in aim.terms):
                yield place, classes, bound - aim.constant

    def know(self, place: int, classes: tuple[int, ...], least: int) -> None:
        """Know what the aim last bounded comes to at least for the classes of one part."""
        if self._bounds_of == place:
            self._bounds = [
                max(bound, least) if own == classes else bound for own, bound in zip(self.parts, self._bounds, strict=True)
            ]

    def bounds(self, place: int) -> dict[tuple[int, ...], int]:
        """What the aim at this place comes to at least for each part: as bounded last, or by arithmetic alone."""
        bounds = self._bounds if self._bounds_of == place else [search.model.aims[place].floor for search in self._searches]
        return dict(zip(self.parts, bounds, strict=True))

    def beside(self, place: int, one: Held, other: Held) -> list[Beside]:
        """What the aim at a place comes to for each part in one sequence and in another."""
        found = []
        for search in self._searches:
            model, aim = search.model, search.model.aims[place]
            first, second = (model.counts(model.own(each))[aim.name] for each in (one, other))
            found.append(Beside(model.class_indices, first, second, aim.constant))
        return found

    def hold(self, place: int, value: int) -> None:
        """Keep the aim at its value over all classes: each part can have that less what the others need at least."""
        aims = [search.model.aims[place] for search in self._searches]
        if not aims[0].summed:
            return
        bounds = self._bounds if self._bounds_of == place else [aim.floor for aim in aims]
        for search, aim, bound in zip(self._searches, aims, bounds, strict=True):
            search.hold(aim, value - sum(bounds) + bound)
