"""Frozen models of named changes: what repairs and what-ifs are written in.

Each change says in `change` what it does, and in its other keys to what. A list of changes is made in its order.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sequencer.scenario.calendar_schema import Closure, FixedTaught, RemoteSpell, RestrictedDay
from sequencer.scenario.fields import (
    ClassId,
    Count,
    Day,
    Ident,
    LessonRef,
    LiveWish,
    Minutes,
    Model,
    PeriodNumber,
    TaughtChoice,
    Text,
    Words,
)
from sequencer.scenario.rules_schema import ClassRules
from sequencer.scenario.unit_schema import Lesson

Off = Literal["off"]
DayOrOff = Day | Off
CountOrOff = Count | Off
MinutesOrOff = Minutes | Off


class AddClosure(Model):
    """Classes do not meet on further dates."""

    change: Literal["add closure"] = Field(description="What is changed.")
    closure: Closure = Field(description="The closure, as a scenario states one.")


class RemoveClosure(Model):
    """A closure does not come about."""

    change: Literal["remove closure"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the closure.")


class AddRemoteSpell(Model):
    """Classes meet remotely on further dates."""

    change: Literal["add remote spell"] = Field(description="What is changed.")
    spell: RemoteSpell = Field(description="The spell, as a scenario states one.")


class RemoveRemoteSpell(Model):
    """Classes meet in school where they would have met remotely."""

    change: Literal["remove remote spell"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the spell.")


class ChangeRemoteSpell(Model):
    """How the periods of a remote spell are taught is something else."""

    change: Literal["remote spell"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the spell.")
    taught: TaughtChoice | None = Field(None, description="How its periods are taught: live, set work, or open.")
    fixed: tuple[FixedTaught, ...] | None = Field(
        None, description="Periods of the spell that differ from `taught`; they replace those stated."
    )


class AddRestrictedDay(Model):
    """Further dates take only some lessons."""

    change: Literal["add restricted day"] = Field(description="What is changed.")
    day: RestrictedDay = Field(description="The dates and what they refuse, as a scenario states them.")


class RemoveRestrictedDay(Model):
    """Dates take every lesson after all."""

    change: Literal["remove restricted day"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the restricted dates.")


class LosePeriod(Model):
    """A class loses one of its periods."""

    change: Literal["lose period"] = Field(description="What is changed.")
    class_: ClassId = Field(alias="class", description="The class.")
    date: Day = Field(description="Date of the period.")
    period: PeriodNumber = Field(description="Its number.")


class GainPeriod(Model):
    """A class meets in one period more."""

    change: Literal["gain period"] = Field(description="What is changed.")
    class_: ClassId = Field(alias="class", description="The class.")
    date: Day = Field(description="Date of the period.")
    period: PeriodNumber = Field(description="Its number.")
    offers: Words = Field((), description="What the period offers in class.")
    teacher: Text | None = Field(None, description="Who teaches it; the class's teacher unless stated.")


class AddLesson(Model):
    """A unit has one lesson more."""

    change: Literal["add lesson"] = Field(description="What is changed.")
    unit: Ident = Field(description="The unit.")
    lesson: Lesson = Field(description="The lesson, as a unit states one.")
    after: Ident | None = Field(None, description="The lesson of the unit that it is listed after; last unless stated.")


class LeaveOut(Model):
    """A lesson is not taught: as in the record a lesson that was skipped; rules that name it say nothing."""

    change: Literal["leave out"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(None, alias="class", description="The class; every class that takes the unit unless stated.")


class MakeOptional(Model):
    """A lesson may be left out."""

    change: Literal["make optional"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(None, alias="class", description="The class; every class that takes the unit unless stated.")


class MoveDates(Model):
    """A lesson's dates are other ones, or none (`off`)."""

    change: Literal["move dates"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(
        None, alias="class", description="The class; what the unit says for every class unless stated."
    )
    not_before: DayOrOff | None = Field(None, description="Not before this date.")
    not_after: DayOrOff | None = Field(None, description="Not after this date.")
    on: DayOrOff | None = Field(None, description="On this date; `off` frees the period too.")
    period: PeriodNumber | Off | None = Field(None, description="In this period of the date.")
    report_deadline: DayOrOff | None = Field(None, description="Reports are due on this date.")


class ChangeRequirement(Model):
    """The window on top of a prerequisite is another one, or the prerequisite does not hold (`off`)."""

    change: Literal["requirement"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    requires: LessonRef = Field(description="The lesson required, as the lesson names it.")
    off: bool = Field(False, description="Whether the prerequisite does not hold any more.")
    least_days: CountOrOff | None = Field(None, description="At least this many days later.")
    most_days: CountOrOff | None = Field(None, description="At most this many days later.")
    least_slots: CountOrOff | None = Field(None, description="At least this many periods after it ends.")
    most_slots: CountOrOff | None = Field(None, description="At most this many periods after it ends.")
    least_weeks: CountOrOff | None = Field(None, description="At least this many school weeks later.")
    most_weeks: CountOrOff | None = Field(None, description="At most this many school weeks later.")


class ChangeUnit(Model):
    """A unit's order is another one."""

    change: Literal["unit"] = Field(description="What is changed.")
    unit: Ident = Field(description="The unit.")
    in_order: bool | None = Field(None, description="Whether its teach lessons are taught in the order listed.")
    not_after: Ident | None = Field(None, description="A unit that need not come before it any more.")
    no_strand: Text | None = Field(None, description="A tag whose lessons are no teacher's own any more.")


class ChangeLesson(Model):
    """What a lesson takes and needs is something else."""

    change: Literal["lesson"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(None, alias="class", description="The class, for `live`; every class unless stated.")
    length: Annotated[int, Field(ge=1, le=8)] | None = Field(None, description="How many periods it takes.")
    needs: Words | None = Field(None, description="What its periods must offer.")
    teacher: Text | None = Field(None, description="Who teaches it; `off` for any teacher.")
    live: LiveWish | Off | None = Field(None, description="Whether it demands, prefers, avoids or refuses to be taught live.")
    no_longer_names: LessonRef | None = Field(
        None, description="A lesson that it does not practise, meet again or answer any more, as it is named there."
    )


class ChangeRules(Model):
    """Rules have other numbers: of the scenario, a class, a unit, a lesson, or a class's lesson, merged number by number."""

    change: Literal["rules"] = Field(description="What is changed.")
    class_: ClassId | None = Field(None, alias="class", description="The class.")
    unit: Ident | None = Field(None, description="The unit.")
    lesson: LessonRef | None = Field(None, description="The lesson, as unit/id.")
    rules: ClassRules = Field(
        description="The numbers, as a scenario states them; caps, threads and quotas replace those stated."
    )


class ChangeQuota(Model):
    """Live quotas are other ones over some dates."""

    change: Literal["live quota"] = Field(description="What is changed.")
    class_: ClassId | None = Field(None, alias="class", description="The class whose quota it is.")
    teacher: Text | None = Field(None, description="The teacher whose quota it is, instead of a class's.")
    first: Day = Field(description="First date concerned.")
    last: Day = Field(description="Last date concerned.")
    least: CountOrOff | None = Field(None, description="At least this many lessons live.")
    most: CountOrOff | None = Field(None, description="At most this many lessons live.")


class ChangeTeacher(Model):
    """A teacher's day and week hold more, or less."""

    change: Literal["teacher"] = Field(description="What is changed.")
    name: Text = Field(description="The teacher.")
    dense_a_day: CountOrOff | None = Field(None, description="At most this many dense lessons a day.")
    live_a_day: CountOrOff | None = Field(None, description="At most this many lessons taught live a day.")
    marking_a_week: MinutesOrOff | None = Field(None, description="At most this many minutes of marking a week.")
    preparation_a_week: MinutesOrOff | None = Field(None, description="At most this many minutes of preparation a week.")


class ChangeShared(Model):
    """There are more, or fewer, of a shared thing."""

    change: Literal["shared"] = Field(description="What is changed.")
    name: Text = Field(description="The shared thing.")
    capacity: Annotated[int, Field(ge=1, le=100)] = Field(description="How many lessons may use it in one period.")


class ChangePattern(Model):
    """A pattern does not make feedback or writing any more."""

    change: Literal["pattern"] = Field(description="What is changed.")
    pattern: Ident = Field(description="The pattern.")
    no_longer_makes: Literal["feedback", "writing"] = Field(description="What it does not make any more.")


class ChangeLeaving(Model):
    """A class meets until another date."""

    change: Literal["leaves"] = Field(description="What is changed.")
    class_: ClassId = Field(alias="class", description="The class.")
    leaves: DayOrOff = Field(description="The last date on which it meets; `off` for the end of term.")


class ChangeStrict(Model):
    """Whether least numbers hold in short weeks too."""

    change: Literal["strict"] = Field(description="What is changed.")
    strict: bool = Field(description="Whether they do.")


Change = Annotated[
    AddClosure
    | RemoveClosure
    | AddRemoteSpell
    | RemoveRemoteSpell
    | ChangeRemoteSpell
    | AddRestrictedDay
    | RemoveRestrictedDay
    | LosePeriod
    | GainPeriod
    | AddLesson
    | LeaveOut
    | MakeOptional
    | MoveDates
    | ChangeRequirement
    | ChangeUnit
    | ChangeLesson
    | ChangeRules
    | ChangeQuota
    | ChangeTeacher
    | ChangeShared
    | ChangePattern
    | ChangeLeaving
    | ChangeStrict,
    Field(discriminator="change"),
]


MOST_WEIGHT = 1000


class WhatIf(Model):
    """A named list of changes, made in their order."""

    name: Text = Field(description="What it is called.")
    builds_on: Text | None = Field(None, description="Another what-if of the scenario, whose changes are made first.")
    weight: Annotated[int, Field(ge=1, le=MOST_WEIGHT)] | None = Field(
        None,
        description="How much it counts for a shared opening, beside 1 for the base and for what-ifs that state none; where none "
        "does, the worst case counts.",
    )
    changes: Annotated[tuple[Change, ...], Field(min_length=1, max_length=200)] = Field(description="What is changed.")
