"""Rule 7: dates and pins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import Field

from sequencer.instance.facts import WishedDates
from sequencer.plan.sequence import Laid
from sequencer.rules.alone import asked_dates, is_past
from sequencer.rules.base import LESSON, Rule
from sequencer.rules.verdict import Breach, Ungranted, breach_in, by_lessons, named, when
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff
from sequencer.words import day_text


class Dates(RuleNumbers):
    """Rule 7: whether lessons' own dates and pins hold."""

    wish: WishOrOff | None = Field(
        None,
        description="Makes the dates a preference of this weight, for each day off, or for another period of the date in `on`; "
        "report deadlines stay hard. `off` makes them hard again.",
    )


class DateRule(Rule):
    """Not before, not after, on; pinned to a date and period; a report deadline: at least the marking time in school days before
    it. Lessons that are not delivered lie on or after today.

    As a wish it costs for each day to the nearest date that suits, and there 1 for another period than the pin's; report
    deadlines stay hard.
    """

    number, name, key, level = 7, "dates", "dates", LESSON
    numbers = Dates
    described = "Rule 7, dates and pins."

    def judge(self, laid: Laid) -> Iterator[Breach]:
        today = laid.instance.scenario.today
        for lesson in laid.all_placed():
            if today is not None and lesson.delivered is None and laid.date(lesson.index) < today:
                yield breach_in(
                    laid, 7, (lesson,),
                    f"{named((lesson,))} is on {when(laid.first_slot(lesson.index))}, before today, {day_text(today)}",
                )  # fmt: skip
        for lesson in laid.all_placed():
            slot = laid.first_slot(lesson.index)
            for asked, fits in asked_dates(laid.instance, lesson):
                if not fits(slot):
                    message = f"{named((lesson,))} is on {when(slot)}: {asked} asked"
                    yield breach_in(laid, 7, (lesson,), message, is_past(laid.instance, lesson, 7, asked))

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        for lesson in laid.all_placed():
            wished = lesson.wished_dates
            if wished is not None and (units := wished.units(laid.first_slot(lesson.index))):
                place = when(laid.first_slot(lesson.index))
                message = f"{laid.instance.class_of(lesson).id}: {named((lesson,))} is on {place}: {_asked(wished)} wished"
                yield by_lessons(laid, 7, (lesson,), units, wished.wish, message)

    def costs(self, model: Any) -> Iterator[Any]:
        """What each start of a lesson costs."""
        for variables in model.variables.lessons.values():
            asked = variables.lesson.wished_dates
            if asked is None or variables.lesson.earlier:
                continue
            slots = model.instance.slots_for(variables.lesson)
            for start in variables.starts:
                if units := asked.units(slots[start]):
                    yield model.cost(variables.at(start), units * asked.wish, f"{variables.lesson.ref} off its dates")


def _asked(wished: WishedDates) -> str:
    limits = (("not before", wished.not_before), ("not after", wished.not_after), ("on", wished.on))
    asked = [f"{words} {day_text(day)}" for words, day in limits if day is not None]
    if wished.period is not None:
        asked.append(f"in period {wished.period}")
    return " and ".join(asked)
