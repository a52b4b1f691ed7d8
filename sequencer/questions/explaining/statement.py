"""A statement: something that stands in a scenario and could be taken away by itself, or eased step by step."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from pydantic import BaseModel

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.changes.named_parts import NamedChange
from sequencer.scenario.changes.what_ifs import Change
from sequencer.scenario.numbers import eased_numbers, numbers_of
from sequencer.scenario.places import Path


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


Way = tuple[str, list[Level], bool]
"""A way to ease a statement: its name among others, its steps, the cheapest first, and whether the last takes it away."""


@dataclass(frozen=True)
class Statement:
    """Something that a teacher states.

    Parameters
    ----------
    kind
        What it is: a closure, a lesson that has to be taught, a rule's number for one lesson, …
    about
        Names that tell it from others of its kind, the same after the scenario was changed elsewhere.
    path, edits
        Where it stands in the scenario as written, and what takes it away from the spread-out scenario.
    lessons, classes
        Positions in the instance of the lessons and classes concerned; all classes where none is named.
    ways
        The ways to ease it; none for what cannot be changed.
    asks_for_more
        Whether it asks for a least number of lessons, for which lessons that nothing else asks for may serve.
    """

    kind: str
    about: tuple[str, ...]
    path: Path
    text: str
    edits: tuple[Edit, ...] = field(compare=False)
    lessons: tuple[int, ...] = field(default=(), compare=False)
    classes: tuple[int, ...] = field(default=(), compare=False)
    ways: Callable[[], Iterable[Way]] = field(default=tuple, compare=False, repr=False)
    asks_for_more: bool = field(default=False, compare=False)

    @property
    def key(self) -> tuple[str, ...]:
        """What tells it from all others."""
        return (self.kind, *self.about)

    def dials(self) -> tuple[Dial, ...]:
        """Every way to ease it whose steps cost more and more."""
        found = []
        for name, levels, whole in self.ways():
            rising: list[Level] = []
            for level in levels:
                if not rising or level.cost > rising[-1].cost:
                    rising.append(level)
            if rising:
                found.append(Dial((*self.key, name), tuple(rising), whole))
        return tuple(found)


ORDER = (
    "periods", "leaves", "lost", "lesson", "length", "made", "closure", "remote spell", "report deadline", "not after",
    "not before", "on", "period", "requires", "in order", "unit after unit", "marking time", "marking limit", "window", "need",
    "made need", "teacher", "strand", "live", "restricted day", "quota", "shared", "teacher's limit", "", "practises", "answers",
    "practice", "assessed", "revisits", "starter", "retrieval", "run", "cap", "thread", "strict",
)  # fmt: skip
"""Kinds in the order in which they are kept where there is a choice: what is hardest to change first, rules of thumb last. The
empty one stands for every other rule."""


def rank_of(statement: Statement) -> int:
    """The place of a statement's kind in the order in which kinds are kept."""
    return ORDER.index(statement.kind if statement.kind in ORDER else "")


def change_of(kind: type[NamedChange], **keys: Any) -> Any:
    """A change by its keys; ``class_`` may be None."""
    stated = {key.rstrip("_"): value.isoformat() if isinstance(value, date) else value for key, value in keys.items()}
    word = kind.model_fields["change"].annotation.__args__[0]  # type: ignore[union-attr]
    return kind.model_validate({"change": word, **stated})


def once(scenario: BaseScenario, kind: type[NamedChange], **keys: Any) -> Iterator[Way]:
    """One change that takes the statement away."""
    change = change_of(kind, **keys)
    yield "", [Level(change.price(scenario), (change,))], True


def stepped(
    scenario: BaseScenario,
    model: type[BaseModel],
    name: str,
    value: int,
    change: Callable[[int], Change | tuple[Change, ...]],
    way: str = "",
) -> Iterator[Way]:
    """A number of a model that asks for less and less; ``change`` gives the change, or changes, to another number."""
    cost = getattr(scenario.repair_costs, numbers_of(model)[name].cost_of_step)
    levels = []
    for steps, number in eased_numbers(model, name, value):
        made = change(number)
        levels.append(Level(cost * steps, made if isinstance(made, tuple) else (made,)))
    yield way, levels, False


def to_number(kind: type[NamedChange], name: str, /, **keys: Any) -> Callable[[int], Change]:
    """What gives the change of a kind to another number."""
    return lambda number: change_of(kind, **keys, **{name: number})
