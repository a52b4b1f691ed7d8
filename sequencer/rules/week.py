"""Rule 9: the weekly shape of a class."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.rules.base import CLASS
from sequencer.rules.counting import Count, CountingRule
from sequencer.scenario.fields import Count as Whole
from sequencer.scenario.numbers import DOWN, UP, Number, at_least, at_most
from sequencer.scenario.rules_schema import WISHED_WEIGHT, RuleNumbers, WeekLoad, WishOrOff, WishWeight, short_forms
from sequencer.words import count_text


class WishedShape(RuleNumbers):
    """Rule 9, wished beside the hard numbers: narrower limits of a week."""

    least_lessons: Whole | None = Field(None, description="At least this many lessons a week, wished.")
    most_lessons: Whole | None = Field(None, description="At most this many lessons a week, wished.")
    least_load: WeekLoad | None = Field(None, description="At least this load a week, wished.")
    most_load: WeekLoad | None = Field(None, description="At most this load a week, wished.")
    weight: WishWeight | None = Field(None, description=WISHED_WEIGHT)


class WeeklyShape(RuleNumbers):
    """Rule 9: least and most lessons and load per class and school week."""

    topic: ClassVar[str] = "a week"

    least_lessons: Annotated[Whole | None, at_least("a week", "lesson", cost="week")] = Field(
        None, description="At least this many lessons a week; cut to the week's periods."
    )
    most_lessons: Annotated[Whole | None, at_most("a week", "lesson", cost="week")] = Field(
        None, description="At most this many lessons a week."
    )
    least_load: Annotated[
        WeekLoad | None, Number("at least a load of {} a week", None, DOWN, cost="week", stated="at least {} load a week")
    ] = Field(None, description="At least this load a week.")
    most_load: Annotated[
        WeekLoad | None, Number("at most a load of {} a week", None, UP, cost="week", stated="at most {} load a week")
    ] = Field(None, description="At most this load a week.")
    wish: WishOrOff | None = Field(
        None,
        description="Makes it a preference of this weight, for each lesson, and each 1 of load, short or over in each week; "
        "`off` makes it hard again.",
    )
    wished: Annotated[WishedShape, short_forms()] | None = Field(
        None, description="Narrower limits that are wished beside these, such as {most_lessons: 3, weight: 2}; `off` for none."
    )


class WeekRule(CountingRule):
    """At least and at most so many lessons, and so much load, for a class in a school week.

    A lesson counts once, in the week of its first period, whatever its length. A least number of lessons is cut to the periods of
    the week, unless the scenario is strict. As a wish it costs for each lesson, and each 1 of load, short or over.
    """

    number, name, key, level = 9, "weekly shape", "week", CLASS
    numbers = WeeklyShape

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for facts in instance.classes:
            weeks = dict.fromkeys(slot.week for slot in facts.slots)
            lessons = [instance.lessons[index] for index in facts.lessons]
            much = {"lesson": {each.index: 1 for each in lessons}, "load": {each.index: each.load for each in lessons}}
            for numbers, wish in self.stated(facts):
                for week in weeks:
                    slots = tuple((facts.index, slot.number) for slot in facts.slots if slot.week == week)
                    cut = numbers.least_lessons
                    if cut is not None and not instance.scenario.strict:
                        cut = min(cut, len(slots))
                    for what, least, most, stated in (
                        ("lesson", cut, numbers.most_lessons, numbers.least_lessons),
                        ("load", numbers.least_load, numbers.most_load, None),
                    ):
                        if least is not None or most is not None:
                            yield Count(
                                f"{facts.id}: shape of week {week.number}", facts.id, f"week {week.number}", slots, much[what],
                                least, most, what, wish=wish, stated_least=stated, a_week=True,
                            )  # fmt: skip

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        holds = count_text(value, "lesson") if count.what == "lesson" else f"{value} load"
        return f"{count.owner}: {count.where} has {holds}, {asked}"

    def cut_text(self, count: Count) -> str:
        least = count_text(count.stated_least or 0, "lesson")
        return f"{count.owner}, {count.where}: at least {least} is cut to {count.least}, the periods of that week"
