"""What surrounds a sequence, as JSON: what to prepare by when, what is covered, what lessons open with, assessments."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AliasPath, BeforeValidator, Field

from sequencer.plan.sequence import Laid
from sequencer.questions.lists.assessments import CohortAssessment, CohortCalendar, assessments
from sequencer.questions.lists.coverage import ASSESSED, PRACTISED, RETRIEVED, TAUGHT, coverage
from sequencer.questions.lists.preparation import preparation
from sequencer.questions.lists.starters.assign import Starters
from sequencer.questions.lists.starters.starter_referee import served
from sequencer.questions.lists.starters.starters_told import forgotten, not_met, opens_with
from sequencer.questions.lists.tasks import Task
from sequencer.questions.solve import Answer
from sequencer.render.answers.base import AimResultJson, Day, Json, OfClassJson, Status, UnitLessonJson, With, in_unit, within


class ClassPeriodJson(OfClassJson):
    """Where a class has a lesson."""

    date: Day = Field(description="The date.")
    period: int | None = Field(description="Number of the period; null where any of that date is meant.")


class PreparationTaskJson(Json):
    """Something to be done by a day."""

    what: Literal["book", "prepare", "upload", "mark"] = Field(description="What is to be done.")
    work: Annotated[Literal["prepare", "fetch", "adapt", "make"] | None, BeforeValidator(lambda work: work or None)] = Field(
        description="For what is prepared; null for the rest."
    )
    state: Literal["overdue", "next fortnight", "later"] = Field(description="How soon it is due.")
    who: str | None = Field(description="Null where the scenario names no teacher.")
    by: Day | None = Field(description="The last day for it; null where that lies before term.")
    minutes: int = Field(description="0 where none are stated.")
    detail: str = Field(description="What it is about, in words.")
    where: str | None = Field(description="Where the material is or will be.")
    unit: str = Field(description="Id of the lesson's unit.")
    lesson: str = Field(description="Id of the lesson, unique in its unit.")
    title: str = Field(description="Of the lesson.")
    classes: list[ClassPeriodJson] = Field(description="Several where parallel classes share it, the earliest first.")


class PreparationWeekJson(Json):
    """A teacher's minutes in a school week, over all classes."""

    teacher: str | None = Field(description="Whose week it is; null where the scenario names no teacher.")
    week: Annotated[int, BeforeValidator(lambda number: number or 0)] = Field(
        validation_alias=within("week", "number"), description="Number of the school week; 0 for the days before the first."
    )
    label: str | None = Field(validation_alias=within("week", "label"), description="Label of the week, such as A.")
    monday: Day | None = Field(validation_alias=within("week", "monday"), description="Its Monday.")
    preparation_minutes: int = Field(validation_alias="preparation", description="Minutes of preparation for its lessons.")
    marking_minutes: int = Field(validation_alias="marking", description="Counted in the week of what is marked.")
    marking_due: list[Day] = Field(description="The last days for that marking, which may lie in a later week.")
    hard: bool = Field(description="Whether it holds an hour or more, and at least a quarter above the teacher's average.")


class PreparationJson(Json):
    """What is to be prepared, booked, uploaded and marked by when."""

    status: Status = Field(description="Of the sequence behind it.")
    asked: Day | None = Field(description="The day on which it is asked; null without a sequence.")
    until: Day | None = Field(description="The end of the fortnight.")
    tasks: list[PreparationTaskJson] = Field(description="What is to be done, the most urgent first.")
    weeks: list[PreparationWeekJson] = Field(description="Minutes by teacher and school week.")


class _DatedJson(Json):
    date: Day = Field(description="When it lies.")


class PointMetJson(UnitLessonJson, _DatedJson):
    """A lesson in which a point is met."""


class CoveredPointJson(Json):
    """A specification point, and where it is met."""

    code: str = Field(validation_alias=AliasPath("point", "code"), description="The scenario's own code.")
    title: str | None = Field(validation_alias=AliasPath("point", "title"), description="What it says.")
    taught: list[PointMetJson] = Field(validation_alias=AliasPath("met", TAUGHT), description="Lessons that teach it.")
    practised: list[PointMetJson] = Field(
        validation_alias=AliasPath("met", PRACTISED), description="Lessons in which it is practised."
    )
    met_again: list[PointMetJson] = Field(
        validation_alias=AliasPath("met", RETRIEVED), description="Lessons in which it is met again."
    )
    assessed: list[PointMetJson] = Field(validation_alias=AliasPath("met", ASSESSED), description="Lessons that assess it.")


class ClassCoverageJson(OfClassJson):
    """A specification for one class."""

    specification: str = Field(validation_alias=AliasPath("specification", "id"), description="Id of the specification.")
    title: str | None = Field(validation_alias=AliasPath("specification", "title"), description="Its title.")
    points: list[CoveredPointJson] = Field(description="Its points in order.")
    never_met: list[str] = Field(description="Codes of the points that are met in no way.")


class CoverageJson(Json):
    """Which specification points are taught, practised, met again and assessed."""

    status: Status = Field(description="Of the sequence behind it.")
    starters_counted: bool = Field(description="Whether starters assigned to the sequence count, beside those of rule 4.")
    classes: list[ClassCoverageJson] = Field(description="Every specification for every class that follows it.")


class StarterTopicJson(UnitLessonJson):
    """A topic that a lesson opens with."""

    days: int = Field(description="Days since it was taught.")
    when: Literal[
        "last topic", "this week", "last week", "2 weeks ago", "3 weeks ago", "4 weeks ago", "5 weeks ago", "this term",
        "earlier term", "earlier year",
    ] = Field(description="How long ago that is, in words.")  # fmt: skip
    required: bool = Field(description="Whether the lesson requires it.")
    kept: bool = Field(description="Whether rule 4 put it there.")


class StarterOpeningJson(UnitLessonJson):
    """What a lesson opens with."""

    date: Day = Field(description="The date.")
    period: int = Field(description="Number of the period in the school day.")
    topics: list[StarterTopicJson] = Field(description="The topics, in order.")


class DueDayJson(Json):
    """A day on which a topic is due again."""

    date: Day = Field(description="The day.")
    distance: int = Field(description="Days after it was taught, as stated.")


class DueTopicJson(UnitLessonJson):
    """A topic that is to be met again."""

    taught: Day = Field(description="When it was taught.")
    due: list[DueDayJson] = Field(validation_alias="dues", description="When it is due again, within the plan.")
    per_cent_off: int = Field(description="0 where it is met on every day it is due, 100 where it is never met again.")
    forgotten: bool = Field(description="Whether it is due and never met again in the plan.")


class NotMetTopicJson(UnitLessonJson):
    """A topic that is not met on a day it is due."""

    due: Day = Field(validation_alias=AliasPath("due", "date"), description="The day it is due.")
    distance: int = Field(validation_alias=AliasPath("due", "distance"), description="Days after it was taught, as stated.")
    nearest: Day | None = Field(validation_alias="met", description="Null where nothing is nearer than when it was taught.")
    days_off: int = Field(validation_alias="off", description="Days between that and the day it is due.")


class ClassStartersJson(OfClassJson):
    """The starters of one class."""

    openings: list[StarterOpeningJson] = Field(description="What every lesson opens with.")
    topics: list[DueTopicJson] = Field(description="Every topic and when it is due.")
    not_met: list[NotMetTopicJson] = Field(description="What is not met on a day it is due.")
    aims: list[AimResultJson] = Field(description="What the assignment reached, the most important aim first.")


class StartersAnswerJson(Json):
    """What every lesson opens with."""

    status: Status = Field(description="Of the sequence behind it.")
    classes: list[ClassStartersJson] = Field(description="The classes in the scenario's order.")


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


def preparation_json(answer: Answer, asked: date | None = None, teacher: str | None = None) -> dict[str, Any]:
    """Return every task, and every week of every teacher, as JSON; without a sequence there are none."""
    if answer.sequence is None:
        return PreparationJson(status=answer.status, asked=None, until=None, tasks=[], weeks=[]).data()
    laid = Laid(answer.instance, answer.sequence)
    plan = preparation(laid, asked, teacher)
    tasks = [_task(laid, state, task) for state, task in plan.tasks]
    return PreparationJson.of(With(plan, status=answer.status, tasks=tasks)).data()


def _task(laid: Laid, state: str, task: Task) -> With:
    first, classes = task.lessons[0], [_where(laid, index) for index in task.lessons]
    return With(task, state=state, **in_unit(laid.instance, first), title=laid.instance.lessons[first].title, classes=classes)


def _where(laid: Laid, lesson: int) -> dict[str, Any]:
    facts = laid.instance.lessons[lesson]
    period = None if facts.earlier else laid.first_slot(lesson).period
    return {"class_": laid.instance.class_of(facts).id, "date": laid.date(lesson), "period": period}


def coverage_json(answer: Answer, starters: tuple[Starters, ...] | None = None) -> dict[str, Any]:
    """Return where every point is met, as JSON; without a sequence there is no class."""
    instance = answer.instance
    covered = coverage(Laid(instance, answer.sequence), starters) if answer.sequence is not None else ()
    classes = [
        With(
            each,
            class_=instance.classes[each.class_index].id,
            never_met=[covered.point.code for covered in each.points if covered.never],
        )
        for each in covered
    ]
    told = {"status": answer.status, "starters_counted": starters is not None, "classes": classes}
    return CoverageJson.of(told, instance).data()


def starters_json(answer: Answer, starters: Sequence[Starters]) -> dict[str, Any]:
    """Return what every lesson opens with, and what is not met when due, as JSON; without a sequence there is no class."""
    laid = Laid(answer.instance, answer.sequence) if answer.sequence is not None else None
    classes = [_of_class(laid, each) for each in starters] if laid is not None else []
    return StartersAnswerJson.of({"status": answer.status, "classes": classes}, answer.instance).data()


def _of_class(laid: Laid, starters: Starters) -> dict[str, Any]:
    asked, lost = starters.question, forgotten(starters)
    return {
        "class_": laid.instance.classes[asked.class_index].id,
        "openings": [
            With(
                opening,
                period=laid.first_slot(opening.lesson).period,
                topics=opens_with(starters, number, laid.instance.scenario.term.first),
            )
            for number, opening in enumerate(asked.openings)
        ],
        "topics": [
            With(topic, per_cent_off=served(asked, starters.assigned, number), forgotten=number in lost)
            for number, topic in enumerate(asked.topics)
        ],
        "not_met": [With(each, lesson=asked.topics[each.topic].lesson) for each in not_met(starters)],
        "aims": starters.aims,
    }


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
