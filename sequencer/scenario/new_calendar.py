"""Frozen models of a new year's calendar, onto which a scenario is re-dated: term, dates, bell times, timetables."""

from __future__ import annotations

from pydantic import Field

from sequencer.scenario.base_schema import Version
from sequencer.scenario.calendar_schema import BellTime, Closure, Holiday, RemoteSpell, RestrictedDay, Term
from sequencer.scenario.fields import ClassId, Day, Model, PeriodNumber, Text, Words
from sequencer.scenario.timetable_schema import Timetables

REPLACED = ("term", "holidays", "closures", "remote_spells", "restricted_days")
"""Keys of a scenario that are the new calendar's, stated there or not."""

REPLACED_IF_STATED = ("title", "periods", "adjacent_periods", "time_zone")
"""Keys of a scenario that are kept unless the new calendar states them; so are those of a class."""


class NewTimetable(Model):
    """What the new year changes for one class; what it does not state is kept."""

    id: ClassId = Field(description="The class, as the scenario names it.")
    teacher: Text | None = Field(None, description="Who teaches it now.")
    timetable: Timetables | None = Field(None, description="The periods in which it meets now.")
    offers: Words | None = Field(None, description="What every period of the class offers in class now.")
    leaves: Day | None = Field(None, description="The last date on which it meets, when before the end of term.")


class NewCalendar(Model):
    """A new year's calendar: the term and all that lies on dates of it, and classes' new timetables."""

    format: Version = Field(1, description="The version of this language: 1.")
    title: Text | None = Field(None, description="What the re-dated scenario is called; as it was unless stated.")
    term: Term = Field(description="First and last day, and how weeks are labelled.")
    holidays: tuple[Holiday, ...] = Field((), description="Dates outside term.")
    closures: tuple[Closure, ...] = Field((), description="Dates or periods on which classes do not meet.")
    remote_spells: tuple[RemoteSpell, ...] = Field((), description="Dates on which classes meet remotely.")
    restricted_days: tuple[RestrictedDay, ...] = Field((), description="Dates that take only some lessons.")
    periods: tuple[BellTime, ...] | None = Field(None, description="Bell times; as they were unless stated.")
    adjacent_periods: tuple[tuple[PeriodNumber, PeriodNumber], ...] | None = Field(
        None, description="Pairs of periods that a longer lesson may span; as they were unless stated."
    )
    time_zone: Text | None = Field(None, description="IANA time zone of the bell times; as it was unless stated.")
    classes: tuple[NewTimetable, ...] = Field((), description="Classes whose timetable or teacher changes.")
