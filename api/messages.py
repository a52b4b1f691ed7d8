"""Request and response bodies that exist only because of HTTP, and the shape of those that do not, for the description.

Answers and verdicts are written by ``sequencer``; a test holds them to the models here.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from sequencer import FORMATS, MOST_ALTERNATIVES

MOST_LISTED = 20
"""Conflicts, and repairs, that an explanation lists at most."""

OPTIONS = {
    "seconds": "must be given once, a number of seconds of more than 0",
    "seed": "must be given once, a whole number from 0 to 2147483647",
    "workers": "must be given once, a whole number from 1 to 64",
    "alternatives": f"must be given once, a whole number from 0 to {MOST_ALTERNATIVES}",
    "on": "must be given once, a date such as 2026-11-13",
    "best": "must be given once, true or false",
    "complete": "must be given once, true or false",
    "lesson": "must be given once, a class and a lesson of it such as 9B:rivers/meanders",
    "conflicts": f"must be given once, a whole number from 1 to {MOST_LISTED}",
    "close": "must be given once, true or false",
    "most_moved": "must be given once, a whole number from 0 to 20000",
    "trade_off": "must be given once, true or false",
    "repairs": f"must be given once, a whole number from 1 to {MOST_LISTED}",
    "loss": "must be given once, aims of the scenario and whole numbers, such as distance=2,even load=1",
    "format": f"must be given once, one of {', '.join(each.name for each in FORMATS)}",
    "copy": "must be given once, true or false, and goes with a sheet, calendar or table",
    "starters": "must be given once, true or false, and goes with a sheet, calendar, table or coverage",
    "class": "must be the id of a class; it may be given several times",
    "teacher": "must be the name of a teacher; it may be given several times for a sequence, once for preparation",
}
"""The options in the query string, and what each must be."""

SEVERAL = ("class", "teacher")
"""Options that may be given several times."""


SAID_FORMS = ("json", "text")
"""The forms of what is said about a scenario."""


def form_option(forms: Iterable[str], words: str = "") -> Any:
    """The option that names the form of an answer. The handler refuses the others, since it can say which there are."""
    named = list(forms)
    says = f"The form of the answer: {words or ', '.join(named)}. Unless stated, the one that Accept prefers."
    return Field(max_length=20, description=says, json_schema_extra={"enum": [*named, None]})


class ShowOptions(BaseModel):
    """What a query string says of the form of an answer, and of whom it shows."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    format: Annotated[
        str | None,
        form_option((each.name for each in FORMATS), ", ".join(f"{each.name} ({each.what})" for each in FORMATS)),
    ] = None
    class_: Annotated[
        list[str],
        Field(alias="class", max_length=200, description="Only these classes on sheets, in calendars and in tables."),
    ] = []
    teacher: Annotated[
        list[str], Field(max_length=200, description="Only these teachers' lessons on sheets, in calendars and in tables.")
    ] = []
    copy_: Annotated[
        bool,
        Field(alias="copy", description="A copy for colleagues or pupils: without private notes and what is to be prepared."),
    ] = False


class SolveOptions(ShowOptions):
    """The query string of a solve."""

    seconds: Annotated[
        float | None, Field(gt=0, allow_inf_nan=False, description="Time allowed, no more than the server allows.")
    ] = None
    seed: Annotated[int, Field(ge=0, le=2**31 - 1, description="Seed of the search.")] = 0
    workers: Annotated[
        int | None, Field(ge=1, le=64, description="Searches at once, no more than the server allows; answers depend on it.")
    ] = None
    alternatives: Annotated[
        int,
        Field(
            ge=0,
            le=MOST_ALTERNATIVES,
            description="How many further sequences to look for that are as good, as different as can be; in the same time.",
        ),
    ] = 0
    loss: Annotated[
        str | None,
        Field(
            max_length=200,
            description="How much worse each of the last aims may be in alternatives, such as distance=2,even load=1.",
        ),
    ] = None
    starters: Annotated[
        bool, Field(description="Assign starters too, and say on sheets, in calendars and tables what each lesson opens with.")
    ] = False


class ExplainOptions(BaseModel):
    """The query string of an explanation."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    seconds: Annotated[
        float | None, Field(gt=0, allow_inf_nan=False, description="Time allowed, no more than the server allows.")
    ] = None
    conflicts: Annotated[int, Field(ge=1, le=MOST_LISTED, description="How many disjoint conflicts to list at most.")] = 3
    repairs: Annotated[int, Field(ge=1, le=MOST_LISTED, description="How many repairs to list at most.")] = 3
    format: Annotated[str | None, form_option(SAID_FORMS)] = None
    lesson: Annotated[
        str | None,
        Field(
            max_length=200,
            pattern=r"^[^:]+:[^/]+/[^/]+$",
            description="A lesson, as class:unit/lesson: say instead where else it could lie in the best sequence, and what that "
            "would cost or what forbids it.",
        ),
    ] = None


_DATE: dict[str, Any] = {"format": "date"}


class _Message(BaseModel):
    model_config = ConfigDict(extra="forbid")


# -- answers -----------------------------------------------------------------------------------------------------------


class LessonName(_Message):
    """Which lesson of which class."""

    class_: str = Field(alias="class", description="The class.")
    unit: str = Field(description="Id of the lesson's unit.")
    lesson: str = Field(description="Id of the lesson, unique in its unit.")


class Slot(_Message):
    """A period of a class on a date."""

    date: str = Field(description="The date.", json_schema_extra={"format": "date"})
    weekday: Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"] = Field(description="Its weekday.")
    week: int = Field(description="Number of the school week, from 1.")
    label: str = Field(description="Label of the week, such as A.")
    period: int = Field(description="Number of the period in the school day.")
    slot: int = Field(description="Number among the class's periods, from 0.")


class UnitLesson(_Message):
    """A lesson of the same class."""

    unit: str = Field(description="Id of the lesson's unit.")
    lesson: str = Field(description="Id of the lesson, unique in its unit.")


class Revisit(UnitLesson):
    """A lesson that is met again."""

    days: int = Field(description="Days since that lesson.")
    how: Literal["lesson", "starter"] = Field(description="Whether the retrieval lesson meets it again, or a starter.")


class HomeworkSet(_Message):
    """Homework that serves as practice, set in the lesson."""

    title: str = Field(description="What pupils do.")
    due: str | None = Field(description="Date on which it is due; null when that is in the next plan.", json_schema_extra=_DATE)


class PlacedLesson(LessonName, Slot):
    """A lesson and where it lies; a longer one takes the periods that follow as well."""

    title: str = Field(description="Title; the id where none is stated.")
    kind: Literal["teach", "practice", "retrieval", "feedback", "assessment"] = Field(description="What kind of lesson it is.")
    load: int = Field(description="How much it asks of pupils, on the scenario's scale.")
    length: int = Field(description="Number of periods.")
    taught: Literal["in class", "live", "set work"] = Field(description="In class, or remotely: live or as set work.")
    made: bool = Field(description="Whether a pattern made it.")
    delivered: bool = Field(description="Whether it was taught already.")
    practises: list[UnitLesson] = Field(description="What a practice lesson practises.")
    revisits: list[Revisit] = Field(description="The lessons met again in it.")
    homework: HomeworkSet | None = Field(description="Homework set in it that serves as practice; null for none.")


class AimResult(_Message):
    """What was reached on one aim; smaller is better."""

    aim: str = Field(description="Name of the aim.")
    value: int | None = Field(description="Null when there is no sequence.")
    bound: int | None = Field(description="No sequence has a smaller value.")
    proven: bool = Field(description="Whether value and bound are equal: proven best.")
    conditional: bool = Field(description="Whether the bound holds only for the values reached on earlier aims.")


class SparePeriod(Slot):
    """A period that holds no lesson."""

    class_: str = Field(alias="class", description="The class.")


class CarriedOver(LessonName):
    """A lesson whose practice or retrieval is left to the next plan."""

    what: Literal["practice", "retrieval"] = Field(description="What is left to do.")
    number: int = Field(description="Which of the lesson's retrievals, from 1.")


class LateRetrieval(LessonName):
    """A lesson met again later than its window."""

    date: str = Field(description="When it is met again.", json_schema_extra={"format": "date"})


class LeftOut(LessonName):
    """An optional lesson that was not placed."""

    priority: int = Field(description="What leaving it out costs in the aim `left out`.")


class Drift(_Message):
    """How far a class has got in a unit that it shares with others, in what was delivered."""

    class_: str = Field(alias="class", description="The class.")
    unit: str = Field(description="Id of the unit.")
    lesson: str | None = Field(description="The last lesson delivered; null when none is.")
    lessons: int = Field(description="How many lessons it is behind the furthest class, of those that both have to have.")
    days: int = Field(description="The most days by which it had a lesson later than the first class to have it.")


class Period(_Message):
    """A period on a date."""

    date: str = Field(description="The date.", json_schema_extra={"format": "date"})
    period: int = Field(description="Number of the period in the school day.")


class Breach(_Message):
    """A rule that a sequence breaks."""

    rule: int = Field(description="Number of the rule in the README.")
    name: str = Field(description="Name of the rule.")
    classes: list[str] = Field(description="The classes concerned.")
    lessons: list[LessonName] = Field(description="The lessons concerned.")
    periods: list[Period] = Field(description="The periods concerned.")
    message: str = Field(description="What breaks the rule, in a sentence.")
    past: bool = Field(description="Whether what was delivered, and today's date, leave nothing that could mend it.")


class Wish(_Message):
    """A rule marked as a preference, or a wish to be live or not, that a sequence does not grant."""

    rule: int = Field(description="Number of the rule in the README.")
    name: str = Field(description="Name of the rule.")
    classes: list[str] = Field(description="The classes concerned.")
    lessons: list[LessonName] = Field(description="The lessons concerned.")
    units: int = Field(description="By how much, in the rule's unit of violation.")
    weight: int = Field(description="Weight of the wish: units times weight is what it adds to the aim `wishes`.")
    message: str = Field(description="What is not granted, in a sentence.")


class Verdict(_Message):
    """The referee's judgement of a sequence."""

    sound: bool = Field(description="Whether every rule holds that still can.")
    breaches: list[Breach] = Field(description="Every rule broken, and where.")
    wishes: list[Wish] = Field(description="The wishes that are not granted.")
    aims: dict[str, int] = Field(description="Every aim as the referee counts it.")


class RunFacts(_Message):
    """How an answer came about; everything that may differ from run to run is here."""

    seconds: float = Field(description="Time that all of it took.")
    build_seconds: float = Field(description="Time that setting it up took, of that.")
    seed: int = Field(description="Seed of the search.")
    workers: int = Field(description="Searches at once.")
    repeatable: bool = Field(description="Whether the same request gives the same answer.")
    stopped_by: Literal["hand", "time", "effort"] | None = Field(
        description="What ended the search before all was proven; null when all was."
    )
    version: str = Field(description="Version of this program.")
    solver: str = Field(description="Name and version of the solver.")
    seconds_allowed: float = Field(description="What was asked for, or what this server allows if that is less.")


class MovedLesson(LessonName):
    """A lesson that lies elsewhere than in the best sequence."""

    title: str = Field(description="Title; the id where none is stated.")
    from_: Slot | None = Field(alias="from", description="Where the best sequence has it; null when it leaves it out.")
    to: Slot | None = Field(description="Where it lies instead; null when it is left out.")


class Laid(_Message):
    """A sequence of lessons, and what it leaves spare, for later, or out."""

    lessons: list[PlacedLesson] = Field(description="The lessons by date and period.")
    spare: list[SparePeriod] = Field(description="Periods that hold no lesson.")
    carried_over: list[CarriedOver] = Field(description="What is left to the next plan.")
    late: list[LateRetrieval] = Field(description="Lessons met again later than their windows.")
    left_out: list[LeftOut] = Field(description="Optional lessons that were not placed.")


class Alternative(Laid):
    """A further sequence as good as the best one, or within the loss allowed."""

    difference: int = Field(description="Least number of lessons that lie elsewhere than in one of the sequences before it.")
    bound: int = Field(description="No sequence as good differs from each of those before it in more lessons.")
    proven: bool = Field(description="Whether difference and bound are equal: none is more different.")
    aims: dict[str, int] = Field(description="Every aim of the scenario as the referee counts it.")
    moved: list[MovedLesson] = Field(description="What lies elsewhere than in the best sequence.")


class Further(_Message):
    """What was asked for beyond the best sequence, and whether there is more than was found."""

    asked: int = Field(description="Number of alternatives asked for.")
    loss: dict[str, int] = Field(description="How much worse than in the best sequence an aim may be.")
    none_left: bool = Field(description="Proven: no further dates and periods are as good, or within the loss.")


class Stated(_Message):
    """A statement of the scenario, and where it stands."""

    kind: str = Field(description="What it is, such as closure, lesson (it has to be taught), requires, quota.")
    text: str = Field(description="The statement in a sentence.")
    where: str = Field(description="Its place in the scenario, for people.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    line: int | None = Field(description="Line in the body, from 1.")
    column: int | None = Field(description="Column in that line, from 1.")
    lessons: list[LessonName] = Field(description="The lessons concerned.")


class Conflict(_Message):
    """Statements that cannot all hold, while without any one of them the others can."""

    text: str = Field(description="What does not come out, in a sentence.")
    because: list[str] = Field(description="The statements in sentences, in the order of the scenario.")
    proven_minimal: bool = Field(description="Whether each statement was shown to be needed for the conflict.")
    statements: list[Stated] = Field(description="The same statements with their places.")


class RepairAim(_Message):
    """What the repaired scenario reaches on one aim."""

    aim: str = Field(description="Name of the aim.")
    value: int = Field(description="Its value; smaller is better.")
    proven: bool = Field(description="Whether that is proven best.")


class Repair(_Message):
    """Changes that make the whole scenario possible: tried by a full solve, and passed by the referee."""

    cost: int = Field(description="By the scenario's `repair_costs`.")
    text: list[str] = Field(description="Each change in words.")
    changes: list[dict[str, Any]] = Field(description="The changes, as a what-if lists them.")
    proven_cheapest: bool = Field(description="Whether it is proven that nothing cheaper would do.")
    aims: list[RepairAim] = Field(description="What the repaired scenario reaches.")


class Explanation(_Message):
    """Why a scenario has no sequence, and what would give it one."""

    format: Literal[1] = Field(description="Version of this form.")
    possible: bool | None = Field(description="Whether it has a sequence; null when that was not settled in time.")
    conflicts: list[Conflict] = Field(description="Conflicts that share no statement.")
    more_conflicts: bool | None = Field(description="Whether there are more, apart from these; null when that is not known.")
    repairs: list[Repair] = Field(description="Those that cost least first; none is part of another.")
    nothing_cheaper: bool | None = Field(description="Whether everything cheaper than the first repair was ruled out.")
    no_more: bool = Field(description="Whether it is sure that every further repair holds one of these.")


class Answer(Laid):
    """The answer to a scenario: proven best, best found, proof that no sequence exists, or none found in the time."""

    format: Literal[1] = Field(description="Version of this form.")
    status: Literal["optimal", "feasible", "infeasible", "unknown"] = Field(
        description="Proven best (optimal), best found (feasible), none exists (infeasible), none found in the time (unknown)."
    )
    title: str | None = Field(description="Title of the scenario.")
    aims: list[AimResult] = Field(description="What was reached, the most important aim first.")
    skipped: list[LessonName] = Field(description="Lessons that the record says are not taught and not to be.")
    drift: list[Drift] = Field(description="Parallel classes side by side, for units that one of them has begun.")
    notes: list[str] = Field(description="Demands that were cut to what is possible.")
    cautions: list[str] = Field(description="What the lessons call for, where the school's own policies come first.")
    verdict: Verdict | None = Field(description="The referee's judgement of the sequence; null when there is none.")
    alternatives: list[Alternative] = Field(description="Further sequences, each as different as can be from all before it.")
    further: Further | None = Field(description="Null unless alternatives were asked for and there is a sequence.")
    explanation: Explanation | None = Field(
        description="Where no sequence exists: the first conflict, and one change that helps."
    )
    run: RunFacts = Field(description="How it came about.")


class Misfit(_Message):
    """Something of a scenario that does not fit the new calendar, and what became of it."""

    where: str = Field(description="Its place in the scenario handed in, for people; empty for no single place.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    text: str = Field(description="A sentence.")


class MovedDate(_Message):
    """A date that moved to the same weekday of the school week with the same number."""

    where: str = Field(description="Its place in the scenario handed in, for people.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    old: str = Field(description="The date before.", json_schema_extra={"format": "date"})
    new: str = Field(description="The date now.", json_schema_extra={"format": "date"})
    school_day: bool | None = Field(description="Whether the new date is a school day; null outside the new term.")


class Redated(_Message):
    """A scenario on a new calendar."""

    scenario: dict[str, Any] = Field(description="The new scenario.")  # the description refers to the shape of scenarios
    no_longer_fits: list[Misfit] = Field(description="What was left out or needs another look.")
    moved: list[MovedDate] = Field(description="Every date that moved.")


class Rolled(_Message):
    """A skeleton of the next term."""

    scenario: dict[str, Any] = Field(description="The new scenario.")  # the description refers to the shape of scenarios
    carried: list[str] = Field(description="What was carried over from this term, in sentences.")
    to_fill_in: list[str] = Field(description="What has still to be said.")
    no_longer_fits: list[str] = Field(description="What was left out.")


def answer_body(answer: dict[str, Any], seconds_allowed: float) -> dict[str, Any]:
    """An answer, and the time that this server allowed for it."""
    return {**answer, "run": {**answer["run"], "seconds_allowed": seconds_allowed}}


# -- health and problems -----------------------------------------------------------------------------------------------


class Health(_Message):
    """That the service runs, and how busy it is."""

    status: Literal["ok"] = Field(description="That it runs.")
    running: int = Field(description="Solves that run.")
    waiting: int = Field(description="Solves that wait for their turn.")


class ProblemDocument(BaseModel):
    """A problem document (RFC 9457)."""

    type: str = Field(description="Address that says what this type of problem means.")
    title: str = Field(description="Name of the status.")
    status: int = Field(description="Status of the response.")
    detail: str = Field(description="What happened this time, in a sentence.")
    instance: str | None = Field(None, description="Names the request, as `X-Request-Id` and the server's log do; of a defect.")
    limit: str | None = Field(None, description="The limit that the request goes beyond; only there.")
    most: float | None = Field(None, description="Its value.")
    setting: str | None = Field(None, description="The variable in the server's environment that sets it.")


class ProblemType(_Message):
    """What a type of problem document means."""

    type: str = Field(description="Its address, as problem documents give it.")
    title: str = Field(description="Name of the status.")
    status: int = Field(description="Status that it comes with.")
    says: str = Field(description="What it means, and what to do about it.")


class BegunEvent(_Message):
    """That a streamed search has begun, as data of a `begun` event."""

    stop: str = Field(description="Address at which DELETE stops the search, which then answers with the best it has.")


class ProgressEvent(_Message):
    """What a search has reached on an aim, as data of a `progress` event."""

    aim: str = Field(description="Name of the aim, or `alternative` and its number.")
    classes: list[str] = Field(description="Classes that are searched together; other classes tell of their own.")
    value: int = Field(description="Best value so far.")
    bound: int = Field(description="No smaller value is possible, given what was reached on earlier aims.")
    seconds: float = Field(description="Since the search for these classes began.")


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

    problems: list[InputProblem] = Field(description="Everything that is wrong, in the order of the document.")
