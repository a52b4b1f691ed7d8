"""Classes and their teachers, and what classes share, as a user writes them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sequencer.scenario.fields import (
    ClassId,
    ClassIds,
    Count,
    Day,
    DayList,
    Ident,
    LessonRef,
    Load,
    Minutes,
    Model,
    Text,
    UnitIds,
    Words,
)
from sequencer.scenario.numbers import UP, Number, at_most
from sequencer.scenario.openings_schema import Openings
from sequencer.scenario.parts_schema import OutlineRules
from sequencer.scenario.rules_schema import WISHED_MINUTES, ClassRules, CohortRules, LessonRules, WishWeight
from sequencer.scenario.timetable_schema import Timetables
from sequencer.scenario.unit_schema import LessonDates


class ClassLesson(LessonDates):
    """What one class says about one of its lessons; it wins over what the unit says."""

    optional: bool | None = Field(
        None, description="Rule 12: whether this class may leave it out; as the lesson says unless stated."
    )
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers for this lesson in this class.")
    outline_rules: OutlineRules | None = Field(
        None, description="Rules of the inside of the lesson, switched off or given numbers for this class."
    )


class EarlierTopic(Model):
    """What a class was taught before the term, met again like the rest."""

    id: Ident = Field(description="Short name, unique in the list; lessons refer to it as before/id.")
    title: Text | None = Field(None, description="Title on sheets; the id unless stated.")
    date: Day = Field(description="When it was taught: before the class's first date.")
    load: Load | None = Field(None, description="How hard it is; the least high load less one unless stated.")
    tags: Words = Field((), description="Words by which it can be told apart.")
    covers: Words = Field((), description="Codes of the specification points that it taught.")
    rules: LessonRules | None = Field(
        None, description="Rules switched off or given numbers for it, such as its retrieval window."
    )


class TeachingClass(Model):
    """A class: its teacher, timetable and units."""

    id: ClassId = Field(description="Short name, unique in the scenario, such as 9B.")
    name: Text | None = Field(None, description="Name on sheets; the id unless stated.")
    teacher: Text | None = Field(None, description="Who teaches the class unless a period says otherwise.")
    units: UnitIds = Field(description="The units taught to this class.")
    timetable: Timetables = Field(description="The periods in which it meets; a list when they change from a date.")
    offers: Words = Field((), description="What every period of the class offers in class.")
    size: Annotated[int, Field(ge=1, le=500)] | None = Field(
        None, description="How many pupils it has, for the minutes of marking; no more is to be said of them."
    )
    taught_before: tuple[EarlierTopic, ...] = Field(
        (), description="Rule 4: what it was taught before the term and is to meet again."
    )
    later_units: UnitIds = Field((), description="The units that come after this term, for the next plan.")
    leaves: Day | None = Field(None, description="The last date on which the class meets, when before the end of term.")
    exam_date: Day | None = Field(
        None,
        description="Rule 4: the date on which what is taught is to be known, such as an exam; where no preferred distance is "
        "stated, one that suits it is taken from a published table, and the answer says so.",
    )
    plan_shared: bool = Field(
        False, description="Whether pupils or colleagues have its plan already: then moving a lesson weighs more (disruption)."
    )
    lessons: dict[LessonRef, ClassLesson] = Field(
        default_factory=dict, description="Dates, pins, live wishes and rules of single lessons for this class alone."
    )
    openings: Openings | None = Field(None, description="The earlier topics that its lessons open with; it wins as a whole.")
    rules: ClassRules | None = Field(None, description="Rules switched off or given numbers for this class.")
    outline_rules: OutlineRules | None = Field(
        None, description="Rules of the inside of its lessons, switched off or given numbers."
    )


class SharedThing(Model):
    """Rule 8: a set of kit or a room that all classes share."""

    name: Text = Field(description="The word that lessons list under needs.")
    capacity: Annotated[
        int, Field(ge=1, le=100), Number("have {}", "lesson", UP, cost="capacity", stated="{thing} can serve {}")
    ] = Field(1, description="How many lessons may use it in one period.")
    only_where_offered: bool = Field(
        False, description="Whether a period must also offer it; otherwise it can be carried to any period in school."
    )


class TeacherWeek(Model):
    """Rule 10: what a teacher's day and week can hold over all classes."""

    name: Text = Field(description="The teacher, as classes and timetables name them.")
    dense_a_day: Annotated[Count | None, at_most("a day", "dense lesson", cost="teacher")] = Field(
        None, description="At most this many dense lessons a day."
    )
    live_a_day: Annotated[Count | None, at_most("live a day", "lesson", cost="teacher")] = Field(
        None, description="At most this many lessons taught live in remote periods a day."
    )
    marking_a_week: Annotated[Minutes | None, at_most("of marking a week", "minute", cost="teacher", step=WISHED_MINUTES)] = (
        Field(None, description="At most this many minutes of marking per school week.")
    )
    preparation_a_week: Annotated[
        Minutes | None, at_most("of preparation a week", "minute", cost="teacher", step=WISHED_MINUTES)
    ] = Field(None, description="At most this many minutes of preparation per school week.")
    wish: WishWeight | None = Field(
        None,
        description="Makes these limits a preference of this weight, for each lesson too many a day and each begun 30 minutes "
        "too many a week.",
    )


class CohortSubject(Model):
    """What a cohort is taught in one subject: the classes planned here, or the dates that are fixed elsewhere."""

    name: Text = Field(description="The subject, such as History.")
    classes: ClassIds = Field((), description="The classes of which each pupil attends one.")
    fixed_assessments: DayList = Field(
        (), description="Dates of its assessments that are fixed elsewhere: one each for every pupil, counted and never moved."
    )


class Cohort(Model):
    """Rule 14: pupils who are taught together in some subjects, such as a year group; no pupil is named."""

    id: Ident = Field(description="Short name, unique in the scenario, such as Y9.")
    title: Text | None = Field(None, description="Name on sheets; the id unless stated.")
    subjects: Annotated[tuple[CohortSubject, ...], Field(min_length=1)] = Field(description="What its pupils are taught.")
    rules: CohortRules | None = Field(None, description="Rules switched off or given numbers for this cohort.")
