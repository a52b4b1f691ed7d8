"""What not knowing costs several futures, as aims of one search over all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from ortools.sat.python import cp_model

from sequencer.aims.base import CostTerm, Objective
from sequencer.plan.sequence import Sequence
from sequencer.questions.opening.futures_side_by_side import Own, Together
from sequencer.questions.opening.levels import GREATEST, SUM, Levels, Lost
from sequencer.questions.opening.must import Must
from sequencer.solver.costs import cost
from sequencer.solver.posting import PostedStatement
from sequencer.solver.solver_calls import BY_DEDUCTION, SHARE_ALONE, Budget, Calls
from sequencer.solver.sought import Movable, SequenceSought, Sought, Trial

_MOST_LOSS = 10**7

SHARE_OF_QUESTION = 0.8
"""Share of a bound's time and effort for asking who may have lost something."""

Plans = Mapping[str, Sequence]
"""One sequence for each future, by its name."""


def loss_stages(aims: Iterable[str], weights: Mapping[str, int] | None) -> tuple[tuple[str, str], ...]:
    """What is made small in turn: of every aim the greatest loss and the sum of all, or the weighted sum alone."""
    return tuple((aim, what) for aim in aims for what in ((GREATEST, SUM) if weights is None else (SUM,)))


class Losses(Sought[Plans]):
    """The losses of several futures, aim by aim: the greatest of them and their sum, or the weighted sum alone.

    One future or one class at a time gains more than a stretch of time in all: so they have no order of time (``in_time``).
    ``levels`` says what they must lose together; ``must``, where there are several parts of the classes, who of these must.
    """

    way = BY_DEDUCTION, SHARE_ALONE

    def __init__(
        self,
        together: Together,
        own: Mapping[str, Own],
        weights: Mapping[str, int] | None,
        levels: Levels,
        calls: Calls,
        must: Must | None = None,
    ) -> None:
        self._together = together
        self._own = own
        self._levels = levels
        self._calls = calls
        self._must = must
        self._weights = weights
        self._asked: dict[tuple[str, tuple[int, ...]], bool] = {}
        """(aim, every future's loss) to whether those who lose something on it must, as much as they do."""
        self._each = {name: SequenceSought(model) for name, model in together.models.items()}
        super().__init__(together.posting.model, together.class_indices, next(iter(self._each.values())).class_ids)
        self._loss = {(name, aim.name): self._loss_of(name, aim) for name, each in self._each.items() for aim in each.aims}
        names = tuple(aim.name for aim in next(iter(self._each.values())).aims)
        self.stages = loss_stages(names, weights)
        self.aims = tuple(self._aim(aim, what) for aim, what in self.stages)

    def movable(self, classes: tuple[int, ...]) -> frozenset[Movable]:
        """The lessons of some classes in every future."""
        return frozenset((place, lesson) for place, each in enumerate(self._each.values()) for _, lesson in each.movable(classes))

    def together(self) -> tuple[frozenset[Movable], ...]:
        """The lessons of each future: with the others as they are, the opening is, too; then those of each class in all."""
        every = self.movable(self.class_indices)
        by_future = [frozenset(each for each in every if each[0] == place) for place in range(len(self._each))]
        by_class = [self.movable((index,)) for index in self.class_indices]
        return (*by_future, *(by_class if len(by_class) > 1 else ()))

    def begins(self) -> Iterator[Trial[Plans]]:
        """The opening of each future's own best, the others made to fit."""
        plans = {name: each.own(self._own[name].sequence) for name, each in self._each.items()}
        every = self.movable(self.class_indices)
        for place in range(len(self._each)):
            yield plans, frozenset(each for each in every if each[0] != place)

    def floor(self, place: int, values: Mapping[str, int]) -> int:
        """What arithmetic says and, where nothing is lost on any earlier aim, the futures' own bounds."""
        lost = self._lost(place, values)
        return max(self.aims[place].floor, self._levels.least(len(lost), lost)[self.stages[place][1]])

    def bound(self, place: int, values: Mapping[str, int], held: Plans, budget: Budget) -> int:
        """A bound of the losses of an aim, those before it held at these values, each future's told to the model, too."""
        aim, what = self.stages[place]
        lost = self._lost(place, values)
        with budget.lent(SHARE_OF_QUESTION) as for_question:
            told = self._forced(aim, lost, held, for_question)[what]
        if told >= self.counts(held)[self.aims[place].name]:
            return told
        self._levels.look(len(lost), lost, held, budget)
        for name in self._own:
            self.solver_model.add(self._loss[name, aim] >= self._levels.least_of(name, len(lost), lost))
        return max(self.aims[place].floor, told, self._levels.least(len(lost), lost)[what])

    def _lost(self, place: int, values: Mapping[str, int]) -> dict[str, Lost]:
        """What is lost at most on every aim before that of a stage."""
        at = {stage: values[told.name] for stage, told in zip(self.stages[:place], self.aims, strict=False)}
        return {aim: Lost(at[aim, SUM], at.get((aim, GREATEST))) for aim, kind in at if kind == SUM}

    def _forced(self, aim: str, lost: Mapping[str, Lost], held: Plans, budget: Budget) -> dict[str, int]:
        """What must be lost on an aim, where it is found that those who lose something on it must, as much as they do.

        It is asked whether any of them could lose less, with no more lost in all; and then whether its part could.
        """
        values = self._counted(held)
        losses = {name: values[name][aim] - own.values[aim] for name, own in self._own.items()}
        weighed = self._at_once(SUM, losses)
        losing = [name for name, loss in losses.items() if loss > 0]
        asked = aim, tuple(losses.values())
        if asked not in self._asked:
            self._asked[asked] = all(self._must_lose(name, aim, lost, losses[name], weighed, held, budget) for name in losing)
        if not losing or not self._asked[asked]:
            return {GREATEST: -_MOST_LOSS, SUM: -_MOST_LOSS}
        least = {
            name: loss if loss > 0 else min(loss, self._levels.least_of(name, len(lost), lost)) for name, loss in losses.items()
        }
        # Where more than that is lost in all, some future loses at least its share.
        share = -(-(weighed + 1) // sum(self._weight(name) for name in self._own))
        return {GREATEST: min(max(losses.values()), share), SUM: min(self._at_once(SUM, least), weighed + 1)}

    def _must_lose(
        self, name: str, aim: str, lost: Mapping[str, Lost], loss: int, most: int, held: Plans, budget: Budget
    ) -> bool:
        """Whether a future loses at least so much on an aim, where no more than ``most`` is lost by all."""
        if self._must is not None:
            least = self._must.least(name, len(lost), lost, most, held, budget)
            found = least is not None and least >= loss
        else:
            model = self.solver_model.clone()
            model.add(sum(self._weight(each) * self._loss[each, aim] for each in self._own) <= most)
            for each in self._own:
                model.add(self._loss[each, aim] >= self._levels.least_of(each, len(lost), lost))
            model.add(self._loss[name, aim] <= loss - 1)
            found = self._calls.refuted(model, budget)
        if found:
            self._levels.know(name, aim, loss, most)
        return found

    def found(self, solver: cp_model.CpSolver) -> Plans:
        """The sequences that the solver found."""
        return {name: each.found(solver) for name, each in self._each.items()}

    def counts(self, held: Plans) -> dict[str, int]:
        """The referee's count of the losses."""
        values = self._counted(held)
        return {
            aim.name: self._at_once(what, {name: values[name][of] - self._own[name].values[of] for name in values})
            for aim, (of, what) in zip(self.aims, self.stages, strict=True)
        }

    def better(self, one: Plans, other: Plans) -> bool:
        """Whether the one loses less than the other on the first stage in which they differ."""
        first, second = (self.counts(self.own(each)) for each in (one, other))
        return [first[aim.name] for aim in self.aims] < [second[aim.name] for aim in self.aims]

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

    def _counted(self, held: Plans) -> dict[str, dict[str, int]]:
        """The referee's count of every aim in every future."""
        return {name: each.counts(held[name]) for name, each in self._each.items()}

    def _loss_of(self, name: str, aim: Objective) -> cp_model.IntVar:
        """What a future loses on an aim: less than nothing where it gains."""
        posting, own = self._together.posting, self._own[name].values[aim.name]
        told = f"loss of {name}, {aim.name}"
        loss = posting.integer(max(aim.floor - own, -_MOST_LOSS), _MOST_LOSS, told)
        posting.linear(PostedStatement(0, told), cost(aim) + aim.constant - own == loss)
        return loss

    def _aim(self, aim: str, what: str) -> Objective:
        """The greatest loss of any future on an aim, or the weighted sum of all, as an aim of its own."""
        floors = {name: own.floors[aim] - own.values[aim] for name, own in self._own.items()}
        floor = self._at_once(what, floors)
        told = f"{aim}, {what} of the losses"
        if what == GREATEST:
            posting = self._together.posting
            greatest = posting.integer(max(floor, -_MOST_LOSS), _MOST_LOSS, told)
            for name in self._own:
                posting.linear(PostedStatement(0, f"{told}: {name}"), self._loss[name, aim] <= greatest)
            return Objective(told, (CostTerm(greatest, 1, told),), floor=floor, summed=False)
        terms = tuple(CostTerm(self._loss[name, aim], self._weight(name), f"loss of {name}") for name in self._own)
        return Objective(told, terms, floor=floor)

    def _at_once(self, what: str, losses: Mapping[str, int]) -> int:
        """The greatest loss, or the weighted sum."""
        return max(losses.values()) if what == GREATEST else sum(self._weight(name) * loss for name, loss in losses.items())

    def _weight(self, name: str) -> int:
        return (self._weights or {}).get(name, 1)
