"""The openings that what-ifs share, and what an earlier decision would be worth, as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from pydantic import AliasPath, Field, model_validator

from sequencer.instance.facts import Instance
from sequencer.plan.differences import LessonName
from sequencer.plan.sequence import Laid
from sequencer.questions.opening.share import SharedOpening, losses_by_aim
from sequencer.render.answers.base import Day, Json, OfClassJson, PeriodJson, Status, Told, UnitLessonJson, With, within
from sequencer.render.answers.plan import PlacedLessonJson, placed_lessons
from sequencer.words import INFEASIBLE, OPTIMAL


class OpeningPeriodJson(PeriodJson, OfClassJson):
    """A period of the opening, and what all futures hold in it."""

    unit: str | None = Field(description="Unit of the lesson; null where the period is spare.")
    lesson: str | None = Field(description="Id of the lesson; null where the period is spare.")


class PartlyThereJson(PeriodJson, OfClassJson):
    """A period before the date that only some futures have; it is no part of the opening."""

    only_in: list[str] = Field(description="The futures that have it.")


class MadeSmallJson(Json):
    """What was made small in turn."""

    aim: str = Field(description="The aim.")
    what: Literal["greatest", "sum"] = Field(description="The greatest loss of any future, or the sum of all, by weight.")
    value: int = Field(description="What was reached.")
    bound: int = Field(description="No smaller is possible, given what was reached before.")


class AimLossJson(Json):
    """What a future loses on an aim by beginning as all others do."""

    aim: str = Field(description="The aim.")
    value: int = Field(description="With the shared opening.")
    own_value: int = Field(description="By itself.")
    own_bound: int = Field(description="By itself no smaller value is possible.")
    loss: int = Field(description="`value` less `own_value`; below 0 where more was lost on an earlier aim.")
    loss_at_most: int = Field(validation_alias="most", description="`value` less `own_bound`.")


class ContinuationJson(Json):
    """One future with the shared opening."""

    name: str = Field(description="`base`, or the what-if's.")
    losses: list[AimLossJson] = Field(description="Every aim's loss, the most important first.")
    lessons: list[PlacedLessonJson] = Field(description="Its whole sequence, as in an answer.")


class CouldHoldJson(Json):
    """What one future could hold in the first period that cannot be shared, after a beginning that all share."""

    future: str = Field(description="The future.")
    lessons: list[UnitLessonJson] = Field(description="Each lesson that it could hold there.")
    spare: bool = Field(description="Whether the period could be spare.")

    @model_validator(mode="before")
    @classmethod
    def _with_spare(cls, wanted: Any) -> Any:
        held = [lesson for lesson in wanted.lessons if lesson is not None]
        return With(wanted, lessons=held, spare=None in wanted.lessons)


class FirstApartJson(PeriodJson, OfClassJson):
    """The first period that futures cannot share, though they could share every one before it."""

    class_: str = Field(validation_alias="class_id", description="The class.")
    date: Day = Field(validation_alias=AliasPath("period", 0), description="The date.")
    period: int = Field(validation_alias=AliasPath("period", 1), description="Number of the period in the school day.")
    could_hold: list[CouldHoldJson] = Field(validation_alias="wanted", description="Future by future.")


class OpeningReasonJson(Json):
    """A statement that takes part in why no opening is shared."""

    futures: list[str] = Field(description="The futures that make it.")
    text: Told = Field(description="The statement, in words.")


class OpeningConflictJson(Json):
    """Futures that cannot share an opening."""

    futures: list[str] = Field(description="Which; one alone when it has no sequence at all.")
    minimal: bool = Field(description="Whether without any one of them the others are proven to share one.")
    possible_until: Day | None = Field(
        description="The latest date until which they could; null where there is none, or it is not known."
    )
    first_apart: FirstApartJson | None = Field(
        validation_alias="clash", description="Where they must part; null where that was not known in time."
    )
    reasons: list[OpeningReasonJson] | None = Field(
        validation_alias=within("reasons", "reasons"),
        description="Statements that cannot all hold if they begin alike; null where none were found in time.",
    )
    reasons_minimal: bool | None = Field(
        validation_alias=within("reasons", "minimal"),
        description="Whether without any one of those they are proven to share one.",
    )


class SharedOpeningJson(Json):
    """One opening that the base and all what-ifs share, or why there is none."""

    until: Day = Field(description="The date by which it is known which future comes.")
    status: Status = Field(description="What was found.")
    weights: dict[str, int] | None = Field(description="Of every future; null when the worst case counts.")
    opening: list[OpeningPeriodJson] = Field(description="Every period before the date that all futures have.")
    not_in_every_future: list[PartlyThereJson] = Field(description="Periods before the date that only some have.")
    made_small: list[MadeSmallJson] = Field(validation_alias="stages", description="What was made small in turn.")
    continuations: list[ContinuationJson] = Field(description="Every future with the opening.")
    conflict: OpeningConflictJson | None = Field(description="Why there is none; null otherwise.")


class LostInAllJson(Json):
    """What all futures lose on one aim; at most so much where a future's own best is not proven."""

    aim: str = Field(description="The aim.")
    greatest: int = Field(description="What the future loses that loses most.")
    greatest_most: int = Field(description="At most.")
    total: int = Field(description="The sum of all, by weight where there are weights.")
    total_most: int = Field(description="At most.")


class DecisionJson(Json):
    """What is lost when it is known by a date which future comes."""

    until: Day = Field(description="The date.")
    status: Status = Field(description="What was found.")
    proven: bool = Field(description="Whether nothing better exists, or no opening at all.")
    losses: list[LostInAllJson] = Field(description="Aim by aim; empty without an opening.")


def opening_json(shared: SharedOpening, instance: Instance | None = None) -> dict[str, Any]:
    """Return a shared opening as JSON; the base's instance gives sentences their titles."""
    told = With(
        shared,
        opening=[
            {"class_": class_id, "date": day, "period": number, **_unit_and_lesson(lesson)}
            for (class_id, (day, number)), lesson in shared.opening.items()
        ],
        not_in_every_future=[
            {"class_": each.class_id, "date": day, "period": number, "only_in": names}
            for each in shared.periods
            for (day, number), names in each.partly
        ],
        continuations=[With(each, lessons=placed_lessons(Laid(each.instance, each.sequence))) for each in shared.continuations],
    )
    return SharedOpeningJson.of(told, instance).data()


def openings_json(openings: Sequence[SharedOpening], several: bool, instance: Instance | None = None) -> dict[str, Any]:
    """Return what stands beside a comparison: the opening, or where several were asked for all of them and the table."""
    if not several:
        return {"shared_opening": opening_json(openings[0], instance)}
    table = [
        DecisionJson.of(With(each, proven=each.status in (OPTIMAL, INFEASIBLE), losses=losses_by_aim(each))).data()
        for each in openings
    ]
    return {"shared_openings": [opening_json(each, instance) for each in openings], "decisions": table}


def _unit_and_lesson(name: LessonName | None) -> dict[str, str | None]:
    return {"unit": name[1], "lesson": name[2]} if name is not None else {"unit": None, "lesson": None}
