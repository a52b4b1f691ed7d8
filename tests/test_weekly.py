"""Classes of which only weeks matter: one start per week gives what one start per slot gives, and knows where it may not."""

from __future__ import annotations

import sys
from random import Random
from typing import Any

import pytest

from sequencer import SolveSettings, scenario_from_data, solve
from sequencer.instance.build import build_instance
from sequencer.solver.model import prepare
from sequencer.solver.weekly import by_weeks
from tests.builders import QUIET, Data, a_class, day, scenario, solved, teach

AIMS = ["left out", "even load"]
RULES = {**QUIET, "retrieval": "off"}


def weekly(data: Data) -> bool:
    """Whether weeks alone matter in the one class of a scenario."""
    return by_weeks(prepare(build_instance(scenario_from_data(data)))).week_starts[0] is not None


def drawn(rng: Random) -> Data:
    weeks = rng.randint(3, 5)
    lessons: list[Data] = []
    for number in range(rng.randint(5, 9)):
        more: Data = {"load": rng.randint(1, 5)}
        requires: list[Any] = []
        for earlier in rng.sample(range(number), min(number, rng.choice((0, 1, 1, 2)))):
            window = rng.choice(({}, {}, {"least_weeks": 1}, {"most_weeks": 1}, {"least_weeks": 1, "most_weeks": 2}))
            requires.append({"lesson": f"l{earlier}", **window} if window else f"l{earlier}")
        if requires:
            more["requires"] = requires
        if rng.random() < 0.2:
            more |= {"optional": True, "priority": rng.randint(1, 3)}
        if rng.random() < 0.15:
            more["not_before"] = day(rng.randint(1, 3), "Mon")
        lessons.append(teach(f"l{number}", **more))
    rules: Data = {**RULES}
    if rng.random() < 0.5:
        rules["week"] = {"most_load": rng.randint(6, 12)}
    closures = [{"name": "closed", "on": [day(rng.randint(1, weeks), "Wed")]}]
    return scenario(lessons, weeks=weeks, per_week="Mon 1, Wed 1-2, Fri 1", rules=rules, aims=AIMS, closures=closures)


def test_weeks_give_what_slots_give(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = Random(4)
    several = {True: 0, False: 0}
    for _ in range(60):
        data = drawn(rng)
        assert weekly(data), data
        here = solve(scenario_from_data(data), SolveSettings(seconds=30))
        with monkeypatch.context() as patch:
            patch.setattr(sys.modules["sequencer.questions.solve"], "by_weeks", lambda prepared: prepared)
            there = solve(scenario_from_data(data), SolveSettings(seconds=30))
        assert here.status == there.status in ("optimal", "infeasible"), data
        assert here.aims == there.aims, data
        several[here.sequence is not None] += 1
    assert min(several.values()) >= 5, several


@pytest.mark.parametrize(
    ("lesson", "more"),
    [
        ({}, {"aims": ["early finish"]}),
        ({"requires": [{"lesson": "a", "least_slots": 2}]}, {}),
        ({"requires": [{"lesson": "a", "most_days": 2}]}, {}),
        ({"not_before": day(2, "Tue")}, {}),
        ({"on": day(2, "Wed"), "period": 2}, {}),
        ({"length": 2}, {}),
        ({"tags": ["lab"]}, {"rules": {**RULES, "caps": [{"tag": "lab", "most": 1, "of": 2}]}}),
        ({}, {"teachers": [{"name": "Ash", "marking_a_week": 100}], "of_class": {"teacher": "Ash"}}),
        ({}, {"remote_spells": [{"name": "flood", "first": day(1, "Mon"), "last": day(1, "Fri")}]}),
        ({"load": 5}, {"rules": {"retrieval": "off", "practice_after_dense": "off"}}),
    ],
)
def test_slots_are_told_apart_where_a_rule_does(lesson: Data, more: Data) -> None:
    common: Data = {"per_week": "Mon 1, Wed 1-2, Fri 1", "rules": RULES, "aims": AIMS}
    plain = scenario([teach("a", load=1), teach("b", load=1, requires="a")], **common)
    assert weekly(plain)
    assert not weekly(scenario([teach("a", load=1), teach("b", **{"load": 1, **lesson})], **{**common, **more}))


def test_an_order_within_a_week_is_kept() -> None:
    # One week of four periods, and a chain listed from its end: d, c, b, a can only be taught as a, b, c, d.
    chain = [teach("d", requires="c"), teach("c", requires="b"), teach("b", requires="a"), teach("a")]
    data = scenario(chain, weeks=1, per_week="Mon 1, Wed 1-2, Fri 1", rules=RULES, aims=AIMS)
    assert weekly(data)
    answer = solved(data)
    assert answer.sequence is not None
    assert [placement.slot for placement in answer.sequence.placements] == [3, 2, 1, 0]


def test_a_class_in_step_with_one_that_began_sooner_goes_by_slots() -> None:
    # A had z before its first period of the term's timetable; B must follow within a day, so its day matters.
    lessons = [teach("z", not_after=day(1, "Fri"), rules={"in_step": {"days": 1}})]
    lessons += [teach("a", not_after=day(1, "Fri")), teach("b", requires="a", not_after=day(1, "Fri"))]
    data = scenario(lessons, rules={**RULES}, aims=["even load"], today=day(1, "Mon"))
    data["classes"] = [a_class("A", per_week="Wed 1, Thu 1, Fri 1"), a_class("B", per_week="Mon 1, Wed 1, Fri 1")]
    data["record"] = [{"class": "A", "lesson": "z", "date": day(1, "Mon")}]
    weeks = by_weeks(prepare(build_instance(scenario_from_data(data)))).week_starts
    assert weeks == (None, None)
    answer = solved(data)
    assert answer.sequence is not None
    assert [each.slot for each in answer.sequence.placements if answer.instance.lessons[each.lesson].ref == "u/z"][-1] == 0


def test_lessons_of_which_none_waits_for_another_go_by_weeks() -> None:
    assert weekly(scenario([teach("a", load=1), teach("b", load=2)], rules=RULES, aims=AIMS))
