"""A scenario that was read, in short: what it is about, and how much there is to place."""

from __future__ import annotations

from typing import Any

from sequencer.instance.build import build_instance
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data


def read_json(scenario: Scenario) -> dict[str, Any]:
    """The scenario as plain data, its term and aims, and for each class the lessons to place and the periods there are."""
    instance = build_instance(scenario)
    return {
        "format": 1,
        "title": scenario.title,
        "first": scenario.term.first.isoformat(),
        "last": scenario.term.last.isoformat(),
        "classes": [
            {
                "class": facts.id,
                "teacher": stated.teacher,
                "lessons": sum(instance.lessons[index].delivered is None for index in facts.lessons),
                "periods": len(facts.slots),
            }
            for facts, stated in zip(instance.classes, scenario.classes, strict=True)
        ],
        "aims": list(instance.aims),
        "what_ifs": [each.name for each in scenario.what_ifs],
        "scenario": scenario_data(scenario),
    }
