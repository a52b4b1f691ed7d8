"""Request and response bodies that exist only because of HTTP, and the shape of those that do not, for the description.

Answers and verdicts are written by ``sequencer``; a test holds them to the models here.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

OPTIONS = {
    "seconds": "must be given once, a number of seconds of more than 0",
    "seed": "must be given once, a whole number from 0 to 2147483647",
}
"""The options of a solve in the query string, and what each must be."""


class SolveOptions(BaseModel):
    """The query string of a solve."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    seconds: Annotated[
        float | None, Field(gt=0, allow_inf_nan=False, description="Time allowed, no more than the server allows.")
    ] = None
    seed: Annotated[int, Field(ge=0, le=2**31 - 1, description="Seed of the search.")] = 0


class _Message(BaseModel):
    model_config = ConfigDict(extra="forbid")


# -- answers -----------------------------------------------------------------------------------------------------------


class LessonName(_Message):
    """Which lesson of which class."""

    class_: str = Field(alias="class")
    unit: str
    lesson: str


class Slot(_Message):
    """A period of a class on a date."""

    date: str = Field(json_schema_extra={"format": "date"})
    weekday: Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    week: int = Field(description="Number of the school week, from 1.")
    label: str = Field(description="Label of the week, such as A.")
    period: int
    slot: int = Field(description="Number among the class's periods, from 0.")


class Revisit(_Message):
    """A lesson that is met again."""

    unit: str
    lesson: str
    days: int = Field(description="Days since that lesson.")


class PlacedLesson(LessonName, Slot):
    """A lesson and where it lies; a longer one takes the periods that follow as well."""

    title: str
    kind: Literal["teach", "practice", "retrieval", "feedback", "assessment"]
    load: int
    length: int = Field(description="Number of periods.")
    taught: Literal["in class", "live", "set work"]
    revisits: list[Revisit]


class AimResult(_Message):
    """What was reached on one aim; smaller is better."""

    aim: str
    value: int | None = Field(description="Null when there is no sequence.")
    bound: int | None = Field(description="No sequence has a smaller value.")
    proven: bool = Field(description="Whether value and bound are equal: proven best.")
    conditional: bool = Field(description="Whether the bound holds only for the values reached on earlier aims.")


class SparePeriod(Slot):
    """A period that holds no lesson."""

    class_: str = Field(alias="class")


class CarriedOver(LessonName):
    """A lesson whose practice or retrieval is left to the next plan."""

    what: Literal["practice", "retrieval"]


class LateRetrieval(LessonName):
    """A lesson met again later than its window."""

    date: str = Field(json_schema_extra={"format": "date"})


class LeftOut(LessonName):
    """An optional lesson that was not placed."""

    priority: int


class Period(_Message):
    """A period on a date."""

    date: str = Field(json_schema_extra={"format": "date"})
    period: int


class Breach(_Message):
    """A rule that a sequence breaks."""

    rule: int
    name: str
    classes: list[str]
    lessons: list[LessonName]
    periods: list[Period]
    message: str


class Verdict(_Message):
    """The referee's judgement of a sequence."""

    sound: bool = Field(description="Whether every rule holds.")
    breaches: list[Breach]
    aims: dict[str, int] = Field(description="Every aim as the referee counts it.")


class RunFacts(_Message):
    """How an answer came about; everything that may differ from run to run is here."""

    seconds: float
    build_seconds: float
    seed: int
    workers: int
    repeatable: bool = Field(description="Whether the same request gives the same answer.")
    stopped_by: Literal["hand", "time", "effort"] | None
    version: str
    solver: str
    seconds_allowed: float = Field(description="What was asked for, or what this server allows if that is less.")


class Answer(_Message):
    """The answer to a scenario: proven best, best found, proof that no sequence exists, or none found in the time."""

    format: Literal[1]
    status: Literal["optimal", "feasible", "infeasible", "unknown"]
    title: str | None
    lessons: list[PlacedLesson]
    aims: list[AimResult]
    spare: list[SparePeriod]
    carried_over: list[CarriedOver]
    late: list[LateRetrieval]
    left_out: list[LeftOut]
    notes: list[str] = Field(description="Demands that were cut to what is possible.")
    cautions: list[str] = Field(description="What the lessons call for, where the school's own policies come first.")
    verdict: Verdict | None
    run: RunFacts


class Misfit(_Message):
    """Something of a scenario that does not fit the new calendar, and what became of it."""

    where: str = Field(description="Its place in the scenario handed in, for people; empty for no single place.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    text: str = Field(description="A sentence.")


class MovedDate(_Message):
    """A date that moved to the same weekday of the school week with the same number."""

    where: str = Field(description="Its place in the scenario handed in, for people.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    old: str = Field(json_schema_extra={"format": "date"})
    new: str = Field(json_schema_extra={"format": "date"})
    school_day: bool = Field(description="Whether the new date is a school day.")


class Redated(_Message):
    """A scenario on a new calendar."""

    scenario: dict[str, Any] = Field(description="The new scenario.")  # the description refers to the shape of scenarios
    no_longer_fits: list[Misfit] = Field(description="What was left out or needs another look.")
    moved: list[MovedDate]


def answer_body(answer: dict[str, Any], seconds_allowed: float) -> dict[str, Any]:
    """An answer, and the time that this server allowed for it."""
    return {**answer, "run": {**answer["run"], "seconds_allowed": seconds_allowed}}


# -- health and problems -----------------------------------------------------------------------------------------------


class Health(_Message):
    """That the service runs, and how busy it is."""

    status: Literal["ok"]
    running: int = Field(description="Solves that run.")
    waiting: int = Field(description="Solves that wait for their turn.")


class ProblemDocument(BaseModel):
    """A problem document (RFC 9457)."""

    type: str = Field(description="about:blank: the status says all there is to say.")
    title: str
    status: int
    detail: str


class InputProblem(_Message):
    """One thing that is wrong with a document, and where."""

    where: str = Field(description="Path for people, such as units[2].lessons[0].length; empty for the whole document.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    line: int | None = Field(description="Line in the body, from 1.")
    column: int | None = Field(description="Column in that line, from 1.")
    message: str = Field(description="What is wrong there.")
    text: str = Field(description="Place and message in one line, as the command line prints them.")


class UnusableInputProblem(ProblemDocument):
    """A document that cannot be used: every problem found, in the order of the document (at most 500)."""

    problems: list[InputProblem]
