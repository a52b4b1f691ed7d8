"""Rule 5 of the inside of a lesson: every objective that is explained is checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from pydantic import Field

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import CARRY_OVER, WISH, Broken, PartRule, never
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff


class ObjectiveNumbers(RuleNumbers):
    """Rule 5: whether objectives are checked and applied where they are explained."""

    usual: ClassVar[Mapping[str, Any]] = {"applied": 1}

    carry_over: bool | None = Field(None, description=CARRY_OVER)
    applied: WishOrOff | None = Field(
        None, description="The weight of the wish that it is applied there too, for each objective; 1 unless stated."
    )
    wish: WishOrOff | None = Field(None, description=WISH.format("each objective"))


class WholeObjectives(PartRule):
    """Every objective that is explained or modelled is checked in the same lesson, or, with its leave, in the unit's next one.

    That it is applied there too is a wish (weight 1 unless stated). A made check is on every objective explained before it, and
    on those that the lesson before has left to it.
    """

    number, name, key, numbers = 5, "whole objectives", "whole_objectives", ObjectiveNumbers
    described = "Rule 5: every objective that is explained or modelled is checked, and, as a wish, applied."

    def broken(self, laid: LaidOutline, numbers: ObjectiveNumbers) -> Iterator[Broken]:
        """The objectives that are not checked, and those that are not applied."""
        after = laid.after if numbers.carry_over else None
        for objective in laid.explained:
            title = laid.inside.title_of(objective)
            here = objective not in laid.unchecked
            carried = not here and after is not None and after.checks(objective)
            if not here and not carried and objective not in laid.inside.excused:
                yield self.breach(f'"{title}" is explained and not checked', 1, numbers)
            applied = laid.applies(objective) or (carried and after is not None and after.applies(objective))
            if not applied and numbers.applied:
                yield Broken(self.number, self.name, f'"{title}" is explained and not applied', 1, numbers.applied)

    def post(self, model: Any, numbers: ObjectiveNumbers) -> None:
        """A check that is placed, or a made check after it is explained, or the next lesson's."""
        for objective in model.objectives:
            if not any(each.part.content and objective in each.part.objectives for each in model.elements):
                continue
            explained = model.explained(objective)
            checks = [model.present(each) for each in model.elements if self._is("check", each, objective)]
            covers = [model.covers(objective, q) for q, _ in model.made]
            carried: Any = 0
            if numbers.carry_over and model.next is not None:
                carried = model.left_to_check(objective)
                model.carry((objective,), carried)
                for there in (*checks, *covers):
                    model.post(carried + there <= 1)
                theirs = [model.next.present(each) for each in model.next.elements if self._is("check", each, objective)]
                model.post(carried <= sum(theirs) + sum(made for _, made in model.next.made))
                model.post(carried <= explained)
            if objective not in model.inside.excused:
                model.post(explained <= sum(checks) + sum(covers) + carried + model.slack(1, numbers.wish))
            if numbers.applied:
                applied = sum(model.present(each) for each in model.elements if self._is("apply", each, objective))
                later: Any = 0
                if not never(carried):
                    later = model.boolean()
                    model.post(later <= carried)
                    theirs = [model.next.present(each) for each in model.next.elements if self._is("apply", each, objective)]
                    model.post(later <= sum(theirs))
                model.post(explained <= applied + later + model.slack(1, numbers.applied))

    def _is(self, kind: str, each: Any, objective: str) -> bool:
        return each.part.kind == kind and objective in each.part.objectives
