"""What every answer model has, and the parts that several share: names of lessons, periods, aims, the referee's verdict."""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    AliasChoices,
    AliasGenerator,
    AliasPath,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance
from sequencer.instance.plain_names import by_title
from sequencer.questions.judge import Verdict
from sequencer.scenario.changes.what_ifs import Change
from sequencer.scenario.fields import Weekday
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import model_data

Day = datetime.date
Status = Literal["optimal", "feasible", "infeasible", "unknown"]
FormatNumber = Literal[1]

WrittenScenario = Annotated[Scenario, PlainSerializer(lambda scenario: model_data(scenario))]
"""A scenario, written as short as the language allows."""

WrittenChange = Annotated[Change, PlainSerializer(lambda change: model_data(change))]
"""A change as a what-if lists it, written so too."""


def _by_title(text: str, info: ValidationInfo) -> str:
    return by_title(info.context)(text) if isinstance(info.context, Instance) else text


Told = Annotated[str, AfterValidator(_by_title)]
"""A sentence for people: it names lessons and units by their titles, as their ids stand in fields of their own."""


OnServer = Annotated[
    float | None,
    WithJsonSchema({"type": "number"}),
    Field(default_factory=lambda: None, exclude_if=lambda number: number is None),
]
"""A number that the service states, and the command line does not."""


def always_on_server(name: str) -> ConfigDict:
    """Settings of a model with such a field: the description of the service says that it is always there."""
    return ConfigDict(json_schema_extra=lambda schema: schema["required"].append(name))


def within(part: str, name: str) -> AliasChoices:
    """Where the value of a field stands that is null where the part is which has it."""
    return AliasChoices(AliasPath(part, name), part)


class Json(BaseModel):
    """Base of the answer models.

    The name of each ends in ``Json``, so that none is taken for the object it is written from; the description names it without
    that. A field is read from the attribute of its name, unless a validation alias says where it stands. ``class_`` and
    ``from_`` are written without the line.
    """

    model_config = ConfigDict(
        extra="forbid",
        from_attributes=True,
        validate_by_name=True,
        alias_generator=AliasGenerator(serialization_alias=lambda name: name.rstrip("_")),
        defer_build=True,
    )

    def __init_subclass__(cls, **settings: Any) -> None:
        super().__init_subclass__(**settings)
        cls.__name__ = cls.__qualname__ = cls.__name__.removesuffix("Json")

    @classmethod
    def of(cls, what: object, instance: Instance | None = None) -> Self:
        """Build the answer from an object of the product, or fields' values; an instance says what lessons' numbers mean."""
        return cls.model_validate(what, context=instance)

    def data(self) -> dict[str, Any]:
        """Return the answer as it goes out: mappings, lists, text and numbers."""
        return self.model_dump(mode="json", by_alias=True)


class With:
    """An object with some values beside its own, or instead of them, as a model reads it."""

    def __init__(self, what: object, /, **values: Any) -> None:
        vars(self).update(values, _what=what)

    def __getattr__(self, name: str) -> Any:
        return getattr(vars(self)["_what"], name)


class OfClassJson(Json):
    """What is of a class; where it stands as the last base, the class comes first."""

    class_: str = Field(description="The class.")


class UnitLessonJson(Json):
    """A lesson of the same class: read from its number, its name, or what has its number."""

    unit: str = Field(description="Id of the lesson's unit.")
    lesson: str = Field(description="Id of the lesson, unique in its unit.")

    @model_validator(mode="before")
    @classmethod
    def _of_lesson(cls, value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, tuple):
            return With(None, **by_name(value))
        number = value if isinstance(value, int) else getattr(value, "lesson", None)
        if not isinstance(number, int):
            return value
        assert isinstance(info.context, Instance), "a lesson's number means one of an instance"
        facts = info.context.lessons[number]
        return With(facts if number is value else value, **named(info.context, number), title=facts.title)


class LessonNameJson(UnitLessonJson, OfClassJson):
    """Which lesson of which class."""


def named(instance: Instance, lesson: int) -> dict[str, str]:
    """Return the fields that name a lesson, given by its number."""
    return by_name((instance.class_of(instance.lessons[lesson]).id, *in_unit(instance, lesson).values()))


def by_name(name: tuple[str, ...]) -> dict[str, str]:
    """Return the fields that name a lesson, given as its class, unit and id."""
    return dict(zip(("class_", "unit", "lesson"), name, strict=True))


def in_unit(instance: Instance, lesson: int) -> dict[str, str]:
    """Return the fields that name a lesson within its class."""
    return {"unit": instance.lessons[lesson].unit, "lesson": instance.lessons[lesson].id}


class PeriodJson(Json):
    """A period on a date."""

    date: Day = Field(description="The date.")
    period: int = Field(description="Number of the period in the school day.")

    @model_validator(mode="before")
    @classmethod
    def _paired(cls, value: Any) -> Any:
        return dict(zip(("date", "period"), value, strict=True)) if isinstance(value, tuple) else value


class SlotJson(Json):
    """A period of a class on a date."""

    date: Day = Field(description="The date.")
    weekday: Weekday = Field(description="Its weekday.")
    week: int = Field(description="Number of the school week, from 1; less in the term before.")
    label: str = Field(description="Label of the week, such as A.")
    period: int = Field(description="Number of the period in the school day.")
    slot: int = Field(description="Number among the class's periods, from 0.")

    @model_validator(mode="before")
    @classmethod
    def _of_class(cls, value: Any) -> Any:
        return slot_parts(value) if isinstance(value, Slot) else value


def slot_parts(slot: Slot) -> dict[str, Any]:
    """Return the values of the fields of ``SlotJson``."""
    week = {"week": slot.week.number, "label": slot.week.label}
    return {"date": slot.date, "weekday": f"{slot.date:%a}", **week, "period": slot.period, "slot": slot.number}


class AimResultJson(Json):
    """What was reached on one aim; smaller is better."""

    aim: str = Field(description="Name of the aim.")
    value: int | None = Field(description="Null when there is no sequence.")
    bound: int | None = Field(description="No sequence has a smaller value.")
    proven: bool = Field(description="Whether value and bound are equal: proven best.")
    conditional: bool = Field(description="Whether the bound holds only for the values reached on earlier aims.")


class RunFactsJson(Json):
    """How an answer came about; everything that may differ from run to run is here."""

    model_config = always_on_server("seconds_allowed")

    seconds: float = Field(description="Time that all of it took.")
    build_seconds: float = Field(description="Time that setting it up took, of that.")
    seed: int = Field(description="Seed of the search.")
    workers: int = Field(description="Searches at once.")
    repeatable: bool = Field(description="Whether the same request gives the same answer.")
    stopped_by: Literal["hand", "time", "effort"] | None = Field(
        description="What ended the search before all was proven; null when all was."
    )
    version: str = Field(description="Version of this program.")
    solver: str = Field(description="Name and version of the solver.")
    seconds_allowed: OnServer = Field(description="What was asked for, or what this server allows if that is less.")


class _OfRuleJson(Json):
    rule: int = Field(description="Number of the rule in the README.")
    name: str = Field(description="Name of the rule.")
    classes: list[str] = Field(validation_alias="class_ids", description="The classes concerned.")
    lessons: list[LessonNameJson] = Field(description="The lessons concerned.")


class BreachJson(_OfRuleJson):
    """A rule that a sequence breaks."""

    periods: list[PeriodJson] = Field(validation_alias="slots", description="The periods concerned.")
    message: Told = Field(description="What breaks the rule, in a sentence.")
    past: bool = Field(description="Whether what was delivered, and today's date, leave nothing that could mend it.")


class WishJson(_OfRuleJson):
    """A rule marked as a preference, or a wish to be live or not, that a sequence does not grant."""

    units: int = Field(description="By how much, in the rule's unit of violation.")
    weight: int = Field(description="Weight of the wish: units times weight is what it adds to the aim `wishes`.")
    message: Told = Field(description="What is not granted, in a sentence.")


class VerdictJson(Json):
    """The referee's judgement of a sequence."""

    sound: bool = Field(description="Whether every rule holds that still can.")
    breaches: list[BreachJson] = Field(description="Every rule broken, and where.")
    wishes: list[WishJson] = Field(description="The wishes that are not granted.")
    aims: dict[str, int] = Field(description="Every aim as the referee counts it.")


def verdict_json(instance: Instance, verdict: Verdict) -> dict[str, Any]:
    """Return a verdict as JSON."""
    return VerdictJson.of(verdict, instance).data()
