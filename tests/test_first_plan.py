"""A first plan of many classes: which of them are planned anew together where a rule over several of them is broken."""

from __future__ import annotations

import time
from functools import partial

import pytest

from sequencer import scenario_from_data
from sequencer.instance.build import build_instance
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import build_model, prepare
from sequencer.solver.prices.few_together import FewTogether
from sequencer.solver.prices.first_plan import FEW_FREE, FirstPlan
from sequencer.solver.prices.many import ManyClasses
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.solver.sought import SequenceSought
from tests.builders import QUIET, Data, a_class, assessment, scenario

WEEKS = 4


def year_group(most_a_day: int) -> Data:
    """Two subjects of two parallel classes in step, which meet on Mondays; the first of each share pupils, and the second."""
    units = [{"id": subject, "lessons": [assessment("test")]} for subject in ("maps", "water")]
    classes = [a_class(f"{subject}-{number}", "Mon 1", subject) for subject in ("maps", "water") for number in (1, 2)]
    cohorts = [
        {"id": f"half {number}", "subjects": [{"name": each, "classes": [f"{each}-{number}"]} for each in ("maps", "water")]}
        for number in (1, 2)
    ]
    rules = {**QUIET, "in_step": 0, "pupils_week": {"assessments_a_day": most_a_day}}
    return scenario(weeks=WEEKS, units=units, classes=classes, cohorts=cohorts, rules=rules, aims=["early finish"])


@pytest.fixture
def many() -> ManyClasses:
    """Nobody may have two tests on one day."""
    prepared = prepare(build_instance(scenario_from_data(year_group(1))))
    stop, build = StopSignal(), partial(build_model, prepared)
    alone = [GroupSearch(SequenceSought(build((index,))), 0, 1, stop) for index in range(4)]
    return ManyClasses(prepared, ClassesApart(tuple(alone)), build, 0, 1, stop)


def test_who_could_make_room(many: ManyClasses) -> None:
    few: FewTogether = many._few
    assert few.around((0,)) == [2] and few.around((2,)) == [0], "the other subject's class of the same pupils"
    assert few.around((0, 1)) == [2], "no limit is shared by classes in step: what vies with the first"
    assert (few.beside(0), few.beside(3)) == ([1], [2])


def test_of_many_classes_those_in_step_are_planned_anew_too(many: ManyClasses) -> None:
    first: FirstPlan = many._first
    assert first._lot((0, 2), 1) in ((0,), (2,))
    assert first._lot((0, 2), 2) == (0, 2)
    assert first._lot((0, 2), FEW_FREE) == (0, 1, 2), "all that vie with the first"
    assert first._lot((0, 2), FEW_FREE + 1) == (0, 1, 2, 3)


def test_a_plan_that_breaks_rules_is_mended(many: ManyClasses) -> None:
    budget = Budget(time.monotonic() + 60, 60)
    assert many.begin(budget)
    slot = {each.lesson: each.slot for each in many.settle(budget).sequence.placements}
    assert slot[0] == slot[1] != slot[2] == slot[3]
