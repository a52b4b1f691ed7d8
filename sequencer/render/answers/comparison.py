"""The what-ifs of a scenario beside it, as JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Literal

from pydantic import AliasPath, Field, model_validator

from sequencer.questions.compare import Comparison, Future
from sequencer.render.answers.base import (
    AimResultJson,
    FormatNumber,
    Json,
    LessonNameJson,
    PeriodJson,
    RunFactsJson,
    Status,
    Told,
    With,
    WrittenChange,
    by_name,
)
from sequencer.render.answers.opening import DecisionJson, SharedOpeningJson
from sequencer.render.answers.why import ExplanationJson, explained
from sequencer.scenario.changes.what_ifs import change_text


class ClassPeriodsJson(Json):
    """What becomes of one class's periods."""

    class_: str = Field(validation_alias="class_id", description="The class.")
    lost: list[PeriodJson] = Field(description="Periods of the base that are none here.")
    gained: list[PeriodJson] = Field(description="Periods that are none in the base.")
    turned_remote: list[PeriodJson] = Field(description="In school in the base, remote here.")
    turned_in_school: list[PeriodJson] = Field(description="Remote in the base, in school here.")


class ShiftedLessonJson(LessonNameJson):
    """A lesson that lies elsewhere than in the base."""

    title: str = Field(description="Title; the id where none is stated.")
    from_: PeriodJson | None = Field(validation_alias="old", description="Null when the base does not place it.")
    to: PeriodJson | None = Field(validation_alias="new", description="Null when it is not placed here.")

    @model_validator(mode="before")
    @classmethod
    def _shifted(cls, shift: Any) -> Any:
        return With(shift, **by_name(shift.name))


class LiveQuotaMetJson(Json):
    """A live quota, and how many lessons are live."""

    owner: str = Field(description="The class, or the teacher.")
    span: str = Field(description="The week or weeks over which it is counted.")
    live: int = Field(description="How many lessons are live.")
    least: int | None = Field(description="What holds, after cutting in a short week.")
    most: int | None = Field(description="At most so many; null for no such limit.")
    stated_least: int | None = Field(description="What the scenario asks for.")
    wish: bool = Field(description="Whether it is a wish, not a rule.")
    met: bool = Field(description="Whether what the scenario asks for is met.")


class ComparedAimJson(AimResultJson):
    """An aim beside the base's."""

    base_value: int | None = Field(description="What the base reaches; null when it has no sequence.")
    base_bound: int | None = Field(description="No sequence of the base has a smaller value.")


class ComparedFutureJson(Json):
    """The base, or what a what-if makes of it."""

    name: str = Field(description="`base`, or the what-if's.")
    status: Status = Field(validation_alias=AliasPath("answer", "status"), description="What was found, as in an answer.")
    changes: list[WrittenChange] = Field(description="All that is changed, those of the what-ifs it builds on first.")
    text: list[Told] = Field(description="The changes in words.")
    periods: list[ClassPeriodsJson] = Field(description="What becomes of the classes' periods.")
    moved: int | None = Field(
        description="How many lessons of the base lie elsewhere or are not placed; null without a sequence of both."
    )
    fewest_moved: int | None = Field(description="No sequence moves fewer; null where that was not asked for.")
    moves: list[ShiftedLessonJson] | None = Field(
        validation_alias="shifts", description="The lessons that lie elsewhere; null without a sequence of both."
    )
    left_out: list[LessonNameJson] = Field(description="Optional lessons that were not placed.")
    carried_over: list[LessonNameJson] = Field(description="Lessons with something left to the next plan.")
    live_quotas: list[LiveQuotaMetJson] = Field(validation_alias="quotas", description="Every live quota, and whether it is met.")
    aims: list[ComparedAimJson] = Field(description="What was reached beside what the base reaches.")
    explanation: ExplanationJson | None = Field(description="Why there is no sequence: the first conflict, and ways out.")
    impossible_for: list[str] = Field(
        validation_alias="hopeless",
        description="Classes of that conflict; where the others have a sequence without them, all else is told of that.",
    )
    run: RunFactsJson = Field(validation_alias=AliasPath("answer", "run"), description="How it came about.")


class ComparedJson(Json):
    """The what-ifs of a scenario beside it."""

    format: FormatNumber = Field(description="Version of this form.")
    title: str | None = Field(description="Title of the scenario.")
    made: Literal["freely", "close to the base"] = Field(description="How what-ifs were planned.")
    base: ComparedFutureJson = Field(description="The scenario as it is.")
    what_ifs: list[ComparedFutureJson] = Field(description="Each what-if, in the scenario's order.")
    shared_opening: SharedOpeningJson | None = Field(
        None, description="The opening, where `opening_until` is a date; not there otherwise."
    )
    shared_openings: list[SharedOpeningJson] | None = Field(
        None, description="An opening for every date of the list `opening_until`; not there otherwise."
    )
    decisions: list[DecisionJson] | None = Field(
        None, description="What is lost with each of those dates, in order of time; not there otherwise."
    )


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as JSON; what may differ between two runs stands under ``run``."""
    return {
        "format": 1,
        "title": comparison.scenario.title,
        "made": "close to the base" if comparison.close else "freely",
        "base": future_json(comparison.base, comparison.base),
        "what_ifs": [future_json(future, comparison.base) for future in comparison.futures],
    }


def future_json(future: Future, base: Future) -> dict[str, Any]:
    """Return one future as JSON, beside the base."""
    bases = {aim.aim: aim for aim in base.answer.aims}
    aims = [
        {**asdict(aim), "base_value": bases[aim.aim].value if aim.aim in bases else None,
         "base_bound": bases[aim.aim].bound if aim.aim in bases else None}
        for aim in future.shown.aims
    ]  # fmt: skip
    text = [change_text(change, base.answer.instance.scenario) for change in future.changes]
    told = With(future, text=text, aims=aims, explanation=explained(future.explanation))
    return ComparedFutureJson.of(told, base.answer.instance).data()
