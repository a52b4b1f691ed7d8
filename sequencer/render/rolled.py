"""The next term's scenario as YAML, with what was carried over and what is to be filled in at its head."""

from __future__ import annotations

from sequencer.next_term.forward import NextTerm
from sequencer.scenario.yaml_text import scenario_yaml


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
