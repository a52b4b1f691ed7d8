"""What is different between two sequences: the lessons that lie elsewhere, in plain Python."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.calendar import Slot
from sequencer.facts import Instance
from sequencer.sequence import Laid, Sequence


@dataclass(frozen=True)
class Move:
    """One lesson that lies elsewhere; None where it is not placed.

    Parameters
    ----------
    lesson
        Position in ``Instance.lessons``.
    old, new
        Its first slot in the one sequence and in the other.
    """

    lesson: int
    old: Slot | None
    new: Slot | None


def moves(old: Laid, new: Laid) -> tuple[Move, ...]:
    """Every lesson whose date or period, or whether it is placed at all, differs; live or set work alone is no difference.

    Class by class, in the order of time of the old sequence.
    """
    found = []
    for lesson in old.lessons():
        before, after = (laid.first_slot(lesson.index) if laid.placed(lesson.index) else None for laid in (old, new))
        first = before or after
        if first is not None and before != after:
            found.append((lesson.class_index, first.number, lesson.index, Move(lesson.index, before, after)))
    return tuple(move for *_, move in sorted(found, key=lambda entry: entry[:3]))


Standing = Mapping[int, tuple[date, int]]
"""Where lessons, by their position in ``Instance.lessons``, are to stay if they can: the date and period they begin in."""


def displaced(laid: Laid, standing: Standing) -> int:
    """How many lessons of the classes looked at do not lie where they are to stay, or are not placed."""
    count = 0
    for lesson in laid.lessons():
        if lesson.index in standing:
            slot = laid.first_slot(lesson.index) if laid.placed(lesson.index) else None
            count += slot is None or (slot.date, slot.period) != standing[lesson.index]
    return count


def least_difference(instance: Instance, before: Iterable[Sequence], sequence: Sequence) -> int:
    """The number of lessons in which a sequence differs from the one before that is most like it."""
    new = Laid(instance, sequence)
    return min(len(moves(Laid(instance, old), new)) for old in before)
