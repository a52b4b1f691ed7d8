"""Options and bodies of a plan made again. The bodies are written by ``sequencer``; a test holds them to the models here."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from api.around_messages import AroundOptions
from api.comparison_messages import ShiftedLesson
from api.messages import AimResult, Answer, LessonName, form_option

REPLAN_FORMS = ("json", "notice", "notice-text", "text", "notice-json")
"""All of it, or what has changed for colleagues; which of those of one media type is preferred."""


class ReplanOptions(AroundOptions):
    """The query string of a plan made again."""

    format: Annotated[str | None, form_option(REPLAN_FORMS)] = None
    most_moved: Annotated[
        int | None, Field(ge=0, le=20000, description="The best sequence in which no more lessons move; the fewest unless given.")
    ] = None
    trade_off: Annotated[bool, Field(description="Whether the best sequence for each number of moves is listed instead.")] = False


class GoneLesson(LessonName):
    """A lesson of the sequence before that is not to be taught any more; its unit is empty where that does not say it."""

    title: str = Field(description="Title; the id where the sequence before has none.")
    date: str = Field(description="Where it was.", json_schema_extra={"format": "date"})
    period: int = Field(description="The period that it was in.")
    why: Literal["no longer in the scenario", "skipped"] = Field(description="What became of it.")


class Replanned(Answer):
    """An answer, and what moved since the sequence before."""

    gone: list[GoneLesson] = Field(description="Lessons of the sequence before that are gone; they count as no moves.")

    moved: int | None = Field(description="How many lessons lie elsewhere or fall away; null without a sequence.")
    most_moved: int | None = Field(description="How many were allowed to; null where as little as can be moves.")
    disruption: AimResult | None = Field(description="What the moves weigh, and the bound.")
    moves: list[ShiftedLesson] = Field(description="Lessons that lie elsewhere, fall away or are new.")


class TradeOff(BaseModel):
    """The best sequence for each number of moves; numbers that gain nothing over fewer are left out."""

    model_config = ConfigDict(extra="forbid")

    format: Literal[1] = Field(description="Version of this form.")
    complete: bool = Field(description="Whether all is proven, up to a sequence as good as one made afresh.")
    steps: list[Replanned] = Field(description="A sequence for each number of moves, the fewest first.")
    afresh: list[AimResult] = Field(description="The aims of a sequence made afresh.")


class ChangedLesson(ShiftedLesson):
    """A lesson that lies elsewhere, falls away or is new, and what that asks for."""

    bookings: list[str] = Field(description="What was, or is to be, booked for it, with the day where it must be asked for.")
    upload: str | None = Field(
        description="How it is now taught from a distance, and by when its material must be there; null in class."
    )
    gone: Literal["no longer in the scenario", "skipped"] | None = Field(
        description="Why it is not to be taught any more; null where it is still to be, or falls away."
    )


class ClassChanges(BaseModel):
    """What changed for a class."""

    model_config = ConfigDict(extra="forbid")

    class_: str = Field(alias="class", description="The class.")
    changes: list[ChangedLesson] = Field(description="Its lessons that changed.")


class ChangeNotice(BaseModel):
    """What colleagues are told of a plan made again."""

    model_config = ConfigDict(extra="forbid")

    format: Literal[1] = Field(description="Version of this form.")
    classes: list[ClassChanges] = Field(description="Every class for which something changed.")


REPLAN_MODELS: tuple[type[BaseModel], ...] = (Replanned, TradeOff, ChangeNotice)
