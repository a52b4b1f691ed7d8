"""The JSON Schema (2020-12) of scenarios that editors use, generated from the models.

``python -m sequencer schema`` prints it; it is kept beside the scenarios, and a test fails when that copy is stale.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic.json_schema import GenerateJsonSchema
from pydantic_core import CoreSchema

from sequencer.scenario.new_calendar import NewCalendar
from sequencer.scenario.schema import Scenario

TITLE = "Scenario"
DESCRIPTION = (
    "A teacher's units, classes, timetable and calendar, format 1. Checks across entries (unknown names, circles, "
    "empty windows) are made when the scenario is read."
)


class SchemaGenerator(GenerateJsonSchema):
    """Leaves out the titles that only repeat a key's name, and says first what is described."""

    title, description = TITLE, DESCRIPTION

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False

    def generate(self, schema: CoreSchema, mode: Any = "validation") -> dict[str, Any]:
        body = super().generate(schema, mode)
        header = {"$schema": self.schema_dialect, "title": self.title, "description": self.description}
        return header | {key: value for key, value in body.items() if key not in header}


class _CalendarGenerator(SchemaGenerator):
    title, description = "New calendar", "A new year's calendar, onto which a scenario is re-dated, format 1."


def scenario_schema() -> dict[str, Any]:
    """The JSON Schema of a scenario, its short forms included."""
    return Scenario.model_json_schema(schema_generator=SchemaGenerator)


def calendar_schema() -> dict[str, Any]:
    """The JSON Schema of a new year's calendar, its short forms included."""
    return NewCalendar.model_json_schema(schema_generator=_CalendarGenerator)


def schema_text() -> str:
    """The schema as it is kept in ``scenarios/scenario.schema.json``."""
    return json.dumps(scenario_schema(), indent=2, ensure_ascii=False) + "\n"
