"""Options and body of a comparison of what-ifs. The body is written by ``sequencer``; a test holds it to the models here."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from api.around_messages import AroundOptions, Status
from api.messages import AimResult, Explanation, LessonName, RunFacts


class CompareOptions(AroundOptions):
    """The query string of a comparison."""

    close: Annotated[
        bool, Field(description="Whether each what-if keeps as many lessons where the base has them as can be, before any aim.")
    ] = False


class _Message(BaseModel):
    model_config = ConfigDict(extra="forbid")


class DatedPeriod(_Message):
    """A period on a date."""

    date: str = Field(json_schema_extra={"format": "date"})
    period: int


class ClassPeriods(_Message):
    """What becomes of one class's periods."""

    class_: str = Field(alias="class")
    lost: list[DatedPeriod]
    gained: list[DatedPeriod]
    turned_remote: list[DatedPeriod] = Field(description="In school in the base, remote here.")
    turned_in_school: list[DatedPeriod] = Field(description="Remote in the base, in school here.")


class ShiftedLesson(LessonName):
    """A lesson that lies elsewhere than in the base."""

    title: str
    from_: DatedPeriod | None = Field(alias="from", description="Null when the base does not place it.")
    to: DatedPeriod | None = Field(description="Null when it is not placed here.")


class LiveQuotaMet(_Message):
    """A live quota, and how many lessons are live."""

    owner: str = Field(description="The class, or the teacher.")
    span: str
    live: int
    least: int | None = Field(description="What holds, after cutting in a short week.")
    most: int | None
    stated_least: int | None = Field(description="What the scenario asks for.")
    wish: bool
    met: bool = Field(description="Whether what the scenario asks for is met.")


class ComparedAim(AimResult):
    """An aim beside the base's."""

    base_value: int | None
    base_bound: int | None


class ComparedFuture(_Message):
    """The base, or what a what-if makes of it."""

    name: str = Field(description="`base`, or the what-if's.")
    status: Status
    changes: list[Any] = Field(description="All that is changed, those of the what-ifs it builds on first.")
    text: list[str] = Field(description="The changes in words.")
    periods: list[ClassPeriods]
    moved: int | None = Field(
        description="How many lessons of the base lie elsewhere or are not placed; null without a sequence of both."
    )
    fewest_moved: int | None = Field(description="No sequence moves fewer; null where that was not asked for.")
    moves: list[ShiftedLesson] | None
    left_out: list[LessonName]
    carried_over: list[LessonName]
    live_quotas: list[LiveQuotaMet]
    aims: list[ComparedAim]
    explanation: Explanation | None = Field(description="Why there is no sequence: the first conflict.")
    run: RunFacts


class Compared(_Message):
    """The what-ifs of a scenario beside it."""

    format: Literal[1]
    title: str | None
    made: Literal["freely", "close to the base"]
    base: ComparedFuture
    what_ifs: list[ComparedFuture]


COMPARISON_MODELS: tuple[type[BaseModel], ...] = (Compared,)
