"""Planted half terms that are kept, since drawing them asks what can be settled in a second and a half: not the same everywhere.

``python -m tests.explaining.many FIRST END --save FILE`` draws others.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from sequencer import ExplainSettings, Explanation, explain, scenario_from_data

LONG = (106, 108, 110, 112, 113, 115, 116, 123)
"""Seeds of those whose explaining or judging, which solves once for each statement of a conflict, takes longest."""


@dataclass(frozen=True)
class Saved:
    """One half term with its contradictions: their names, and what undoing them all costs."""

    seed: int
    names: tuple[str, ...]
    cost: int
    scenario: dict[str, Any]


@cache
def explained(seed: int) -> Explanation:
    """Return the explanation of one of them, which is looked for once for all tests of a process."""
    (half_term,) = (each for each in saved() if each.seed == seed)
    return explain(scenario_from_data(half_term.scenario), ExplainSettings(seconds=120))


def saved() -> list[Saved]:
    """All of them."""
    lines = Path(__file__).with_name("saved.jsonl").read_text(encoding="utf-8").splitlines()
    entries = [json.loads(line) for line in lines]
    return [
        Saved(
            entry["seed"], tuple(name for name, _ in entry["plants"]), sum(cost for _, cost in entry["plants"]), entry["scenario"]
        )
        for entry in entries
    ]
