"""Options and bodies of a check and of where else a lesson could lie. A test holds what ``sequencer`` writes to these models."""

from __future__ import annotations

import datetime
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from api.messages import SAID_FORMS, Breach, Explanation, PlacedLesson, Verdict, form_option


class CheckOptions(BaseModel):
    """The query string of a check."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    best: Annotated[bool, Field(description="Put the aims beside those of the best sequence.")] = False
    complete: Annotated[bool, Field(description="Say whether a part of a sequence can be completed, and how.")] = False
    format: Annotated[str | None, form_option(SAID_FORMS)] = None
    seconds: Annotated[
        float | None,
        Field(gt=0, allow_inf_nan=False, description="Time allowed for each of these, no more than the server allows."),
    ] = None
    workers: Annotated[
        int | None, Field(ge=1, le=64, description="Searches at once, no more than the server allows; answers depend on it.")
    ] = None


class BesideAim(BaseModel):
    """An aim of the sequence, and of the best one."""

    model_config = ConfigDict(extra="forbid")

    aim: str = Field(description="Name of the aim.")
    value: int = Field(description="As the sequence given has it.")
    best: int = Field(description="As the best sequence found has it.")
    proven: bool = Field(description="Whether that is proven best.")


class Completion(BaseModel):
    """Whether what was given can be completed, each lesson where it lies."""

    model_config = ConfigDict(extra="forbid")

    possible: bool | None = Field(description="Whether it can; null when that was not settled in time.")
    at_odds: bool = Field(description="Whether a lesson is given twice, or for a period in which its class does not meet.")
    lessons: list[PlacedLesson] = Field(description="The best way to complete it; empty where there is none.")
    breaches: list[Breach] = Field(
        description="Rules that the lessons break where they are given, whatever is placed beside them."
    )
    explanation: Explanation | None = Field(
        description="What keeps it from being completed; places are those within the scenario, the dates given among them."
    )


class Checked(Verdict):
    """The referee's judgement of a sequence and, on request, what could come of it."""

    beside_best: list[BesideAim] | None = Field(None, description="With `best`; empty where no best sequence was found.")
    completion: Completion | None = Field(None, description="With `complete`.")


class Forbidding(BaseModel):
    """A statement that forbids a period."""

    model_config = ConfigDict(extra="forbid")

    kind: str = Field(description="What it is, such as closure, lesson, requires.")
    text: str = Field(description="The statement in a sentence.")
    pointer: str = Field(description="Its place in the scenario, as a JSON Pointer (RFC 6901).")


class OtherPlace(BaseModel):
    """A period of the class, and what it would mean to teach the lesson there."""

    model_config = ConfigDict(extra="forbid")

    date: datetime.date = Field(description="The date.")
    period: int = Field(description="Number of the period in the school day.")
    here: bool = Field(description="Whether the lesson lies there.")
    possible: bool | None = Field(description="Whether it could; null when that was not settled in time.")
    costs: dict[str, int] | None = Field(description="By how much each aim would be worse; null where it cannot lie there.")
    proven: bool = Field(description="Whether the costs are proven least.")
    forbidden_by: list[Forbidding] = Field(description="What forbids it; empty where it can lie there.")


class Elsewhere(BaseModel):
    """Where else one lesson of the best sequence could lie."""

    model_config = ConfigDict(extra="forbid")

    class_: str = Field(alias="class", description="The class.")
    unit: str = Field(description="Id of the lesson's unit.")
    lesson: str = Field(description="Id of the lesson.")
    aims: dict[str, int] = Field(description="The aims of the sequence asked about.")
    places: list[OtherPlace] = Field(description="Every period of the class.")


CHECK_MODELS: tuple[type[BaseModel], ...] = (Checked, Elsewhere)
