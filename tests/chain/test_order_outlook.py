"""What a class taught in one order still comes to is never said to be more than it is: without it the same is found best."""

from __future__ import annotations

from random import Random

import pytest

from sequencer import scenario_from_data
from sequencer.instance.build import build_instance
from sequencer.solver.chain.asked import StepPrice
from sequencer.solver.chain.chained import Chained
from sequencer.solver.chain.in_turn_steps import InTurnSteps
from sequencer.solver.chain.programme import Programme, RunFound
from sequencer.solver.chain.step_prices import Prices
from sequencer.solver.model import Prepared, prepare
from tests.builders import Data
from tests.chain.drawn import chains, in_order

MOST, STATES = 10**8, 60_000
IN_SUITE, GROUP, BY_NAME = 12, 50, 312


def with_double_periods(draw: Random, data: Data) -> None:
    """One order, two periods a day, and lessons that take both."""
    in_order(draw, data)
    for day in data["classes"][0]["timetable"]:
        data["classes"][0]["timetable"][day] = [1, 2]
    for lesson in (lesson for unit in data["units"] for lesson in unit["lessons"]):
        if draw.random() < 0.6:
            lesson["length"] = 2


def _run(prepared: Prepared, draw: Random, most: int) -> RunFound:
    """The best sequence where days off cost 100 each and starts of some lessons, made ones above all, cost or gain something."""
    chain = Chained(prepared, 0)
    chain.kept_apart.update(range(chain.size))
    starts = {
        (lesson, slot): draw.choice((0, 0, 3000, 6000) if not chain.sure[lesson] else (0, 0, 0, -250, 400))
        for lesson in range(chain.size)
        for slot in chain.starts_of(lesson)
    }
    prices = Prices(chain, [(StepPrice(distance=True), 100), (StepPrice(starts=starts), 1)])
    return Programme(chain).run(prices, most, states=STATES)


def _same(seed: int, monkeypatch: pytest.MonkeyPatch) -> bool:
    """Whether there was something to compare, and the same came out."""
    rule = with_double_periods if seed % 2 else in_order
    prepared = prepare(build_instance(scenario_from_data(chains(seed, 5, 9, rule, mixed=False))))
    with monkeypatch.context() as patch:
        patch.setattr(InTurnSteps, "in_order", lambda *_: None)
        without = _run(prepared, Random(seed), MOST)
    if without.best is None or not without.whole:
        return False
    found = _run(prepared, Random(seed), without.best)
    assert found.best == without.best and found.whole, f"seed {seed}: {found.best} for {without.best}"
    return True


def test_the_same_is_best_with_it_and_without(monkeypatch: pytest.MonkeyPatch) -> None:
    assert sum(_same(seed, monkeypatch) for seed in range(IN_SUITE)) > IN_SUITE // 2


@pytest.mark.parametrize("seed", [145, 251, 285])
def test_a_dense_lesson_under_way_leaves_its_practice_time(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the first of its two periods more of them are left to the practice than from its end on."""
    assert _same(seed, monkeypatch)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(IN_SUITE, BY_NAME, GROUP))
def test_so_it_is_in_more_cases(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert sum(_same(seed, monkeypatch) for seed in range(first, first + GROUP)) > GROUP // 2
