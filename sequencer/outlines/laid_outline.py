"""An outline: a lesson's parts in order with their minutes; and what the rules ask of it, in plain Python."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from sequencer.outlines.inside import BREAKING, CLOSING, MIDDLE, OPENING, Inside, PartFacts

MADE_CHECK = "Check: every pupil answers"


@dataclass(frozen=True)
class PlacedPart:
    """One part, or a piece of one, in an outline; ``part`` is its position in ``Inside.parts``, None for a made check."""

    part: int | None
    minutes: int


LessonOutline = tuple[PlacedPart, ...]
"""A lesson's parts in order."""


@dataclass(frozen=True)
class OutlineRow:
    """One line of an outline: what is placed, from which minute, and which objectives it serves."""

    part: PartFacts | None
    minutes: int
    start: int
    kind: str
    where: str
    objectives: tuple[str, ...]
    received: tuple[str, ...] = ()
    """Of a made check: what the unit's lesson before has left to this one."""

    @property
    def content(self) -> bool:
        """Whether it brings new content."""
        return self.part is not None and self.part.content

    @property
    def heavy_content(self) -> bool:
        """Whether it brings new content, and is heavy."""
        return self.part is not None and self.part.heavy_content

    @property
    def answering(self) -> bool:
        """Whether it is a check or an apply part; a made check is one."""
        return self.part is None or self.part.answering

    @property
    def title(self) -> str:
        """What is done."""
        return MADE_CHECK if self.part is None else self.part.title

    def shares(self, other: OutlineRow) -> bool:
        """Whether it has an objective that another row has too."""
        return not set(self.objectives).isdisjoint(other.objectives)


class LaidOutline:
    """An outline laid over its lesson's inside, with the lesson before it and the one after it in its unit."""

    def __init__(self, inside: Inside, outline: LessonOutline, before: LaidOutline | None = None) -> None:
        self.inside = inside
        self.outline = outline
        self.before = before
        self.after: LaidOutline | None = None
        if before is not None:
            before.after = self

    @cached_property
    def rows(self) -> tuple[OutlineRow, ...]:
        """The outline line by line; what is left over stands before the closing parts."""
        placed = self.outline
        where = [MIDDLE if each.part is None else self.inside.parts[each.part].where for each in placed]
        closing = sum(each.minutes for each, there in zip(placed, where, strict=True) if there == CLOSING)
        taken = sum(each.minutes for each in placed)
        over = max(0, self.inside.minutes - taken)
        minute = 0
        rows: list[OutlineRow] = []
        explained: list[str] = []
        for each, there in zip(placed, where, strict=True):
            part = None if each.part is None else self.inside.parts[each.part]
            if there == CLOSING and over and minute <= taken - closing:
                minute, over = minute + over, 0
            if part is None:
                rows.append(OutlineRow(None, each.minutes, minute, "check", there, tuple(explained), self.received))
            else:
                rows.append(OutlineRow(part, each.minutes, minute, part.kind, there, part.objectives))
            minute += each.minutes
            if part is not None and part.content:
                explained += [word for word in part.objectives if word not in explained]
        return tuple(rows)

    @property
    def total(self) -> int:
        """The minutes of all that is placed."""
        return sum(each.minutes for each in self.outline)

    @property
    def made(self) -> int:
        """How many made checks it has."""
        return sum(each.part is None for each in self.outline)

    def minutes_of(self, part: PartFacts) -> list[int]:
        """The minutes of each piece of a part; none where it is left out."""
        return [row.minutes for row in self.rows if row.part is part]

    @cached_property
    def explained(self) -> tuple[str, ...]:
        """The objectives that are explained or modelled, in order."""
        return tuple(dict.fromkeys(word for row in self.rows if row.content for word in row.objectives))

    @cached_property
    def unchecked(self) -> tuple[str, ...]:
        """The objectives that are explained and not checked in the lesson."""
        checked = {word for row in self.rows if row.kind == "check" for word in row.objectives}
        return tuple(word for word in self.explained if word not in checked)

    def waits(self, place: int) -> OutlineRow | str | None:
        """What becomes of a heavy part: None where it is applied; ``left`` at the end; or the row that comes between."""
        heavy = self.rows[place]
        for row in self.rows[place + 1 :]:
            if row.answering and row.shares(heavy):
                return None
            if row.content and row.shares(heavy):
                continue
            return "left" if row.where == CLOSING else row
        return "left"

    @cached_property
    def heavy_left(self) -> tuple[int, ...]:
        """The heavy rows after which the lesson ends without a check or an apply part."""
        return tuple(place for place, row in enumerate(self.rows) if row.heavy_content and self.waits(place) == "left")

    @cached_property
    def received(self) -> tuple[str, ...]:
        """Objectives that the unit's lesson before leaves to this one, whether or not they are met here."""
        if self.before is None:
            return ()
        rules = self.before.inside.rules
        left: list[str] = []
        if rules["whole_objectives"] is not None and rules["whole_objectives"].carry_over:
            left += self.before.unchecked
        if rules["heavy_applied"] is not None and rules["heavy_applied"].carry_over:
            left += [word for place in self.before.heavy_left for word in self.before.rows[place].objectives]
        return tuple(dict.fromkeys(left))

    def takes_heavy(self, heavy: OutlineRow) -> bool:
        """Whether a check or an apply part on a heavy part of the lesson before comes straight after the opening."""
        first = next((row for row in self.rows if row.where != OPENING), None)
        if first is None or first.where != MIDDLE or not first.answering:
            return False
        return not set(heavy.objectives).isdisjoint((*first.objectives, *first.received))

    @cached_property
    def left_to_check(self) -> tuple[str, ...]:
        """The objectives that are left to the unit's next lesson to check."""
        rules = self.inside.rules["whole_objectives"]
        if self.after is None or rules is None or not rules.carry_over:
            return ()
        return tuple(word for word in self.unchecked if self.after.checks(word))

    @cached_property
    def carried(self) -> tuple[str, ...]:
        """The objectives that are carried over to the unit's next lesson: those unexplained in this version among them."""
        rules, after = self.inside.rules, self.after
        carried = [*self.inside.unexplained, *self.left_to_check]
        if after is not None and rules["heavy_applied"] is not None and rules["heavy_applied"].carry_over:
            left = [self.rows[place] for place in self.heavy_left]
            carried += [word for row in left if after.takes_heavy(row) for word in row.objectives]
        return tuple(dict.fromkeys(carried))

    def checks(self, objective: str) -> bool:
        """Whether an objective is checked in the lesson, be it one that was left to it."""
        return any(row.kind == "check" and objective in (*row.objectives, *row.received) for row in self.rows)

    def applies(self, objective: str) -> bool:
        """Whether an objective is applied in the lesson."""
        return any(row.kind == "apply" and objective in row.objectives for row in self.rows)

    def stretches(self) -> Iterator[int]:
        """The minutes of each stretch."""
        minutes = 0
        for row in self.rows:
            if row.content:
                minutes += row.minutes
            elif row.kind in BREAKING:
                if minutes:
                    yield minutes
                minutes = 0
        if minutes:
            yield minutes


def laid_outlines(insides: Sequence[Inside], outlines: Sequence[LessonOutline]) -> list[LaidOutline]:
    """Outlines of one class in order of time, each laid over its lesson; those of one unit know one another."""
    found: list[LaidOutline] = []
    latest: dict[tuple[str, str], LaidOutline] = {}
    for inside, outline in zip(insides, outlines, strict=True):
        key = inside.class_id, inside.unit
        found.append(LaidOutline(inside, outline, latest.get(key) if inside.joined else None))
        latest[key] = found[-1]
    return found
