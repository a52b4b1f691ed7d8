"""The next term's scenario as YAML, with what was carried over and what is to be filled in at its head; and as a JSON body."""

from __future__ import annotations

from typing import Any

from sequencer.next_term.forward import NextTerm
from sequencer.scenario.written import scenario_data
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


def next_term_json(rolled: NextTerm) -> dict[str, Any]:
    """The new scenario, what was carried over, what is to be filled in, and what was left out."""
    return {
        "scenario": scenario_data(rolled.scenario),
        "carried": list(rolled.carried),
        "to_fill_in": list(rolled.to_fill_in),
        "no_longer_fits": list(rolled.no_longer_fits),
    }
