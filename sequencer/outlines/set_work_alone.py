"""Rule 8 of the inside of a lesson: set work stands alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import WISH, Broken, PartRule
from sequencer.scenario.numbers import at_most
from sequencer.scenario.parts_schema import PartMinutes
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff
from sequencer.words import SET_WORK

SCREEN = "screen"
"""The tag of parts whose minutes pupils spend at a screen."""


class SetWork(RuleNumbers):
    """Rule 8: what is asked of a lesson that is set work."""

    unless_stated: ClassVar[str] = "what lacks material is to be prepared"

    screen: Annotated[PartMinutes | None, at_most("at a screen", "minute")] = Field(
        None, description="Minutes of parts tagged `screen` in a lesson that is set work, at most; no limit unless stated."
    )
    material: bool | None = Field(
        None, description="Whether a heavy part without material breaks the rule; unless stated it is something to prepare."
    )
    wish: WishOrOff | None = Field(None, description=WISH.format("each begun minute too many at a screen"))


class SetWorkAlone(PartRule):
    """As set work a heavy part has material; where that is missing it is to be prepared (a breach only where stated so).

    Minutes at a screen, those of parts tagged ``screen``, may have a stated most.
    """

    number, name, key, numbers = 8, "set work stands alone", "set_work", SetWork
    described = "Rule 8: as set work heavy parts have material, and minutes at a screen have a most."

    def broken(self, laid: LaidOutline, numbers: SetWork) -> Iterator[Broken]:
        """Minutes at a screen that are too many, and heavy parts without material where that is a breach."""
        if laid.inside.taught != SET_WORK:
            return
        screen = sum(row.minutes for row in laid.rows if row.part is not None and SCREEN in row.part.tags)
        if numbers.screen is not None and screen > numbers.screen:
            yield self.breach(f"{screen} minutes at a screen; at most {numbers.screen}", screen - numbers.screen, numbers)
        for title in lacking_material(laid) if numbers.material else ():
            yield self.breach(f'"{title}" is heavy, and as set work it has no material')

    def post(self, model: Any, numbers: SetWork) -> None:
        """The same, where the lesson is set work."""
        if model.inside.taught != SET_WORK:
            return
        if numbers.screen is not None:
            screen = sum(model.minutes(each) for each in model.elements if SCREEN in each.part.tags)
            model.post(screen <= numbers.screen + model.slack(1000, numbers.wish))
        for each in model.elements if numbers.material else ():
            if each.part.heavy and each.part.material is None:
                model.post(model.present(each) == 0)


def lacking_material(laid: LaidOutline) -> list[str]:
    """The titles of heavy parts of a lesson that is set work for which no material is stated."""
    if laid.inside.taught != SET_WORK:
        return []
    heavy = (row.part for row in laid.rows if row.part is not None and row.part.heavy and row.part.material is None)
    return list(dict.fromkeys(part.title for part in heavy))
