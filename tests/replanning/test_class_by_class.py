"""Plans of classes that are too many for one model made again: as few lessons move as in one model of all of them."""

from __future__ import annotations

from collections.abc import Iterable
from random import Random

import pytest

from sequencer import AimResult, SolveSettings, answer_json, previous_from_data, replan, scenario_from_data, solve
from sequencer.words import INFEASIBLE
from tests.builders import QUIET, Data, a_class, scenario, teach
from tests.replanning.test_random import closed
from tests.test_prices import without_a_model_of_all
from tests.test_worth import _drawn as drawn

SETTINGS = SolveSettings(seconds=300, effort=20)


def again(data: Data, body: Data) -> AimResult | None:
    """What the moves come to; None where there is no plan."""
    changed = scenario_from_data(data)
    made = replan(changed, previous_from_data(changed, body), SETTINGS)
    assert (made.answer.status == INFEASIBLE) == (made.answer.disruption is None)
    return made.answer.disruption


def test_what_cannot_stay_goes_where_the_others_leave_room(monkeypatch: pytest.MonkeyPatch) -> None:
    # One set for three classes, which have it one after the other. 9A loses its Monday, and goes to the first that is free: no
    # other class moves.
    without_a_model_of_all(monkeypatch)
    classes = [a_class(name, "Mon 1") for name in ("9A", "9B", "9C")]
    data = scenario([teach("a", needs="kit")], weeks=4, classes=classes, shared=[{"name": "kit"}], rules=QUIET, aims=["distance"])
    dates = {"9A": "2026-11-02", "9B": "2026-11-09", "9C": "2026-11-16"}
    body = {"lessons": [{"class": name, "unit": "u", "lesson": "a", "date": day, "period": 1} for name, day in dates.items()]}
    lost = data | {"closures": [{"name": "Snow", "on": "2026-11-02", "classes": ["9A"]}]}
    moved = again(lost, body)
    assert moved is not None and (moved.value, moved.bound) == (1, 1)


def test_as_few_move_as_in_one_model(monkeypatch: pytest.MonkeyPatch) -> None:
    assert _compared(range(4), monkeypatch) >= 2


@pytest.mark.slow
@pytest.mark.parametrize("first", range(4, 84, 20))
def test_as_few_move_as_in_one_model_in_more_cases(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert _compared(range(first, first + 20), monkeypatch) > 10


def _compared(seeds: Iterable[int], monkeypatch: pytest.MonkeyPatch) -> int:
    """Lose a Monday class by class and in one model; how often the same is proven."""
    proven = 0
    for seed in seeds:
        data = drawn(Random(f"worth {seed}"))
        answer = solve(scenario_from_data(data), SETTINGS)
        if answer.sequence is None:
            continue
        body = answer_json(answer)
        lost = closed(data, body["lessons"][0]["date"])
        one = again(lost, body)
        with monkeypatch.context() as without:
            without_a_model_of_all(without)
            many = again(lost, body)
        assert (one is None) == (many is None), f"seed {seed}"
        if one is not None and many is not None and one.proven:
            assert (many.bound or 0) <= (one.value or 0) <= (many.value or 0), f"seed {seed}"
            proven += many.proven
    return proven
