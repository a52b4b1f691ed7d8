"""What a rule costs: the same scenario without it, solved the same way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.questions.explaining.spread_out import spread_out
from sequencer.questions.solve import AimResult, SolveSettings, solve
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.rules_schema import (
    ConsecutiveHighLoad,
    Dates,
    InStep,
    Marking,
    Place,
    PracticeAfterDense,
    PracticeBeforeAssessment,
    Prerequisites,
    Retrieval,
)
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal

OF_LESSONS: Mapping[str, Any] = {
    "prerequisites": Prerequisites(off=True),
    "consecutive_high_load": ConsecutiveHighLoad(off=True),
    "practice_after_dense": PracticeAfterDense(off=True),
    "practice_before_assessment": PracticeBeforeAssessment(off=True),
    "retrieval": Retrieval(off=True),
    "marking": Marking(off=True),
    "dates": Dates(off=True),
    "place": Place(off=True),
    "in_step": InStep(off=True),
}
OF_CLASSES: Mapping[str, Any] = {"caps": (), "threads": (), "live_quotas": (), "week": None}
OF_TEACHERS = "teachers"
RULES = (*OF_LESSONS, *OF_CLASSES, OF_TEACHERS)
"""The rules that can be dropped."""


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
    edits = []
    for place, teaching_class in enumerate(spread.classes):
        if rule in OF_CLASSES:
            edits.append(Edit(("classes", place, "rules", rule), OF_CLASSES[rule]))
            continue
        edits += [Edit(("classes", place, "lessons", key, "rules", rule), OF_LESSONS[rule]) for key in teaching_class.lessons]
        topics = range(len(teaching_class.taught_before))
        edits += [Edit(("classes", place, "taught_before", topic, "rules", rule), OF_LESSONS[rule]) for topic in topics]
    if rule == "live_quotas":
        edits.append(Edit(("rules", "live_quotas"), ()))
    return edited(spread, edits)
