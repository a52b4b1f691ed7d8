"""A way out that was found in haste is made smaller before it is shown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sequencer import scenario_from_data
from sequencer.questions.explaining.known_conflicts import DialKey
from sequencer.questions.explaining.leaving_out import each_turned_back, turned_back, without_needless_parts
from sequencer.questions.explaining.minimal_conflict import Search
from sequencer.questions.explaining.one_sentence import too_few_live
from sequencer.questions.explaining.possible import Clock
from sequencer.questions.explaining.repairs import Repairs
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import take_apart
from tests.builders import a_class, assessment, scenario, teach

A, B, C = ("a",), ("b",), ("c",)


def test_what_is_not_needed_is_dropped_the_dearest_first() -> None:
    def works(turned: Mapping[DialKey, int]) -> bool:
        return C in turned and (A in turned or B in turned)

    prices = {A: 3, B: 1, C: 1}
    assert without_needless_parts({A: 1, B: 1, C: 1}, lambda dial, _: prices[dial], works) == {B: 1, C: 1}
    assert without_needless_parts({A: 1, C: 1}, lambda dial, _: prices[dial], works) == {A: 1, C: 1}


def test_dials_are_turned_no_further_than_they_must_be() -> None:
    def works(turned: Mapping[DialKey, int]) -> bool:
        return turned[A] >= 3 and turned[B] >= 2

    assert turned_back({A: 9, B: 9}, works) == {A: 3, B: 3}
    assert each_turned_back({A: 3, B: 3}, works) == {A: 3, B: 2}
    assert turned_back({A: 1}, lambda _: True) == {A: 1}


def test_weeks_may_hold_more_instead_of_leaving_out_every_lesson() -> None:
    # Three classes with three lessons in one week, each of which may hold one: two steps of cost 2 for each class.
    data = scenario(
        [assessment("a"), assessment("b"), assessment("c")],
        1,
        rules={"week": {"most_lessons": 1}},
        classes=[a_class(name, "Mon 1, Tue 1, Wed 1") for name in ("9A", "9B", "9C")],
    )
    stated, clock = take_apart(scenario_from_data(data)), Clock(60, 15)
    conflict = Search(stated, clock).conflict()
    assert conflict is not None
    looking = Repairs(stated, (conflict,), clock, 5)
    hasty = {}
    for statement in stated.statements:
        for dial in statement.dials() if statement.kind == "lesson" else ():
            looking.known.dials[dial.key] = dial
            hasty[dial.key] = 1
    assert looking.known.cost(hasty.items()) == 90
    smaller = looking._smaller(hasty)
    assert looking.known.cost(smaller.items()) == 12
    assert sorted(smaller.values()) == [2, 2, 2]


def test_time_that_runs_out_leaves_what_is_known_of_one_class() -> None:
    class Hurried(Search):
        """No time is left for anything beyond the class that is the whole trouble."""

        def contradict(self, statements: Iterable[Statement], classes: frozenset[int] | None = None) -> bool | None:
            return super().contradict(statements, classes) if classes == frozenset({1}) else None

    classes = [a_class("9A", "Mon 1, Tue 1"), a_class("9B", "Mon 1")]
    conflict = Hurried(
        take_apart(scenario_from_data(scenario([teach("a"), teach("b")], 1, classes=classes))), Clock(60, 15)
    ).conflict()
    assert conflict is not None and not conflict.proven
    assert {place for one in conflict.statements for place in one.classes} == {1}


def test_a_quota_with_room_enough_is_not_called_too_much() -> None:
    # Two periods may be live and one must: what is wrong is that at most none may be.
    quotas = [{"per": "week", "least": 1}, {"per": "span", "first": "2026-11-02", "last": "2026-11-06", "most": 0}]
    spell = {"name": "Works", "first": "2026-11-02", "last": "2026-11-06"}
    data = scenario([teach("a")], 1, per_week="Mon 1, Tue 1", remote_spells=[spell], rules={"live_quotas": quotas})
    stated = take_apart(scenario_from_data(data))
    conflict = Search(stated, Clock(60, 15)).conflict()
    assert conflict is not None and sum(one.kind == "quota" for one in conflict.statements) == 2
    assert too_few_live(conflict, stated.instance) is None
