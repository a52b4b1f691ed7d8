"""Rule 7 of the inside of a lesson: pupils answer or work for a share of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.outlines.inside import BREAKING
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import WISH, Broken, PartRule, Percent
from sequencer.scenario.numbers import at_least
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff


class Share(RuleNumbers):
    """Rule 7: for how much of the lesson pupils answer or work."""

    main: ClassVar[str] = "least"
    unless_stated: ClassVar[str] = "off"

    least: Annotated[Percent | None, at_least("per cent of the minutes")] = Field(
        None,
        description="Per cent of the minutes placed in which pupils recall, are checked or apply, at least; off unless stated.",
    )
    wish: WishOrOff | None = Field(None, description=WISH.format("each begun minute short"))


class WorkingShare(PartRule):
    """Pupils answer or work (recall, check, apply) for at least p per cent of the minutes placed; off unless stated."""

    number, name, key, numbers = 7, "share", "share", Share
    described = "Rule 7: pupils answer or work for at least so many per cent of the minutes placed."

    def broken(self, laid: LaidOutline, numbers: Share) -> Iterator[Broken]:
        """By how many begun minutes it falls short."""
        working = sum(row.minutes for row in laid.rows if row.kind in BREAKING)
        short = -(-((numbers.least or 0) * laid.total - 100 * working) // 100)
        if short > 0:
            said = f"pupils answer or work for {working} of {laid.total} minutes; at least {numbers.least} per cent"
            yield self.breach(said, short, numbers)

    def post(self, model: Any, numbers: Share) -> None:
        """A hundredfold of their minutes is at least so many times all minutes."""
        if numbers.least:
            working = sum(model.minutes(each) for each in model.elements if each.part.kind in BREAKING) + model.made_minutes()
            short = model.slack(model.inside.minutes + 1000, numbers.wish)
            model.post(100 * working + 100 * short >= numbers.least * model.total())
