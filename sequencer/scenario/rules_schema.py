"""The numbers of rules, as a user writes them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, get_args, get_origin

from pydantic import (
    BaseModel,
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    PlainSerializer,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from sequencer.scenario.fields import Count, Day, Model, OrShort, Span, Text
from sequencer.scenario.numbers import at_least, at_most


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
    """The number that a bare whole number sets."""
    usual: ClassVar[Mapping[str, Any]] = {}
    """Numbers that hold where a scenario states none."""
    topic: ClassVar[str] = ""
    """What a change calls the rule where it has no words of its own; its key unless stated."""
    unless_stated: ClassVar[str] = ""
    """What holds where no scenario states it, in words; nothing, or the rule where it has no numbers, unless said here."""
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


class RuleEntry(Model):
    """Base of what a rule lists that it asks for, each entry with its own numbers; `off` stands for none."""

    def said(self) -> str:
        """The entry in a change."""
        raise NotImplementedError

    def stated(self) -> str:
        """The entry in an explanation; as in a change unless it says otherwise."""
        return self.said()


def short_forms(main: str = "") -> BeforeValidator:
    """Reads `off`, and a bare whole number, which sets the main one."""

    def expand(value: Any) -> Any:
        if value == "off":
            return {"off": True}
        if main and isinstance(value, int) and not isinstance(value, bool):
            return {main: value}
        return value

    return BeforeValidator(expand)


WISHED_WEIGHT = "What each unit outside costs in the aim `wishes`; 1 unless stated."


WISHED_MINUTES = 30
"""A teacher's minutes beyond what is wished count by each begun so many."""


MOST_FURTHER = 5
"""Further times that a lesson is met again, at most."""


class LiveQuota(RuleEntry):
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


def windows_of(numbers: type[RuleNumbers]) -> list[tuple[str, str]]:
    """The pairs of a least and a greatest number of the same thing."""
    leasts = (name for name in numbers.model_fields if name.startswith("least"))
    return [(name, most) for name in leasts if (most := f"most{name[5:]}") in numbers.model_fields]


def _off_is_none(value: Any) -> Any:
    return () if value == "off" else value


def _bare(annotation: Any) -> Any:
    return get_args(annotation)[0] if get_origin(annotation) is Annotated else annotation


class RuleKeys(Model):
    """Base of the rules that may be switched off or given numbers in one place: each rule gives its own key."""

    if TYPE_CHECKING:

        def __getattr__(self, key: str) -> Any: ...

    @classmethod
    def register(cls, key: str, numbers: type[RuleNumbers | RuleEntry], description: str) -> None:
        """Give a rule its key here, and in what is derived from here, where keys from here come first."""
        if issubclass(numbers, RuleEntry):
            entries: Any = tuple[numbers, ...]  # type: ignore[valid-type]
            held: Any = Annotated[entries, BeforeValidator(_off_is_none), OrShort({"const": "off"})] | None
        else:
            held = Annotated[numbers, short_forms(numbers.main)] | None
        for level in (cls, *cls.__subclasses__()):
            level.__pydantic_fields__[key] = FieldInfo.from_annotated_attribute(held, Field(None, description=description))
            level.__pydantic_fields__ = {**{each: level.model_fields[each] for each in cls.model_fields}, **level.model_fields}

    @classmethod
    def numbers_of(cls, key: str) -> type[RuleNumbers] | None:
        """The class of a rule's numbers; None where it lists what it asks for."""
        kinds = [_bare(each) for each in get_args(cls.model_fields[key].annotation)]
        return next((each for each in kinds if isinstance(each, type) and issubclass(each, RuleNumbers)), None)


def rebuild(model: type[BaseModel] = Model) -> None:
    """Let models that were used already know of keys that were registered since."""
    for each in model.__subclasses__():
        if each.__pydantic_complete__ or issubclass(each, RuleKeys):
            each.model_rebuild(force=True)
        rebuild(each)


class LessonRules(RuleKeys):
    """Rules that a lesson, or a unit for its lessons, may switch off or give numbers."""


class ClassRules(LessonRules):
    """Rules of a class or of the whole scenario: those of its lessons, and those that count its slots and weeks."""


class CohortRules(RuleKeys):
    """Rules of a cohort, which count over its classes."""
