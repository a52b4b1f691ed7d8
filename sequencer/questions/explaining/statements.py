"""All statements of a scenario, and the scenario in the form from which each can be taken away."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance
from sequencer.questions.explaining.spread_out import spread_out
from sequencer.questions.explaining.stated_calendar import calendar_statements
from sequencer.questions.explaining.stated_lessons import lesson_statements
from sequencer.questions.explaining.stated_rules import rule_statements
from sequencer.questions.explaining.statement import Statement
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Stated:
    """A scenario taken apart.

    Parameters
    ----------
    scenario
        As written.
    spread
        The same, every instance of a rule by itself; no aims, for which nothing is looked for here.
    instance
        Its facts.
    statements
        Everything that could be taken away.
    """

    scenario: Scenario
    spread: Scenario
    instance: Instance
    statements: tuple[Statement, ...]


def take_apart(scenario: Scenario) -> Stated:
    """Every statement of a scenario, each once."""
    instance = build_instance(scenario)
    spread = spread_out(scenario, instance).model_copy(update={"aims": ()})
    found: dict[tuple[str, ...], Statement] = {}
    for statement in (
        *calendar_statements(scenario, instance),
        *lesson_statements(scenario, instance),
        *rule_statements(scenario, spread, instance),
    ):
        found.setdefault(statement.key, statement)
    return Stated(scenario, spread, instance, tuple(found.values()))
