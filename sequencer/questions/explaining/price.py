"""What a rule costs: the same scenario without it, solved the same way."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.questions.explaining.spread_out import of_classes, spread_out, switched_off
from sequencer.questions.solve import AimResult, SolveSettings, solve
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.rules_schema import ClassRules, CohortRules
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal

OF_TEACHERS = "teachers"
_MODELS = {rule: ClassRules.numbers_of(rule) for rule in ClassRules.model_fields}
RULES = (*(rule for rule, model in _MODELS.items() if model is None or not model.permits), OF_TEACHERS)
"""The rules that can be dropped: every one that asks for something, by its key."""


@dataclass(frozen=True)
class Price:
    """A rule and the aims with and without it; the aims are None where there is no sequence.

    Parameters
    ----------
    status_with, status_without
        What was found in each case: ``optimal``, ``feasible``, ``infeasible`` or ``unknown``.
    """

    rule: str
    with_it: tuple[AimResult, ...]
    without_it: tuple[AimResult, ...]
    status_with: str
    status_without: str


def price(scenario: Scenario, rule: str, settings: SolveSettings | None = None, stop: StopSignal | None = None) -> Price:
    """What each aim comes to with a rule and without it.

    Raises
    ------
    UnusableSettings
        When there is no such rule.
    """
    without = without_rule(scenario, rule)
    kept, dropped = (solve(each, settings, None, stop) for each in (scenario, without))
    return Price(rule, kept.aims, dropped.aims, kept.status, dropped.status)


def without_rule(scenario: Scenario, rule: str) -> Scenario:
    """The scenario without a rule, whatever level states it."""
    if rule not in RULES:
        raise UnusableSettings([f"must be one of {', '.join(RULES)} (got {rule})"])
    if rule == OF_TEACHERS:
        return scenario.model_copy(update={"teachers": ()})
    spread = spread_out(scenario, build_instance(scenario))
    off = switched_off(rule)
    if rule in of_classes():
        classes = [Edit(("classes", place, "rules", rule), off) for place in range(len(spread.classes))]
        cohorts = [Edit(("cohorts", place, "rules", rule), off) for place in range(len(spread.cohorts))]
        return edited(spread, [Edit(("rules", rule), off), *classes, *(cohorts if rule in CohortRules.model_fields else ())])
    edits = []
    for place, teaching_class in enumerate(spread.classes):
        own = [*(("lessons", key) for key in teaching_class.lessons)]
        own += [("taught_before", topic) for topic in range(len(teaching_class.taught_before))]  # type: ignore[misc]
        edits += [Edit(("classes", place, *each, "rules", rule), off) for each in own]
    return edited(spread, edits)
