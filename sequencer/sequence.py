"""A sequence: which lesson sits in which slots and how it is taught, in plain Python."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from sequencer.calendar import Slot
from sequencer.facts import Instance, LessonFacts, TeacherFacts


@dataclass(frozen=True)
class Placement:
    """One lesson in its first slot.

    Parameters
    ----------
    lesson
        Position in ``Instance.lessons``.
    slot
        Number of its first slot in its class.
    taught
        ``in class``, ``live`` or ``set work``.
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
class Sequence:
    """Placements in the order of ``Instance.lessons``; a hand-made one may hold a lesson twice, or strays."""

    placements: tuple[Placement, ...]
    strays: tuple[Stray, ...] = ()


def joined(sequences: Iterable[Sequence]) -> Sequence:
    """One sequence of several over different classes."""
    placements = (placement for sequence in sequences for placement in sequence.placements)
    return Sequence(tuple(sorted(placements, key=lambda placement: placement.lesson)))


class Laid:
    """A sequence laid over an instance, with the distances that the rules speak of.

    A lesson that is placed twice counts where it is placed first; slots beyond the class's last one are ignored.

    Parameters
    ----------
    instance, sequence
        What is laid over what.
    classes
        Positions of the classes that are looked at; all unless stated.
    """

    def __init__(self, instance: Instance, sequence: Sequence, classes: tuple[int, ...] | None = None) -> None:
        self.instance = instance
        self.sequence = sequence
        self.classes = tuple(facts for facts in instance.classes if classes is None or facts.index in classes)
        self._at: dict[int, Placement] = {}
        for placement in sequence.placements:
            self._at.setdefault(placement.lesson, placement)

    def placed(self, lesson: int) -> bool:
        """Whether the lesson is in the sequence."""
        return lesson in self._at

    def taught(self, lesson: int) -> str:
        """How it is taught."""
        return self._at[lesson].taught

    def pos(self, lesson: int) -> int:
        """Number of its first slot."""
        return self._at[lesson].slot

    def end(self, lesson: int) -> int:
        """Number of its last slot."""
        return self._at[lesson].slot + self.instance.lessons[lesson].length - 1

    def first_slot(self, lesson: int) -> Slot:
        """Its first slot."""
        return self.instance.slots_for(self.instance.lessons[lesson])[self.pos(lesson)]

    def slots(self, lesson: int) -> tuple[Slot, ...]:
        """All its slots, those beyond the class's last one left out."""
        return self.instance.slots_for(self.instance.lessons[lesson])[self.pos(lesson) : self.end(lesson) + 1]

    def date(self, lesson: int) -> date:
        """Its date."""
        return self.first_slot(lesson).date

    def days(self, earlier: int, later: int) -> int:
        """``date(later) - date(earlier)`` in days."""
        return (self.date(later) - self.date(earlier)).days

    def in_order(self, class_index: int) -> tuple[LessonFacts, ...]:
        """The class's placed lessons by first slot."""
        lessons = self.instance.lessons
        placed = [index for index in self.instance.classes[class_index].lessons if index in self._at]
        return tuple(lessons[index] for index in sorted(placed, key=lambda index: (self._at[index].slot, index)))

    def lessons(self) -> Iterator[LessonFacts]:
        """Every lesson of the classes looked at, in the order of the instance."""
        return (self.instance.lessons[index] for facts in self.classes for index in facts.lessons)

    def all_placed(self) -> Iterator[LessonFacts]:
        """Every placed lesson, in the order of the instance."""
        return (lesson for lesson in self.lessons() if lesson.index in self._at)

    def taught_by(self, teacher: TeacherFacts) -> Iterator[LessonFacts]:
        """The placed lessons whose first slot is the teacher's."""
        return (lesson for lesson in self.all_placed() if (lesson.class_index, self.pos(lesson.index)) in teacher.slots)

    @cached_property
    def holders(self) -> tuple[dict[int, int], ...]:
        """For each class: slot number to the lesson that holds it."""
        found: tuple[dict[int, int], ...] = tuple({} for _ in self.instance.classes)
        for lesson in self.all_placed():
            for slot in self.slots(lesson.index):
                found[lesson.class_index].setdefault(slot.number, lesson.index)
        return found

    def spare_slots(self, class_index: int) -> tuple[Slot, ...]:
        """The class's slots that hold no lesson."""
        held = self.holders[class_index]
        return tuple(slot for slot in self.instance.classes[class_index].slots if slot.number not in held)


@dataclass(frozen=True)
class Outcome:
    """What became of a practice (rule 3) or a retrieval (rule 4).

    Parameters
    ----------
    lesson
        The dense lesson, or the lesson to be retrieved.
    what
        ``practice`` or ``retrieval``.
    state
        ``kept``, ``late``, ``carried over``, or ``broken`` when none of these.
    by
        The lesson that serves it; None when carried over or broken.
    distance
        For a retrieval, days between the distance kept and the preferred one; 0 when carried over or broken.
    """

    lesson: int
    what: str
    state: str
    by: int | None = None
    distance: int = 0


def practices(laid: Laid) -> tuple[Outcome, ...]:
    """Rule 3 for every placed dense lesson: kept by the first practice lesson in its window, carried over, or broken."""
    found = []
    for lesson in laid.all_placed():
        if lesson.practice is None:
            continue
        serving = [other for other in lesson.practised_by if laid.placed(other) and _practises_in_time(laid, lesson, other)]
        if serving:
            found.append(Outcome(lesson.index, "practice", "kept", min(serving, key=laid.pos)))
            continue
        follow = len(laid.instance.slots_for(lesson)) - 1 - laid.end(lesson.index)
        state = "carried over" if follow < lesson.practice.within else "broken"
        found.append(Outcome(lesson.index, "practice", state))
    return tuple(found)


def _practises_in_time(laid: Laid, dense: LessonFacts, practice: int) -> bool:
    numbers = dense.practice
    assert numbers is not None
    if not 1 <= laid.pos(practice) - laid.end(dense.index) <= numbers.within:
        return False
    if numbers.days is not None and laid.days(dense.index, practice) > numbers.days:
        return False
    if numbers.no_new_content:
        held = laid.holders[dense.class_index]
        between = range(laid.end(dense.index) + 1, laid.pos(practice))
        return not any(slot in held and laid.instance.lessons[held[slot]].kind == "teach" for slot in between)
    return True


def retrievals(laid: Laid) -> tuple[Outcome, ...]:
    """Rule 4 for every placed lesson to be retrieved.

    Kept on a date of its window; where no slot of the class lies in the window but later ones exist, the date of the first of
    them is the window (late); carried over only where the window ends after the class's last slot.
    """
    found = []
    for lesson in laid.all_placed():
        if lesson.retrieval is None:
            continue
        numbers = lesson.retrieval
        taught_on = laid.date(lesson.index)
        slots = laid.instance.slots_for(lesson)
        gaps = [(slot.date - taught_on).days for slot in slots]
        window = [gap for gap in gaps if numbers.least <= gap <= numbers.most]
        later = [gap for gap in gaps if gap > numbers.most]
        state = "kept"
        if not window and later:
            window, state = [min(later)], "late"
        met = {
            other: laid.days(lesson.index, other)
            for other in lesson.revisited_by
            if laid.placed(other) and laid.pos(other) > laid.end(lesson.index)
        }
        serving = {other: abs(gap - numbers.preferred) for other, gap in met.items() if gap in window}
        if serving:
            by = min(serving, key=lambda other: (serving[other], laid.pos(other)))
            found.append(Outcome(lesson.index, "retrieval", state, by, serving[by]))
        elif slots and numbers.most > gaps[-1]:
            found.append(Outcome(lesson.index, "retrieval", "carried over"))
        else:
            found.append(Outcome(lesson.index, "retrieval", "broken"))
    return tuple(found)
