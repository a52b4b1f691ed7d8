"""Rule 4 of the inside of a lesson: what is heavy is applied."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from pydantic import Field

from sequencer.outlines.inside import CLOSING
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import CARRY_OVER, WISH, Broken, PartRule, never
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff


class HeavyNumbers(RuleNumbers):
    """Rule 4: what follows a heavy explain or model part."""

    unless_stated: ClassVar[str] = "on"

    carry_over: bool | None = Field(None, description=CARRY_OVER)
    wish: WishOrOff | None = Field(None, description=WISH.format("each heavy part"))


class HeavyApplied(PartRule):
    """After a heavy explain or model part only such parts that share an objective come before a check or apply part on it.

    Or closing parts follow, or nothing, and the unit's next lesson has such a part straight after its opening: then it is carried
    over. That needs the lesson's leave (``carry_over``). A made check shares every objective explained before it.
    """

    number, name, key, numbers = 4, "heavy is applied", "heavy_applied", HeavyNumbers
    described = "Rule 4: a heavy explain or model part is followed by a check or an apply part on it."

    def broken(self, laid: LaidOutline, numbers: HeavyNumbers) -> Iterator[Broken]:
        """The heavy parts that nothing follows up in time; of one in pieces only the first such piece."""
        told = set()
        for place, row in enumerate(laid.rows):
            if row.part is None or not row.heavy_content or row.part.id in told:
                continue
            between = laid.waits(place)
            carried = between == "left" and numbers.carry_over and laid.after is not None and laid.after.takes_heavy(row)
            if between is not None and not carried:
                told.add(row.part.id)
                then = "nothing" if isinstance(between, str) else f'"{between.title}"'
                yield self.breach(
                    f'after "{row.title}", which is heavy, comes {then} before a check or an apply part', 1, numbers
                )

    def post(self, model: Any, numbers: HeavyNumbers) -> None:
        """A heavy part waits from its position on until a check or an apply part ends that."""
        for heavy in [each for each in model.elements if each.part.heavy_content]:
            violated = model.broken_heavy.setdefault(heavy.part.id, model.slack(1, numbers.wish))
            carried: Any = 0
            if numbers.carry_over and model.next is not None:
                carried = model.boolean()
                model.post(carried <= model.next.takes(heavy.part))
                model.carry(heavy.part.objectives, carried)
                model.heavy_left.append((heavy, carried))
            self._waits(model, heavy, violated, carried)

    def _waits(self, model: Any, heavy: Any, violated: Any, carried: Any) -> None:
        first = min(p for p, _ in model.places(heavy))
        waiting: Any = 0
        for p in model.positions[model.positions.index(first) :]:
            made = model.made_before(p)
            serving: Any = 0
            for each in model.elements:
                if each is heavy or never(here := model.at(each, p)):
                    continue
                if each.part.answering and each.part.shares(heavy.part):
                    serving = serving + here
                elif not (each.part.content and each.part.shares(heavy.part)) and not never(waiting):
                    allowed = violated + (carried if each.part.where == CLOSING else 0)
                    model.post(waiting + here - made <= 1 + allowed)
            waits = model.boolean()
            model.post(waits >= model.at(heavy, p))
            model.post(waits >= waiting - made - serving)
            waiting = waits
        model.post(waiting - model.made_before(model.positions[-1] + 1) <= violated + carried)
