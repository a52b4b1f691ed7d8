"""Random scenarios and the demos as terms: out into a workbook and back, recorded, planned again, rolled forward, and back."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from sequencer import (
    Scenario,
    UnusableInput,
    UnusableSettings,
    WholeTerm,
    next_term,
    plan_sequence,
    read_scenario,
    scenario_from_data,
    term_of,
    undo,
)
from tests.crosscheck.saved import scenario as random_scenario
from tests.terms.helpers import done, through_a_workbook, ticked
from tests.writing_commands import SCENARIOS

IN_THE_SUITE, BY_NAME = 2, 120
DEMOS = sorted(SCENARIOS.glob("*.yaml"))


def walk(scenario: Scenario) -> str:
    """Every step of a term; what stopped it, or nothing. Whatever is written must be read back as the same."""
    term = through_a_workbook(term_of(scenario))
    first = done(term, scenario.term.first)
    if first.done != "planned":
        assert first.term == term
        return first.done
    term = through_a_workbook(first.term)
    assert done(term, scenario.term.first).done == "nothing"
    assert term.plan is not None
    days = sorted({row.date for row in term.plan.lessons if row.what is None})
    if days:
        term = _recorded(term, days)
    sequence = plan_sequence(term.scenario, term.plan, "")
    begins = scenario.term.last + timedelta(days=17)
    try:
        rolled = next_term(term.scenario, sequence, begins, begins + timedelta(days=40))
    except UnusableSettings as nobody:
        assert "no class is left" in str(nobody)
        return "no class is left"
    through_a_workbook(term_of(rolled.scenario))
    return ""


def _recorded(term: WholeTerm, days: list[object]) -> WholeTerm:
    until = days[len(days) // 2]
    filled = through_a_workbook(ticked(term, until))  # type: ignore[arg-type]
    try:
        after = done(filled, until)  # type: ignore[arg-type]
    except UnusableInput as unusable:
        # A lesson for which no rule asks may be fixed by dates that are over; everything else can be recorded.
        raise AssertionError([problem.text("") for problem in unusable.problems]) from None
    assert after.done == "planned again" and after.again is not None
    assert after.again.moved == 0, "all came about as planned"
    assert undo(after.term).term == filled
    return through_a_workbook(after.term)


@pytest.mark.parametrize("seed", range(IN_THE_SUITE))
def test_random_scenarios(seed: int) -> None:
    walk(scenario_from_data(random_scenario("small", seed)))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(IN_THE_SUITE, BY_NAME))
def test_more_random_scenarios(seed: int) -> None:
    walk(scenario_from_data(random_scenario("small", seed)))


@pytest.mark.slow
@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_demos(file: Path) -> None:
    ends = {"no-sequence": "no sequence", "exam-year": "no class is left"}
    assert walk(read_scenario(file)) == ends.get(file.stem, "")
