"""What a rule of the inside of a lesson is: its key and numbers, how it judges an outline, what it asks of the model.

As with the rules of a sequence (``sequencer/rules``), a rule is one file; judging is plain Python over a laid outline, and
posting speaks to the model through what it offers (``outline_model.py``), so that no rule imports the solver.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.scenario.rules_schema import RuleEntry, RuleNumbers

Percent = Annotated[int, Field(ge=1, le=100)]
WISH = "Makes it a preference of this weight, for {}. `off` makes it hard again."
CARRY_OVER = "Whether the lesson may leave that to the next lesson of its unit."


@dataclass(frozen=True)
class Broken:
    """One broken instance of a rule: what is wrong, in how many units, and its weight where it is wished (0 where it is hard)."""

    rule: int
    name: str
    message: str
    units: int = 1
    wish: int = 0

    @property
    def cost(self) -> int:
        """What it costs among the wishes."""
        return self.units * self.wish


class PartRule:
    """One rule of the inside of a lesson."""

    number: ClassVar[int]
    name: ClassVar[str]
    key: ClassVar[str]
    numbers: ClassVar[type[RuleNumbers | RuleEntry]]
    described: ClassVar[str]

    def judge(self, laid: LaidOutline) -> Iterator[Broken]:
        """What of the rule an outline breaks, or does not grant where it is wished."""
        numbers = laid.inside.rules[self.key]
        if numbers is not None:
            yield from self.broken(laid, numbers)

    def broken(self, laid: LaidOutline, numbers: Any) -> Iterator[Broken]:
        """What an outline breaks of the rule with these numbers."""
        raise NotImplementedError

    def post(self, model: Any, numbers: Any) -> None:
        """Ask of a lesson's model what the rule with these numbers demands, or wishes."""
        raise NotImplementedError

    def breach(self, message: str, units: int = 1, numbers: Any = None) -> Broken:
        """One broken instance."""
        return Broken(self.number, self.name, message, units, getattr(numbers, "wish", None) or 0)


def never(literal: Any) -> bool:
    """Whether what a model offers for something is the constant 0: it cannot be."""
    return isinstance(literal, int) and literal == 0
