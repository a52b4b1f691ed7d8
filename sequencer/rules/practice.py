"""Rule 3: practice after dense lessons."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import LessonFacts
from sequencer.plan.outcomes import BROKEN, practices, practises_in_time
from sequencer.plan.sequence import Laid
from sequencer.rules.base import LESSON
from sequencer.rules.distances import FollowingRule
from sequencer.rules.past import slots_left, slots_once
from sequencer.rules.serving import does_not_serve, serving_literals
from sequencer.rules.verdict import Breach, breach_in, named, when
from sequencer.scenario.fields import Days
from sequencer.scenario.numbers import UP, Number
from sequencer.scenario.pattern_schema import Homework
from sequencer.scenario.rules_schema import Periods, RuleNumbers
from sequencer.words import count_text


class PracticeAfterDense(RuleNumbers):
    """Rule 3: a dense lesson is practised straight away."""

    main: ClassVar[str] = "within"
    topic: ClassVar[str] = "practice"
    unless_stated: ClassVar[str] = "within 1 period"
    usual: ClassVar[Mapping[str, Any]] = {"within": 1}

    within: Annotated[Periods | None, Number("practice within {}", "period", UP)] = Field(
        None, description="The practice comes at most this many periods after the dense lesson ends; 1 unless stated."
    )
    days: Annotated[Days | None, Number("practice within {}", "day", UP)] = Field(
        None, description="And at most this many days after its date; no limit unless stated."
    )
    no_new_content: bool | None = Field(None, description="And with no new content strictly between; false unless stated.")
    homework: Homework | None = Field(
        None, description="Homework set in the dense lesson serves as its practice; none unless stated."
    )


SlotsOf = Callable[[Laid, LessonFacts], list[Slot]]
"""The slots that a lesson can still have, or could once."""


class PracticeRule(FollowingRule):
    """Every dense lesson x has a practice lesson that names it, begins at most w periods after x ends (1 unless stated) and, when
    stated, lies at most d days after it, with no new content strictly between.

    One such lesson is enough; others that name x need only come after it. Where fewer than w periods of the class follow x, its
    practice may be carried over. Where practice was skipped, or delivered before x, and none is left, x owes none. Practice
    lessons are listed, or made: none that could be taken away without leaving a dense lesson unserved.
    """

    number, name, key, level = 3, "practice after dense", "practice_after_dense", LESSON
    numbers = PracticeAfterDense
    described = "Rule 3, practice after a dense lesson."

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for lesson in laid.lessons():
            if lesson.made == "practice" and lesson.delivered is None and laid.placed(lesson.index):
                wanted = [laid.instance.lessons[index] for index in lesson.made_for if laid.placed(index)]
                if wanted:
                    yield from _made_practice(laid, lesson, wanted[0])
        yield from super().judge(laid)
        for outcome in practices(laid):
            if outcome.state != BROKEN:
                continue
            lesson = laid.instance.lessons[outcome.lesson]
            assert lesson.practice is not None
            window = f"within {count_text(lesson.practice.within, 'period')}"
            yield breach_in(
                laid, 3, (lesson,),
                f"{named((lesson,))} on {when(laid.first_slot(lesson.index))} has no practice lesson {window}",
                _practice_is_past(laid, lesson),
            )  # fmt: skip

    def post(self, model: Any) -> None:
        super().post(model)
        for index, practice in model.variables.lessons.items():
            if practice.lesson.made == "practice" and model.may_go(index):
                _is_needed(model, index)

    def follow(self, chain: Any) -> None:
        super().follow(chain)
        chain.keep_practice()

    def post_pairs(self, model: Any) -> None:
        """One literal per practice lesson says that it serves; at least one does, or the carry literal holds."""
        super().post_pairs(model)
        for serving in model.practice:
            literals = serving_literals(model, serving)
            numbers = model.instance.lessons[serving.lesson].practice
            assert numbers is not None
            if numbers.no_new_content:
                for link, serves in zip(serving.links, literals, strict=True):
                    _nothing_new_between(model, link, serves)
            _assessments_come_after(model, serving, literals)


def _made_practice(laid: Laid, practice: LessonFacts, dense: LessonFacts) -> Iterator[Breach]:
    """Rule 3: without it the dense lesson that it was made for would have no practice."""
    placed = [other for other in dense.practised_by if laid.placed(other)]
    serving = [other for other in placed if dense.practice is not None and practises_in_time(laid, dense, other)]
    if serving != [practice.index]:
        why = "does not lie in its window" if practice.index not in serving else "could be taken away"
        yield breach_in(laid, 3, (dense, practice), f"{named((practice,))} is made for {named((dense,))}, and {why}")


def _practice_is_past(laid: Laid, dense: LessonFacts) -> bool:
    """Whether no slots that a dense lesson and what practises it can still have would do, nor leave it to the next plan.

    Of a lesson that is still to be placed it must have been possible before slots had gone by.
    """
    by = [lesson for index in dense.practised_by if not (lesson := laid.instance.lessons[index]).earlier]
    if dense.delivered is not None:
        return not could_be_practised(laid, dense, by, slots_left)
    return not could_be_practised(laid, dense, by, slots_left) and could_be_practised(laid, dense, by, slots_once)


def could_be_practised(
    laid: Laid, dense: LessonFacts, by: list[LessonFacts], slots_of: SlotsOf, before: int | None = None
) -> bool:
    """Whether a practice could serve in such slots, before a slot where one is given, or be left to the next plan."""
    numbers = dense.practice
    assert numbers is not None
    count = len(laid.instance.slots_for(dense))
    practised = [
        slot
        for lesson in by
        for slot in slots_of(laid, lesson)
        if before is None or slot.number + lesson.length <= before
    ]  # fmt: skip
    for taught in slots_of(laid, dense):
        end = taught.number + dense.length - 1
        if count - 1 - end < numbers.within:
            return True
        if any(
            1 <= slot.number - end <= numbers.within
            and (numbers.days is None or (slot.date - taught.date).days <= numbers.days)
            and not (numbers.no_new_content and laid.instance.new_content_between(end + 1, slot.number, dense.class_index))
            for slot in practised
        ):
            return True
    return False


def _assessments_come_after(model: Any, serving: Any, literals: list[Any]) -> None:
    """An assessment that requires the dense lesson comes after the practice that serves it (rule 3).

    Of several that serve the one named by its literal is enough. Where the lesson is carried over none may lie in its window.
    """
    lessons = model.instance.lessons
    assessments = [index for index in serving.assessed_by if index in model.variables.lessons]
    for link, serves in zip(serving.links, literals, strict=True):
        for index in assessments:
            label = f"{lessons[index].ref} after the practice of {lessons[serving.lesson].ref} in {lessons[link.after].ref}"
            last = model.days[lessons[index].class_index].count - 1
            low = (*(slot + lessons[link.after].length for slot in range(last + 1)), 0)
            model.keep_link(model.link(3, label, link.after, index, low, (last,) * len(low)), serves)
    if assessments:
        for carry in model.carried.get((3, serving.lesson), []):
            for link in serving.links:
                does_not_serve(model, link, carry, serving.carry_from)


def _nothing_new_between(model: Any, link: Any, serves: Any) -> None:
    """While the practice serves, no teach lesson holds a slot after the dense lesson's end and before the practice."""
    dense, practice = model.variables.lessons[link.before], model.variables.lessons[link.after]
    if not dense.starts or not practice.starts:
        return
    facts = model.instance.classes[dense.lesson.class_index]
    for slot in range(dense.starts[0] + dense.lesson.length, practice.starts[-1]):
        ended = dense.by(slot - dense.lesson.length)
        model.posting.clause(link.statement, ~serves, ~ended, practice.by(slot), ~model.new_content(facts, slot))


def _is_needed(model: Any, index: int) -> None:
    """A made practice lesson is the only one in the window of the dense lesson it is made for (rule 3)."""
    practice = model.variables.lessons[index]
    for serving in model.practice:
        if serving.lesson not in practice.lesson.made_for:
            continue
        for link in serving.links:
            if link.after == index:
                model.keep_link(link, practice.placed)
                if model.instance.lessons[serving.lesson].practice.no_new_content:
                    _nothing_new_between(model, link, practice.placed)
            else:
                does_not_serve(model, link, practice.placed)
    gone_by = all(serving.lesson not in practice.lesson.made_for for serving in model.practice)
    if gone_by:
        model.posting.clause(model.statement(3, f"{practice.name}: nothing is left for it to serve"), ~practice.placed)
