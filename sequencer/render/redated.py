"""A re-dated scenario, and the next term's, as YAML that reads back; what people must know stands at its head."""

from __future__ import annotations

from sequencer.next_term.forward import NextTerm
from sequencer.next_term.redate import MovedDate, Redated
from sequencer.scenario.yaml_text import scenario_yaml
from sequencer.words import day_text

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


def next_term_yaml(rolled: NextTerm) -> str:
    """The new scenario, which reads back, with a comment at its head."""
    head = ["A skeleton of the next term. What was taught last term stays as far as it still matters."]
    parts = (
        ("To be filled in:", rolled.to_fill_in),
        ("Carried over from last term:", rolled.carried),
        ("Left out:", rolled.no_longer_fits),
    )
    for title, lines in parts:
        head += ["", title, *(f"- {line}" for line in lines)] if lines else []
    return scenario_yaml(rolled.scenario, head)
