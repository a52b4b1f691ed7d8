"""Rule 4: retrieval at a useful distance."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from sequencer.instance.facts import LessonFacts
from sequencer.plan.outcomes import BROKEN, retrievals, unavoidably_broken
from sequencer.plan.sequence import Laid
from sequencer.rules.base import LESSON
from sequencer.rules.distances import FollowingRule
from sequencer.rules.past import dates_left, slots_once
from sequencer.rules.retrieval_posted import (
    chosen_retrievals_are_kept,
    listed_retrievals_are_kept,
    made_retrievals_meet_something,
)
from sequencer.rules.verdict import Breach, breach_in, named
from sequencer.scenario.fields import Days, Model
from sequencer.scenario.numbers import DOWN, UP, Number
from sequencer.scenario.rules_schema import MOST_FURTHER, Distance, RuleNumbers
from sequencer.words import count_text, day_text


class FurtherRetrieval(Model):
    """Rule 4: one more time that a lesson is met again, on a date of its own."""

    least: Distance = Field(description="Least days.")
    most: Distance = Field(description="Most days.")
    preferred: Days | None = Field(
        None, description="Preferred days, for the aim `distance`; half way between least and most unless stated."
    )
    counted_from: Literal["lesson", "retrieval before"] = Field(
        "lesson", description="Where its days are counted from: the lesson, or the retrieval before this one."
    )


class Retrieval(RuleNumbers):
    """Rule 4: what was taught is met again at a useful distance."""

    topic: ClassVar[str] = "being met again"
    unless_stated: ClassVar[str] = "10 to 14 days; preferred half way; where listed"

    usual: ClassVar[Mapping[str, Any]] = {"least": 10, "most": 14}  # common practice, no source

    least: Annotated[Distance | None, Number("met again from {} on", "day", DOWN)] = Field(
        None, description="Least days from the lesson to its retrieval; 10 unless stated."
    )
    most: Annotated[Distance | None, Number("met again within {}", "day", UP)] = Field(
        None, description="Most days; 14 unless stated."
    )
    preferred: Days | None = Field(
        None, description="Preferred days, for the aim `distance`; half way between least and most unless stated."
    )
    chosen: bool | None = Field(
        None,
        description="Whether the sequence chooses where the lesson is met again, in retrieval lessons with room and in starters; "
        "only where listed unless stated, or unless the unit's pattern makes retrieval lessons.",
    )
    then: Annotated[tuple[FurtherRetrieval, ...], Field(max_length=MOST_FURTHER)] | None = Field(
        None, description="Further times that it is met again after the first, each on a date of its own."
    )


class RetrievalRule(FollowingRule):
    """A teach lesson x to be retrieved is met again on a date at least and at most so many days after it, in a retrieval lesson
    of its class that revisits it, or, where allowed, in the starter of any later lesson.

    Which x a lesson revisits is listed or chosen by the solver; every revisit comes after x. If x is not yet met in its window,
    and no period of the class that is left and free lies in it but later ones exist, the date of the first of them is the window,
    reported as late. x may be carried over only if its window ends after the class's last period. Several retrievals of x each
    have a window, from x or, if stated, from the one before, on distinct dates.
    """

    number, name, key, level = 4, "retrieval", "retrieval", LESSON
    numbers = Retrieval

    def judge(self, laid: Laid) -> Iterator[Breach]:
        served_on: dict[date, list[int]] = defaultdict(list)
        for outcome in retrievals(laid):
            if outcome.by is not None:
                served_on[laid.date(outcome.by)].append(outcome.lesson)
        for lesson in laid.lessons():
            if lesson.made != "retrieval" or lesson.delivered is not None or not laid.placed(lesson.index):
                continue
            if not any(lesson.index in laid.met_in.get(index, ()) for index in served_on[laid.date(lesson.index)]):
                yield breach_in(laid, 4, (lesson,), f"{named((lesson,))} is made, and meets nothing again in time")
        yield from super().judge(laid)
        broken = [outcome for outcome in retrievals(laid) if outcome.state == BROKEN]
        of_each = Counter(outcome.lesson for outcome in broken)
        for outcome in broken:
            lesson = laid.instance.lessons[outcome.lesson]
            least, always = _given_up(laid, lesson)
            numbers = lesson.retrievals[outcome.number - 1]
            since = "after it was last met" if numbers.chained else "later"
            yield breach_in(
                laid, 4, (lesson,),
                f"{named((lesson,))} of {day_text(laid.date(lesson.index))} is not met again "
                f"{numbers.least} to {count_text(numbers.most, 'day')} {since}",
                of_each[lesson.index] <= least or outcome.number in always,
            )  # fmt: skip

    def post_pairs(self, model: Any) -> None:
        super().post_pairs(model)
        listed_retrievals_are_kept(model)

    def follow(self, chain: Any) -> None:
        super().follow(chain)
        chain.keep_retrieval()

    def post(self, model: Any) -> None:
        super().post(model)
        chosen_retrievals_are_kept(model)
        made_retrievals_meet_something(model)


def _given_up(laid: Laid, lesson: LessonFacts) -> tuple[int, frozenset[int]]:
    """How many retrievals of a lesson cannot take place any more, and which of them in any case."""
    facts = laid.instance.class_of(lesson)
    meeting = [other for index in facts.lessons if _may_meet(lesson, other := laid.instance.lessons[index])]
    left = [day for other in meeting for day in dates_left(laid, other)]
    found = unavoidably_broken(lesson, facts, dates_left(laid, lesson), left)
    if lesson.delivered is not None or not found[0]:
        return found
    days = [slot.date for slot in slots_once(laid, lesson)]
    once = unavoidably_broken(lesson, facts, days, [slot.date for other in meeting for slot in slots_once(laid, other)], True)
    return found if once[0] < found[0] else (0, frozenset())


def _may_meet(lesson: LessonFacts, other: LessonFacts) -> bool:
    return other.index in lesson.revisited_by or bool(lesson.chosen and other.chooses and other.delivered is None)
