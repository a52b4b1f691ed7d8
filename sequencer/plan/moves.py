"""What is different between two sequences: the lessons that lie elsewhere, in plain Python."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance
from sequencer.plan.sequence import Laid, Sequence


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


@dataclass(frozen=True)
class MoveWeights:
    """What it costs to move a lesson, by how soon its class feels it and by who knows of the plan; 1 unless stated.

    Parameters
    ----------
    today
        From which days are counted; without it every move is far off.
    near
        Numbers of days and the weight of a move up to so many days ahead, the nearest first.
    shared
        Weight of each class whose plan is shared already, by its position, by which that of each move is multiplied.
    """

    today: date | None = None
    near: tuple[tuple[int, int], ...] = ()
    shared: Mapping[int, int] = field(default_factory=dict)

    def of(self, class_index: int, old: date, new: date | None) -> int:
        """The cost of a move from one date to another, or to none: what counts is the earlier of the two."""
        weight = 1
        if self.today is not None:
            days = (min(old, new or old) - self.today).days
            weight = next((each for within, each in self.near if days <= within), 1)
        return weight * self.shared.get(class_index, 1)


def displaced(laid: Laid, standing: Standing, weights: MoveWeights | None = None) -> int:
    """How many lessons of the classes looked at do not lie where they are to stay, or are not placed; each by its weight."""
    count = 0
    weights = weights or MoveWeights()
    for lesson in laid.lessons():
        if lesson.index in standing:
            slot = laid.first_slot(lesson.index) if laid.placed(lesson.index) else None
            old = standing[lesson.index]
            if slot is None or (slot.date, slot.period) != old:
                count += weights.of(lesson.class_index, old[0], slot.date if slot is not None else None)
    return count


def least_difference(instance: Instance, before: Iterable[Sequence], sequence: Sequence) -> int:
    """The number of lessons in which a sequence differs from the one before that is most like it."""
    new = Laid(instance, sequence)
    return min(len(moves(Laid(instance, old), new)) for old in before)
