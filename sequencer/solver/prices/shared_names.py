"""What a literal of the model says, so that a class's own model and a sequence can be asked the same."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sequencer.instance.facts import Instance
from sequencer.plan.sequence import Sequence
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal
from sequencer.words import LIVE


class Said(NamedTuple):
    """What a literal says: of a lesson where it starts, of a class's slot that it is spare or that a live lesson starts there.

    Parameters
    ----------
    what
        ``placed``, ``at``, ``by``, ``within``, ``spare`` or ``live``.
    of
        Position of the lesson, or of the class.
    first, last
        The slots that it speaks of.
    """

    what: str
    of: int
    first: int
    last: int


def said(parts: Parts) -> Iterator[tuple[Said, Literal]]:
    """All that a sequence settles in a model, with the literals that say it."""
    for index, variables in parts.variables.lessons.items():
        if not variables.lesson.earlier:
            for (what, first, last), literal in variables.settled():
                yield Said(what, index, first, last), literal
    for class_index, variables_of in parts.variables.classes.items():
        for slot, literal in enumerate(variables_of.spare):
            yield Said("spare", class_index, slot, slot), literal
        for slot, literal in variables_of.live_starts.items():
            yield Said("live", class_index, slot, slot), literal


def literal_of(parts: Parts, each: Said) -> Literal:
    """The literal of a model that says it; made where there is none yet."""
    if each.what == "spare":
        return parts.variables.classes[each.of].spare[each.first]
    if each.what == "live":
        return parts.variables.classes[each.of].live_starts[each.first]
    variables = parts.variables.lessons[each.of]
    if each.what == "placed":
        return variables.placed
    if each.what == "within":
        return variables.within(parts.posting, each.first, each.last, f"{variables.name} in {each.first} to {each.last}")
    return variables.at(each.first) if each.what == "at" else variables.by(each.first)


class SequenceSays:
    """What a sequence says."""

    def __init__(self, instance: Instance, sequence: Sequence) -> None:
        self._at = {placement.lesson: placement.slot for placement in sequence.placements}
        self._held: set[tuple[int, int]] = set()
        self._live: set[tuple[int, int]] = set()
        for placement in sequence.placements:
            lesson = instance.lessons[placement.lesson]
            self._held.update((lesson.class_index, placement.slot + more) for more in range(lesson.length))
            if placement.taught == LIVE:
                self._live.add((lesson.class_index, placement.slot))

    def holds(self, each: Said) -> bool:
        """Whether it is so."""
        if each.what == "spare":
            return (each.of, each.first) not in self._held
        if each.what == "live":
            return (each.of, each.first) in self._live
        at = self._at.get(each.of)
        if at is None or each.what == "placed":
            return at is not None
        return (each.what == "by" or each.first <= at) and at <= each.last
