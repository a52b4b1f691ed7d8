"""Searches that end before their aims are proven: whatever was found is sound, and told as the referee counts it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sequencer import Answer, Scenario, SolveSettings, StopSignal, read_scenario, scenario_from_data, solve
from sequencer.solver.aim_search import GroupSearch
from tests.builders import a_class, scenario, teach

SCENARIOS = Path(__file__).resolve().parent.parent / "scenarios"


def with_aims(name: str, *aims: str) -> Scenario:
    return read_scenario(SCENARIOS / f"{name}.yaml").model_copy(update={"aims": aims})


def told_honestly(answer: Answer) -> None:
    """Sound, every value the referee's, no bound above its value, and bounds after an unproven aim conditional."""
    assert answer.status == "feasible"
    assert answer.verdict is not None and answer.verdict.sound
    for aim in answer.aims:
        assert aim.value == answer.verdict.aims[aim.aim]
        assert aim.bound is not None and aim.value is not None and aim.bound <= aim.value
        assert aim.proven == (aim.bound == aim.value)
    unproven = [aim.proven for aim in answer.aims].index(False)
    assert all(aim.conditional for aim in answer.aims[unproven + 1 :])


@pytest.mark.parametrize("effort", [0.01, 0.3])
@pytest.mark.parametrize("order", [("distance", "even load", "early finish"), ("early finish", "even load", "distance")])
def test_little_effort(effort: float, order: tuple[str, ...]) -> None:
    answer = solve(with_aims("exam-year", *order), SolveSettings(seconds=300, effort=effort))
    assert answer.run.stopped_by == "effort"
    told_honestly(answer)


def test_an_aim_that_a_later_search_betters_is_told_at_its_better_value(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first aim is not searched at all, as when time is up; settling the second happens to better it."""
    held: dict[str, int] = {}
    improve = GroupSearch.improve

    def without_the_first(self: GroupSearch, aim: Any, *rest: Any) -> int:
        if aim.name == "distance":
            held["distance"] = self._values["distance"]
            return int(aim.floor)
        return improve(self, aim, *rest)

    monkeypatch.setattr(GroupSearch, "improve", without_the_first)
    answer = solve(with_aims("exam-year", "distance", "early finish"), SolveSettings(seconds=300))
    told_honestly(answer)
    assert answer.aims[0].value is not None and answer.aims[0].value < held["distance"]


def test_one_hard_class_does_not_leave_the_others_without_a_sequence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every class has a first sequence before any aim is looked at, whatever the aims of the first class then cost."""
    calls: list[str] = []
    begin, settle = GroupSearch.begin, GroupSearch.settle

    def began(self: GroupSearch, *rest: Any) -> bool:
        calls.append("begin")
        return begin(self, *rest)

    def settled(self: GroupSearch, *rest: Any) -> Any:
        calls.append("settle")
        return settle(self, *rest)

    monkeypatch.setattr(GroupSearch, "begin", began)
    monkeypatch.setattr(GroupSearch, "settle", settled)
    twice = scenario([teach("a"), teach("b")], classes=[a_class("9B"), a_class("9C")])
    assert solve(scenario_from_data(twice)).status == "optimal"
    assert calls == ["begin", "begin", "settle", "settle"]


def test_an_impossible_class_is_told_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """No aim of the other classes is made small when one class is proven to have no sequence."""

    def never(*_: Any) -> Any:
        raise AssertionError("an aim was looked at")

    monkeypatch.setattr(GroupSearch, "settle", never)
    crowded = a_class("9C", "Mon 1", units="v")
    data = scenario(
        weeks=1,
        units=[{"id": "u", "lessons": [teach("a")]}, {"id": "v", "lessons": [teach("a"), teach("b")]}],
        classes=[a_class("9B"), crowded],
    )
    answer = solve(scenario_from_data(data))
    assert answer.status == "infeasible"
    assert answer.notes == ("9C: the lessons that must be taught take 2 periods, and the class has 1",)


def test_a_stop_for_time_while_the_model_is_built_is_no_hand() -> None:
    for by in ("time", "hand"):
        stop = StopSignal()
        stop.stop(by)
        answer = solve(scenario_from_data(scenario([teach("a")])), stop=stop)
        assert (answer.status, answer.run.stopped_by) == ("unknown", by)
