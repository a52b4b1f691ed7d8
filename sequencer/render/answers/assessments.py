"""The assessments of each year group, as JSON."""

from __future__ import annotations

from typing import Any

from pydantic import AliasPath, Field

from sequencer.lists.assessments import CohortAssessment, CohortCalendar, assessments
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.answers.base import Day, Json, Status, in_unit


class CohortAssessmentJson(Json):
    """An assessment; one that is fixed elsewhere has no class, lesson and period."""

    date: Day = Field(description="When it is.")
    subject: str = Field(description="The cohort's subject; the class where it is counted by itself.")
    class_: str | None = Field(description="The class that writes it; null for every pupil of the cohort.")
    period: int | None = Field(description="Number of its first period.")
    unit: str | None = Field(description="Id of the lesson's unit.")
    lesson: str | None = Field(description="Id of the lesson, unique in its unit.")
    title: str | None = Field(description="Of the lesson.")


class CohortWeekJson(Json):
    """What one pupil has in a school week, of each subject in the class with most."""

    week: int = Field(validation_alias=AliasPath("week", "number"), description="Number of the school week, from 1.")
    label: str = Field(validation_alias=AliasPath("week", "label"), description="Label of the week, such as A.")
    monday: Day = Field(validation_alias=AliasPath("week", "monday"), description="Its Monday.")
    assessments: int = Field(description="Assessments, those fixed elsewhere among them.")
    homework: int = Field(description="Minutes of homework due.")
    dense: int = Field(description="Dense lessons.")


class CohortCalendarJson(Json):
    """A cohort, or a class by itself."""

    cohort: str = Field(description="Id of the cohort; of the class where the scenario states no cohort.")
    title: str = Field(description="What it is called.")
    assessments: list[CohortAssessmentJson] = Field(description="In order of time.")
    weeks: list[CohortWeekJson] = Field(description="Every school week.")


class AssessmentsJson(Json):
    """The assessments of each cohort, and what its weeks hold."""

    status: Status = Field(description="Of the sequence behind it.")
    cohorts: list[CohortCalendarJson] = Field(description="Every cohort, or every class by itself; none without a sequence.")


def assessments_json(answer: Answer) -> dict[str, Any]:
    """Return the assessments of each cohort, as JSON; without a sequence there is none."""
    laid = Laid(answer.instance, answer.sequence) if answer.sequence is not None else None
    cohorts = [_cohort(laid, each) for each in assessments(laid)] if laid is not None else []
    return AssessmentsJson.of({"status": answer.status, "cohorts": cohorts}).data()


def _cohort(laid: Laid, each: CohortCalendar) -> dict[str, Any]:
    listed = [_assessment(laid, one) for one in each.assessments]
    return {"cohort": each.cohort.id, "title": each.cohort.name, "assessments": listed, "weeks": each.weeks}


def _assessment(laid: Laid, one: CohortAssessment) -> dict[str, Any]:
    found: dict[str, Any] = dict.fromkeys(("class_", "period", "unit", "lesson", "title"))
    found |= {"date": one.date, "subject": one.subject}
    if one.lesson is not None:
        lesson = laid.instance.lessons[one.lesson]
        found |= {"class_": laid.instance.class_of(lesson).id, "period": laid.first_slot(one.lesson).period}
        found |= {"title": lesson.title, **in_unit(laid.instance, one.lesson)}
    return found
