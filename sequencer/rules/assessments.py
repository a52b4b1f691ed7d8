"""Rule 3: assessments after practice."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from sequencer.instance.facts import LessonFacts
from sequencer.plan.outcomes import practises_in_time
from sequencer.plan.sequence import Laid
from sequencer.rules.base import LESSON, Rule
from sequencer.rules.past import slots_left, slots_once
from sequencer.rules.practice import SlotsOf, could_be_practised
from sequencer.rules.verdict import Breach, breach_in, named, when
from sequencer.scenario.rules_schema import RuleNumbers


class PracticeBeforeAssessment(RuleNumbers):
    """Rule 3: whether an assessment comes after the practice of the dense lessons that it requires."""

    topic: ClassVar[str] = "practice before assessments"


class AssessmentRule(Rule):
    """An assessment that requires a dense lesson x, itself or through other lessons, comes after the practice that serves x."""

    number, name, key, level = 3, "practice after dense", "practice_before_assessment", LESSON
    place = 1
    numbers = PracticeBeforeAssessment
    described = "Rule 3, an assessment after the practice of the dense lessons that it requires."

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for assessment, dense in (
            (laid.instance.lessons[one], laid.instance.lessons[other]) for one, other in laid.instance.assessed
        ):
            if assessment.earlier or not laid.placed(assessment.index) or not laid.placed(dense.index):
                continue
            serving = [other for other in dense.practised_by if laid.placed(other) and practises_in_time(laid, dense, other)]
            if not serving or any(laid.pos(assessment.index) > laid.end(other) for other in serving):
                continue
            first = laid.instance.lessons[min(serving, key=laid.end)]
            yield breach_in(
                laid, 3, (dense, first, assessment),
                f"{named((assessment,))} on {when(laid.first_slot(assessment.index))} does not come after {named((first,))} "
                f"on {when(laid.first_slot(first.index))}, the practice of {named((dense,))}, which it requires",
                _cannot_come_after(laid, assessment, dense),
            )  # fmt: skip


def _cannot_come_after(laid: Laid, assessment: LessonFacts, dense: LessonFacts) -> bool:
    """Whether no slots that the lessons can still have let the assessment come after what practises the dense lesson."""
    if _could_come_after(laid, assessment, dense, slots_left):
        return False
    told = assessment.delivered is not None or dense.delivered is not None
    return told or _could_come_after(laid, assessment, dense, slots_once)


def _could_come_after(laid: Laid, assessment: LessonFacts, dense: LessonFacts, slots_of: SlotsOf) -> bool:
    latest = max((slot.number for slot in slots_of(laid, assessment)), default=-1)
    by = [other for index in dense.practised_by if not (other := laid.instance.lessons[index]).earlier]
    return could_be_practised(laid, dense, by, slots_of, before=latest)
