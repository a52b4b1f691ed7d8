"""Frozen models of exactly what a user writes, format 1: the scenario as it stands, without what-ifs.

Every model forbids unknown keys, holds tuples, and is strict about types, so that what validates here is what the
user meant (lists must arrive as tuples: ``load.py`` sees to that). Every field says in a sentence what it is for,
because editors show it. Checks across entries (ids, circles, windows) live in ``references``.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from sequencer.scenario.calendar_schema import BellTime, Closure, Holiday, RemoteSpell, RestrictedDay, Term
from sequencer.scenario.class_schema import Cohort, SharedThing, TeacherWeek, TeachingClass
from sequencer.scenario.coverage_schema import Specification
from sequencer.scenario.fields import AimName, Day, Load, Model, PeriodNumber, Text
from sequencer.scenario.openings_schema import Openings
from sequencer.scenario.parts_schema import LESSON_MINUTES, MARGIN, ExercisePool, OutlineRules, PartMinutes, UsualOutline
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.rules_schema import ClassRules
from sequencer.scenario.unit_schema import Pattern, Unit


def _whole_one(value: Any) -> Any:
    """Python takes true and 1.0 for 1; a version is neither."""
    if isinstance(value, bool | float):
        raise PydanticCustomError("format_version", "must be 1")
    return value


Version = Annotated[Literal[1], BeforeValidator(_whole_one)]


class Loads(Model):
    """The scale on which loads are given."""

    least: Load = Field(1, description="Least load.")
    most: Load = Field(5, description="Greatest load.")
    high: Load = Field(4, description="A lesson with at least this load is high-load.")


Cost = Annotated[int, Field(ge=1, le=10000)]


class RepairCosts(Model):
    """What each kind of change costs, where a scenario is impossible and the cheapest change is looked for."""

    leave_out: Cost = Field(10, description="Leaving out a lesson.")
    day: Cost = Field(1, description="A lesson's date or a distance in days moved by one day.")
    deadline_day: Cost = Field(2, description="A report deadline one day later.")
    period: Cost = Field(2, description="A distance in periods or weeks widened by one; practice one period later.")
    school_day: Cost = Field(2, description="One school day less, or more, for marking.")
    quota: Cost = Field(3, description="A live quota lowered or raised by one lesson.")
    run: Cost = Field(3, description="One more high-load or tagged lesson in a run, or one fewer in a thread.")
    week: Cost = Field(
        2,
        description="One lesson, or 1 of load, more or less in a week; for pupils one assessment, one dense lesson or 30 minutes "
        "of homework more.",
    )
    teacher: Cost = Field(3, description="One lesson a day, or 30 minutes a week, more for a teacher.")
    restricted: Cost = Field(4, description="A restricted day used as if it were not restricted.")
    extra_period: Cost = Field(8, description="A period that the class does not have now.")
    closed_day: Cost = Field(12, description="Teaching on one day of a closure.")
    remote_day: Cost = Field(6, description="One day of a remote spell in class instead.")
    need: Cost = Field(6, description="Going without something that a lesson needs, its teacher, or how it is to be taught.")
    capacity: Cost = Field(6, description="One more set of a shared thing.")
    length: Cost = Field(6, description="A longer lesson shorter by one period.")
    order: Cost = Field(12, description="A lesson before one that should come before it.")
    rule: Cost = Field(12, description="Any other rule switched off for one lesson.")


class NearMove(Model):
    """How much a move weighs that is felt within so many days."""

    days: Annotated[int, Field(ge=0, le=366)] = Field(description="Up to so many days from today.")
    weight: Annotated[int, Field(ge=1, le=100)] = Field(description="What a move counts whose earlier date lies within them.")


class Disruption(Model):
    """What moving a lesson weighs, where a plan is made again; a move counts 1 unless one of these makes it more."""

    near: Annotated[tuple[NearMove, ...], Field(max_length=20)] = Field(
        (NearMove(days=7, weight=4), NearMove(days=14, weight=2)),
        description="Weights by days from today to the earlier of a lesson's two dates; of several that hold the one with fewest "
        "days counts. 4 up to 7 days and 2 up to 14 unless stated; without today every move is far off.",
    )
    shared: Annotated[int, Field(ge=1, le=100)] = Field(
        2, description="By what a move is multiplied in a class whose plan is shared already (its plan_shared)."
    )


class BaseScenario(Model):
    """A teacher's units, classes, timetable and calendar: all that a sequence is made from."""

    format: Version = Field(description="The version of this language: 1.")
    title: Text | None = Field(None, description="What this scenario is called.")
    term: Term = Field(description="First and last day, and how weeks are labelled.")
    holidays: tuple[Holiday, ...] = Field((), description="Dates outside term.")
    closures: tuple[Closure, ...] = Field((), description="Dates or periods on which classes do not meet.")
    remote_spells: tuple[RemoteSpell, ...] = Field((), description="Dates on which classes meet remotely.")
    restricted_days: tuple[RestrictedDay, ...] = Field((), description="Dates that take only some lessons.")
    periods: tuple[BellTime, ...] = Field((), description="Bell times, for the calendar output; optional.")
    adjacent_periods: tuple[tuple[PeriodNumber, PeriodNumber], ...] | None = Field(
        None, description="Pairs of periods that a longer lesson may span; numbers that differ by 1 unless stated."
    )
    time_zone: Text | None = Field(None, description="IANA time zone of the bell times, such as Europe/London.")
    loads: Loads = Field(default_factory=Loads, description="The scale of loads: 1 to 5, high from 4, unless stated.")
    shared: tuple[SharedThing, ...] = Field((), description="Kit and rooms that classes share.")
    teachers: tuple[TeacherWeek, ...] = Field((), description="Rule 10: what each teacher's day and week can hold.")
    cohorts: tuple[Cohort, ...] = Field((), description="Rule 14: year groups and the classes of their subjects.")
    rules: ClassRules = Field(default_factory=ClassRules, description="Rules and their numbers for the whole scenario.")
    strict: bool = Field(
        False, description="Whether a least number that the periods of a short week cannot hold makes the scenario impossible."
    )
    aims: tuple[AimName, ...] | None = Field(
        None,
        description="What is made small, most important first; each is settled before the next. Unless stated: left out, carried "
        "over, left for the next plan, made lessons (where a unit has a pattern), wishes, early finish, dense as set work, "
        "distance, even load.",
    )
    repair_costs: RepairCosts = Field(
        default_factory=RepairCosts,
        description="What each kind of change costs where the scenario is impossible and repairs are looked for.",
    )
    disruption: Disruption = Field(
        default_factory=Disruption, description="What moving a lesson weighs where an earlier plan is made again."
    )
    today: Day | None = Field(None, description="Lessons not yet delivered lie on or after this date.")
    record: tuple[RecordEntry, ...] = Field((), description="What happened to lessons so far.")
    openings: Openings | None = Field(
        None, description="The earlier topics that lessons open with, for every class that does not state its own."
    )
    specifications: tuple[Specification, ...] = Field(
        (), description="What classes are to be taught, point by point, for the list of what is covered."
    )
    lesson_minutes: PartMinutes = Field(
        LESSON_MINUTES, description="Minutes of a period, for outlines, where no bell times are stated; 60 unless stated."
    )
    change_over: Annotated[int, Field(ge=0, le=60)] = Field(
        0, description="Minutes of each lesson, for outlines, in which pupils come and go."
    )
    margin: Annotated[int, Field(ge=0, le=60)] = Field(
        MARGIN, description="Minutes of each lesson that its outline leaves free; 3 unless stated."
    )
    outline_rules: OutlineRules = Field(
        default_factory=OutlineRules, description="Rules of the inside of lessons and their numbers for the whole scenario."
    )
    usual_outlines: tuple[UsualOutline, ...] = Field((), description="What most lessons share: how they open and close.")
    pools: tuple[ExercisePool, ...] = Field((), description="Pools of exercises for the threads of outlines.")
    patterns: tuple[Pattern, ...] = Field((), description="Patterns that units name: what goes with their new lessons.")
    units: Annotated[tuple[Unit, ...], Field(min_length=1)] = Field(description="What is to be taught.")
    classes: Annotated[tuple[TeachingClass, ...], Field(min_length=1)] = Field(description="The classes.")
