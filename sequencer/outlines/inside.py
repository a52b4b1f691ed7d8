"""What the inside of a lesson is before it has an order: its parts, minutes and numbers in force."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from sequencer.instance.resolve import RulesInForce
from sequencer.scenario.preparing_schema import Prepare

OPENING, MIDDLE, CLOSING = "opening", "middle", "closing"

CONTENT = ("explain", "model")
"""Kinds of part that bring new content."""
ANSWERING = ("check", "apply")
"""Kinds of part that follow up what was explained."""
BREAKING = (*ANSWERING, "recall")
"""Kinds of part that end a stretch, and in which pupils answer or work."""


@dataclass(frozen=True)
class PartFacts:
    """One part as the lesson is taught: minutes, objectives and material of its version.

    ``where`` is opening, middle or closing; ``exercise`` is the pool's tag and the exercise's id where a pool gave it.
    """

    id: str
    title: str
    kind: str
    where: str
    least: int
    most: int
    load: int
    heavy: bool
    objectives: tuple[str, ...]
    tags: tuple[str, ...]
    after: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    material: Prepare | None = None
    optional: bool = False
    priority: int = 1
    split: int | None = None
    exercise: tuple[str, str] | None = None

    @property
    def content(self) -> bool:
        """Whether it brings new content."""
        return self.kind in CONTENT

    @property
    def heavy_content(self) -> bool:
        """Whether it brings new content, and is heavy."""
        return self.content and self.heavy

    @property
    def answering(self) -> bool:
        """Whether it is a check or an apply part."""
        return self.kind in ANSWERING

    @property
    def pieces(self) -> int:
        """Into how many pieces it may be cut at most."""
        return math.ceil(self.most / self.split) if self.split is not None and self.split < self.most else 1

    def shares(self, other: PartFacts) -> bool:
        """Whether it has an objective that another part has too."""
        return not set(self.objectives).isdisjoint(other.objectives)


@dataclass(frozen=True)
class Inside:
    """One lesson's inside, settled.

    Parameters
    ----------
    parts
        Those that have a version for how it is taught, opening parts first, closing parts last.
    minutes
        What its outline may take.
    objectives
        Ids and titles of its objectives.
    unexplained
        Objectives whose explain and model parts have no version for how it is taught: carried over.
    wanted
        For each thread with a pool: its tag, and how many exercises are to be chosen.
    joined
        Whether the lesson of its unit before it, for its class in the sequence, has an outline too.
    excused
        Objectives that need no check in it, where content is cut: the next lesson has one.
    """

    lesson: int
    class_id: str
    ref: str
    title: str
    taught: str
    minutes: int
    parts: tuple[PartFacts, ...]
    objectives: tuple[tuple[str, str], ...]
    rules: RulesInForce
    free: bool = False
    unexplained: tuple[str, ...] = ()
    wanted: tuple[tuple[str, int], ...] = ()
    joined: bool = False
    excused: frozenset[str] = frozenset()

    @property
    def unit(self) -> str:
        """The id of its unit."""
        return self.ref.partition("/")[0]

    @property
    def alike(self) -> Inside:
        """Without what tells it from the same lesson of another class."""
        return replace(self, lesson=0, class_id="", ref="")

    @property
    def may_carry(self) -> bool:
        """Whether it may leave something to the unit's next lesson."""
        return any(
            (numbers := self.rules[key]) is not None and numbers.carry_over for key in ("heavy_applied", "whole_objectives")
        )

    @property
    def shared(self) -> bool:
        """Whether pupils are to answer or work for a share of it."""
        return self.rules["share"] is not None and self.rules["share"].least is not None

    def title_of(self, objective: str) -> str:
        """What an objective says."""
        return dict(self.objectives).get(objective, objective)

    def with_exercises(self, chosen: tuple[PartFacts, ...]) -> Inside:
        """With exercises as further parts before the closing ones, and none left to be chosen."""
        ends = [part for part in self.parts if part.where == CLOSING]
        begins = [part for part in self.parts if part.where != CLOSING]
        return replace(self, parts=(*begins, *chosen, *ends), wanted=())
