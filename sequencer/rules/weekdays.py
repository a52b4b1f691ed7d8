"""Rule 7: lessons that lie on stated weekdays."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.rules.base import CLASS
from sequencer.rules.counting import Count, CountingRule
from sequencer.scenario.fields import Count as Whole
from sequencer.scenario.fields import Kind, Text, WeekdayNames
from sequencer.scenario.numbers import at_most
from sequencer.scenario.rules_schema import RuleEntry, WishWeight
from sequencer.words import WEEKDAYS, count_text


class OnWeekdays(RuleEntry):
    """Rule 7: lessons with a tag, or of a kind, lie on these weekdays."""

    tag: Text | None = Field(None, description="Only lessons with this tag.")
    kind: Kind | None = Field(None, description="Only lessons of this kind.")
    on: Annotated[WeekdayNames, Field(min_length=1)] = Field(description="The weekdays on which they lie.")
    most: Annotated[Whole, at_most("a week on other days", "lesson", cost="week")] = Field(
        0, description="At most this many of them lie on other days in a school week."
    )
    wish: WishWeight | None = Field(None, description="Makes it a preference of this weight, for each lesson too many there.")

    def said(self) -> str:
        """The entry in a change."""
        which = f"{self.kind} lessons" if self.kind else "lessons"
        which += f" with the tag {self.tag}" if self.tag else ""
        others = f", at most {self.most} a week on other days" if self.most else ""
        return f"{which} on {' or '.join(self.on)}{others}"


class WeekdayRule(CountingRule):
    """Lessons with a given tag, or of a given kind, lie on given weekdays, but for so many in a school week of the class.

    A lesson counts once, on the day of its first period. As a wish it costs for each lesson too many on other days in a week.
    """

    number, name, key, level = 7, "dates", "weekdays", CLASS
    place = 1
    numbers = OnWeekdays
    described = "Rule 7, weekdays of lessons; `off` for none."

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        for facts in instance.classes:
            for entry in self.in_force(facts):
                counted = {index: 1 for index in facts.lessons if _is_meant(entry, instance.lessons[index])}
                weeks: dict[int, list[tuple[int, int]]] = {}
                for slot in facts.slots:
                    if WEEKDAYS[slot.date.weekday()] not in entry.on:
                        weeks.setdefault(slot.week.number, []).append((facts.index, slot.number))
                for week, slots in weeks.items():
                    label, where = f"{facts.id}: week {week}, {entry.said()}", f"in week {week}"
                    yield Count(
                        label, facts.id, where, tuple(slots), counted, None, entry.most, wish=entry.wish or 0, about=entry
                    )

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        return f"{count.owner}: {count.about.said()}: {count_text(value, 'lesson')} on other days {count.where}, {asked}"


def _is_meant(entry: OnWeekdays, lesson: LessonFacts) -> bool:
    return entry.kind in (None, lesson.kind) and (entry.tag is None or entry.tag in lesson.tags)
