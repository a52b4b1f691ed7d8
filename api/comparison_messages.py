"""Options and body of a comparison of what-ifs. The body is written by ``sequencer``; a test holds it to the models here."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from api.around_messages import AroundOptions, Status
from api.messages import SAID_FORMS, AimResult, Explanation, LessonName, PlacedLesson, RunFacts, UnitLesson, form_option


class CompareOptions(AroundOptions):
    """The query string of a comparison."""

    format: Annotated[str | None, form_option(SAID_FORMS)] = None
    close: Annotated[
        bool, Field(description="Whether each what-if keeps as many lessons where the base has them as can be, before any aim.")
    ] = False


_DATE: dict[str, Any] = {"format": "date"}


class _Message(BaseModel):
    model_config = ConfigDict(extra="forbid")


class DatedPeriod(_Message):
    """A period on a date."""

    date: str = Field(description="The date.", json_schema_extra={"format": "date"})
    period: int = Field(description="Number of the period in the school day.")


class ClassPeriods(_Message):
    """What becomes of one class's periods."""

    class_: str = Field(alias="class", description="The class.")
    lost: list[DatedPeriod] = Field(description="Periods of the base that are none here.")
    gained: list[DatedPeriod] = Field(description="Periods that are none in the base.")
    turned_remote: list[DatedPeriod] = Field(description="In school in the base, remote here.")
    turned_in_school: list[DatedPeriod] = Field(description="Remote in the base, in school here.")


class ShiftedLesson(LessonName):
    """A lesson that lies elsewhere than in the base."""

    title: str = Field(description="Title; the id where none is stated.")
    from_: DatedPeriod | None = Field(alias="from", description="Null when the base does not place it.")
    to: DatedPeriod | None = Field(description="Null when it is not placed here.")


class LiveQuotaMet(_Message):
    """A live quota, and how many lessons are live."""

    owner: str = Field(description="The class, or the teacher.")
    span: str = Field(description="The week or weeks over which it is counted.")
    live: int = Field(description="How many lessons are live.")
    least: int | None = Field(description="What holds, after cutting in a short week.")
    most: int | None = Field(description="At most so many; null for no such limit.")
    stated_least: int | None = Field(description="What the scenario asks for.")
    wish: bool = Field(description="Whether it is a wish, not a rule.")
    met: bool = Field(description="Whether what the scenario asks for is met.")


class ComparedAim(AimResult):
    """An aim beside the base's."""

    base_value: int | None = Field(description="What the base reaches; null when it has no sequence.")
    base_bound: int | None = Field(description="No sequence of the base has a smaller value.")


class ComparedFuture(_Message):
    """The base, or what a what-if makes of it."""

    name: str = Field(description="`base`, or the what-if's.")
    status: Status = Field(description="What was found, as in an answer.")
    changes: list[Any] = Field(description="All that is changed, those of the what-ifs it builds on first.")
    text: list[str] = Field(description="The changes in words.")
    periods: list[ClassPeriods] = Field(description="What becomes of the classes' periods.")
    moved: int | None = Field(
        description="How many lessons of the base lie elsewhere or are not placed; null without a sequence of both."
    )
    fewest_moved: int | None = Field(description="No sequence moves fewer; null where that was not asked for.")
    moves: list[ShiftedLesson] | None = Field(description="The lessons that lie elsewhere; null without a sequence of both.")
    left_out: list[LessonName] = Field(description="Optional lessons that were not placed.")
    carried_over: list[LessonName] = Field(description="Lessons with something left to the next plan.")
    live_quotas: list[LiveQuotaMet] = Field(description="Every live quota, and whether it is met.")
    aims: list[ComparedAim] = Field(description="What was reached beside what the base reaches.")
    explanation: Explanation | None = Field(description="Why there is no sequence: the first conflict.")
    run: RunFacts = Field(description="How it came about.")


class OpeningPeriod(DatedPeriod):
    """A period of the opening, and what all futures hold in it."""

    class_: str = Field(alias="class", description="The class.")
    unit: str | None = Field(description="Unit of the lesson; null where the period is spare.")
    lesson: str | None = Field(description="Id of the lesson; null where the period is spare.")


class PartlyThere(DatedPeriod):
    """A period before the date that only some futures have; it is no part of the opening."""

    class_: str = Field(alias="class", description="The class.")
    only_in: list[str] = Field(description="The futures that have it.")


class MadeSmall(_Message):
    """What was made small in turn."""

    aim: str = Field(description="The aim.")
    what: Literal["greatest", "sum"] = Field(description="The greatest loss of any future, or the sum of all, by weight.")
    value: int = Field(description="What was reached.")
    bound: int = Field(description="No smaller is possible, given what was reached before.")


class AimLoss(_Message):
    """What a future loses on an aim by beginning as all others do."""

    aim: str = Field(description="The aim.")
    value: int = Field(description="With the shared opening.")
    own_value: int = Field(description="By itself.")
    own_bound: int = Field(description="By itself no smaller value is possible.")
    loss: int = Field(description="`value` less `own_value`; below 0 where more was lost on an earlier aim.")
    loss_at_most: int = Field(description="`value` less `own_bound`.")


class Continuation(_Message):
    """One future with the shared opening."""

    name: str = Field(description="`base`, or the what-if's.")
    losses: list[AimLoss] = Field(description="Every aim's loss, the most important first.")
    lessons: list[PlacedLesson] = Field(description="Its whole sequence, as in an answer.")


class CouldHold(_Message):
    """What one future could hold in the first period that cannot be shared, after a beginning that all share."""

    future: str = Field(description="The future.")
    lessons: list[UnitLesson] = Field(description="Each lesson that it could hold there.")
    spare: bool = Field(description="Whether the period could be spare.")


class FirstApart(DatedPeriod):
    """The first period that futures cannot share, though they could share every one before it."""

    class_: str = Field(alias="class", description="The class.")
    could_hold: list[CouldHold] = Field(description="Future by future.")


class OpeningReason(_Message):
    """A statement that takes part in why no opening is shared."""

    futures: list[str] = Field(description="The futures that make it.")
    text: str = Field(description="The statement, in words.")


class OpeningConflict(_Message):
    """Futures that cannot share an opening."""

    futures: list[str] = Field(description="Which; one alone when it has no sequence at all.")
    minimal: bool = Field(description="Whether without any one of them the others are proven to share one.")
    possible_until: str | None = Field(
        description="The latest date until which they could; null where there is none, or it is not known.",
        json_schema_extra=_DATE,
    )
    first_apart: FirstApart | None = Field(description="Where they must part; null where that was not known in time.")
    reasons: list[OpeningReason] | None = Field(
        description="Statements that cannot all hold if they begin alike; null where none were found in time."
    )
    reasons_minimal: bool | None = Field(description="Whether without any one of those they are proven to share one.")


class SharedOpening(_Message):
    """One opening that the base and all what-ifs share, or why there is none."""

    until: str = Field(description="The date by which it is known which future comes.", json_schema_extra=_DATE)
    status: Status = Field(description="What was found.")
    weights: dict[str, int] | None = Field(description="Of every future; null when the worst case counts.")
    opening: list[OpeningPeriod] = Field(description="Every period before the date that all futures have.")
    not_in_every_future: list[PartlyThere] = Field(description="Periods before the date that only some have.")
    made_small: list[MadeSmall] = Field(description="What was made small in turn.")
    continuations: list[Continuation] = Field(description="Every future with the opening.")
    conflict: OpeningConflict | None = Field(description="Why there is none; null otherwise.")


class LostInAll(_Message):
    """What all futures lose on one aim; at most so much where a future's own best is not proven."""

    aim: str = Field(description="The aim.")
    greatest: int = Field(description="What the future loses that loses most.")
    greatest_most: int = Field(description="At most.")
    total: int = Field(description="The sum of all, by weight where there are weights.")
    total_most: int = Field(description="At most.")


class Decision(_Message):
    """What is lost when it is known by a date which future comes."""

    until: str = Field(description="The date.", json_schema_extra=_DATE)
    status: Status = Field(description="What was found.")
    proven: bool = Field(description="Whether nothing better exists, or no opening at all.")
    losses: list[LostInAll] = Field(description="Aim by aim; empty without an opening.")


class Compared(_Message):
    """The what-ifs of a scenario beside it."""

    format: Literal[1] = Field(description="Version of this form.")
    title: str | None = Field(description="Title of the scenario.")
    made: Literal["freely", "close to the base"] = Field(description="How what-ifs were planned.")
    base: ComparedFuture = Field(description="The scenario as it is.")
    what_ifs: list[ComparedFuture] = Field(description="Each what-if, in the scenario's order.")
    shared_opening: SharedOpening | None = Field(
        default=None, description="The opening, where `opening_until` is a date; not there otherwise."
    )
    shared_openings: list[SharedOpening] | None = Field(
        default=None, description="An opening for every date of the list `opening_until`; not there otherwise."
    )
    decisions: list[Decision] | None = Field(
        default=None, description="What is lost with each of those dates, in order of time; not there otherwise."
    )


COMPARISON_MODELS: tuple[type[BaseModel], ...] = (Compared,)
