"""What not knowing costs several futures, as aims of one search over all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from ortools.sat.python import cp_model

from sequencer.model.aims import Aim
from sequencer.model.calls import SHARE_ALONE, USUAL, Budget, Ways
from sequencer.model.costs import CostTerm
from sequencer.model.found import hint
from sequencer.model.posting import Statement, total
from sequencer.model.sought import Movable, SequenceSought, Trial
from sequencer.opening.levels import GREATEST, SUM, Levels, Lost, Own
from sequencer.opening.model import Together
from sequencer.sequence import Sequence

_MOST_LOSS = 10**7

Plans = Mapping[str, Sequence]
"""One sequence for each future, by its name."""


def loss_stages(aims: Iterable[str], weights: Mapping[str, int] | None) -> tuple[tuple[str, str], ...]:
    """What is made small in turn: of every aim the greatest loss and the sum of all, or the weighted sum alone."""
    return tuple((aim, what) for aim in aims for what in ((GREATEST, SUM) if weights is None else (SUM,)))


class Losses:
    """The losses of several futures, aim by aim: the greatest of them and their sum, or the weighted sum alone.

    Parameters
    ----------
    together
        The model of the futures.
    own
        Each future's own best.
    weights
        How much each future counts; None where the worst case does.
    levels
        What they must lose together.
    """

    def __init__(self, together: Together, own: Mapping[str, Own], weights: Mapping[str, int] | None, levels: Levels) -> None:
        self._together = together
        self._own = own
        self._levels = levels
        self._weights = weights
        self._each = {name: SequenceSought(model) for name, model in together.models.items()}
        self.class_indices = together.class_indices
        names = tuple(aim.name for aim in next(iter(self._each.values())).aims)
        self.stages = loss_stages(names, weights)
        self.aims = tuple(self._aim(aim, what) for aim, what in self.stages)

    @property
    def solver_model(self) -> cp_model.CpModel:
        """The model as the solver knows it."""
        return self._together.posting.model

    @property
    def class_ids(self) -> tuple[str, ...]:
        """The ids of its classes."""
        return next(iter(self._each.values())).class_ids

    @property
    def way(self) -> tuple[Ways, float]:
        """How one worker goes about its aims, and its share of their effort."""
        return USUAL, SHARE_ALONE

    def movable(self, classes: tuple[int, ...]) -> frozenset[Movable]:
        """The lessons of some classes in every future."""
        return frozenset((place, lesson) for place, each in enumerate(self._each.values()) for _, lesson in each.movable(classes))

    def together(self) -> tuple[frozenset[Movable], ...]:
        """The lessons of each future: with the others as they are, the opening is, too; then those of each class in all."""
        every = self.movable(self.class_indices)
        by_future = [frozenset(each for each in every if each[0] == place) for place in range(len(self._each))]
        by_class = [self.movable((index,)) for index in self.class_indices]
        return (*by_future, *(by_class if len(by_class) > 1 else ()))

    def in_time(self, held: Plans) -> None:
        """Nothing: one future or one class at a time gains more than a stretch of time in all."""

    def begins(self) -> Iterator[Trial[Plans]]:
        """The opening of each future's own best, the others made to fit."""
        plans = {name: each.own(self._own[name].sequence) for name, each in self._each.items()}
        every = self.movable(self.class_indices)
        for place in range(len(self._each)):
            yield plans, frozenset(each for each in every if each[0] != place)

    def floor(self, place: int, values: Mapping[str, int], seconds: Mapping[str, int]) -> int:
        """What arithmetic says and, where nothing is lost on any earlier aim, the futures' own bounds."""
        return self.bound(place, values, None)

    def bound(self, place: int, values: Mapping[str, int], budget: Budget | None) -> int:
        """A bound of the losses of an aim, those before it held at these values; without a budget nothing is searched."""
        _, what = self.stages[place]
        at = {stage: values[told.name] for stage, told in zip(self.stages[:place], self.aims, strict=False)}
        lost = {aim: Lost(at[aim, SUM], at.get((aim, GREATEST))) for aim, kind in at if kind == SUM}
        least = self._levels.least(len(lost), lost, budget)
        return max(self.aims[place].floor, least[what])

    def found(self, solver: cp_model.CpSolver) -> Plans:
        """The sequences that the solver found."""
        return {name: each.found(solver) for name, each in self._each.items()}

    def counts(self, held: Plans) -> dict[str, int]:
        """The referee's count of the losses."""
        values = {name: each.counts(held[name]) for name, each in self._each.items()}
        return {
            aim.name: self._at_once(what, {name: values[name][of] - self._own[name].values[of] for name in values})
            for aim, (of, what) in zip(self.aims, self.stages, strict=True)
        }

    def better(self, one: Plans, other: Plans) -> bool:
        """Whether the one loses less than the other on the first stage in which they differ."""
        first, second = (self.counts(self.own(each)) for each in (one, other))
        return [first[aim.name] for aim in self.aims] < [second[aim.name] for aim in self.aims]

    def second_thought(self, held: Plans) -> int:
        """Losses have none."""
        raise NotImplementedError

    def hint(self, held: Plans) -> None:
        """Where each lesson starts in each future."""
        hint(self.solver_model, self.starts(held, frozenset()))

    def starts(self, held: Plans, free: frozenset[Movable]) -> list[tuple[cp_model.IntVar, bool]]:
        """The start booleans of all lessons but the free ones."""
        return [
            start
            for place, (name, each) in enumerate(self._each.items())
            for start in each.starts(held[name], frozenset((0, lesson) for where, lesson in free if where == place))
        ]

    def own(self, held: Plans) -> Plans:
        """The part of every sequence that is of these classes."""
        return {name: each.own(held[name]) for name, each in self._each.items()}

    def joined(self, several: Iterable[Plans]) -> Plans:
        """The sequences of different classes side by side, future by future."""
        plans = tuple(several)
        return {name: each.joined(plan[name] for plan in plans) for name, each in self._each.items()}

    def _aim(self, name: str, what: str) -> Aim:
        """The greatest loss of any future on an aim, or the sum of all, as an aim of its own."""
        of = {each: next(aim for aim in sought.aims if aim.name == name) for each, sought in self._each.items()}
        floor = self._at_once(what, {each: aim.floor - self._own[each].values[name] for each, aim in of.items()})
        told = f"{name}, {what} of the losses"
        if what == GREATEST:
            posting = self._together.posting
            greatest = posting.integer(max(floor, -_MOST_LOSS), _MOST_LOSS, told)
            for each, aim in of.items():
                loss = total((term.variable, term.weight) for term in aim.terms) + aim.constant - self._own[each].values[name]
                posting.linear(Statement(0, f"loss of {each}, {name}"), loss <= greatest)
            return Aim(told, (CostTerm(greatest, 1, told),), floor=floor, summed=False)
        weights = {each: self._weight(each) for each in of}
        terms = tuple(
            CostTerm(term.variable, term.weight * weights[each], f"{each}: {term.counts}", term.of)
            for each, aim in of.items()
            for term in aim.terms
        )
        constant = sum(weights[each] * (aim.constant - self._own[each].values[name]) for each, aim in of.items())
        return Aim(told, terms, constant, floor, summed=all(aim.summed for aim in of.values()))

    def _at_once(self, what: str, losses: Mapping[str, int]) -> int:
        """The greatest loss, or the weighted sum."""
        return max(losses.values()) if what == GREATEST else sum(self._weight(name) * loss for name, loss in losses.items())

    def _weight(self, name: str) -> int:
        return (self._weights or {}).get(name, 1)
