"""Rule 14: the pupils' week."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.rules.base import CLASS
from sequencer.rules.counting import Count, CountingRule
from sequencer.scenario.fields import Count as Whole
from sequencer.scenario.numbers import at_most
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff
from sequencer.words import count_text, day_text


class PupilsWeek(RuleNumbers):
    """Rule 14: most assessments of a class a day and a school week."""

    assessments_a_day: Annotated[Whole | None, at_most("a day", "assessment", cost="week")] = Field(
        None, description="At most this many assessments a day."
    )
    assessments_a_week: Annotated[Whole | None, at_most("a week", "assessment", cost="week")] = Field(
        None, description="At most this many assessments a school week."
    )
    wish: WishOrOff | None = Field(
        None, description="Makes it a preference of this weight, for each assessment too many; `off` makes it hard again."
    )


class PupilsWeekRule(CountingRule):
    """At most so many assessments for the pupils of a class on a day and in a school week.

    An assessment counts once, on the day and in the week of its first period. As a wish it costs for each one too many.
    """

    number, name, key, level = 14, "pupils' week", "pupils_week", CLASS
    numbers = PupilsWeek

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for facts in instance.classes:
            tests = {index: 1 for index in facts.lessons if instance.lessons[index].kind == "assessment"}
            for numbers, wish in self.stated(facts):
                windows: dict[tuple[str, int], list[tuple[int, int]]] = {}
                for slot in facts.slots:
                    day, week = f"on {day_text(slot.date)}", f"in week {slot.week.number}"
                    for where, most in ((day, numbers.assessments_a_day), (week, numbers.assessments_a_week)):
                        if most is not None:
                            windows.setdefault((where, most), []).append((facts.index, slot.number))
                for (where, most), slots in windows.items():
                    label = f"{facts.id}: assessments {where}"
                    yield Count(label, facts.id, where, tuple(slots), tests, None, most, "assessment", wish=wish)

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        return f"{count.owner}: {count_text(value, 'assessment')} {count.where}, {asked}"
