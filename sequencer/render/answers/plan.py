"""A sequence and what was found beyond it, as JSON: the same for the command line, the API and files."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, model_validator

from sequencer.instance.facts import Instance
from sequencer.plan.differences import skipped
from sequencer.plan.notes import cautions
from sequencer.plan.notices import drifts, homework_of, met_again, practised_in
from sequencer.plan.outcomes import CARRIED, LATE, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.questions.alternatives import Alternative
from sequencer.questions.solve import Answer
from sequencer.render.answers.base import (
    AimResultJson,
    Day,
    FormatNumber,
    Json,
    LessonNameJson,
    OfClassJson,
    RunFactsJson,
    SlotJson,
    Status,
    Told,
    UnitLessonJson,
    VerdictJson,
    With,
    in_unit,
    named,
    slot_parts,
)
from sequencer.render.answers.why import ExplanationJson
from sequencer.scenario.fields import Kind, Taught


class RevisitJson(UnitLessonJson):
    """A lesson that is met again."""

    days: int = Field(description="Days since that lesson.")
    how: Literal["lesson", "starter"] = Field(description="Whether the retrieval lesson meets it again, or a starter.")


class HomeworkSetJson(Json):
    """Homework set in the lesson."""

    title: str = Field(description="What pupils do.")
    due: Day | None = Field(description="Date on which it is due; null when that is in the next plan.")
    minutes: int = Field(description="How many minutes it takes a pupil; 0 where nothing is stated.")


class _TitledLesson(LessonNameJson):
    title: str = Field(description="Title; the id where none is stated.")
    kind: Kind = Field(description="What kind of lesson it is.")
    load: int = Field(description="How much it asks of pupils, on the scenario's scale.")
    length: int = Field(description="Number of periods.")


# The fields of the last base come first.
class PlacedLessonJson(SlotJson, _TitledLesson):
    """A lesson and where it lies; a longer one takes the periods that follow as well."""

    taught: Taught = Field(description="In class, or remotely: live or as set work.")
    made: bool = Field(description="Whether a pattern made it.")
    delivered: bool = Field(description="Whether it was taught already.")
    practises: list[UnitLessonJson] = Field(description="What a practice lesson practises.")
    revisits: list[RevisitJson] = Field(description="The lessons met again in it.")
    homework: HomeworkSetJson | None = Field(description="Homework set in it; null for none.")


class SparePeriodJson(SlotJson, OfClassJson):
    """A period that holds no lesson."""


class CarriedOverJson(LessonNameJson):
    """A lesson whose practice or retrieval is left to the next plan."""

    what: Literal["practice", "retrieval"] = Field(description="What is left to do.")
    number: int = Field(description="Which of the lesson's retrievals, from 1.")


class LateRetrievalJson(LessonNameJson):
    """A lesson met again later than its window."""

    date: Day = Field(description="When it is met again.")


class LeftOutJson(LessonNameJson):
    """An optional lesson that was not placed."""

    priority: int = Field(description="What leaving it out costs in the aim `left out`.")


class LaidJson(Json):
    """A sequence of lessons, and what it leaves spare, for later, or out."""

    lessons: list[PlacedLessonJson] = Field(description="The lessons by date and period.")
    spare: list[SparePeriodJson] = Field(description="Periods that hold no lesson.")
    carried_over: list[CarriedOverJson] = Field(description="What is left to the next plan.")
    late: list[LateRetrievalJson] = Field(description="Lessons met again later than their windows.")
    left_out: list[LeftOutJson] = Field(description="Optional lessons that were not placed.")


class MovedLessonJson(LessonNameJson):
    """A lesson that lies elsewhere than in the best sequence."""

    title: str = Field(description="Title; the id where none is stated.")
    from_: SlotJson | None = Field(
        validation_alias="old", description="Where the best sequence has it; null when it leaves it out."
    )
    to: SlotJson | None = Field(validation_alias="new", description="Where it lies instead; null when it is left out.")


class _Difference(Json):
    difference: int = Field(description="Least number of lessons that lie elsewhere than in one of the sequences before it.")
    bound: int = Field(description="No sequence as good differs from each of those before it in more lessons.")
    proven: bool = Field(description="Whether difference and bound are equal: none is more different.")
    aims: dict[str, int] = Field(description="Every aim of the scenario as the referee counts it.")
    moved: list[MovedLessonJson] = Field(description="What lies elsewhere than in the best sequence.")


class AlternativeJson(LaidJson, _Difference):
    """A further sequence as good as the best one, or within the loss allowed."""


class FurtherJson(Json):
    """What was asked for beyond the best sequence, and whether there is more than was found."""

    asked: int = Field(description="Number of alternatives asked for.")
    loss: dict[str, int] = Field(description="How much worse than in the best sequence an aim may be.")
    none_left: bool = Field(description="Proven: no further dates and periods are as good, or within the loss.")


class DriftJson(OfClassJson):
    """How far a class has got in a unit that it shares with others, in what was delivered."""

    unit: str = Field(description="Id of the unit.")
    lesson: str | None = Field(description="The last lesson delivered; null when none is.")
    days: int = Field(description="The most days by which it had a lesson later than the first class to have it.")
    lessons: int = Field(description="How many lessons it is behind the furthest class, of those that both have to have.")


class WindowWorthJson(Json):
    """A day, a week or a period in which more of something shared may help."""

    where: str = Field(description="Which, in words.")
    at_most: int = Field(description="By how much the aim could be less at most with more of it there alone.")

    @model_validator(mode="before")
    @classmethod
    def _paired(cls, value: Any) -> Any:
        return dict(zip(("where", "at_most"), value, strict=True)) if isinstance(value, tuple) else value


class MoreWorthJson(Json):
    """By how much an aim could be less with more of something shared; proven to be no more, and no promise of so much.

    Everything else stays as it is, and no aim before it becomes worse than it was held.
    """

    aim: str = Field(description="Name of the aim.")
    rule: int = Field(description="Number of the rule that limits it.")
    name: str = Field(description="Name of the rule.")
    owner: str | None = Field(description="The teacher or cohort; null for a thing.")
    text: str = Field(description="The raised limit beside the one that holds, in words.")
    most: int = Field(description="What is allowed now.")
    more: int = Field(description="By how much that is raised.")
    at_most: int = Field(description="By how much the aim could be less at most if it is raised wherever it holds.")
    windows: list[WindowWorthJson] = Field(description="Where raising it alone may help, dearest first.")
    one_alone: bool = Field(
        description="Whether that is proven only as long as no class by itself, nor parallel classes in step, takes more than is "
        "allowed now."
    )


class AnswerJson(Json):
    """The answer to a scenario: proven best, best found, proof that no sequence exists, or none found in the time."""

    format: FormatNumber = Field(description="Version of this form.")
    status: Status = Field(
        description="Proven best (optimal), best found (feasible), none exists (infeasible), none found in the time (unknown)."
    )
    title: str | None = Field(description="Title of the scenario.")
    lessons: list[PlacedLessonJson] = Field(description="The lessons by date and period.")
    aims: list[AimResultJson] = Field(description="What was reached, the most important aim first.")
    spare: list[SparePeriodJson] = Field(description="Periods that hold no lesson.")
    carried_over: list[CarriedOverJson] = Field(description="What is left to the next plan.")
    late: list[LateRetrievalJson] = Field(description="Lessons met again later than their windows.")
    left_out: list[LeftOutJson] = Field(description="Optional lessons that were not placed.")
    skipped: list[LessonNameJson] = Field(description="Lessons that the record says are not taught and not to be.")
    drift: list[DriftJson] = Field(description="Parallel classes side by side, for units that one of them has begun.")
    notes: list[Told] = Field(description="Demands that were cut to what is possible.")
    cautions: list[str] = Field(description="What the lessons call for, where the school's own policies come first.")
    verdict: VerdictJson | None = Field(description="The referee's judgement of the sequence; null when there is none.")
    alternatives: list[AlternativeJson] = Field(description="Further sequences, each as different as can be from all before it.")
    further: FurtherJson | None = Field(description="Null unless alternatives were asked for and there is a sequence.")
    explanation: ExplanationJson | None = Field(
        description="Where no sequence exists: the first conflict, and one change that helps."
    )
    more_worth: list[MoreWorthJson] = Field(
        description="What more of something that classes share would be worth at most, where that was looked into."
    )
    run: RunFactsJson = Field(description="How it came about.")


def answer_json(answer: Answer, explanation: dict[str, Any] | None = None) -> dict[str, Any]:
    """Return an answer as JSON, with an explanation, itself JSON, where no sequence exists.

    Everything that may differ between two runs of the same scenario stands under ``run``.
    """
    return {**AnswerJson.of(answer_parts(answer), answer.instance).data(), "explanation": explanation}


def answer_parts(answer: Answer) -> dict[str, Any]:
    """Return the values of the fields of ``AnswerJson``, the explanation apart."""
    instance = answer.instance
    laid = Laid(instance, answer.sequence) if answer.sequence is not None and answer.verdict is not None else None
    return {
        "format": 1,
        "status": answer.status,
        "title": instance.scenario.title,
        "aims": answer.aims,
        **(_laid_parts(laid) if laid is not None else dict.fromkeys(LaidJson.model_fields, ())),
        "skipped": skipped(instance) if laid is not None else (),
        "drift": [With(each, class_=instance.classes[each.class_index].id) for each in drifts(laid)] if laid is not None else (),
        "notes": answer.notes,
        "cautions": cautions(laid) if laid is not None else (),
        "verdict": answer.verdict if laid is not None else None,
        "alternatives": [_alternative(instance, each) for each in answer.alternatives],
        "further": answer.further,
        "explanation": None,
        "more_worth": answer.more_worth,
        "run": answer.run,
    }


def placed_lessons(laid: Laid) -> list[With]:
    """Return what ``PlacedLessonJson`` is read from for each placed lesson: class by class, in order of time."""
    again, practised = met_again(laid), practised_in(laid)
    instance = laid.instance
    return [
        With(
            lesson,
            **named(instance, lesson.index),
            **slot_parts(laid.first_slot(lesson.index)),
            taught=laid.taught(lesson.index),
            made=lesson.made is not None,
            delivered=lesson.delivered is not None,
            practises=[in_unit(instance, index) for index in practised.get(lesson.index, ())],
            revisits=[
                With(met, **in_unit(instance, met.lesson), days=laid.days(met.lesson, lesson.index))
                for met in again.get(lesson.index, ())
            ],
            homework=homework_of(laid, lesson),
        )
        for facts in laid.classes
        for lesson in laid.in_order(facts.index)
    ]


def slot_rows(instance: Instance) -> list[dict[str, Any]]:
    """Return every slot of every class, in order: what ``slots`` lists."""
    rows = []
    for facts in instance.classes:
        for slot in facts.slots:
            more = {"taught": slot.taught, "offers": list(slot.offers), "teacher": slot.teacher}
            rows.append({"class": facts.id, **SlotJson.of(slot).data(), **more})
    return rows


def _laid_parts(laid: Laid) -> dict[str, Any]:
    """Return the values of the fields of ``LaidJson``."""
    instance = laid.instance
    return {
        "lessons": placed_lessons(laid),
        "spare": [{"class_": facts.id, **slot_parts(slot)} for facts in laid.classes for slot in laid.spare_slots(facts.index)],
        "carried_over": [outcome for outcome in practices(laid) + retrievals(laid) if outcome.state == CARRIED],
        "late": [
            With(outcome, date=laid.date(outcome.by))
            for outcome in retrievals(laid)
            if outcome.state == LATE and outcome.by is not None
        ],
        "left_out": [lesson.index for lesson in instance.lessons if lesson.optional and not laid.placed(lesson.index)],
    }


def _alternative(instance: Instance, alternative: Alternative) -> With:
    aims = {aim: alternative.verdict.aims[aim] for aim in instance.aims}
    return With(alternative, aims=aims, **_laid_parts(Laid(instance, alternative.sequence)))
