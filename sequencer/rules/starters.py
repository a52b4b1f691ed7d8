"""Rule 4: what lessons meet again by choice."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.rules.base import LESSON, Rule
from sequencer.rules.verdict import Breach, breach_in, named
from sequencer.scenario.rules_schema import RuleNumbers
from sequencer.words import count_text


class Starters(RuleNumbers):
    """Rule 4: how many earlier lessons the starter of a lesson meets again."""

    main: ClassVar[str] = "most"
    permits: ClassVar[bool] = True
    unless_stated: ClassVar[str] = "only those listed"

    most: Annotated[int, Field(ge=0, le=20)] | None = Field(
        None,
        description="At most this many earlier lessons are met again in its starter, listed ones included; only the listed ones "
        "unless stated. Listed ones stand whatever their number.",
    )


class StarterRule(Rule):
    """What a lesson meets again by choice comes before it and is one of those that may be chosen, and there is room for it: in a
    retrieval lesson as much as it states, in a starter at most so many lessons, listed ones included.
    """

    number, name, key, level = 4, "retrieval", "starters", LESSON
    place = 1
    numbers = Starters
    described = "Rule 4, starters in which earlier lessons are met again."

    def judge(self, laid: Laid) -> Iterator[Breach]:
        instance = laid.instance
        held: dict[int, list[LessonFacts]] = {}
        for revisit in laid.sequence.revisits:
            lesson, by = instance.lessons[revisit.lesson], instance.lessons[revisit.by]
            if not laid.placed(by.index) or not laid.placed(lesson.index):
                yield breach_in(laid, 4, (lesson, by), f"{named((lesson,))} is met again in {named((by,))}: both must be placed")
            elif lesson.class_index != by.class_index or not lesson.chosen or lesson.kind != "teach":
                yield breach_in(laid, 4, (lesson, by), f"{named((lesson,))} is not one of those that are met again by choice")
            elif laid.pos(by.index) <= laid.end(lesson.index):
                yield breach_in(laid, 4, (lesson, by), f"{named((by,))} does not come after {named((lesson,))}, met again in it")
            held.setdefault(by.index, []).append(lesson)
        for index, group in held.items():
            by = instance.lessons[index]
            if len(group) > by.chooses:
                yield breach_in(
                    laid,
                    4,
                    (by, *group),
                    f"{named((by,))} meets {count_text(len(group), 'lesson')} again by choice, and has room for {by.chooses}",
                )
