"""Frozen models of exactly what a user writes, format 1.

Every model forbids unknown keys, holds tuples, and is strict about types, so that what validates here is what the
user meant (lists must arrive as tuples: ``load.py`` sees to that). Every field says in a sentence what it is for,
because editors show it. Checks across entries (ids, circles, windows) live in ``references.py``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from pydantic import (
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    PlainSerializer,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from sequencer.scenario.coverage_schema import Specification
from sequencer.scenario.fields import (
    LESSON_REF,
    LONGEST_REF,
    AimName,
    ClassId,
    ClassIds,
    Clock,
    Count,
    Day,
    DayList,
    Days,
    Ident,
    Kind,
    KindNames,
    Label,
    LessonRef,
    LessonRefs,
    LiveWish,
    Load,
    Minutes,
    Model,
    OneOrList,
    OrShort,
    PeriodNumber,
    PeriodNumbers,
    Span,
    TaughtChoice,
    Text,
    UnitIds,
    Weekday,
    WeekdayNames,
    Words,
)
from sequencer.scenario.openings_schema import Openings
from sequencer.scenario.pattern_schema import PER_SCRIPT, Homework, MadeFeedback, MadePractice, MadeRetrieval, MadeWriting
from sequencer.scenario.preparing_schema import Prepare
from sequencer.scenario.record_schema import RecordEntry
from sequencer.words import WEEKDAYS

if TYPE_CHECKING:
    from sequencer.scenario.changes_schema import WhatIf


def _whole_one(value: Any) -> Any:
    """Python takes true and 1.0 for 1; a version is neither."""
    if isinstance(value, bool | float):
        raise PydanticCustomError("format_version", "must be 1")
    return value


Version = Annotated[Literal[1], BeforeValidator(_whole_one)]


def _off_is_hard(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
    return 0 if value == "off" else handler(value)


WishWeight = Annotated[int, Field(ge=1, le=1000)]
WishOrOff = Annotated[
    WishWeight,
    WrapValidator(_off_is_hard),
    PlainSerializer(lambda weight: weight or "off", when_used="json-unless-none"),
    OrShort({"const": "off"}),
]
"""The weight of a preference; where levels are merged, `off` (0) makes the rule hard again."""


# -- calendar ----------------------------------------------------------------------------------------------------------


class Term(Model):
    """The dates in which lessons may lie, and how weeks are labelled."""

    first: Day = Field(description="First day of term.")
    last: Day = Field(description="Last day of term.")
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
    """Dates on which classes meet but take only some lessons."""

    refuses: Refusal = Field(description="What these dates refuse.")


class BellTime(Model):
    """When one period starts and ends; used by the calendar output."""

    number: PeriodNumber = Field(description="The period's number.")
    starts: Clock = Field(description='Start time, such as "09:00", in quotes.')
    ends: Clock = Field(description='End time, such as "10:00", in quotes.')


# -- classes -----------------------------------------------------------------------------------------------------------


class TimetabledPeriod(Model):
    """One period of a class in the cycle, when more than its number is to be said."""

    period: PeriodNumber = Field(description="The period's number.")
    offers: Words = Field((), description="What this period offers in class, such as a lab or computers.")
    teacher: Text | None = Field(None, description="Who teaches it; the class's teacher unless stated.")


def _period_or_entry(value: Any) -> Any:
    return {"period": value} if isinstance(value, int) and not isinstance(value, bool) else value


PeriodEntry = Annotated[
    TimetabledPeriod,
    BeforeValidator(_period_or_entry),
    OrShort({"type": "integer", "minimum": 0, "maximum": 30}),
]


def _period_entries(value: Any) -> Any:
    return (value,) if isinstance(value, int | dict) and not isinstance(value, bool) else value


PeriodEntries = Annotated[tuple[PeriodEntry, ...], BeforeValidator(_period_entries), OneOrList()]


class Timetable(Model):
    """The periods in which a class meets, from a date on."""

    first: Day | None = Field(None, description="First date on which it holds; the first day of term unless stated.")
    weeks: dict[str, dict[Weekday, PeriodEntries]] = Field(
        description="For each label of the cycle (or `every`): weekday to period numbers, such as {A: {Mon: [1, 2]}}."
    )


def _timetables(value: Any) -> Any:
    """``{Mon: [1]}`` holds in every week of the cycle; ``{A: {Mon: [1]}}`` from the first day of term."""
    if not isinstance(value, dict):
        return value
    if value and all(key in WEEKDAYS for key in value):
        value = {"every": value}
    return ({"weeks": value},)


class _OrOneTimetable:
    """Lets the JSON Schema of a list of timetables take labelled weeks or plain weekdays too, as ``_timetables`` does."""

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        written = handler(core)
        weeks = handler.resolve_ref_schema(written["items"])["properties"]["weeks"]
        labelled = {"type": "object", "additionalProperties": weeks["additionalProperties"]}
        labelled["propertyNames"] = {"not": {"enum": list(WEEKDAYS)}}
        return {"anyOf": [weeks["additionalProperties"], labelled, written]}


Timetables = Annotated[tuple[Timetable, ...], Field(min_length=1), BeforeValidator(_timetables), _OrOneTimetable()]


class RuleNumbers(Model):
    """Base of a rule's numbers; `off` switches the rule off, and a bare whole number sets the main one."""

    main: ClassVar[str] = ""

    off: bool = Field(False, description="Whether the rule is switched off here.")

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        schema = handler(core)
        short: list[JsonSchemaValue] = [{"const": "off"}]
        if cls.main:
            number = handler.resolve_ref_schema(schema)["properties"][cls.main]
            short.append(next(option for option in number["anyOf"] if option["type"] == "integer"))
        return {"anyOf": [*short, schema]}


def _numbers(main: str = "") -> BeforeValidator:
    def expand(value: Any) -> Any:
        if value == "off":
            return {"off": True}
        if main and isinstance(value, int) and not isinstance(value, bool):
            return {main: value}
        return value

    return BeforeValidator(expand)


# -- rules -------------------------------------------------------------------------------------------------------------


class Prerequisites(RuleNumbers):
    """Rule 1: whether what lessons require holds."""


WISHED_WEIGHT = "What each unit outside costs in the aim `wishes`; 1 unless stated."


class WishedHighLoad(RuleNumbers):
    """Rule 2, wished beside the hard cap: how many high-load lessons would better follow one another."""

    main: ClassVar[str] = "most"

    most: Annotated[int, Field(ge=1, le=20)] | None = Field(None, description="At most this many, wished.")
    weight: WishWeight | None = Field(None, description=WISHED_WEIGHT)


class ConsecutiveHighLoad(RuleNumbers):
    """Rule 2: how many high-load lessons may follow one another."""

    main: ClassVar[str] = "most"

    most: Annotated[int, Field(ge=1, le=20)] | None = Field(
        None, description="How many high-load lessons may follow one another; 2 unless stated."
    )
    break_days: Days | None = Field(
        None,
        description="A run breaks where neighbouring periods' dates differ by more than this many days; never unless stated.",
    )
    wish: WishOrOff | None = Field(
        None,
        description="Makes the cap a preference of this weight: it costs once for each `most` + 1 high-load lessons that follow "
        "one another; `off` makes it hard again.",
    )
    wished: Annotated[WishedHighLoad, _numbers("most")] | None = Field(
        None, description="A smaller cap that is wished beside this one, such as {most: 1, weight: 2}; `off` for none."
    )


class TagCap(Model):
    """Rule 2: of any `of` consecutive slots at most `most` hold a lesson with the tag."""

    tag: Text = Field(description="The tag counted.")
    most: Count = Field(description="At most this many.")
    of: Annotated[int, Field(ge=1, le=400)] = Field(description="Of any this many consecutive periods.")
    break_days: Days | None = Field(
        None, description="Periods whose dates differ by more than this many days do not count as consecutive."
    )
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each period too many of each `of` in a row."
    )


class Thread(Model):
    """Rule 2: of any `of` consecutive slots at least `least` hold a lesson with the tag or are spare."""

    tag: Text = Field(description="The tag that runs through the lessons.")
    least: Count = Field(description="At least this many.")
    of: Annotated[int, Field(ge=1, le=400)] = Field(description="Of any this many consecutive periods.")
    break_days: Days | None = Field(
        None, description="Periods whose dates differ by more than this many days do not count as consecutive."
    )
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each period too few of each `of` in a row."
    )


class PracticeAfterDense(RuleNumbers):
    """Rule 3: a dense lesson is practised straight away."""

    main: ClassVar[str] = "within"

    within: Annotated[int, Field(ge=1, le=400)] | None = Field(
        None, description="The practice comes at most this many periods after the dense lesson ends; 1 unless stated."
    )
    days: Days | None = Field(None, description="And at most this many days after its date; no limit unless stated.")
    no_new_content: bool | None = Field(None, description="And with no new content strictly between; false unless stated.")
    homework: Homework | None = Field(
        None, description="Homework set in the dense lesson serves as its practice; none unless stated."
    )


class PracticeBeforeAssessment(RuleNumbers):
    """Rule 3: whether an assessment comes after the practice of the dense lessons that it requires."""


RUN_CAP = 2
RETRIEVAL_LEAST, RETRIEVAL_MOST = 10, 14
MARKING_LEAST = 3
"""Numbers that hold where a scenario states none; common practice, no source."""

WISHED_MINUTES = 30
"""A teacher's minutes beyond what is wished count by each begun so many."""


MOST_FURTHER = 5
"""Further times that a lesson is met again, at most."""


class FurtherRetrieval(Model):
    """Rule 4: one more time that a lesson is met again, on a date of its own."""

    least: Annotated[int, Field(ge=1, le=800)] = Field(description="Least days.")
    most: Annotated[int, Field(ge=1, le=800)] = Field(description="Most days.")
    preferred: Days | None = Field(
        None, description="Preferred days, for the aim `distance`; half way between least and most unless stated."
    )
    counted_from: Literal["lesson", "retrieval before"] = Field(
        "lesson", description="Where its days are counted from: the lesson, or the retrieval before this one."
    )


class Retrieval(RuleNumbers):
    """Rule 4: what was taught is met again at a useful distance."""

    least: Annotated[int, Field(ge=1, le=800)] | None = Field(
        None, description="Least days from the lesson to its retrieval; 10 unless stated."
    )
    most: Annotated[int, Field(ge=1, le=800)] | None = Field(None, description="Most days; 14 unless stated.")
    preferred: Days | None = Field(
        None, description="Preferred days, for the aim `distance`; half way between least and most unless stated."
    )
    chosen: bool | None = Field(
        None,
        description="Whether the sequence chooses where the lesson is met again, in retrieval lessons with room and in starters; "
        "only where listed unless stated, or unless the unit's pattern makes retrieval lessons.",
    )
    then: Annotated[tuple[FurtherRetrieval, ...], Field(max_length=MOST_FURTHER)] | None = Field(
        None, description="Further times that it is met again after the first, each on a date of its own."
    )


class Starters(RuleNumbers):
    """Rule 4: how many earlier lessons the starter of a lesson meets again."""

    main: ClassVar[str] = "most"

    most: Annotated[int, Field(ge=0, le=20)] | None = Field(
        None,
        description="At most this many earlier lessons are met again in its starter, listed ones included; only the listed ones "
        "unless stated. Listed ones stand whatever their number.",
    )


class Marking(RuleNumbers):
    """Rules 6 and 7: how long the lesson's marking takes, and how soon feedback must follow."""

    main: ClassVar[str] = "least"

    least: Annotated[int, Field(ge=0, le=400)] | None = Field(
        None, description="School days from the lesson to its feedback or to its report deadline, at least; 3 unless stated."
    )
    most: Annotated[int, Field(ge=0, le=400)] | None = Field(
        None, description="School days from the lesson to its feedback, at most; no limit unless stated."
    )
    wish: WishOrOff | None = Field(
        None,
        description="Makes the time to feedback a preference of this weight, for each school day too soon or too late; report "
        "deadlines stay hard. `off` makes it hard again.",
    )


class Dates(RuleNumbers):
    """Rule 7: whether lessons' own dates and pins hold."""

    wish: WishOrOff | None = Field(
        None,
        description="Makes the dates a preference of this weight, for each day off, or for another period of the date in `on`; "
        "report deadlines stay hard. `off` makes them hard again.",
    )


class Place(RuleNumbers):
    """Rule 8: whether needs, restricted days and shared things hold."""


class InStep(RuleNumbers):
    """Rule 11: parallel classes meet the same lesson of a unit within so many days."""

    main: ClassVar[str] = "days"

    days: Days | None = Field(None, description="Latest date minus earliest, at most; the rule is off unless stated.")
    wish: WishOrOff | None = Field(
        None,
        description="Makes it a preference of this weight, for each day too many between each two classes; `off` makes it hard "
        "again.",
    )


class LiveQuota(Model):
    """Rule 5: how many lessons are taught live in remote periods, per week, cycle or span of dates."""

    per: Span = Field("week", description="Counted per school week, per cycle, or over one span of dates.")
    least: Count | None = Field(None, description="At least this many lessons live; cut to what the periods allow.")
    most: Count | None = Field(None, description="At most this many lessons live.")
    first: Day | None = Field(None, description="First date of the span; only for per: span.")
    last: Day | None = Field(None, description="Last date of the span; only for per: span.")
    teacher: Text | None = Field(None, description="Count over all periods of this teacher instead of per class.")
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each lesson short or over in each count."
    )


class WishedShape(RuleNumbers):
    """Rule 9, wished beside the hard numbers: narrower limits of a week."""

    least_lessons: Count | None = Field(None, description="At least this many lessons a week, wished.")
    most_lessons: Count | None = Field(None, description="At most this many lessons a week, wished.")
    least_load: Annotated[int, Field(ge=0, le=100000)] | None = Field(None, description="At least this load a week, wished.")
    most_load: Annotated[int, Field(ge=0, le=100000)] | None = Field(None, description="At most this load a week, wished.")
    weight: WishWeight | None = Field(None, description=WISHED_WEIGHT)


class WeeklyShape(RuleNumbers):
    """Rule 9: least and most lessons and load per class and school week."""

    least_lessons: Count | None = Field(None, description="At least this many lessons a week; cut to the week's periods.")
    most_lessons: Count | None = Field(None, description="At most this many lessons a week.")
    least_load: Annotated[int, Field(ge=0, le=100000)] | None = Field(None, description="At least this load a week.")
    most_load: Annotated[int, Field(ge=0, le=100000)] | None = Field(None, description="At most this load a week.")
    wish: WishOrOff | None = Field(
        None,
        description="Makes it a preference of this weight, for each lesson, and each 1 of load, short or over in each week; "
        "`off` makes it hard again.",
    )
    wished: Annotated[WishedShape, _numbers()] | None = Field(
        None, description="Narrower limits that are wished beside these, such as {most_lessons: 3, weight: 2}; `off` for none."
    )


def _off_is_none(value: Any) -> Any:
    return () if value == "off" else value


OffOrCaps = Annotated[tuple[TagCap, ...], BeforeValidator(_off_is_none), OrShort({"const": "off"})]
OffOrThreads = Annotated[tuple[Thread, ...], BeforeValidator(_off_is_none), OrShort({"const": "off"})]
OffOrQuotas = Annotated[tuple[LiveQuota, ...], BeforeValidator(_off_is_none), OrShort({"const": "off"})]


class LessonRules(Model):
    """Rules that a lesson, or a unit for its lessons, may switch off or give numbers."""

    prerequisites: Annotated[Prerequisites, _numbers()] | None = Field(None, description="Rule 1, prerequisites.")
    consecutive_high_load: Annotated[ConsecutiveHighLoad, _numbers("most")] | None = Field(
        None, description="Rule 2, the cap on consecutive high-load lessons: a run that holds the lesson keeps its number."
    )
    practice_after_dense: Annotated[PracticeAfterDense, _numbers("within")] | None = Field(
        None, description="Rule 3, practice after a dense lesson."
    )
    practice_before_assessment: Annotated[PracticeBeforeAssessment, _numbers()] | None = Field(
        None,
        description="Rule 3, an assessment after the practice of the dense lessons that it requires.",
    )
    retrieval: Annotated[Retrieval, _numbers()] | None = Field(None, description="Rule 4, retrieval.")
    starters: Annotated[Starters, _numbers("most")] | None = Field(
        None, description="Rule 4, starters in which earlier lessons are met again."
    )
    marking: Annotated[Marking, _numbers("least")] | None = Field(None, description="Rules 6 and 7, marking time.")
    dates: Annotated[Dates, _numbers()] | None = Field(None, description="Rule 7, dates and pins.")
    place: Annotated[Place, _numbers()] | None = Field(None, description="Rule 8, place.")
    in_step: Annotated[InStep, _numbers("days")] | None = Field(
        None, description="Rule 11, in step: the same lesson of one unit in parallel classes, in days."
    )


class ClassRules(LessonRules):
    """Rules of a class or of the whole scenario: those of its lessons, and those that count its slots and weeks."""

    caps: OffOrCaps | None = Field(None, description="Rule 2, caps on tags; `off` for none.")
    threads: OffOrThreads | None = Field(None, description="Rule 2, threads; `off` for none.")
    live_quotas: OffOrQuotas | None = Field(None, description="Rule 5, live quotas; `off` for none.")
    week: Annotated[WeeklyShape, _numbers()] | None = Field(None, description="Rule 9, weekly shape.")


# -- units and lessons -------------------------------------------------------------------------------------------------


class Requirement(Model):
    """Rule 1: a prerequisite, with a window on top when stated."""

    lesson: LessonRef = Field(description="The lesson required: its id, or unit/id for another unit of the class.")
    least_days: Days | None = Field(None, description="At least this many days later.")
    most_days: Days | None = Field(None, description="At most this many days later.")
    least_slots: Count | None = Field(None, description="At least this many periods after it ends (1: straight after).")
    most_slots: Count | None = Field(None, description="At most this many periods after it ends.")
    least_weeks: Count | None = Field(None, description="At least this many school weeks later.")
    most_weeks: Count | None = Field(None, description="At most this many school weeks later.")
    wish: WishWeight | None = Field(
        None,
        description="Makes the window a preference of this weight, for each day, period or school week outside it; that the "
        "lesson comes after the one required stays hard.",
    )


def _requirement(value: Any) -> Any:
    return {"lesson": value} if isinstance(value, str) else value


def _requirements(value: Any) -> Any:
    return (value,) if isinstance(value, str | dict) else value


RequirementEntry = Annotated[
    Requirement,
    BeforeValidator(_requirement),
    OrShort({"type": "string", "pattern": LESSON_REF, "maxLength": LONGEST_REF}),
]
Requirements = Annotated[tuple[RequirementEntry, ...], BeforeValidator(_requirements), OneOrList()]


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
    prepare: Prepare | None = Field(
        None, description="What has to be got ready for it, and what needs notice; for the list of what to prepare by when."
    )
    notes: Words = Field(
        (), description="What is to stand beside it on sheets, in calendars and tables; no pupil's name or data."
    )
    private_notes: Words = Field(
        (), description="The same for its teacher alone: on a class's sheet and on copies for colleagues it does not stand."
    )
    optional: bool = Field(False, description="Rule 12: whether it may be left out.")
    priority: Annotated[int, Field(ge=1, le=1000)] | None = Field(
        None, description="Rule 12: what leaving it out costs in the aim `left out`; 1 unless stated."
    )
    practice: MadePractice | None = Field(
        None, description="The practice lesson made for it alone, where it is to differ from what the unit's pattern says."
    )
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers for this lesson.")


class Pattern(Model):
    """What goes with the new lessons of a unit: the lessons made for it, and rules for all of its lessons."""

    id: Ident = Field(description="Short name by which units ask for it.")
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers; a unit's own win.")
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
    lessons: Annotated[tuple[Lesson, ...], Field(min_length=1)] = Field(description="The unit's lessons.")


class ClassLesson(LessonDates):
    """What one class says about one of its lessons; it wins over what the unit says."""

    optional: bool | None = Field(
        None, description="Rule 12: whether this class may leave it out; as the lesson says unless stated."
    )
    rules: LessonRules | None = Field(None, description="Rules switched off or given numbers for this lesson in this class.")


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


class SharedThing(Model):
    """Rule 8: a set of kit or a room that all classes share."""

    name: Text = Field(description="The word that lessons list under needs.")
    capacity: Annotated[int, Field(ge=1, le=100)] = Field(1, description="How many lessons may use it in one period.")
    only_where_offered: bool = Field(
        False, description="Whether a period must also offer it; otherwise it can be carried to any period in school."
    )


class TeacherWeek(Model):
    """Rule 10: what a teacher's day and week can hold over all classes."""

    name: Text = Field(description="The teacher, as classes and timetables name them.")
    dense_a_day: Count | None = Field(None, description="At most this many dense lessons a day.")
    live_a_day: Count | None = Field(None, description="At most this many lessons taught live in remote periods a day.")
    marking_a_week: Minutes | None = Field(None, description="At most this many minutes of marking per school week.")
    preparation_a_week: Minutes | None = Field(None, description="At most this many minutes of preparation per school week.")
    wish: WishWeight | None = Field(
        None,
        description="Makes these limits a preference of this weight, for each lesson too many a day and each begun 30 minutes "
        "too many a week.",
    )


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
    week: Cost = Field(2, description="One lesson, or 1 of load, more or less in a week.")
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


MOST_WHAT_IFS = 20


class Scenario(Model):
    """A teacher's units, classes, timetable and calendar: all that a sequence is made from.

    What-ifs hold parts of a scenario themselves: ``changes_schema`` completes this model.
    """

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
    patterns: tuple[Pattern, ...] = Field((), description="Patterns that units name: what goes with their new lessons.")
    units: Annotated[tuple[Unit, ...], Field(min_length=1)] = Field(description="What is to be taught.")
    classes: Annotated[tuple[TeachingClass, ...], Field(min_length=1)] = Field(description="The classes.")
    what_ifs: Annotated[tuple[WhatIf, ...], Field(max_length=MOST_WHAT_IFS)] = Field(
        (),
        description="Named lists of changes, each a future to be compared with the scenario as it stands; the scenario's own "
        "sequence heeds none of them.",
    )
