"""The checks that an outline makes where rules 3 to 5 want one and none is listed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.outlines.inside import MIDDLE
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import Broken, PartRule
from sequencer.scenario.numbers import at_least
from sequencer.scenario.parts_schema import PartMinutes
from sequencer.scenario.rules_schema import RuleNumbers


class MadeCheckNumbers(RuleNumbers):
    """Checks that an outline makes."""

    main: ClassVar[str] = "minutes"
    unless_stated: ClassVar[str] = "2 minutes each"
    usual: ClassVar[Mapping[str, Any]] = {"minutes": 2}

    minutes: Annotated[PartMinutes | None, at_least("each", "minute")] = Field(
        None, description="How many minutes each takes; 2 unless stated."
    )


class MadeChecks(PartRule):
    """A check of 2 minutes (unless stated) is made wherever rules 3 to 5 want one and none is listed: as few as will do.

    It lies between the opening and the closing parts, and checks every objective that was explained or modelled before it.
    """

    number, name, key, numbers = 0, "made checks", "made_checks", MadeCheckNumbers
    described = "Checks that are made where rules 3 to 5 want one and none is listed; `off` makes none."

    def judge(self, laid: LaidOutline) -> Iterator[Broken]:
        """Made checks where none are to be, and those of another length."""
        numbers = laid.inside.rules[self.key]
        for row in laid.rows:
            if row.part is None and (numbers is None or row.minutes != numbers.minutes):
                takes = "none are made here" if numbers is None else f"one takes {numbers.minutes}"
                yield self.breach(f"a made check takes {row.minutes} minutes; {takes}")
        middle = [place for place, row in enumerate(laid.rows) if row.part is not None and row.where == MIDDLE]
        ends = [place for place, row in enumerate(laid.rows) if row.part is None]
        if any(one + 1 in ends for one in ends) or (ends and not middle and len(ends) > 1):
            yield self.breach("two made checks follow one another")

    def post(self, model: Any, numbers: Any) -> None:
        """They are part of every model."""
