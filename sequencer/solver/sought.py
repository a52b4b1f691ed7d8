"""What a search works on: a model with its aims, what a solution of it says, and what of it can be left as it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Protocol, TypeVar

from ortools.sat.python import cp_model

from sequencer.plan.differences import displaced
from sequencer.plan.sequence import Laid, Sequence, joined
from sequencer.plan.tidy import without_idle_live
from sequencer.solver.aim_terms import Aim
from sequencer.solver.model import Model
from sequencer.solver.solution import group_values, hint, sequence_found, starts_in
from sequencer.solver.solver_calls import FOR_CHOICE, SHARE_ALONE, SHARE_ALONE_CHOOSING, USUAL, Budget, Ways
from sequencer.words import DISRUPTION

Held = TypeVar("Held")

Movable = tuple[int, int]
"""What may be left as it is: the position of a future (0 where there is one) and that of a lesson."""

Trial = tuple[Held, frozenset[Movable]]
"""Something held, and what of it may become otherwise."""


class Sought(Protocol[Held]):
    """A model, and what a search holds of it: one sequence, or one for each of several futures."""

    aims: tuple[Aim, ...]

    @property
    def solver_model(self) -> cp_model.CpModel:
        """The model as the solver knows it."""

    @property
    def class_indices(self) -> tuple[int, ...]:
        """Positions of its classes."""

    @property
    def class_ids(self) -> tuple[str, ...]:
        """Their ids."""

    @property
    def way(self) -> tuple[Ways, float]:
        """How one worker goes about its aims, and its share of their effort."""

    def movable(self, classes: tuple[int, ...]) -> frozenset[Movable]:
        """All that may move of some classes."""

    def together(self) -> tuple[frozenset[Movable], ...]:
        """What else is worth moving by itself."""

    def in_time(self, held: Held) -> list[Movable] | None:
        """What lies somewhere, in order of time; None where moving stretches of it gains nothing."""

    def begins(self) -> Iterator[Trial[Held]]:
        """What to try before a search for the first."""

    def floor(self, place: int, values: Mapping[str, int]) -> int:
        """A bound of an aim that needs no search, those before it held at these values."""

    def bound(self, place: int, values: Mapping[str, int], held: Held, budget: Budget) -> int:
        """A bound that takes a search of its own, where there is one; what is held may say where to look."""

    def found(self, solver: cp_model.CpSolver) -> Held:
        """What the solver's solution says."""

    def counts(self, held: Held) -> dict[str, int]:
        """The referee's count of every aim."""

    def hint(self, held: Held) -> None:
        """Hand it to the next call of the solver."""

    def starts(self, held: Held, free: frozenset[Movable]) -> list[tuple[cp_model.IntVar, bool]]:
        """The start booleans of all that is not free, and what they are."""

    def own(self, held: Held) -> Held:
        """The part that is this model's."""

    def joined(self, several: Iterable[Held]) -> Held:
        """What is held of different classes, side by side."""


class SequenceSought:
    """One sequence for the classes of a model."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.aims = model.aims

    @property
    def solver_model(self) -> cp_model.CpModel:
        """The model as the solver knows it."""
        return self.model.parts.posting.model

    @property
    def class_indices(self) -> tuple[int, ...]:
        """Positions of its classes."""
        return self.model.parts.variables.class_indices

    @property
    def class_ids(self) -> tuple[str, ...]:
        """Their ids."""
        return tuple(facts.id for facts in self.model.parts.classes())

    @property
    def way(self) -> tuple[Ways, float]:
        """How one worker goes about its aims, and its share of their effort."""
        parts = self.model.parts
        chooses = bool(parts.meetings) and len(self.class_indices) == 1
        return (FOR_CHOICE, SHARE_ALONE_CHOOSING) if chooses else (USUAL, SHARE_ALONE)

    def movable(self, classes: tuple[int, ...]) -> frozenset[Movable]:
        """The lessons of some classes."""
        lessons = self.model.parts.variables.lessons
        return frozenset((0, index) for index, each in lessons.items() if each.lesson.class_index in classes)

    def together(self) -> tuple[frozenset[Movable], ...]:
        """Nothing but classes is worth moving by itself."""
        return ()

    def in_time(self, held: Sequence) -> list[Movable]:
        """The lessons that lie somewhere, in order of time."""
        return [(0, lesson) for _, lesson in days_of(self.model, held)]

    def begins(self) -> Iterator[Trial[Sequence]]:
        """Nothing: the solver's own first sequence comes as soon."""
        yield from ()

    def floor(self, place: int, values: Mapping[str, int]) -> int:
        """What arithmetic says of the aim, whatever the values of those before it."""
        return self.aims[place].floor

    def bound(self, place: int, values: Mapping[str, int], held: Sequence, budget: Budget) -> int:
        """No more than arithmetic says."""
        return self.aims[place].floor

    def found(self, solver: cp_model.CpSolver) -> Sequence:
        """The sequence that the solver found."""
        return without_idle_live(self.model.parts.instance, sequence_found(self.model.parts, solver))

    def counts(self, held: Sequence) -> dict[str, int]:
        """The referee's count of every aim, and of what does not lie where it stood."""
        parts, standing = self.model.parts, self.model.standing
        values = group_values(parts, held)
        if standing is not None:
            laid = Laid(parts.instance, held, parts.variables.class_indices)
            values[DISRUPTION] = displaced(laid, standing, self.model.weights)
        return values

    def hint(self, held: Sequence) -> None:
        """Where each lesson starts; the rest the solver works out."""
        hint(self.solver_model, self.starts(held, frozenset()))

    def starts(self, held: Sequence, free: frozenset[Movable]) -> list[tuple[cp_model.IntVar, bool]]:
        """The start booleans of all lessons but the free ones."""
        return starts_in(self.model.parts, held, frozenset(lesson for _, lesson in free))

    def own(self, held: Sequence) -> Sequence:
        """The part of a sequence that is of these classes."""
        members = set(self.model.parts.variables.lessons)
        return Sequence(
            tuple(each for each in held.placements if each.lesson in members),
            revisits=tuple(each for each in held.revisits if each.lesson in members),
        )

    def joined(self, several: Iterable[Sequence]) -> Sequence:
        """One sequence of several over different classes."""
        return joined(several)


def days_of(model: Model, held: Sequence) -> list[tuple[int, int]]:
    """The day on which each lesson lies, counted as everywhere in a model, and the lesson, in order of time."""
    lessons, days = model.parts.variables.lessons, model.parts.days
    return sorted((days[lessons[each.lesson].lesson.class_index].day[each.slot], each.lesson) for each in held.placements)
