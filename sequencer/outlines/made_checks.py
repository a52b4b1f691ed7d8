"""The checks that an outline makes where rules 3 to 5 want one and none is listed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.outlines.heavy_applied import HeavyApplied
from sequencer.outlines.inside import MIDDLE, Inside
from sequencer.outlines.laid_outline import LaidOutline, LessonOutline, laid_outlines
from sequencer.outlines.part_order import PartOrder
from sequencer.outlines.part_rule import Broken, PartRule
from sequencer.outlines.stretches import Stretches
from sequencer.outlines.whole_objectives import WholeObjectives
from sequencer.scenario.numbers import at_least
from sequencer.scenario.parts_schema import PartMinutes
from sequencer.scenario.rules_schema import RuleNumbers

_WANTING: tuple[PartRule, ...] = (PartOrder(), Stretches(), HeavyApplied(), WholeObjectives())
"""Rules that may want a check."""


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

    It lies between the opening and the closing parts, and checks every objective that was explained or modelled before it. It
    ends a stretch that is too long without it, follows a heavy part, or is the only check on an objective (or the only check or
    apply part on it after the last of its explain and model parts), so that without it more of these rules is broken.
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
        else:
            for place in unwanted(laid):
                yield self.breach(
                    f"no rule wants the check made at minute {laid.rows[place].start}: leave it out, or list it as a part"
                )

    def post(self, model: Any, numbers: Any) -> None:
        """They are part of every model; ``wanted_checks.py`` says which may be made."""


def unwanted(laid: LaidOutline) -> list[int]:
    """The made checks of an outline, by their rows, without which rules 2 to 5 are kept as well, in the lesson before too."""
    made = [place for place, row in enumerate(laid.rows) if row.part is None]
    there = _broken(laid, laid.outline) if made else Counter()
    return [place for place in made if not _broken(laid, _without(laid.outline, place)) - there]


def without_unwanted(insides: Sequence[Inside], outlines: Sequence[LessonOutline]) -> tuple[LessonOutline, ...]:
    """The outlines of lessons joined to one another, without the made checks that no rule wants."""
    found = list(outlines)
    while places := [(n, those[0]) for n, laid in enumerate(laid_outlines(insides, found)) if (those := unwanted(laid))]:
        found[places[0][0]] = _without(found[places[0][0]], places[0][1])
    return tuple(found)


def _without(outline: LessonOutline, place: int) -> LessonOutline:
    return (*outline[:place], *outline[place + 1 :])


def _broken(laid: LaidOutline, outline: LessonOutline) -> Counter[Broken]:
    """What of the rules that may want a check is broken with this outline, in its lesson and the one before."""
    before = LaidOutline(laid.before.inside, laid.before.outline) if laid.before is not None else None
    own = LaidOutline(laid.inside, outline, before)
    if laid.after is not None:
        LaidOutline(laid.after.inside, laid.after.outline, own)
    return Counter(broken for each in (before, own) if each is not None for rule in _WANTING for broken in rule.judge(each))
