"""Options and bodies of what surrounds a sequence: preparation, starters, coverage.

The bodies are written by ``sequencer``; a test holds them to the models here.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from api.messages import AimResult, UnitLesson, form_option
from sequencer import AROUND_FORMS

Status = Literal["optimal", "feasible", "infeasible", "unknown"]
_DATE: dict[str, Any] = {"format": "date"}


class AroundOptions(BaseModel):
    """The query string of a solve whose sequence itself is not asked for."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    seconds: Annotated[
        float | None, Field(gt=0, allow_inf_nan=False, description="Time allowed, no more than the server allows.")
    ] = None
    seed: Annotated[int, Field(ge=0, le=2**31 - 1, description="Seed of the search.")] = 0
    workers: Annotated[
        int | None, Field(ge=1, le=64, description="Searches at once, no more than the server allows; answers depend on it.")
    ] = None
    format: Annotated[str | None, form_option(AROUND_FORMS)] = None


class CoverageOptions(AroundOptions):
    """The query string of a coverage."""

    starters: Annotated[
        bool, Field(description="Whether starters are assigned too, and count as meeting again beside those of rule 4.")
    ] = False


class PreparationOptions(AroundOptions):
    """The query string of a preparation."""

    on: Annotated[
        str | None,
        Field(
            max_length=10,
            description="The day on which it is asked; the scenario's today, or the first day of term, unless stated.",
            json_schema_extra={"format": "date"},
        ),
    ] = None
    teacher: Annotated[str | None, Field(max_length=200, description="Whose it is; everyone's unless stated.")] = None


class _Message(BaseModel):
    model_config = ConfigDict(extra="forbid")


class ClassPeriod(_Message):
    """Where a class has a lesson."""

    class_: str = Field(alias="class", description="The class.")
    date: str = Field(description="The date.", json_schema_extra=_DATE)
    period: int | None = Field(description="Number of the period; null where any of that date is meant.")


class PreparationTask(UnitLesson):
    """Something to be done by a day."""

    title: str = Field(description="Of the lesson.")
    what: Literal["book", "prepare", "upload", "mark"] = Field(description="What is to be done.")
    work: Literal["prepare", "fetch", "adapt", "make"] | None = Field(description="For what is prepared; null for the rest.")
    state: Literal["overdue", "next fortnight", "later"] = Field(description="How soon it is due.")
    who: str | None = Field(description="Null where the scenario names no teacher.")
    by: str | None = Field(description="The last day for it; null where that lies before term.", json_schema_extra=_DATE)
    minutes: int = Field(description="0 where none are stated.")
    detail: str = Field(description="What it is about, in words.")
    where: str | None = Field(description="Where the material is or will be.")
    classes: list[ClassPeriod] = Field(description="Several where parallel classes share it, the earliest first.")


class PreparationWeek(_Message):
    """A teacher's minutes in a school week, over all classes."""

    teacher: str | None = Field(description="Whose week it is; null where the scenario names no teacher.")
    week: int = Field(description="Number of the school week; 0 for the days before the first.")
    label: str | None = Field(description="Label of the week, such as A.")
    monday: str | None = Field(description="Its Monday.", json_schema_extra=_DATE)
    preparation_minutes: int = Field(description="Minutes of preparation for its lessons.")
    marking_minutes: int = Field(description="Counted in the week of what is marked.")
    marking_due: list[Annotated[str, Field(json_schema_extra=_DATE)]] = Field(
        description="The last days for that marking, which may lie in a later week."
    )
    hard: bool = Field(description="Whether it holds an hour or more, and at least a quarter above the teacher's average.")


class Preparation(_Message):
    """What is to be prepared, booked, uploaded and marked by when."""

    status: Status = Field(description="Of the sequence behind it.")
    asked: str | None = Field(description="The day on which it is asked; null without a sequence.", json_schema_extra=_DATE)
    until: str | None = Field(description="The end of the fortnight.", json_schema_extra=_DATE)
    tasks: list[PreparationTask] = Field(description="What is to be done, the most urgent first.")
    weeks: list[PreparationWeek] = Field(description="Minutes by teacher and school week.")


class PointMet(UnitLesson):
    """A lesson in which a point is met."""

    date: str = Field(description="When it lies.", json_schema_extra=_DATE)


class CoveredPoint(_Message):
    """A specification point, and where it is met."""

    code: str = Field(description="The scenario's own code.")
    title: str | None = Field(description="What it says.")
    taught: list[PointMet] = Field(description="Lessons that teach it.")
    practised: list[PointMet] = Field(description="Lessons in which it is practised.")
    met_again: list[PointMet] = Field(description="Lessons in which it is met again.")
    assessed: list[PointMet] = Field(description="Lessons that assess it.")


class ClassCoverage(_Message):
    """A specification for one class."""

    class_: str = Field(alias="class", description="The class.")
    specification: str = Field(description="Id of the specification.")
    title: str | None = Field(description="Its title.")
    points: list[CoveredPoint] = Field(description="Its points in order.")
    never_met: list[str] = Field(description="Codes of the points that are met in no way.")


class Coverage(_Message):
    """Which specification points are taught, practised, met again and assessed."""

    status: Status = Field(description="Of the sequence behind it.")
    starters_counted: bool = Field(description="Whether starters assigned to the sequence count, beside those of rule 4.")
    classes: list[ClassCoverage] = Field(description="Every specification for every class that follows it.")


class StarterTopic(UnitLesson):
    """A topic that a lesson opens with."""

    days: int = Field(description="Days since it was taught.")
    when: Literal[
        "last topic", "this week", "last week", "2 weeks ago", "3 weeks ago", "4 weeks ago", "5 weeks ago", "this term",
        "earlier term", "earlier year",
    ] = Field(description="How long ago that is, in words.")  # fmt: skip
    required: bool = Field(description="Whether the lesson requires it.")
    kept: bool = Field(description="Whether rule 4 put it there.")


class StarterOpening(UnitLesson):
    """What a lesson opens with."""

    date: str = Field(description="The date.", json_schema_extra=_DATE)
    period: int = Field(description="Number of the period in the school day.")
    topics: list[StarterTopic] = Field(description="The topics, in order.")


class DueDay(_Message):
    """A day on which a topic is due again."""

    date: str = Field(description="The day.", json_schema_extra=_DATE)
    distance: int = Field(description="Days after it was taught, as stated.")


class DueTopic(UnitLesson):
    """A topic that is to be met again."""

    taught: str = Field(description="When it was taught.", json_schema_extra=_DATE)
    due: list[DueDay] = Field(description="When it is due again, within the plan.")
    per_cent_off: int = Field(description="0 where it is met on every day it is due, 100 where it is never met again.")
    forgotten: bool = Field(description="Whether it is due and never met again in the plan.")


class NotMetTopic(UnitLesson):
    """A topic that is not met on a day it is due."""

    due: str = Field(description="The day it is due.", json_schema_extra=_DATE)
    distance: int = Field(description="Days after it was taught, as stated.")
    nearest: str | None = Field(description="Null where nothing is nearer than when it was taught.", json_schema_extra=_DATE)
    days_off: int = Field(description="Days between that and the day it is due.")


class ClassStarters(_Message):
    """The starters of one class."""

    class_: str = Field(alias="class", description="The class.")
    openings: list[StarterOpening] = Field(description="What every lesson opens with.")
    topics: list[DueTopic] = Field(description="Every topic and when it is due.")
    not_met: list[NotMetTopic] = Field(description="What is not met on a day it is due.")
    aims: list[AimResult] = Field(description="What the assignment reached, the most important aim first.")


class StartersAnswer(_Message):
    """What every lesson opens with."""

    status: Status = Field(description="Of the sequence behind it.")
    classes: list[ClassStarters] = Field(description="The classes in the scenario's order.")


AROUND_MODELS: tuple[type[BaseModel], ...] = (Preparation, Coverage, StartersAnswer)
