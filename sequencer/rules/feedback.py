"""Rule 6: feedback once it is marked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.rules.base import LESSON
from sequencer.rules.distances import FollowingRule
from sequencer.scenario.numbers import DOWN, UP, Number
from sequencer.scenario.rules_schema import RuleNumbers, SchoolDays, WishOrOff


class Marking(RuleNumbers):
    """Rules 6 and 7: how long the lesson's marking takes, and how soon feedback must follow."""

    main: ClassVar[str] = "least"
    unless_stated: ClassVar[str] = "at least 3 school days"
    usual: ClassVar[Mapping[str, Any]] = {"least": 3}

    least: Annotated[
        SchoolDays | None,
        Number("{} for marking", "school day", DOWN, stated="marking {lesson} takes {}", kind="marking time"),
    ] = Field(
        None, description="School days from the lesson to its feedback or to its report deadline, at least; 3 unless stated."
    )
    most: Annotated[
        SchoolDays | None,
        Number(
            "talked through within {}",
            "school day",
            UP,
            stated="{lesson} is talked through at most {} later",
            kind="marking limit",
        ),
    ] = Field(None, description="School days from the lesson to its feedback, at most; no limit unless stated.")
    wish: WishOrOff | None = Field(
        None,
        description="Makes the time to feedback a preference of this weight, for each school day too soon or too late; report "
        "deadlines stay hard. `off` makes it hard again.",
    )


class FeedbackRule(FollowingRule):
    """Feedback comes after every lesson it answers, at least so many school days later (marking time) and, when stated, at most.

    The least is 3 school days unless stated. As a wish it costs for each school day too soon or too late.
    """

    number, name, key, level = 6, "feedback", "marking", LESSON
    numbers = Marking
    described = "Rules 6 and 7, marking time."
