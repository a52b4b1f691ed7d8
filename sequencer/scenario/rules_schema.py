"""The numbers of rules, as a user writes them."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import (
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    PlainSerializer,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from sequencer.scenario.fields import Count, Day, Days, Model, OrShort, Span, Text
from sequencer.scenario.numbers import DOWN, UP, Number, at_least, at_most
from sequencer.scenario.pattern_schema import Homework
from sequencer.words import count_text


def _off_is_hard(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
    return 0 if value == "off" else handler(value)


WishWeight = Annotated[int, Field(ge=1, le=1000)]
RunLength = Annotated[int, Field(ge=1, le=20)]
Periods = Annotated[int, Field(ge=1, le=400)]
SchoolDays = Annotated[int, Field(ge=0, le=400)]
Distance = Annotated[int, Field(ge=1, le=800)]
WeekLoad = Annotated[int, Field(ge=0, le=100000)]


WishOrOff = Annotated[
    WishWeight,
    WrapValidator(_off_is_hard),
    PlainSerializer(lambda weight: weight or "off", when_used="json-unless-none"),
    OrShort({"const": "off"}),
]
"""The weight of a preference; where levels are merged, `off` (0) makes the rule hard again."""


class RuleNumbers(Model):
    """Base of a rule's numbers; `off` switches the rule off, and a bare whole number sets the main one."""

    main: ClassVar[str] = ""
    topic: ClassVar[str] = ""
    """What a change calls the rule where it has no words of its own; its key unless stated."""
    unless_stated: ClassVar[str] = "on"
    """What holds where no scenario states it."""
    permits: ClassVar[bool] = False
    """Whether it asks for nothing, and says only what may be."""

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


class Prerequisites(RuleNumbers):
    """Rule 1: whether what lessons require holds."""


WISHED_WEIGHT = "What each unit outside costs in the aim `wishes`; 1 unless stated."


class WishedHighLoad(RuleNumbers):
    """Rule 2, wished beside the hard cap: how many high-load lessons would better follow one another."""

    main: ClassVar[str] = "most"

    most: RunLength | None = Field(None, description="At most this many, wished.")
    weight: WishWeight | None = Field(None, description=WISHED_WEIGHT)


class ConsecutiveHighLoad(RuleNumbers):
    """Rule 2: how many high-load lessons may follow one another."""

    main: ClassVar[str] = "most"
    topic: ClassVar[str] = "hard lessons in a row"
    unless_stated: ClassVar[str] = "at most 2"

    most: Annotated[RunLength | None, at_most("in a row", "hard lesson", cost="run", most_steps=5)] = Field(
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
    most: Annotated[Count, at_most("", cost="run", most_steps=5)] = Field(description="At most this many.")
    of: Periods = Field(description="Of any this many consecutive periods.")
    break_days: Days | None = Field(
        None, description="Periods whose dates differ by more than this many days do not count as consecutive."
    )
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each period too many of each `of` in a row."
    )

    def said(self) -> str:
        """The cap in a change."""
        return f"at most {self.most} of any {count_text(self.of, 'period')} in a row for {self.tag}"


class Thread(Model):
    """Rule 2: of any `of` consecutive slots at least `least` hold a lesson with the tag or are spare."""

    tag: Text = Field(description="The tag that runs through the lessons.")
    least: Annotated[Count, at_least("", cost="run", most_steps=5)] = Field(description="At least this many.")
    of: Periods = Field(description="Of any this many consecutive periods.")
    break_days: Days | None = Field(
        None, description="Periods whose dates differ by more than this many days do not count as consecutive."
    )
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each period too few of each `of` in a row."
    )

    def said(self) -> str:
        """The thread in a change."""
        return f"at least {self.least} of any {count_text(self.of, 'period')} in a row for {self.tag}"


class PracticeAfterDense(RuleNumbers):
    """Rule 3: a dense lesson is practised straight away."""

    main: ClassVar[str] = "within"
    topic: ClassVar[str] = "practice"
    unless_stated: ClassVar[str] = "within 1 period"

    within: Annotated[Periods | None, Number("practice within {}", "period", UP)] = Field(
        None, description="The practice comes at most this many periods after the dense lesson ends; 1 unless stated."
    )
    days: Annotated[Days | None, Number("practice within {}", "day", UP)] = Field(
        None, description="And at most this many days after its date; no limit unless stated."
    )
    no_new_content: bool | None = Field(None, description="And with no new content strictly between; false unless stated.")
    homework: Homework | None = Field(
        None, description="Homework set in the dense lesson serves as its practice; none unless stated."
    )


class PracticeBeforeAssessment(RuleNumbers):
    """Rule 3: whether an assessment comes after the practice of the dense lessons that it requires."""

    topic: ClassVar[str] = "practice before assessments"


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

    least: Distance = Field(description="Least days.")
    most: Distance = Field(description="Most days.")
    preferred: Days | None = Field(
        None, description="Preferred days, for the aim `distance`; half way between least and most unless stated."
    )
    counted_from: Literal["lesson", "retrieval before"] = Field(
        "lesson", description="Where its days are counted from: the lesson, or the retrieval before this one."
    )


class Retrieval(RuleNumbers):
    """Rule 4: what was taught is met again at a useful distance."""

    topic: ClassVar[str] = "being met again"
    unless_stated: ClassVar[str] = "10 to 14 days; preferred half way; where listed"

    least: Annotated[Distance | None, Number("met again from {} on", "day", DOWN)] = Field(
        None, description="Least days from the lesson to its retrieval; 10 unless stated."
    )
    most: Annotated[Distance | None, Number("met again within {}", "day", UP)] = Field(
        None, description="Most days; 14 unless stated."
    )
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
    permits: ClassVar[bool] = True
    unless_stated: ClassVar[str] = "only those listed"

    most: Annotated[int, Field(ge=0, le=20)] | None = Field(
        None,
        description="At most this many earlier lessons are met again in its starter, listed ones included; only the listed ones "
        "unless stated. Listed ones stand whatever their number.",
    )


class Marking(RuleNumbers):
    """Rules 6 and 7: how long the lesson's marking takes, and how soon feedback must follow."""

    main: ClassVar[str] = "least"
    unless_stated: ClassVar[str] = "at least 3 school days"

    least: Annotated[
        SchoolDays | None,
        Number("{} for marking", "school day", DOWN, stated="marking {lesson} takes {}", kind="marking time"),
    ] = Field(
        None, description="School days from the lesson to its feedback or to its report deadline, at least; 3 unless stated."
    )
    most: Annotated[
        SchoolDays | None,
        Number(
            "talked through within {}",
            "school day",
            UP,
            stated="{lesson} is talked through at most {} later",
            kind="marking limit",
        ),
    ] = Field(None, description="School days from the lesson to its feedback, at most; no limit unless stated.")
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

    topic: ClassVar[str] = "needs and places"


class InStep(RuleNumbers):
    """Rule 11: parallel classes meet the same lesson of a unit within so many days."""

    main: ClassVar[str] = "days"
    topic: ClassVar[str] = "days between parallel classes"
    unless_stated: ClassVar[str] = "off"

    days: Annotated[
        Days | None, Number("parallel classes within {} of one another", "day", UP, stated="{lesson} lies within {} in {classes}")
    ] = Field(None, description="Latest date minus earliest, at most; the rule is off unless stated.")
    wish: WishOrOff | None = Field(
        None,
        description="Makes it a preference of this weight, for each day too many between each two classes; `off` makes it hard "
        "again.",
    )


class LiveQuota(Model):
    """Rule 5: how many lessons are taught live in remote periods, per week, cycle or span of dates."""

    per: Span = Field("week", description="Counted per school week, per cycle, or over one span of dates.")
    least: Annotated[Count | None, at_least("", "lesson", cost="quota")] = Field(
        None, description="At least this many lessons live; cut to what the periods allow."
    )
    most: Annotated[Count | None, at_most("", "lesson", cost="quota")] = Field(
        None, description="At most this many lessons live."
    )
    first: Day | None = Field(None, description="First date of the span; only for per: span.")
    last: Day | None = Field(None, description="Last date of the span; only for per: span.")
    teacher: Text | None = Field(None, description="Count over all periods of this teacher instead of per class.")
    wish: WishWeight | None = Field(
        None, description="Makes it a preference of this weight, for each lesson short or over in each count."
    )

    def said(self) -> str:
        """The quota in a change: ``at least 2 live per week``."""
        limits = [f"at {name} {limit}" for name in ("least", "most") if (limit := getattr(self, name)) is not None]
        return f"{' and '.join(limits)} live per {self.per}"


class WishedShape(RuleNumbers):
    """Rule 9, wished beside the hard numbers: narrower limits of a week."""

    least_lessons: Count | None = Field(None, description="At least this many lessons a week, wished.")
    most_lessons: Count | None = Field(None, description="At most this many lessons a week, wished.")
    least_load: WeekLoad | None = Field(None, description="At least this load a week, wished.")
    most_load: WeekLoad | None = Field(None, description="At most this load a week, wished.")
    weight: WishWeight | None = Field(None, description=WISHED_WEIGHT)


class WeeklyShape(RuleNumbers):
    """Rule 9: least and most lessons and load per class and school week."""

    topic: ClassVar[str] = "a week"
    unless_stated: ClassVar[str] = "none"

    least_lessons: Annotated[Count | None, at_least("a week", "lesson", cost="week")] = Field(
        None, description="At least this many lessons a week; cut to the week's periods."
    )
    most_lessons: Annotated[Count | None, at_most("a week", "lesson", cost="week")] = Field(
        None, description="At most this many lessons a week."
    )
    least_load: Annotated[
        WeekLoad | None, Number("at least a load of {} a week", None, DOWN, cost="week", stated="at least {} load a week")
    ] = Field(None, description="At least this load a week.")
    most_load: Annotated[
        WeekLoad | None, Number("at most a load of {} a week", None, UP, cost="week", stated="at most {} load a week")
    ] = Field(None, description="At most this load a week.")
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
