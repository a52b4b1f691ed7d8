"""A sequence: which lesson sits in which slots and how it is taught, in plain Python."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from sequencer.instance.calendar import Slot, taught_together
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts, TeacherFacts
from sequencer.words import LIVE, OPEN, SET_WORK


@dataclass(frozen=True)
class Placement:
    """One lesson, by its position in ``Instance.lessons``, and its first slot, by its number in its class.

    It is ``taught`` ``in class``, ``live`` or ``set work``.
    """

    lesson: int
    slot: int
    taught: str


@dataclass(frozen=True)
class Stray:
    """An entry of a hand-made sequence for a period in which the class does not meet."""

    lesson: int
    date: date
    period: int


@dataclass(frozen=True)
class Revisit:
    """A lesson met again by choice in another, beyond what is listed: both positions in ``Instance.lessons``."""

    lesson: int
    by: int


@dataclass(frozen=True)
class Sequence:
    """Placements in the order of ``Instance.lessons``, and what is met again by choice.

    A hand-made one may hold a lesson twice, or strays. Delivered lessons are where they were, whether or not it holds them.
    """

    placements: tuple[Placement, ...]
    strays: tuple[Stray, ...] = ()
    revisits: tuple[Revisit, ...] = ()


@dataclass(frozen=True)
class Gone:
    """A lesson of an earlier sequence that is not to be taught any more; its unit is empty where that does not say it.

    Where the record does not say that it is ``skipped`` it is no longer in the scenario.
    """

    class_id: str
    unit: str
    lesson: str
    title: str
    date: date
    period: int
    skipped: bool = False

    @property
    def why(self) -> str:
        """What became of it, in words."""
        return "skipped" if self.skipped else "no longer in the scenario"


@dataclass(frozen=True)
class Previous:
    """A sequence planned before, read against the scenario as it is now: what is still there of it, and what is gone."""

    sequence: Sequence
    gone: tuple[Gone, ...] = ()


def joined(sequences: Iterable[Sequence]) -> Sequence:
    """One sequence of several over different classes."""
    several = tuple(sequences)
    placements = (placement for sequence in several for placement in sequence.placements)
    revisits = tuple(revisit for sequence in several for revisit in sequence.revisits)
    return Sequence(tuple(sorted(placements, key=lambda placement: placement.lesson)), revisits=revisits)


class Laid:
    """A sequence laid over an instance, with the distances that the rules speak of; of all classes, or those looked at.

    A lesson that is placed twice counts where it is placed first; slots beyond the class's last one are ignored.
    """

    def __init__(self, instance: Instance, sequence: Sequence, classes: tuple[int, ...] | None = None) -> None:
        self.instance = instance
        self.sequence = sequence
        self.classes = tuple(facts for facts in instance.classes if classes is None or facts.index in classes)
        self.known: dict[str, Any] = {}
        """What was worked out of it and is asked for again; it never changes."""
        self._at: dict[int, Placement] = {}
        for lesson in self.lessons():
            if lesson.delivered is not None and lesson.delivered.slot is not None:
                self._at[lesson.index] = Placement(lesson.index, lesson.delivered.slot, lesson.delivered.taught)
        for placement in sequence.placements:
            self._at.setdefault(placement.lesson, placement)

    def placed(self, lesson: int) -> bool:
        """Whether the lesson is in the sequence, or was taught before its class's first slot."""
        return lesson in self._at or self.instance.lessons[lesson].earlier

    def taught(self, lesson: int) -> str:
        """How it is taught."""
        return self._at[lesson].taught

    def pos(self, lesson: int) -> int:
        """Number of its first slot; -1 for a lesson taught before the class's first one."""
        return self._at[lesson].slot if lesson in self._at else -1

    def end(self, lesson: int) -> int:
        """Number of its last slot; -1 for a lesson taught before the class's first one."""
        return self._at[lesson].slot + self.instance.lessons[lesson].length - 1 if lesson in self._at else -1

    def first_slot(self, lesson: int) -> Slot:
        """Its first slot."""
        return self.instance.slots_for(self.instance.lessons[lesson])[self.pos(lesson)]

    def slots(self, lesson: int) -> tuple[Slot, ...]:
        """All its slots, those beyond the class's last one left out."""
        return self.instance.slots_for(self.instance.lessons[lesson])[self.pos(lesson) : self.end(lesson) + 1]

    def date(self, lesson: int) -> date:
        """Its date."""
        delivered = self.instance.lessons[lesson].delivered
        return delivered.date if delivered is not None else self.first_slot(lesson).date

    def days(self, earlier: int, later: int) -> int:
        """``date(later) - date(earlier)`` in days."""
        return (self.date(later) - self.date(earlier)).days

    def in_order(self, class_index: int) -> tuple[LessonFacts, ...]:
        """The class's placed lessons by first slot."""
        lessons = self.instance.lessons
        placed = [index for index in self.instance.classes[class_index].lessons if index in self._at]
        return tuple(lessons[index] for index in sorted(placed, key=lambda index: (self._at[index].slot, index)))

    def lessons(self) -> Iterator[LessonFacts]:
        """Every lesson of the classes looked at that has a slot or may have one, in the order of the instance."""
        return (lesson for facts in self.classes for lesson in self.lessons_of(facts))

    def lessons_of(self, facts: ClassFacts) -> Iterator[LessonFacts]:
        """Every lesson of one class that has a slot or may have one, in the order of the instance."""
        return (self.instance.lessons[index] for index in facts.lessons)

    def all_placed(self) -> Iterator[LessonFacts]:
        """Every lesson placed in slots, in the order of the instance."""
        return (lesson for lesson in self.lessons() if lesson.index in self._at)

    def taught_so_far(self) -> Iterator[LessonFacts]:
        """Every placed lesson and those taught before the class's first slot."""
        for facts in self.classes:
            yield from (self.instance.lessons[index] for index in facts.earlier)
        yield from self.all_placed()

    def taught_by(self, teacher: TeacherFacts) -> Iterator[LessonFacts]:
        """The placed lessons whose first slot is the teacher's."""
        own = set(teacher.classes)
        return (
            lesson
            for facts in self.classes
            if facts.index in own
            for lesson in self.lessons_of(facts)
            if lesson.index in self._at and (facts.index, self.pos(lesson.index)) in teacher.slots
        )

    @cached_property
    def met_in(self) -> dict[int, tuple[int, ...]]:
        """For each lesson met again: the placed lessons after it in which it is, listed or chosen, in order of time."""
        found: dict[int, set[int]] = {}
        for lesson in self.taught_so_far():
            found[lesson.index] = set(lesson.revisited_by)
        for revisit in self.sequence.revisits:
            found.setdefault(revisit.lesson, set()).add(revisit.by)
        return {
            index: tuple(sorted((by for by in meeting if by in self._at and self.pos(by) > self.end(index)), key=self.pos))
            for index, meeting in found.items()
            if meeting
        }

    @cached_property
    def starting(self) -> dict[tuple[int, int], list[LessonFacts]]:
        """The lessons that start in each slot, by (class index, slot number), in the order of the instance."""
        found: dict[tuple[int, int], list[LessonFacts]] = {}
        for lesson in self.all_placed():
            found.setdefault((lesson.class_index, self.pos(lesson.index)), []).append(lesson)
        return found

    @cached_property
    def due(self) -> dict[tuple[int, int], list[LessonFacts]]:
        """The lessons whose homework is due on a date, by class index and number of its first slot, in the instance's order."""
        found: dict[tuple[int, int], list[LessonFacts]] = {}
        for lesson in self.all_placed():
            if lesson.homework is not None:
                slot = self.instance.homework_due(lesson, self.date(lesson.index))
                if slot is not None:
                    found.setdefault((lesson.class_index, slot.number), []).append(lesson)
        return found

    @cached_property
    def holding(self) -> dict[tuple[int, int], list[int]]:
        """The lessons that hold each slot, by (class index, slot number): in a sequence made by hand there may be several."""
        found: dict[tuple[int, int], list[int]] = {}
        for lesson in self.all_placed():
            for slot in self.slots(lesson.index):
                found.setdefault((lesson.class_index, slot.number), []).append(lesson.index)
        return found

    @cached_property
    def holders(self) -> tuple[dict[int, int], ...]:
        """For each class: slot number to the lesson that holds it."""
        found: tuple[dict[int, int], ...] = tuple({} for _ in self.instance.classes)
        for (class_index, slot), lessons in self.holding.items():
            found[class_index][slot] = lessons[0]
        return found

    def spare_slots(self, class_index: int) -> tuple[Slot, ...]:
        """The class's slots that hold no lesson."""
        held = self.holders[class_index]
        return tuple(slot for slot in self.instance.classes[class_index].slots if slot.number not in held)


def taught_as_fixed(instance: Instance, lesson: LessonFacts, start: int) -> str:
    """How a lesson is taught that starts in a slot, where nobody says: as the period fixes it."""
    together = taught_together(instance.slots_for(lesson)[start : start + lesson.length])
    if together == OPEN or together is None:
        return LIVE if lesson.live == "demand" else SET_WORK
    return together
