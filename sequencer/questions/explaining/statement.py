"""A statement: something that stands in a scenario and could be taken away by itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Statement:
    """Something that a teacher states.

    Parameters
    ----------
    kind
        What it is: a closure, a lesson that has to be taught, a rule's number for one lesson, …
    about
        Names that tell it from others of its kind, the same after the scenario was changed elsewhere.
    path
        Where it stands in the scenario as written.
    text
        The statement as a teacher would say it.
    edits
        What takes it away from the spread-out scenario.
    lessons
        Positions in ``Instance.lessons`` of the lessons concerned.
    classes
        Positions of the classes concerned; all when empty.
    """

    kind: str
    about: tuple[str, ...]
    path: Path
    text: str
    edits: tuple[Edit, ...] = field(compare=False)
    lessons: tuple[int, ...] = field(default=(), compare=False)
    classes: tuple[int, ...] = field(default=(), compare=False)

    @property
    def key(self) -> tuple[str, ...]:
        """What tells it from all others."""
        return (self.kind, *self.about)


def without(spread: Scenario, statements: Iterable[Statement]) -> Scenario:
    """The spread-out scenario without some of its statements."""
    return edited(spread, [edit for statement in statements for edit in statement.edits])
