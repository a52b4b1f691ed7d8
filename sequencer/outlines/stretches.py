"""Rule 3 of the inside of a lesson: no stretch of explaining is too long."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import WISH, Broken, PartRule
from sequencer.scenario.numbers import at_most
from sequencer.scenario.parts_schema import PartMinutes
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff


class Stretch(RuleNumbers):
    """Rule 3: how many minutes of explain and model parts may follow one another."""

    main: ClassVar[str] = "most"
    unless_stated: ClassVar[str] = "at most 10 minutes"
    usual: ClassVar[Mapping[str, Any]] = {"most": 10}

    most: Annotated[PartMinutes | None, at_most("in a stretch", "minute")] = Field(
        None,
        description="At most this many minutes of explain and model parts without a check, apply or recall part between; "
        "10 unless stated.",
    )
    wish: WishOrOff | None = Field(None, description=WISH.format("each minute too many of each stretch"))


class Stretches(PartRule):
    """No stretch has more than m minutes (10 unless stated).

    A stretch is explain and model parts, or one alone, without a check, apply or recall part between them.
    """

    number, name, key, numbers = 3, "stretch", "stretch", Stretch
    described = "Rule 3: minutes of explain and model parts without a check, apply or recall part between them, at most."

    def broken(self, laid: LaidOutline, numbers: Stretch) -> Iterator[Broken]:
        """The stretches that are too long."""
        most = numbers.most or 0
        for minutes in laid.stretches():
            if minutes > most:
                yield self.breach(f"{minutes} minutes are explained at a stretch; at most {most}", minutes - most, numbers)

    def post(self, model: Any, numbers: Stretch) -> None:
        """No running sum of minutes is greater, where it does not count as a wish by how much."""
        most = numbers.most or 0
        if not numbers.wish:
            for _, running in model.running:
                model.post(running <= most)
            return
        for p, running in model.running:
            over = model.slack(model.longest, numbers.wish)
            model.post(over >= running - most - model.longest * model.goes_on(p))
