"""A plan made again, its change notice and its trade-offs, and a week of a term, as JSON."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, PlainSerializer

from sequencer.next_term.term import PlanChange, WholeTerm, term_data
from sequencer.next_term.week_of_term import WeekDone
from sequencer.questions.lists.change_notice import changes_by_class
from sequencer.questions.replan import Replanned, TradeOff
from sequencer.render.answers.base import AimResultJson, Day, FormatNumber, Json, LessonNameJson, OfClassJson, With
from sequencer.render.answers.comparison import ShiftedLessonJson
from sequencer.render.answers.plan import AnswerJson, answer_json, answer_parts
from sequencer.render.answers.why import explained, explanation_json
from sequencer.render.explained import Source
from sequencer.scenario.written import model_data

WrittenTerm = Annotated[WholeTerm, PlainSerializer(term_data)]
WrittenPlanChange = Annotated[PlanChange, PlainSerializer(lambda change: model_data(change))]


class GoneLessonJson(LessonNameJson):
    """A lesson of the sequence before that is not to be taught any more; its unit is empty where that does not say it."""

    class_: str = Field(validation_alias="class_id", description="The class.")
    title: str = Field(description="Title; the id where the sequence before has none.")
    date: Day = Field(description="Where it was.")
    period: int = Field(description="The period that it was in.")
    why: Literal["no longer in the scenario", "skipped"] = Field(description="What became of it.")


class ReplannedJson(AnswerJson):
    """An answer, and what moved since the sequence before."""

    gone: list[GoneLessonJson] = Field(description="Lessons of the sequence before that are gone; they count as no moves.")
    moved: int | None = Field(description="How many lessons lie elsewhere or fall away; null without a sequence.")
    most_moved: int | None = Field(description="How many were allowed to; null where as little as can be moves.")
    disruption: AimResultJson | None = Field(description="What the moves weigh, and the bound.")
    moves: list[ShiftedLessonJson] = Field(description="Lessons that lie elsewhere, fall away or are new.")


class TradeOffJson(Json):
    """The best sequence for each number of moves; numbers that gain nothing over fewer are left out."""

    format: FormatNumber = Field(description="Version of this form.")
    complete: bool = Field(description="Whether all is proven, up to a sequence as good as one made afresh.")
    steps: list[ReplannedJson] = Field(description="A sequence for each number of moves, the fewest first.")
    afresh: list[AimResultJson] = Field(description="The aims of a sequence made afresh.")


class ChangedLessonJson(ShiftedLessonJson):
    """A lesson that lies elsewhere, falls away or is new, and what that asks for."""

    bookings: list[str] = Field(description="What was, or is to be, booked for it, with the day where it must be asked for.")
    upload: str | None = Field(
        description="How it is now taught from a distance, and by when its material must be there; null in class."
    )
    gone: Literal["no longer in the scenario", "skipped"] | None = Field(
        description="Why it is not to be taught any more; null where it is still to be, or falls away."
    )


class ClassChangesJson(OfClassJson):
    """What changed for a class."""

    changes: list[ChangedLessonJson] = Field(description="Its lessons that changed.")


class ChangeNoticeJson(Json):
    """What colleagues are told of a plan made again."""

    format: FormatNumber = Field(description="Version of this form.")
    classes: list[ClassChangesJson] = Field(description="Every class for which something changed.")


def replanned_json(again: Replanned, source: Source | None = None) -> dict[str, Any]:
    """Return the answer with what moved, as JSON; it can be the previous sequence of the next time.

    Where there is no sequence it says why, with the places of statements in the text that the scenario was read from.
    """
    parts = answer_parts(again.answer) | {"explanation": explained(again.explanation, source)}
    told = With(again, **parts, disruption=again.answer.disruption, moves=again.shifts())
    return ReplannedJson.of(told, again.answer.instance).data()


def trade_off_json(listed: TradeOff) -> dict[str, Any]:
    """Return the best sequence for each number of moves, and the aims of one made afresh, as JSON."""
    afresh = [AimResultJson.of(aim).data() for aim in listed.afresh.aims]
    return {"format": 1, "complete": listed.complete, "steps": [replanned_json(step) for step in listed.steps], "afresh": afresh}


def notice_json(again: Replanned) -> dict[str, Any]:
    """Return what changed for each class, as JSON."""
    classes = [
        {
            "class_": name,
            "changes": [
                With(change.shift, bookings=change.bookings, upload=change.upload, gone=change.gone) for change in changes
            ],
        }
        for name, changes in changes_by_class(again).items()
    ]
    return ChangeNoticeJson.of({"format": 1, "classes": classes}).data()


class WeekJson(Json):
    """What became of a term in a week."""

    format: FormatNumber = Field(description="Version of this form.")
    done: Literal["planned", "planned again", "nothing", "undone", "no sequence", "none found"] = Field(
        description="The first plan was made, or the plan again; nothing happened and nothing was changed; the week before was "
        "brought back; no sequence exists, or none was found in the time."
    )
    term: WrittenTerm = Field(description="The term afterwards; where nothing was planned or undone, as it was.")
    changed: list[WrittenPlanChange] = Field(description="The lessons that moved, fell away or are new.")
    said: list[str] = Field(description="What was done, in sentences.")
    answer: ReplannedJson | AnswerJson | None = Field(
        description="The plan made again, or the first one, as a sequence is answered; null where nothing was looked for."
    )


def week_json(week: WeekDone, source: Source | None = None) -> dict[str, Any]:
    """Return what became of a term, as JSON, with the places of statements in the text that the scenario was read from."""
    answer = None
    if week.again is not None:
        answer = replanned_json(week.again, source)
    elif week.answer is not None:
        why = explanation_json(week.explanation, source) if week.explanation is not None else None
        answer = answer_json(week.answer, why)
    changed = [model_data(each) for each in week.changed]
    told = {"format": 1, "done": week.done, "term": term_data(week.term), "changed": changed}
    return {**told, "said": list(week.said), "answer": answer}
