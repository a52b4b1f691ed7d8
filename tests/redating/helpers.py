"""Two years to move a scenario between, and what comes of it.

The old term runs from Monday 2 November to Friday 18 December 2026 with a week of holiday from 23 November, so that its school
weeks begin on 2, 9, 16, 30 November, 7 and 14 December. The new one runs from Thursday 4 November to Friday 10 December 2027
with a week of holiday from 15 November: its weeks begin on 1, 8, 22, 29 November and 6 December, one fewer, and its first has
no Monday.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sequencer import Redated, calendar_from_data, load_scenario, redate, redated_yaml, scenario_from_data
from tests.builders import Data, scenario, teach

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))

OLD: Data = {
    "term": {"first": "2026-11-02", "last": "2026-12-18"},
    "holidays": [{"name": "Break", "first": "2026-11-23", "last": "2026-11-27"}],
}
NEW: Data = {
    "term": {"first": "2027-11-04", "last": "2027-12-10"},
    "holidays": [{"name": "Break", "first": "2027-11-15", "last": "2027-11-19"}],
}
EVERY_DAY = "Mon 1, Tue 1, Wed 1, Thu 1, Fri 1"


def redated(data: Data, **calendar: Any) -> Redated:
    """Return a scenario on the new calendar, which the keywords add to; what comes of it reads back."""
    before = scenario_from_data(data)
    result = redate(before, calendar_from_data(before, NEW | calendar))
    assert load_scenario(redated_yaml(result)) == result.scenario
    return result


def said(result: Redated) -> list[str]:
    return [misfit.text for misfit in result.no_longer_fits]


def one_lesson(**lesson: Any) -> Data:
    """Return a class that meets once a day and has one lesson."""
    return scenario([teach("x", **lesson)], per_week=EVERY_DAY, **OLD)
