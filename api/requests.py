"""What a request may hold: the options in the query string, and the bodies, which the product's own readers read.

The bodies are models for the description only, so that each is described as the scenario language is.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, RootModel

from sequencer import (
    AROUND_FORMS,
    FORMATS,
    MOST_ALTERNATIVES,
    MOST_DATES,
    MOST_WEIGHT,
    Change,
    Day,
    GivenSequence,
    NewCalendar,
    PastedLists,
    RecordEntry,
    Scenario,
    Shown,
    WhatIf,
    WholeTerm,
    around_named,
    read_day,
)

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
    "lesson": "must be given once, a class and a lesson of it such as 9B:Meanders",
    "conflicts": f"must be given once, a whole number from 1 to {MOST_LISTED}",
    "close": "must be given once, true or false",
    "most_moved": "must be given once, a whole number from 0 to 20000",
    "trade_off": "must be given once, true or false",
    "repairs": f"must be given once, a whole number from 1 to {MOST_LISTED}",
    "loss": "must be given once, aims of the scenario and whole numbers, such as distance=2,even load=1",
    "format": f"must be given once, one of {', '.join(each.name for each in FORMATS)}",
    "copy": "must be given once, true or false, and goes with a sheet, calendar or table",
    "starters": "must be given once, true or false, and goes with a sheet, calendar, table or coverage",
    "undo": "must be given once, true or false",
    "class": "must be the id of a class; it may be given several times",
    "week": "must be the number of a school week; it may be given several times, and goes with a sheet",
    "minutes": "must be given once, a whole number from 1 to 480",
    "teacher": "must be the name of a teacher; it may be given several times for a sequence, once for preparation",
    "country": "must be given once, such as England, or Canada, Ontario",
    "first": "must be given once, a date such as 2027-01-04",
    "last": "must be given once, a date such as 2027-04-01",
    "after": "must be given once, the name of a term",
    "keep": "must be given once, true or false",
    "since": "must be given once, a whole number from 0, the version of a term",
    "limit": "must be given once, a whole number from 1 to 500",
}
"""The options in the query string, and what each must be."""

SEVERAL = ("class", "teacher", "week")
"""Options that may be given several times."""

SAID_FORMS = ("json", "text")
"""The forms of what is said about a scenario."""

REPLAN_FORMS = ("json", "notice", "notice-text", "text", "notice-json")
"""Of a plan made again: all of it, or what has changed for colleagues; which of those of one media type is preferred."""


def _form(forms: Iterable[str], words: str = "") -> Any:
    """The option that names the form of an answer. The handler refuses the others, since it can say which there are."""
    named = list(forms)
    says = f"The form of the answer: {words or ', '.join(named)}. Unless stated, the one that Accept prefers."
    return Field(max_length=20, description=says, json_schema_extra={"enum": [*named, None]})


_ALL_FORMS = _form((each.name for each in FORMATS), ", ".join(f"{each.name} ({each.what})" for each in FORMATS))


_A_DAY = Field(max_length=10, json_schema_extra={"format": "date"})


class Closed(BaseModel):
    """Base of what holds nothing but what it says."""

    model_config = ConfigDict(extra="forbid", frozen=True, from_attributes=True)


class _Timed(Closed):
    seconds: Annotated[float | None, Field(gt=0, allow_inf_nan=False)] = Field(
        None, description="Time allowed, no more than the server allows."
    )


class _Searched(_Timed):
    workers: Annotated[int | None, Field(ge=1, le=64)] = Field(
        None, description="Searches at once, no more than the server allows; answers depend on it."
    )


class ShowOptions(Closed):
    """What a query string says of the form of an answer, and of whom it shows."""

    format: Annotated[str | None, _ALL_FORMS] = None
    class_: Annotated[list[str], Field(max_length=200)] = Field(
        [], alias="class", description="Only these classes on sheets, in calendars and in tables."
    )
    teacher: Annotated[list[str], Field(max_length=200)] = Field(
        [], description="Only these teachers' lessons on sheets, in calendars and in tables."
    )
    week: Annotated[list[int], Field(max_length=200)] = Field([], description="Only these school weeks on sheets.")
    on: Annotated[str | None, _A_DAY] = Field(None, description="On sheets only the week of this day.")
    copy_: bool = Field(
        False,
        alias="copy",
        description="A copy for colleagues or pupils: without private notes and what is to be prepared.",
    )

    def shown(self) -> Shown:
        """What is asked for beside the form."""
        of_day = (read_day(self.on, "on"),) if self.on is not None else ()
        return Shown(tuple(self.class_), tuple(self.teacher), copy=self.copy_, weeks=(*self.week, *of_day))


class AroundOptions(_Searched):
    """The query string of a solve whose sequence itself is not asked for."""

    seed: Annotated[int, Field(ge=0, le=2**31 - 1)] = Field(0, description="Seed of the search.")
    format: Annotated[str | None, _form(AROUND_FORMS)] = None


class AssessmentsOptions(AroundOptions):
    """The query string of assessments."""

    format: Annotated[str | None, _form(around_named("assessments").forms)] = None


class SolveOptions(ShowOptions, AroundOptions):
    """The query string of a solve."""

    format: Annotated[str | None, _ALL_FORMS] = None
    alternatives: Annotated[int, Field(ge=0, le=MOST_ALTERNATIVES)] = Field(
        0, description="How many further sequences to look for that are as good, as different as can be; in the same time."
    )
    loss: Annotated[str | None, Field(max_length=200)] = Field(
        None, description="How much worse each of the last aims may be in alternatives, such as distance=2,even load=1."
    )
    starters: bool = Field(
        False, description="Assign starters too, and say on sheets, in calendars and tables what each lesson opens with."
    )


class CoverageOptions(AroundOptions):
    """The query string of a coverage."""

    starters: bool = Field(
        False, description="Whether starters are assigned too, and count as meeting again beside those of rule 4."
    )


class PreparationOptions(AroundOptions):
    """The query string of a preparation."""

    on: Annotated[str | None, _A_DAY] = Field(
        None, description="The day on which it is asked; the scenario's today, or the first day of term, unless stated."
    )
    teacher: Annotated[str | None, Field(max_length=200)] = Field(None, description="Whose it is; everyone's unless stated.")


class OutlineOptions(AroundOptions):
    """The query string of outlines."""

    lesson: Annotated[str | None, Field(max_length=300)] = Field(
        None, description="Only this lesson: a class, a colon, and its title or unit/id."
    )
    minutes: Annotated[int | None, Field(ge=1, le=480)] = Field(
        None, description="What if periods had so many minutes; as stated unless given."
    )
    on: Annotated[str | None, _A_DAY] = Field(None, description="The only day whose periods have so many minutes.")
    starters: bool = Field(False, description="Whether starters are assigned too; on sheets they fill the recall parts.")
    copy_: bool = Field(False, alias="copy", description="A copy for pupils, as a sheet: with objectives to tick.")
    complete: bool = Field(False, description="Whether the outlines `by_hand` are completed, not judged.")


class ReplanOptions(AroundOptions):
    """The query string of a plan made again."""

    format: Annotated[str | None, _form(REPLAN_FORMS)] = None
    most_moved: Annotated[int | None, Field(ge=0, le=20000)] = Field(
        None, description="The best sequence in which no more lessons move; the fewest unless given."
    )
    trade_off: bool = Field(False, description="Whether the best sequence for each number of moves is listed instead.")


class KeptWeekOptions(AroundOptions):
    """The query string of a week of a term that is kept."""

    format: Annotated[str | None, _form(("json",))] = None
    on: Annotated[str | None, _A_DAY] = Field(
        None, description="The day it is, by which the plan before is named; the server's day unless stated."
    )


class WeekOptions(KeptWeekOptions):
    """The query string of a week of a term."""

    undo: bool = Field(False, description="Whether the week before is brought back instead.")


class CompareOptions(AroundOptions):
    """The query string of a comparison."""

    format: Annotated[str | None, _form(SAID_FORMS)] = None
    close: bool = Field(
        False, description="Whether each what-if keeps as many lessons where the base has them as can be, before any aim."
    )


class CheckOptions(_Searched):
    """The query string of a check; the time is for each of ``best`` and ``complete``."""

    best: bool = Field(False, description="Put the aims beside those of the best sequence.")
    complete: bool = Field(False, description="Say whether a part of a sequence can be completed, and how.")
    format: Annotated[str | None, _form(SAID_FORMS)] = None


class HolidayOptions(Closed):
    """The query string of a list of bank holidays."""

    country: Annotated[str, Field(max_length=80)] = Field(
        description="A country, with a part of it where there is one: England, or Canada, Ontario."
    )
    first: Annotated[str, _A_DAY] = Field(description="The first day that is asked about.")
    last: Annotated[str, _A_DAY] = Field(description="The last one.")


class ExplainOptions(_Timed):
    """The query string of an explanation."""

    conflicts: Annotated[int, Field(ge=1, le=MOST_LISTED)] = Field(3, description="How many disjoint conflicts to list at most.")
    repairs: Annotated[int, Field(ge=1, le=MOST_LISTED)] = Field(3, description="How many repairs to list at most.")
    format: Annotated[str | None, _form(SAID_FORMS)] = None
    lesson: Annotated[str | None, Field(max_length=300)] = Field(
        None,
        description="A lesson: a class, a colon, and its title or unit/id; the title alone where one class has it. Say instead "
        "where else it could lie in the best sequence, and what that would cost or what forbids it.",
    )


# -- bodies ------------------------------------------------------------------------------------------------------------


def _may(description: str, **more: Any) -> Any:
    """What need not be there."""
    return Field(default_factory=lambda: None, description=description, **more)


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", defer_build=True)


class AnswerRow(BaseModel):
    """A lesson as an answer has it."""

    model_config = ConfigDict(extra="allow", defer_build=True)


class RecordBeside(_Body):
    """What happened, with the day up to which it is told."""

    today: Day = _may("The day up to which it is told.")
    record: list[RecordEntry] = Field(description="What happened, in any order.")


class AnswerTold(BaseModel):
    """An answer whose lessons say what became of them."""

    model_config = ConfigDict(defer_build=True)

    lessons: list[AnswerRow] = Field(description="Its lessons.")


class RecordFile(RootModel[RecordBeside | AnswerTold]):
    """What happened; or an answer, in whose `lessons` those that have come about say `what` became of them."""

    model_config = ConfigDict(defer_build=True)


class _WithRecord(_Body):
    scenario: Scenario = Field(description="The scenario.")
    record: RecordFile = _may("What happened since.")


class Check(_WithRecord):
    """A scenario, and a sequence to be judged by it: an answer, or its `lessons`; without one the scenario's own pins."""

    sequence: GivenSequence = _may("The sequence.")


class Rolling(_WithRecord):
    """This term's scenario and sequence, and the next term's first and last day."""

    sequence: GivenSequence = Field(description="The sequence.")
    first: Day = Field(description="The next term's first day.")
    last: Day = Field(description="Its last day.")


class Replanning(_WithRecord):
    """The scenario as it is now, and the sequence planned before."""

    previous: GivenSequence = Field(description="The sequence planned before.")


class TermBeside(WholeTerm):
    """A term, and the workbook that it was read from."""

    workbook: str = _may("Its workbook's bytes in base64: what is the teacher's own in it stays in the one that is answered.")


class TermBegun(RootModel[TermBeside | Scenario]):
    """A term, or the scenario of one of which nothing is planned yet."""


class Redating(_Body):
    """Last year's scenario, and this year's calendar."""

    scenario: Scenario = Field(description="The scenario.")
    calendar: NewCalendar = Field(description="This year's calendar.")


class PlannedEarlier(_WithRecord):
    """A scenario, and what was planned earlier."""

    earlier: str | GivenSequence | list[AnswerRow] = _may(
        "The text of a calendar made before, or a sequence: a calendar asked for brings it up to date."
    )


class Planning(RootModel[Scenario | PlannedEarlier]):
    """A scenario to be planned."""

    model_config = ConfigDict(defer_build=True)


_Days = Annotated[list[Day], Field(min_length=1, max_length=MOST_DATES, json_schema_extra={"uniqueItems": True})]


class WhatIfsBeside(_WithRecord):
    """A scenario, and its what-ifs unless they stand in it."""

    what_ifs: Annotated[list[WhatIf], Field(max_length=20)] = _may("Its what-ifs.")
    opening_until: Day | _Days = _may(
        "The date by which it is known which future comes, in the term and after its first day: an opening is found "
        "that all share before it. A list asks what an earlier decision would be worth.",
        examples=["2026-11-04", ["2026-11-04", "2026-11-05"]],
    )
    weights: dict[str, Annotated[int, Field(ge=1, le=MOST_WEIGHT)]] = _may(
        "With `opening_until`: how much futures count, by what-ifs' names and `base`; 1 where others have a weight. "
        "Instead of the weights that the what-ifs state. The worst case counts where it is empty, or neither is there.",
        examples=[{"base": 3, "snow": 2}],
    )

    plan: GivenSequence = _may(
        "The plan as it stands: it and each what-if move as few of its lessons as can be. Not with `opening_until`."
    )


class Comparing(RootModel[Scenario | WhatIfsBeside]):
    """A scenario with what-ifs."""

    model_config = ConfigDict(defer_build=True)


class SequenceBeside(_WithRecord):
    """A scenario, and a sequence for it."""

    sequence: GivenSequence = _may("The sequence that is asked about.")


class Explaining(RootModel[Scenario | SequenceBeside]):
    """A scenario to be explained."""


class OutlinesBeside(SequenceBeside):
    """A scenario, a sequence for it, and outlines of its lessons made before or by hand."""

    outlines: dict[str, Any] = _may("Outlines made before, an answer of this address: exercises of the first 7 days stay.")
    by_hand: dict[str, Any] = _may(
        "Outlines made by hand, to be judged or completed: an answer of this address, changed, or `lessons` that have `class`, "
        "`lesson` and `parts`, each part with its `minutes` and its `id` or `title`.",
        examples=[{"lessons": [{"class": "9B", "lesson": "source", "parts": [{"id": "part-1", "minutes": 8}]}]}],
    )


class Outlining(RootModel[Scenario | OutlinesBeside]):
    """A scenario whose lessons are outlined."""


class ChangesBeside(_Body):
    """A scenario, and changes that are made to it."""

    scenario: Scenario = Field(description="The scenario.")
    changes: Annotated[list[Change], Field(min_length=1, max_length=200)] = Field(
        description="Changes as a what-if or a repair lists them, made in their order."
    )


class Reading(RootModel[Scenario | ChangesBeside]):
    """A scenario to be read."""


BODIES = (
    AnswerRow,
    Check,
    Comparing,
    Explaining,
    NewCalendar,
    Outlining,
    PastedLists,
    Planning,
    Reading,
    Redating,
    Replanning,
    Rolling,
    TermBegun,
)
"""The bodies, whatever else they hold among them."""
