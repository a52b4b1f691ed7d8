"""The periods in which a class meets, as a user writes them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from sequencer.scenario.fields import Day, Model, OneOrList, OrShort, PeriodNumber, Text, Weekday, Words, one_of, short_for
from sequencer.words import WEEKDAYS


class TimetabledPeriod(Model):
    """One period of a class in the cycle, when more than its number is to be said."""

    period: PeriodNumber = Field(description="The period's number.")
    offers: Words = Field((), description="What this period offers in class, such as a lab or computers.")
    teacher: Text | None = Field(None, description="Who teaches it; the class's teacher unless stated.")


_NUMBER = OrShort({"type": "integer", "minimum": 0, "maximum": 30})
PeriodEntry = Annotated[TimetabledPeriod, short_for("period", int), _NUMBER]
PeriodEntries = Annotated[tuple[PeriodEntry, ...], one_of(int, dict), OneOrList()]


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
