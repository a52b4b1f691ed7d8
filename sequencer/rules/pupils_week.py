"""Rule 14: the pupils' week."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Annotated

from pydantic import Field

from sequencer.instance.facts import CohortFacts, Instance, LessonFacts
from sequencer.plan.sequence import Laid, Sequence
from sequencer.rules.base import CLASS
from sequencer.rules.counting import DUE, STARTS, Count, CountingRule
from sequencer.rules.verdict import named
from sequencer.scenario.fields import Count as Whole
from sequencer.scenario.fields import Minutes
from sequencer.scenario.numbers import at_most
from sequencer.scenario.rules_schema import WISHED_MINUTES, CohortRules, RuleNumbers, WishOrOff
from sequencer.scenario.school_weeks import monday_of
from sequencer.words import count_text, day_text


class PupilsWeek(RuleNumbers):
    """Rule 14: most assessments, minutes of homework due and dense lessons of a pupil, a day and a school week."""

    assessments_a_day: Annotated[Whole | None, at_most("a day", "assessment", cost="week")] = Field(
        None, description="At most this many assessments a day."
    )
    assessments_a_week: Annotated[Whole | None, at_most("a week", "assessment", cost="week")] = Field(
        None, description="At most this many assessments a school week."
    )
    homework_a_day: Annotated[Minutes | None, at_most("of homework due a day", "minute", cost="week", step=WISHED_MINUTES)] = (
        Field(None, description="At most this many minutes of homework due on one day.")
    )
    homework_a_week: Annotated[Minutes | None, at_most("of homework due a week", "minute", cost="week", step=WISHED_MINUTES)] = (
        Field(None, description="At most this many minutes of homework due in a school week.")
    )
    dense_a_day: Annotated[Whole | None, at_most("a day", "dense lesson", cost="week")] = Field(
        None, description="At most this many dense lessons a day."
    )
    dense_a_week: Annotated[Whole | None, at_most("a week", "dense lesson", cost="week")] = Field(
        None, description="At most this many dense lessons a school week."
    )
    wish: WishOrOff | None = Field(
        None,
        description="Makes it a preference of this weight, for each assessment or dense lesson too many and each begun 30 "
        "minutes of homework too many; `off` makes it hard again.",
    )


class PupilsWeekRule(CountingRule):
    """At most so many assessments, minutes of homework due and dense lessons for the pupils of a class, or of a cohort, on a day
    and in a school week.

    Of each subject of a cohort the class with most counts. A lesson counts once, on the day and in the week of its first period,
    and homework where it is due. What is fixed elsewhere counts as well; where it is more than asked by itself, no more may be
    added. The numbers of the scenario hold for each class and each cohort that does not state its own. As a wish it costs for
    each assessment and dense lesson too many, and for each begun 30 minutes too many.
    """

    number, name, key, level = 14, "pupils' week", "pupils_week", CLASS
    of_cohorts = CohortRules
    numbers = PupilsWeek

    def all_counts(self, instance: Instance) -> Iterator[Count]:
        delivered = Laid(instance, Sequence(()))
        for cohort in (*instance.classes_alone, *instance.cohorts):
            for numbers, wish in self.stated(cohort):
                for count in _counts(instance, cohort, numbers, wish):
                    yield replace(count, told=self.counted(delivered, count)[0])

    def owners(self, instance: Instance, count: Count, counted: list[LessonFacts]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(instance.class_of(lesson).id for lesson in counted))

    def says(self, count: Count, value: int, asked: str, lessons: list[LessonFacts]) -> str:
        told = f"{self.holds(count, value)}, {asked}"
        if len(count.classes) == 1 and not count.fixed:
            return told
        return f"{told}: {named(lessons)}" + (f", and {count.fixed} fixed elsewhere" if count.fixed else "")

    def holds(self, count: Count, value: int) -> str:
        return f"{count.owner}: {count_text(value, count.what)}{' of homework due' if count.how == DUE else ''} {count.where}"

    def cuts(self, instance: Instance) -> Iterator[str]:
        for count in self.counts(instance):
            if count.fixed and count.fixed == count.most and count.about < count.fixed:
                asked = f"at most {count.about} {'wished' if count.wish else 'asked'}, so that no more is added"
                yield f"{count.owner}, {count.where}: {count_text(count.fixed, count.what)} fixed elsewhere, {asked}"


def _counts(instance: Instance, cohort: CohortFacts, numbers: PupilsWeek, wish: int) -> Iterator[Count]:
    """What a cohort's days and weeks hold, where that can be more than is asked."""
    lessons = [
        instance.lessons[index] for each in cohort.subjects for of in each.classes for index in instance.classes[of].lessons
    ]
    for key, what, how, weights in (
        ("assessments", "assessment", STARTS, {each.index: 1 for each in lessons if each.kind == "assessment"}),
        (
            "homework",
            "minute",
            DUE,
            {each.index: each.homework.minutes for each in lessons if each.homework and each.homework.minutes},
        ),
        ("dense", "dense lesson", STARTS, {each.index: 1 for each in lessons if each.dense}),
    ):
        groups, reaches = _groups(instance, cohort, weights)
        dates = [day for subject in cohort.subjects for day in subject.fixed] if key == "assessments" else []
        for span in ("day", "week"):
            most = getattr(numbers, f"{key}_a_{span}")
            for first, (where, slots) in _windows(instance, groups, span).items() if most is not None else ():
                fixed = sum((monday_of(day) if span == "week" else day) == first for day in dates)
                if fixed + reaches > most:
                    label = f"{cohort.name}: {key} {where}"
                    yield Count(
                        label, cohort.name, where, tuple(slots), weights, None, max(most, fixed), what, how, wish=wish,
                        unit=WISHED_MINUTES if how == DUE else 1, about=most, groups=groups, fixed=fixed,
                    )  # fmt: skip


def _groups(instance: Instance, cohort: CohortFacts, weights: dict[int, int]) -> tuple[tuple[tuple[int, ...], ...], int]:
    """The classes of each subject that hold something that counts, and what the cohort comes to at most at any time."""
    held: dict[int, int] = {}
    for index, much in weights.items():
        class_index = instance.lessons[index].class_index
        held[class_index] = held.get(class_index, 0) + much
    groups = [tuple(each for each in subject.classes if held.get(each)) for subject in cohort.subjects]
    return tuple(filter(None, groups)), sum(max(held[each] for each in group) for group in groups if group)


def _windows(instance: Instance, groups: tuple[tuple[int, ...], ...], span: str) -> dict[date, tuple[str, list[tuple[int, int]]]]:
    """The periods of these classes on each day or in each school week, in order of time, with its name."""
    found: dict[date, tuple[str, list[tuple[int, int]]]] = {}
    slots = [(slot.date, each, slot) for group in groups for each in group for slot in instance.classes[each].slots]
    for day, class_index, slot in sorted(slots, key=lambda entry: entry[0]):
        first, where = (day, f"on {day_text(day)}") if span == "day" else (slot.week.monday, f"in week {slot.week.number}")
        found.setdefault(first, (where, []))[1].append((class_index, slot.number))
    return found
