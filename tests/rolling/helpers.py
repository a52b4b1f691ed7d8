"""One term rolled forward to the next.

The old term runs for two weeks from Monday 2 November 2026; the new one for five from Monday 23 November, after a week out.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from sequencer import NextTerm, load_scenario, next_term, next_term_yaml, scenario_data, scenario_from_data, sequence_from_data
from tests.builders import Data
from tests.rules.helpers import row

FIRST, LAST = date(2026, 11, 23), date(2026, 12, 27)


def rolled(data: Data, *rows: Data, first: date = FIRST, last: date = LAST) -> NextTerm:
    """Return the next term of a scenario and a sequence written by hand; it reads back as it is written."""
    scenario = scenario_from_data(data)
    result = next_term(scenario, sequence_from_data(scenario, {"lessons": list(rows)}), first, last)
    assert load_scenario(next_term_yaml(result)) == result.scenario
    return result


def new(result: NextTerm) -> Data:
    return scenario_data(result.scenario)


def filled(result: NextTerm, *lessons: Data, class_id: str = "9B", **more: Any) -> Data:
    """Return the new scenario with a unit ``n`` of lessons filled in for a class, and other keys changed."""
    data = new(result)
    data["units"] = [unit for unit in data["units"] if unit["id"] != "first-unit"] + [{"id": "n", "lessons": list(lessons)}]
    for class_ in data["classes"]:
        if class_["id"] == class_id:
            units = class_["units"]
            class_["units"] = [*([units] if isinstance(units, str) else units), "n"]
    return data | more


__all__ = ["FIRST", "LAST", "filled", "new", "rolled", "row"]
