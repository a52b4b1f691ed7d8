"""The types that the scenario language is built from: dates, names, lists that one word may stand for."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler, WithJsonSchema
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from sequencer.words import AIMS, HAPPENED, KINDS, LIVE_WISHES, TAUGHT, TAUGHT_CHOICES, WEEKDAYS

Kind = Literal["teach", "practice", "retrieval", "feedback", "assessment"]
Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
LiveWish = Literal["demand", "prefer", "avoid", "refuse"]
TaughtChoice = Literal["open", "live", "set work"]
Taught = Literal["in class", "live", "set work"]
AimName = Literal[
    "left out", "carried over", "left for the next plan", "made lessons", "wishes", "early finish", "dense as set work",
    "distance", "even load", "even week",
]  # fmt: skip
Happened = Literal["delivered", "part-taught", "needs another", "skipped", "lost"]
Span = Literal["week", "cycle", "span"]

# The literals above are spelled out for type checkers; the tuples in words.py are what the code loops over.
for _words, _spelled in (
    (KINDS, Kind), (WEEKDAYS, Weekday), (LIVE_WISHES, LiveWish), (TAUGHT_CHOICES, TaughtChoice), (TAUGHT, Taught),
    (AIMS, AimName), (HAPPENED, Happened),
):  # fmt: skip
    assert set(_words) == set(get_args(_spelled))


def _iso_date(value: Any) -> Any:
    if not isinstance(value, str):
        raise PydanticCustomError("iso_date", "must be a date such as 2026-11-02")
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value, re.ASCII):
        raise PydanticCustomError("iso_date", "must be a date such as 2026-11-02")
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise PydanticCustomError("no_such_date", "is a date that does not exist") from None


def _clock_time(value: Any) -> Any:
    if not isinstance(value, str) or not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", value, re.ASCII):
        raise PydanticCustomError("clock_time", 'must be a time such as "09:05", in quotes')
    return value


def one_of(*kinds: type) -> BeforeValidator:
    """Reads one entry of these kinds as a list of one."""
    return BeforeValidator(lambda value: (value,) if isinstance(value, kinds) and not isinstance(value, bool) else value)


def short_for(key: str, kind: type) -> BeforeValidator:
    """Reads a bare word or number as a mapping that says that alone, under a key."""
    return BeforeValidator(lambda value: {key: value} if isinstance(value, kind) and not isinstance(value, bool) else value)


Day = Annotated[date, BeforeValidator(_iso_date), WithJsonSchema({"type": "string", "format": "date"})]
Clock = Annotated[
    str, BeforeValidator(_clock_time), WithJsonSchema({"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$"})
]
ClassId = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 _./-]*$", max_length=40)]
Ident = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 _.-]*$", max_length=60)]
MadeIdent = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 _.-]*$", max_length=80)]
LESSON_REF = r"^[A-Za-z0-9][A-Za-z0-9 _.-]*(/[A-Za-z0-9][A-Za-z0-9 _.-]*)?$"
LONGEST_REF = 141
"""An id, a slash, and the id of a lesson that a pattern made or that remains of another."""
NAMED: JsonSchemaValue = {"type": "string", "minLength": 1, "maxLength": 401}
"""The JSON Schema of what names a lesson or a unit: a title will do, a unit's title and a lesson's at most."""
LessonRef = Annotated[str, Field(pattern=LESSON_REF, max_length=LONGEST_REF), WithJsonSchema(NAMED)]
TitleOrId = Annotated[Ident, WithJsonSchema(NAMED)]
OwnLesson = Annotated[MadeIdent, WithJsonSchema(NAMED)]
"""A lesson named from inside its unit or class."""
Label = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 ]*$", max_length=10)]
Text = Annotated[str, Field(min_length=1, max_length=200)]
PeriodNumber = Annotated[int, Field(ge=0, le=30)]
Days = Annotated[int, Field(ge=0, le=800)]
Count = Annotated[int, Field(ge=0, le=1000)]
Load = Annotated[int, Field(ge=0, le=1000)]
Minutes = Annotated[int, Field(ge=0, le=6000)]


class Model(BaseModel):
    """Base of every scenario model: frozen, strict, no unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, defer_build=True)


class OneOrList:
    """Lets the JSON Schema of a list take one of its entries too, as ``one_of`` does."""

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        written = handler(core)
        return {"anyOf": [written["items"], written]}


class OrShort:
    """Lets the JSON Schema of a field take a short form too."""

    def __init__(self, short: JsonSchemaValue) -> None:
        self._short = short

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"anyOf": [self._short, handler(core)]}


_ONE = one_of(str, int)
Words = Annotated[tuple[Text, ...], _ONE, OneOrList()]
ClassIds = Annotated[tuple[ClassId, ...], _ONE, OneOrList()]
LessonRefs = Annotated[tuple[LessonRef, ...], _ONE, OneOrList()]
UnitIds = Annotated[tuple[TitleOrId, ...], _ONE, OneOrList()]
PeriodNumbers = Annotated[tuple[PeriodNumber, ...], _ONE, OneOrList()]
WeekdayNames = Annotated[tuple[Weekday, ...], _ONE, OneOrList()]
KindNames = Annotated[tuple[Kind, ...], _ONE, OneOrList()]
DayList = Annotated[tuple[Day, ...], _ONE, OneOrList()]
