"""A re-dated scenario as YAML, with what no longer fits at its head and old dates beside new ones."""

from __future__ import annotations

from sequencer.next_term.redate import MovedDate, Redated
from sequencer.rules.verdict import day_text
from sequencer.scenario.yaml_text import scenario_yaml

HOW_DATES_MOVE = "Dates moved to the same weekday of the school week with the same number; the old date stands beside each."


def redated_yaml(redated: Redated) -> str:
    """The new scenario, which reads back, with what no longer fits as a comment at its head."""
    head = [HOW_DATES_MOVE] if redated.moved else []
    if redated.no_longer_fits:
        head += ["What no longer fits:", *(f"- {misfit.text}" for misfit in redated.no_longer_fits)]
    else:
        head.append("Everything fits.")
    return scenario_yaml(redated.scenario, head, {moved.path: _note(moved) for moved in redated.moved})


def _note(moved: MovedDate) -> str:
    return f"was {day_text(moved.old)}" + ("; no school day now" if moved.school_day is False else "")
