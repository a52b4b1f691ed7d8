"""What a search works on: a model with its aims, what a solution of it says, and what of it can be left as it is."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping
from typing import Generic, TypeVar

from ortools.sat.python import cp_model

from sequencer.aims import aim_values
from sequencer.aims.base import Objective
from sequencer.plan.sequence import Laid, Placement, Sequence, joined
from sequencer.plan.tidy import without_idle_live
from sequencer.solver.model import ClassesModel
from sequencer.solver.solution import hint, sequence_found, starts_in
from sequencer.solver.solver_calls import FOR_CHOICE, SHARE_ALONE, SHARE_ALONE_CHOOSING, USUAL, Budget, Ways
from sequencer.words import IN_CLASS

Held = TypeVar("Held")

Movable = tuple[int, int]
"""What may be left as it is: the position of a future (0 where there is one) and that of a lesson."""

Trial = tuple[Held, frozenset[Movable]]
"""Something held, and what of it may become otherwise."""


class Sought(ABC, Generic[Held]):
    """A model, and what a search holds of it: one sequence, or one for each of several futures.

    Parameters
    ----------
    solver_model
        The model as the solver knows it.
    class_indices, class_ids
        Its classes.
    """

    aims: tuple[Objective, ...]
    way: tuple[Ways, float] = USUAL, SHARE_ALONE
    """How one worker goes about its aims, and its share of their effort."""

    def __init__(self, solver_model: cp_model.CpModel, class_indices: tuple[int, ...], class_ids: tuple[str, ...]) -> None:
        self.solver_model = solver_model
        self.class_indices = class_indices
        self.class_ids = class_ids

    @abstractmethod
    def movable(self, classes: tuple[int, ...]) -> frozenset[Movable]:
        """All that may move of some classes."""

    @abstractmethod
    def found(self, solver: cp_model.CpSolver) -> Held:
        """What the solver's solution says."""

    @abstractmethod
    def counts(self, held: Held) -> dict[str, int]:
        """The referee's count of every aim."""

    @abstractmethod
    def starts(self, held: Held, free: frozenset[Movable]) -> list[tuple[cp_model.IntVar, bool]]:
        """The start booleans of all that is not free, and what they are."""

    @abstractmethod
    def own(self, held: Held) -> Held:
        """The part that is this model's."""

    @abstractmethod
    def joined(self, several: Iterable[Held]) -> Held:
        """What is held of different classes, side by side."""

    def hint(self, held: Held) -> None:
        """Hand it to the next call of the solver."""
        hint(self.solver_model, self.starts(held, frozenset()))

    def begins(self) -> Iterator[Trial[Held]]:
        """What to try before a search for the first: nothing unless stated."""
        yield from ()

    def together(self) -> tuple[frozenset[Movable], ...]:
        """What else than classes is worth moving by itself."""
        return ()

    def in_time(self, held: Held) -> list[Movable] | None:
        """What lies somewhere, in order of time; None where moving stretches of it gains nothing."""
        return None

    def floor(self, place: int, values: Mapping[str, int]) -> int:
        """A bound of an aim that needs no search, those before it held at these values."""
        return self.aims[place].floor

    def bound(self, place: int, values: Mapping[str, int], held: Held, budget: Budget) -> int:
        """A bound that takes a search of its own, where there is one; what is held may say where to look."""
        return self.aims[place].floor


class SequenceSought(Sought[Sequence]):
    """One sequence for the classes of a model."""

    def __init__(self, model: ClassesModel) -> None:
        parts = model.parts
        super().__init__(parts.posting.model, parts.variables.class_indices, tuple(facts.id for facts in parts.classes()))
        self.model = model
        self.aims = model.aims
        if parts.meetings and len(self.class_indices) == 1:
            self.way = FOR_CHOICE, SHARE_ALONE_CHOOSING

    def movable(self, classes: tuple[int, ...]) -> frozenset[Movable]:
        lessons = self.model.parts.variables.lessons
        return frozenset((0, index) for index, each in lessons.items() if each.lesson.class_index in classes)

    def begins(self) -> Iterator[Trial[Sequence]]:
        """Where lessons are to stay: all as they stood; then those of classes free of which one cannot stay."""
        if self.model.moved is None:
            return
        held, unsettled = self.stood()
        self.hint(held)
        yield held, frozenset()
        if 0 < len(unsettled) < len(self.class_indices):
            yield held, self.movable(tuple(unsettled))

    def stood(self) -> tuple[Sequence, set[int]]:
        """All that can lie where it stood, and the classes of which something cannot; nothing where nothing is to stay."""
        stood, unsettled = [], set()
        standing = self.model.moved.standing if self.model.moved is not None else {}
        for index, each in self.model.parts.variables.lessons.items():
            if index not in standing:
                continue
            slots = self.model.parts.instance.slots_for(each.lesson)
            starts = [start for start in each.starts if (slots[start].date, slots[start].period) == standing[index]]
            stood += [Placement(index, start, IN_CLASS) for start in starts]
            unsettled |= set() if starts else {each.lesson.class_index}
        return Sequence(tuple(stood)), unsettled

    def in_time(self, held: Sequence) -> list[Movable]:
        lessons, days = self.model.parts.variables.lessons, self.model.parts.days
        placed = ((days[lessons[each.lesson].lesson.class_index].day[each.slot], each.lesson) for each in held.placements)
        return [(0, lesson) for _, lesson in sorted(placed)]

    def found(self, solver: cp_model.CpSolver) -> Sequence:
        return without_idle_live(self.model.parts.instance, sequence_found(self.model.parts, solver))

    def counts(self, held: Sequence) -> dict[str, int]:
        laid, moved = Laid(self.model.parts.instance, held, self.class_indices), self.model.moved
        return aim_values(laid) | ({moved.name: moved.value(laid)} if moved is not None else {})

    def starts(self, held: Sequence, free: frozenset[Movable]) -> list[tuple[cp_model.IntVar, bool]]:
        return starts_in(self.model.parts, held, frozenset(lesson for _, lesson in free))

    def own(self, held: Sequence) -> Sequence:
        members = set(self.model.parts.variables.lessons)
        return Sequence(
            tuple(each for each in held.placements if each.lesson in members),
            revisits=tuple(each for each in held.revisits if each.lesson in members),
        )

    def joined(self, several: Iterable[Sequence]) -> Sequence:
        return joined(several)
