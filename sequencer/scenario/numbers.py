"""What is said, outside judging and posting, of one number of a rule: its words, which way it is eased, and at what cost.

It stands in the annotation of its field: ``most_lessons: Annotated[Count | None, at_most("a week", "lesson", cost="week")]``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Final, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sequencer.words import count_text

UP: Final = 1
DOWN: Final = -1
MOST_DAYS, MOST_STEPS = 28, 12
"""How far dates and distances in days are moved at most, and how many steps any other number is changed by, unless it says so."""

_COST_OF_UNIT = {"day": "day", "school day": "school_day", "period": "period", "school week": "period"}


@dataclass(frozen=True)
class Number:
    """What one number of a rule says, and how it is eased where it is in the way.

    Parameters
    ----------
    says, stated
        The number in a change: ``at most {} a week``, the braces hold the number with its unit; and in an explanation, as in a
        change unless stated. ``{lesson}`` stands there for the lesson that it is a number of.
    unit
        What it is a number of; None where the words say it.
    eased
        ``UP`` or ``DOWN``: the way in which it asks for less.
    cost
        What one step costs, a field of ``RepairCosts``; that of its unit unless stated, or that of a rule switched off.
    kind
        The kind of statement that it makes in an explanation; the rule's key unless stated.
    """

    says: str
    unit: str | None
    eased: int
    cost: str = ""
    step: int = 1
    most_steps: int = 0
    stated: str = ""
    kind: str = ""

    @property
    def cost_of_step(self) -> str:
        """What one step costs, a field of ``RepairCosts``."""
        return self.cost or _COST_OF_UNIT.get(self.unit or "", "rule")

    def change_text(self, value: Any) -> str:
        """The number in a change."""
        return self.says.format(self._counted(value))

    def stated_text(self, value: Any, **names: str) -> str:
        """The number in an explanation."""
        return (self.stated or self.says).format(self._counted(value), **names)

    def _counted(self, value: Any) -> str:
        return count_text(value, self.unit) if self.unit is not None and isinstance(value, int) else str(value)


def at_least(rest: str, unit: str | None = None, **more: Any) -> Number:
    """A least number: ``at least {} a week``."""
    return Number(f"at least {{}} {rest}".rstrip(), unit, DOWN, **more)


def at_most(rest: str, unit: str | None = None, **more: Any) -> Number:
    """A greatest number: ``at most {} a week``."""
    return Number(f"at most {{}} {rest}".rstrip(), unit, UP, **more)


@cache
def numbers_of(model: type[BaseModel]) -> Mapping[str, Number]:
    """The numbers of a model that say something, by the names of their fields, in the order of the model."""
    fields = model.model_fields.items()
    return MappingProxyType({name: one for name, field in fields for one in field.metadata if isinstance(one, Number)})


@cache
def bounds_of(model: type[BaseModel], name: str) -> tuple[int, int]:
    """The least and the greatest number that a field takes."""
    field = model.model_fields[name]
    found = {"ge": 0, "le": 1_000_000}
    waiting: list[Any] = [field.annotation, *field.metadata]
    while waiting:
        one = waiting.pop()
        found |= {bound: value for bound in found if isinstance(value := getattr(one, bound, None), int)}
        waiting += [*get_args(one), *(one.metadata if isinstance(one, FieldInfo) else ())]
    return found["ge"], found["le"]


def eased_numbers(model: type[BaseModel], name: str, value: int) -> list[tuple[int, int]]:
    """The numbers that ask for less than one does, one step after another, each with how many steps it lies away."""
    number = numbers_of(model)[name]
    least, most = bounds_of(model, name)
    steps = range(1, 1 + (number.most_steps or (MOST_DAYS if number.unit == "day" else MOST_STEPS)))
    return [(count, eased) for count in steps if least <= (eased := value + number.eased * number.step * count) <= most]


def asks_nothing(model: type[BaseModel], name: str) -> int:
    """The number that asks for nothing: as far eased as the field takes."""
    return bounds_of(model, name)[numbers_of(model)[name].eased == UP]
