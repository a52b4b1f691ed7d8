"""Rule 11: parallel classes in step."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import combinations
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.rules.base import LESSON, Rule
from sequencer.rules.distances import DAY
from sequencer.rules.past import dates_left, slots_once
from sequencer.rules.verdict import Breach, Ungranted, breach_of, by_lessons, named
from sequencer.scenario.fields import Days
from sequencer.scenario.numbers import UP, Number
from sequencer.scenario.rules_schema import RuleNumbers, WishOrOff
from sequencer.words import count_text


class InStep(RuleNumbers):
    """Rule 11: parallel classes meet the same lesson of a unit within so many days."""

    main: ClassVar[str] = "days"
    topic: ClassVar[str] = "days between parallel classes"
    unless_stated: ClassVar[str] = "off"

    days: Annotated[
        Days | None, Number("parallel classes within {} of one another", "day", UP, stated="{lesson} lies within {} in {classes}")
    ] = Field(None, description="Latest date minus earliest, at most; the rule is off unless stated.")
    wish: WishOrOff | None = Field(
        None,
        description="Makes it a preference of this weight, for each day too many between each two classes; `off` makes it hard "
        "again.",
    )


class InStepRule(Rule):
    """The same lesson of one unit in parallel classes: latest date minus earliest at most so many days.

    It looks at the classes where the lesson is placed; of two lessons the smaller number holds. As a wish it costs for each day
    too many between each two classes.
    """

    number, name, key, level = 11, "in step", "in_step", LESSON
    numbers = InStep
    described = "Rule 11, in step: the same lesson of one unit in parallel classes, in days."

    def most_apart(self, one: LessonFacts, other: LessonFacts) -> int | None:
        """The days that two parallel lessons may lie apart; None where that is not asked."""
        return min((days for days, wish in self._asked(one, other) if not wish), default=None)

    def wished_apart(self, one: LessonFacts, other: LessonFacts) -> tuple[int, int] | None:
        """The days that two parallel lessons would better lie apart, at most, and the weight of the wish."""
        wished = [(days, wish) for days, wish in self._asked(one, other) if wish]
        return (min(days for days, _ in wished), max(wish for _, wish in wished)) if wished else None

    def _asked(self, *lessons: LessonFacts) -> list[tuple[int, int]]:
        asked = [numbers for lesson in lessons if (numbers := self.in_force(lesson)) is not None and numbers.days is not None]
        return [(numbers.days, numbers.wish or 0) for numbers in asked] if len(asked) == len(lessons) else []

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for pairs in _parallel(laid):
            apart = [
                (_cannot_keep_step(laid, one, other, most), -days, one, other, most)
                for one, other, days in pairs
                if (most := self.most_apart(one, other)) is not None and days > most
            ]
            if apart:
                # One breach a lesson: of those that could be mended, or else of all, the widest.
                past, days, one, other, most = min(apart, key=lambda found: found[:2])
                yield breach_of(laid, 11, (one, other), _apart_text(laid, one, other, -days, f"at most {most} asked"), past)

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        for pairs in _parallel(laid):
            for one, other, days in pairs:
                wished = self.wished_apart(one, other)
                if wished is not None and days > wished[0]:
                    message = _apart_text(laid, one, other, days, f"at most {wished[0]} wished")
                    yield by_lessons(laid, 11, (one, other), days - wished[0], wished[1], message)

    def post(self, model: Any) -> None:
        for link in model.steps:
            model.keep_link(link)

    def costs(self, model: Any) -> Iterator[Any]:
        lessons = model.instance.lessons
        for group in model.instance.parallels:
            here = [index for index in group if index in model.variables.lessons]
            for one in here:
                for other in here:
                    asked = self.wished_apart(lessons[one], lessons[other])
                    if one != other and asked is not None:
                        yield from model.apart_costs(11, one, other, DAY, (None, asked[0]), asked[1])

    def couples(self, instance: Instance) -> Iterable[Iterable[int]]:
        for group in instance.parallels:
            lessons = [instance.lessons[index] for index in group]
            yield [lesson.class_index for lesson in lessons if self._asked(lesson)]


def _parallel(laid: Laid) -> Iterator[list[tuple[LessonFacts, LessonFacts, int]]]:
    """For each lesson, every two parallel classes where it is placed, with the days between."""
    here = {lesson.index: lesson for lesson in laid.taught_so_far()}
    for group in laid.instance.parallels:
        placed = [here[index] for index in group if index in here]
        yield [(one, other, abs(laid.days(one.index, other.index))) for one, other in combinations(placed, 2)]


def _apart_text(laid: Laid, one: LessonFacts, other: LessonFacts, days: int, asked: str) -> str:
    classes = " and ".join(laid.instance.class_of(lesson).id for lesson in (one, other))
    return f"{classes}: {named((one,))} lies {count_text(days, 'day')} apart, {asked}"


def _cannot_keep_step(laid: Laid, one: LessonFacts, other: LessonFacts, most: int) -> bool:
    def could(dates: list[list[date]]) -> bool:
        return any(abs((here - there).days) <= most for here in dates[0] for there in dates[1])

    if could([dates_left(laid, lesson) for lesson in (one, other)]):
        return False
    told = one.delivered is not None or other.delivered is not None
    return told or could([[slot.date for slot in slots_once(laid, lesson)] for lesson in (one, other)])
