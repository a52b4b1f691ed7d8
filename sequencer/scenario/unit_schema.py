"""Units and their lessons, as a user writes them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated

from pydantic import Field

from sequencer.scenario.fields import (
    NAMED,
    Count,
    Day,
    Days,
    Ident,
    Kind,
    LessonRef,
    LessonRefs,
    LiveWish,
    Load,
    Minutes,
    Model,
    OneOrList,
    OrShort,
    PeriodNumber,
    Text,
    UnitIds,
    Words,
    one_of,
    short_for,
)
from sequencer.scenario.numbers import Number, at_least, at_most
from sequencer.scenario.parts_schema import Content, CutAim, CutContent, Objectives, OutlineRules, Parts
from sequencer.scenario.pattern_schema import PER_SCRIPT, Homework, MadeFeedback, MadePractice, MadeRetrieval, MadeWriting
from sequencer.scenario.preparing_schema import Prepare
from sequencer.scenario.rules_schema import LessonRules, WishWeight


def _later(least_or_most: Callable[..., Number], unit: str) -> Number:
    """A number of a window: ``at least {} after`` a lesson, which an explanation tells in full."""
    number = least_or_most("after", unit)
    return replace(number, stated=number.says.replace("after", "after it ends:" if unit == "period" else "later than"))


class Requirement(Model):
    """Rule 1: a prerequisite, with a window on top when stated."""

    lesson: LessonRef = Field(description="The lesson required: its id, or unit/id for another unit of the class.")
    least_days: Annotated[Days | None, _later(at_least, "day")] = Field(None, description="At least this many days later.")
    most_days: Annotated[Days | None, _later(at_most, "day")] = Field(None, description="At most this many days later.")
    least_slots: Annotated[Count | None, _later(at_least, "period")] = Field(
        None, description="At least this many periods after it ends (1: straight after)."
    )
    most_slots: Annotated[Count | None, _later(at_most, "period")] = Field(
        None, description="At most this many periods after it ends."
    )
    least_weeks: Annotated[Count | None, _later(at_least, "school week")] = Field(
        None, description="At least this many school weeks later."
    )
    most_weeks: Annotated[Count | None, _later(at_most, "school week")] = Field(
        None, description="At most this many school weeks later."
    )
    wish: WishWeight | None = Field(
        None,
        description="Makes the window a preference of this weight, for each day, period or school week outside it; that the "
        "lesson comes after the one required stays hard.",
    )


RequirementEntry = Annotated[Requirement, short_for("lesson", str), OrShort(NAMED)]
Requirements = Annotated[tuple[RequirementEntry, ...], one_of(str, dict), OneOrList()]


class LessonDates(Model):
    """When a lesson may lie, for every class or, under a class, for that class alone."""

    not_before: Day | None = Field(None, description="Rule 7: not before this date.")
    not_after: Day | None = Field(None, description="Rule 7: not after this date.")
    on: Day | None = Field(None, description="Rule 7: on this date.")
    period: PeriodNumber | None = Field(None, description="Rule 7: pinned to this period of the date in `on`.")
    report_deadline: Day | None = Field(
        None, description="Rule 7: reports are due on this date; the lesson lies at least its marking time before it."
    )
    live: LiveWish | None = Field(
        None, description="Rule 5: whether the lesson demands, prefers, avoids or refuses to be taught live when remote."
    )


class Lesson(LessonDates):
    """One item of a unit."""

    id: Ident = Field(description="Short name, unique in the unit.")
    title: Text | None = Field(None, description="Title on sheets; the id unless stated.")
    kind: Kind = Field("teach", description="teach, practice, retrieval, feedback or assessment.")
    load: Load | None = Field(
        None, description="How hard it is, a whole number on the scenario's scale; the least high load less one unless stated."
    )
    length: Annotated[int, Field(ge=1, le=8)] = Field(
        1, description="How many adjacent periods of one date it takes; a double is 2."
    )
    requires: Requirements = Field((), description="Rule 1: lessons that must come before, with windows when stated.")
    practises: LessonRefs = Field((), description="For a practice lesson: the lessons practised.")
    revisits: LessonRefs = Field((), description="For a retrieval lesson: the lessons met again.")
    room: Annotated[int, Field(ge=1, le=50)] | None = Field(
        None,
        description="For a retrieval lesson: how many lessons it meets again at most, listed ones included; the sequence chooses "
        "the others. Only the listed ones unless stated.",
    )
    starter: LessonRefs = Field((), description="Lessons met again in its starter, whatever its kind.")
    answers: LessonRefs = Field((), description="For a feedback lesson: the lessons it gives feedback on.")
    covers: Words = Field(
        (), description="Codes of the specification points that it teaches, practises, meets again or assesses, by its kind."
    )
    tags: Words = Field((), description="Words that caps, threads and restricted days count.")
    needs: Words = Field((), description="Rule 8: what its periods must offer; `in school` excludes remote periods.")
    teacher: Text | None = Field(
        None, description="Rule 13: who teaches it, where a class is shared: its first period is one of this teacher's."
    )
    preparation_minutes: Minutes = Field(
        0, description="Rule 10: minutes of preparation, once for all parallel classes of a teacher."
    )
    marking_minutes: Minutes = Field(0, description="Rule 10: minutes of marking for each class.")
    marking_minutes_per_script: Minutes = Field(0, description=PER_SCRIPT)
    homework: Homework | None = Field(
        None,
        description="Homework set in it; it stands in place of what practice_after_dense says, which alone says whether homework "
        "serves as practice.",
    )
    prepare: Prepare | None = Field(
        None, description="What has to be got ready for it, and what needs notice; for the list of what to prepare by when."
    )
    notes: Words = Field(
        (), description="What is to stand beside it on sheets, in calendars and tables; no pupil's name or data."
    )
    private_notes: Words = Field(
        (), description="Notes for its teacher alone: they do not stand on a class's sheet, nor on copies for colleagues."
    )
    optional: bool = Field(False, description="Rule 12: whether it may be left out.")
    priority: Annotated[int, Field(ge=1, le=1000)] | None = Field(
        None, description="Rule 12: what leaving it out costs in the aim `left out`; 1 unless stated."
    )
    practice: MadePractice | None = Field(
        None, description="The practice lesson made for it alone, where it is to differ from what the unit's pattern says."
    )
    objectives: Objectives = Field(
        (), description="What pupils should be able to do afterwards: id and title, or only an id; its title unless stated."
    )
    parts: Parts = Field((), description="What is done in it, part by part; it has an outline where some are listed.")
    free: bool = Field(False, description="Whether its explain and model parts may come in any order.")
    outline: Ident | None = Field(None, description="The usual outline that it has; `off` for none, its unit's unless stated.")
    outline_rules: OutlineRules | None = Field(
        None, description="Rules of the inside of the lesson, switched off or given numbers."
    )
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers for this lesson.")


class Pattern(Model):
    """What goes with the new lessons of a unit: the lessons made for it, and rules for all of its lessons."""

    id: Ident = Field(description="Short name by which units ask for it.")
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers; a unit's own win.")
    outline: Ident | None = Field(None, description="The usual outline of its units' lessons.")
    practice: MadePractice | None = Field(None, description="Practice lessons made for dense lessons; none unless stated.")
    retrieval: MadeRetrieval | None = Field(None, description="Retrieval lessons made; none unless stated.")
    feedback: MadeFeedback | None = Field(None, description="A feedback lesson made for the unit; none unless stated.")
    writing: MadeWriting | None = Field(None, description="Exam-style writing made for the unit; none unless stated.")


class Strand(Model):
    """Rule 13: a strand of a unit that one teacher of a shared class teaches."""

    tag: Text = Field(description="Lessons of the unit with this tag.")
    teacher: Text = Field(description="Who teaches them.")


class Unit(Model):
    """What is to be taught, for one class or several."""

    id: Ident = Field(description="Short name, unique in the scenario.")
    title: Text | None = Field(None, description="Title on sheets; the id unless stated.")
    in_order: bool = Field(False, description="Whether its teach lessons are taught in the order listed.")
    after: UnitIds = Field((), description="Units whose teach lessons all come before the teach lessons of this one.")
    pattern: Ident | None = Field(None, description="The pattern that says what goes with its lessons.")
    strands: tuple[Strand, ...] = Field(
        (), description="Rule 13: strands tied to a teacher where a class is shared; a lesson's own `teacher` wins."
    )
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers for this unit's lessons.")
    objectives: Objectives = Field((), description="Objectives that several of its lessons share: id and title, or only an id.")
    outline: Ident | None = Field(None, description="The usual outline of its lessons.")
    outline_rules: OutlineRules | None = Field(
        None, description="Rules of the inside of its lessons, switched off or given numbers."
    )
    content: Content = Field((), description="Parts without lessons, instead of lessons: reading cuts them into lessons.")
    cut: CutContent | None = Field(None, description="How its content is cut into lessons: as few as will do unless stated.")
    cut_aims: tuple[CutAim, ...] = Field((), description="What its content came to when it was cut; written by the cut.")
    lessons: tuple[Lesson, ...] = Field((), description="The unit's lessons; or its content, from which they are made.")
