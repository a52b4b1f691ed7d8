"""Medium random scenarios of retrieval by choice and made lessons: the product's aims against an integer programme (`milp`) that
HiGHS solves.

A failure names the seed and prints the scenario; `choosing(seed)` makes it again.
"""

from __future__ import annotations

from functools import cache

import pytest

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.crosscheck import milp, rules
from tests.crosscheck.class_rows import CannotState
from tests.crosscheck.coverage import FURTHER, present
from tests.crosscheck.facts import Facts, read_facts
from tests.crosscheck.in_full import InFull
from tests.crosscheck.saved import scenario
from tests.crosscheck.slots import Raw

SEEDS = 40
GROUP = 5
MORE_SEEDS = 180
SETTINGS = SolveSettings(seconds=60)


@cache
def programmed(seed: int) -> tuple[Raw, Facts, tuple[int, ...] | None]:
    """The scenario, what the second reading makes of it, and the best values by the integer programme."""
    data = scenario("choosing", seed)
    facts = read_facts(data)
    return data, facts, milp.best_values(facts, len(facts.aims))


def _compare(seed: int) -> None:
    data, facts, expected = programmed(seed)
    body = answer_json(solve(scenario_from_data(data), SETTINGS))
    told = InFull(f"choosing seed {seed}, HiGHS finds {expected} for {facts.aims}", data, body)
    if expected is None:
        assert body["status"] == "infeasible", told
        return
    assert body["status"] == "optimal", told
    assert tuple(aim["value"] for aim in body["aims"]) == expected, told
    assert body["verdict"]["sound"], told
    placed = {(x["class"], x["unit"], x["lesson"]): (x["slot"], x["taught"]) for x in body["lessons"]}
    assert rules.first_broken(facts, placed) is None, f"{rules.first_broken(facts, placed)}\n{told}"


@pytest.mark.parametrize("first", range(0, SEEDS, GROUP))
def test_aims_equal_the_integer_programme(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SEEDS, MORE_SEEDS, GROUP))
def test_more_aims_equal_the_integer_programme(first: int) -> None:
    for seed in range(first, first + GROUP):
        _compare(seed)


def test_scenarios_leave_something_to_prove() -> None:
    found = [programmed(seed)[2] for seed in range(SEEDS)]
    possible = [values for values in found if values is not None]
    assert 0.7 * SEEDS <= len(possible) < SEEDS
    assert sum(values[0] > 0 for values in possible) >= 15
    assert sum(values[1] > 0 for values in possible if len(values) > 1) >= 8
    counts = [present(programmed(seed)[0], FURTHER) for seed in range(SEEDS)]
    features = ("room", "starters", "starter listed", "made practice", "made retrieval", "made writing", "made feedback")
    assert {name: n for name in features if (n := sum(name in each for each in counts)) < 3} == {}


# -- what the rows refuse ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "more",
    [
        {"today": "2026-11-03"},
        {"record": [{"class": "9B", "lesson": "a", "date": "2026-11-02", "period": 1}]},
        {"rules": {"retrieval": {"chosen": True, "then": [{"least": 2, "most": 3}]}}},
    ],
    ids=["today", "record", "several retrievals"],
)
def test_the_programme_refuses_what_it_does_not_know(more: Raw) -> None:
    plain: Raw = {
        "term": {"first": "2026-11-02", "last": "2026-11-20"},
        "classes": [{"id": "9B", "units": "u", "timetable": {"every": {"Mon": 1}}}],
        "units": [{"id": "u", "lessons": [{"id": "a"}]}],
    }
    assert milp.best_values(read_facts(plain)) == (0,)
    with pytest.raises(CannotState):
        milp.best_values(read_facts(plain | more))
