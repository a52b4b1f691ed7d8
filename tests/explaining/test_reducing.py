"""A way out that was found in haste is made smaller before it is shown."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer import scenario_from_data
from sequencer.questions.explaining.known_conflicts import DialKey
from sequencer.questions.explaining.leaving_out import each_turned_back, turned_back, without_needless_parts
from sequencer.questions.explaining.minimal_conflict import Search
from sequencer.questions.explaining.possible import Clock
from sequencer.questions.explaining.repairs import Repairs
from sequencer.questions.explaining.statements import take_apart
from tests.builders import a_class, assessment, scenario

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
