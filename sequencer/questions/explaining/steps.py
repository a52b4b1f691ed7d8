"""What dials are made of: steps with their costs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated
from sequencer.scenario.changes.what_ifs import Change

MOST_DAYS, MOST_STEPS = 28, 12
"""How far dates and distances are moved at most, and how many steps any other number is changed by."""


@dataclass(frozen=True)
class Level:
    """One step: what it costs in all, and the changes that bring it about."""

    cost: int
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Dial:
    """One way to ease a statement, more and more; `whole` where the last step takes the statement away altogether."""

    key: tuple[str, ...]
    levels: tuple[Level, ...]
    whole: bool = False


Ways = Iterator[tuple[str, list[Level]]]
"""Named ways to ease a statement, each with its steps, the cheapest first."""


def once(cost: int, *changes: Change) -> Ways:
    yield "", [Level(cost, changes)]


def costs_of(stated: Stated) -> Any:
    return stated.scenario.repair_costs


def lesson_ref(statement: Statement) -> str:
    return "/".join(statement.about[-2:])


def owner_of(statement: Statement) -> str | None:
    """The class whose word a date is; None where the unit says it for every class."""
    return statement.about[0] or None


def numbers_from(number: int, down: bool, most: int, step: int = 1, floor: int = 0) -> Iterable[tuple[int, int]]:
    """Numbers one step after another from a number, with how many steps they lie from it."""
    for steps in range(1, most + 1):
        changed = number - steps * step if down else number + steps * step
        if changed < floor:
            return
        yield steps, changed
