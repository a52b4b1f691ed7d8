"""Terms, closures, remote spells, restricted days and bell times, as a user writes them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sequencer.scenario.fields import (
    ClassIds,
    Clock,
    Day,
    DayList,
    KindNames,
    Label,
    Model,
    PeriodNumber,
    PeriodNumbers,
    TaughtChoice,
    Text,
    WeekdayNames,
    Words,
)


class Term(Model):
    """The dates in which lessons may lie, and how weeks are labelled."""

    first: Day = Field(description="First day of term.")
    last: Day = Field(description="Last day of term.")
    week_one: Day | None = Field(
        None,
        description="A day of the school week that is week 1. Weeks before it are of the term before: lessons in them count, and "
        "sheets leave them out. The first day unless stated.",
    )
    cycle: Annotated[tuple[Label, ...], Field(min_length=1, max_length=6)] = Field(
        ("A",), description="Labels of the weeks of the timetable cycle in order: [A] for one week, [A, B] for two."
    )
    first_label: Label | None = Field(
        None, description="Label of the first school week; the first label of the cycle unless stated."
    )
    labels_follow: Literal["school weeks", "calendar weeks"] = Field(
        "school weeks",
        description="Whether labels pause during holidays (school weeks) or run on through them (calendar weeks).",
    )
    country: Text | None = Field(
        None,
        description="Where the school is, such as England, or Canada, Ontario: messages name its bank holidays. They are days "
        "off only where holidays list them.",
    )

    @property
    def begins(self) -> Day:
        """The first day that is not of the term before."""
        return self.week_one or self.first


class Spread(Model):
    """Base of entries that lie on dates: either `on`, or `first` and `last`."""

    name: Text = Field(description="What it is called, as it will stand in messages.")
    on: DayList = Field((), description="The date, or a list of dates; instead of first and last.")
    first: Day | None = Field(None, description="First date, together with last; instead of on.")
    last: Day | None = Field(None, description="Last date, included.")


class Holiday(Spread):
    """Dates outside term: numbers and labels of school weeks pause."""


class Partial(Spread):
    """Base of entries that may concern only some classes or periods."""

    classes: ClassIds = Field((), description="Classes concerned; all unless stated.")
    periods: PeriodNumbers = Field((), description="Period numbers concerned; the whole day unless stated.")


class Closure(Partial):
    """Dates or periods on which classes do not meet; numbers and labels of weeks do not change."""


class FixedTaught(Model):
    """Some periods of a remote spell that are taught in one way."""

    taught: TaughtChoice = Field(description="How these periods are taught: open, live or set work.")
    classes: ClassIds = Field((), description="Classes concerned; all of the spell unless stated.")
    weekdays: WeekdayNames = Field((), description="Weekdays concerned; all unless stated.")
    periods: PeriodNumbers = Field((), description="Period numbers concerned; all unless stated.")
    on: DayList = Field((), description="Dates concerned; all of the spell unless stated.")


class RemoteSpell(Partial):
    """Dates on which classes meet remotely."""

    taught: TaughtChoice = Field(
        "open", description="How its periods are taught: live, set work, or open (the sequence decides)."
    )
    fixed: tuple[FixedTaught, ...] = Field(
        (), description="Periods of the spell that differ from `taught`; where two fit, the later one holds."
    )
    offers: Words = Field((), description="What remote periods offer, among the things that lessons need.")


class Refusal(Model):
    """Which lessons a restricted day does not take."""

    kinds: KindNames = Field((), description="Kinds of lesson refused.")
    tags: Words = Field((), description="Lessons with one of these tags are refused.")
    high_load: bool = Field(False, description="Whether high-load lessons are refused.")


class RestrictedDay(Partial):
    """Dates on which classes meet but take only some lessons, or in periods of other minutes."""

    refuses: Refusal = Field(Refusal(), description="What these dates refuse; nothing unless stated, where minutes are stated.")
    minutes: Annotated[int, Field(ge=1, le=480)] | None = Field(
        None, description="How many minutes its periods last, for outlines; as on other days unless stated."
    )


class BellTime(Model):
    """When one period starts and ends; used by the calendar output."""

    number: PeriodNumber = Field(description="The period's number.")
    starts: Clock = Field(description='Start time, such as "09:00", in quotes.')
    ends: Clock = Field(description='End time, such as "10:00", in quotes.')
