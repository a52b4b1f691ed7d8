"""The JSON Schema (2020-12) of what-ifs, generated from the models."""

from __future__ import annotations

from typing import Any

from sequencer.scenario.changes_schema import WhatIf
from sequencer.scenario.json_schema import SchemaGenerator


class _WhatIfGenerator(SchemaGenerator):
    title, description = "What-if", "A named list of changes of a scenario, made in their order."


def what_if_schema() -> dict[str, Any]:
    """The JSON Schema of a what-if, the short forms of its parts included."""
    return WhatIf.model_json_schema(schema_generator=_WhatIfGenerator)
