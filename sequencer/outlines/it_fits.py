"""Rule 1 of the inside of a lesson: it fits."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from sequencer.outlines.inside import PartFacts
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import Broken, PartRule
from sequencer.scenario.rules_schema import RuleNumbers
from sequencer.words import count_text


class MinutesFit(RuleNumbers):
    """Rule 1: what the parts placed take is no more than the lesson has."""

    unless_stated: ClassVar[str] = "on"


class ItFits(PartRule):
    """Minutes of the parts placed are within each part's least and most, and add up to no more than the lesson's minutes.

    Parts are placed exactly once unless optional or without a version for how the lesson is taught. A part that may be cut lies
    whole, or in pieces of at most so many minutes each.
    """

    number, name, key, numbers = 1, "it fits", "minutes_fit", MinutesFit
    described = "Rule 1: the minutes of the parts add up to no more than the lesson's; `off` lets them."

    def judge(self, laid: LaidOutline) -> Iterator[Broken]:
        """Where parts are missing or of the wrong length, whether or not their sum is looked at."""
        for part in laid.inside.parts:
            yield from self._part(laid, part)
        yield from super().judge(laid)

    def _part(self, laid: LaidOutline, part: PartFacts) -> Iterator[Broken]:
        pieces = laid.minutes_of(part)
        if not pieces and not part.optional:
            yield self.breach(f'"{part.title}" is not placed')
        if pieces and not part.least <= sum(pieces) <= part.most:
            lasts = str(part.least) if part.least == part.most else f"{part.least} to {part.most}"
            yield self.breach(f'"{part.title}" takes {count_text(sum(pieces), "minute")}; it takes {lasts}')
        if len(pieces) > part.pieces:
            often = f"in {len(pieces)} pieces" if part.pieces > 1 else f"placed {len(pieces)} times"
            yield self.breach(f'"{part.title}" is {often}; at most {part.pieces}')
        elif len(pieces) > 1 and part.split is not None and max(pieces) > part.split:
            longest = count_text(max(pieces), "minute")
            yield self.breach(f'"{part.title}" has a piece of {longest}; pieces take at most {part.split}')
        if any(minutes < 1 for minutes in pieces):
            yield self.breach(f'"{part.title}" has a piece without minutes')

    def broken(self, laid: LaidOutline, numbers: Any) -> Iterator[Broken]:
        """Whether all of it takes more than there is."""
        if laid.total > laid.inside.minutes:
            over = count_text(laid.total - laid.inside.minutes, "minute")
            yield self.breach(f"the parts take {laid.total} of {count_text(laid.inside.minutes, 'minute')}: {over} too many")

    def post(self, model: Any, numbers: Any) -> None:
        """The minutes of all parts add up to no more than the lesson's."""
        model.post(model.total() <= model.inside.minutes)
