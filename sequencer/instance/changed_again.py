"""A scenario with changes made, read again like any other."""

from __future__ import annotations

from collections.abc import Sequence

from sequencer.instance.load import scenario_from_data
from sequencer.scenario.changes.what_ifs import Change, changed
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data


def apply_changes(scenario: Scenario, changes: Sequence[Change], source: str = "") -> Scenario:
    """The scenario with changes made, one after the other, and read again.

    Raises
    ------
    UnusableInput
        When a change names what is not there, or what comes of the changes is not a scenario.
    """
    return scenario_from_data(scenario_data(changed(scenario, changes, source)), source)
