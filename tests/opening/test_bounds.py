"""What must be lost in all: each bound beside a case in which a little more would be too much."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sequencer import Comparison, Placement, Sequence, SolveSettings, compare, scenario_from_data
from sequencer.questions.opening.futures_side_by_side import Futures, Own, Together, prepared_futures
from sequencer.questions.opening.levels import Levels, Lost
from sequencer.questions.opening.losses import Losses
from sequencer.questions.opening.must import Must
from sequencer.questions.opening.share import _own_best
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import build_model
from sequencer.solver.solver_calls import Budget, Calls, StopSignal
from sequencer.solver.sought import SequenceSought
from tests.builders import QUIET, Data, a_class, day, scenario, teach

PARTS = ((0,), (1,))
OPTIONAL = [teach("a", optional=True, priority=1), teach("b", optional=True, priority=1)]


def two_classes(lessons: list[Data] = OPTIONAL, second: str = "Mon 1, Tue 1", **more: Any) -> Comparison:
    """Of a and b, each optional, one what-if wants a on the first Monday or not at all, the other b; in either class."""
    changes = {name: {"change": "move dates", "lesson": f"u/{name}", "not_after": day(1, "Mon")} for name in "ab"}
    of_class = more.pop("of_class", {})
    classes = [a_class("9B", **of_class), a_class("9C", second, **of_class)]
    data = scenario(lessons, rules={**QUIET, "retrieval": "off"}, classes=classes, **more)
    data["what_ifs"] = [{"name": f"early {name}", "changes": [change]} for name, change in changes.items()]
    return compare(scenario_from_data(data), SolveSettings(seconds=20))


class Asked:
    """What is asked about the two classes, by hand; own values of futures may be claimed to be others than they are."""

    def __init__(self, compared: Comparison, weights: Mapping[str, int] | None = None, **claimed: int) -> None:
        self.futures = {each.name: each for each in (compared.base, *compared.futures)}
        prepared = prepared_futures({name: each.answer.instance for name, each in self.futures.items()})
        until = date.fromisoformat(day(1, "Tue"))
        self.together = Together(prepared, until)
        own = {name: _own_best(each, self.together.models[name]) for name, each in self.futures.items()}
        aims = tuple(own["base"].values)
        self.own: dict[str, Own] = {
            name: replace(each, values={**each.values, aims[0]: claimed.get(name, each.values[aims[0]])})
            for name, each in own.items()
        }
        counted = {name: (weights or {}).get(name, 1) for name in self.own}

        def alone(name: str) -> GroupSearch[Sequence]:
            of_parts = [GroupSearch(SequenceSought(build_model(prepared[name], part)), 1, 1, StopSignal()) for part in PARTS]
            model = SequenceSought(build_model(prepared[name], (0, 1)))
            return GroupSearch(model, 1, 1, StopSignal(), apart=ClassesApart(tuple(of_parts)))

        self.calls = Calls(1, 1, StopSignal())
        self.levels = Levels(self.own, aims, counted, alone)
        self.must = Must(Futures(prepared, self.own, until, PARTS, counted), self.levels, self.calls)

    def beginning(self, first: str, second: str) -> dict[str, Sequence]:
        """Plans in which the two classes begin with these lessons; whoever wants the other one first leaves it out."""
        return {name: self._placed(name, (first, second)) for name in self.own}

    def _placed(self, name: str, begins: tuple[str, str]) -> Sequence:
        instance = self.futures[name].answer.instance
        placements = []
        for facts, first in zip(instance.classes, begins, strict=True):
            for index in facts.lessons:
                lesson = instance.lessons[index].id
                if lesson == first:
                    placements.append(Placement(index, 0, "in class"))
                elif name != f"early {lesson}":
                    placements.append(Placement(index, 1, "in class"))
        return Sequence(tuple(placements))


def budget() -> Budget:
    return Budget(time.monotonic() + 60, 60)


def test_who_must_lose_is_asked_of_each_class_with_what_the_others_weigh() -> None:
    compared = two_classes(aims=["left out"])
    for weight, least in ((1, None), (2, None), (3, 2)):
        asked = Asked(compared, {"early a": weight})
        # Both classes begin with a: early b loses 2. One of them could begin with b, which costs early a its weight instead;
        # with a weight of 2 the sum may stay 2 as far as one class can tell, the other losing nothing.
        assert asked.must.least("early b", 0, {}, 2, asked.beginning("a", "a"), budget()) == least


def test_what_one_future_gains_another_may_lose() -> None:
    # The base's own best is said to be 3, and it gains 3: early a may lose 1 for early b, though less than 0 is lost in all.
    asked = Asked(two_classes(aims=["left out"]), base=3)
    assert asked.must.least("early b", 0, {}, -1, asked.beginning("a", "a"), budget()) is None


def test_what_a_part_must_lose_is_forgotten_where_more_is_lost_in_all() -> None:
    compared = two_classes(aims=["left out", "early finish"])
    for total, least in ((2, 1), (3, 0)):
        asked = Asked(compared)
        asked.levels.know_of_part("early b", 0, (0,), 1, 2)
        held = asked.beginning("a", "a")["early b"]
        leasts = asked.levels.leasts("early b", 1, {"left out": Lost(total, 2)}, held, budget())
        assert leasts[0] == {(0,): least, (1,): 0}


def test_an_aim_that_is_no_sum_of_the_classes_is_not_asked_of_them() -> None:
    lessons = [{**lesson, "marking_minutes": 10} for lesson in OPTIONAL]
    teacher: Data = {"teachers": [{"name": "Ms Oak", "marking_a_week": 600}], "of_class": {"teacher": "Ms Oak"}}
    compared = two_classes(lessons, "Wed 1, Thu 1", aims=["left out", "even week"], **teacher)
    asked = Asked(compared)
    base = compared.base.answer.instance
    at_once = Sequence(
        tuple(Placement(lesson, slot, "in class") for facts in base.classes for slot, lesson in enumerate(facts.lessons))
    )
    held = {name: own.sequence for name, own in asked.own.items()} | {"base": at_once}
    assert asked.must.least("base", 1, {"left out": Lost(0, 0)}, -1, held, budget()) is None


@dataclass
class Told:
    """In the place of ``Must``: says what it is told to of a future, and notes who was asked about."""

    says: dict[str, int | None]
    asked: list[str] = field(default_factory=list)

    def least(self, name: str, *_: object) -> int | None:
        self.asked.append(name)
        return self.says[name]


def test_plans_that_lose_as_much_in_all_are_asked_about_anew() -> None:
    asked = Asked(two_classes(aims=["left out"]))
    must = Told({"early a": None, "early b": 2})
    losses = Losses(asked.together, asked.own, None, asked.levels, asked.calls, must)  # type: ignore[arg-type]
    assert losses.bound(0, {}, asked.beginning("a", "a"), Budget(math.inf, 0)) == 1
    assert losses.bound(1, {losses.aims[0].name: 2}, asked.beginning("a", "b"), Budget(math.inf, 0)) == 0
    assert must.asked == ["early b", "early a"]


def test_a_search_that_is_cut_short_at_once_proves_nothing() -> None:
    asked = Asked(two_classes(aims=["left out"]), base=3)
    losses = Losses(asked.together, asked.own, None, asked.levels, asked.calls)
    search = GroupSearch(losses, 1, 1, StopSignal())
    search.start_from(asked.beginning("a", "b"))
    # The base gains 3, the others lose 1 each.
    assert search.value(losses.aims[1].name) == -1
    assert search.improve(losses.aims[1], Budget(time.monotonic() + 60, 1e-9), bound=-5) <= -1
    assert search.improve(losses.aims[1], Budget(time.monotonic() + 60, 60), bound=-5) == -1


def test_own_bounds_that_rest_on_an_unproven_aim_are_not_taken_for_classes_that_are_planned_apart() -> None:
    compared = two_classes(aims=["left out", "early finish"])
    aims = compared.base.answer.aims
    unproven = (replace(aims[0], bound=-1, proven=False), replace(aims[1], bound=1, conditional=True))
    future = replace(compared.base, answer=replace(compared.base.answer, aims=unproven))
    model = Asked(compared).together.models["base"]
    assert _own_best(future, model).bounds == {"left out": -1, "early finish": 0}
    proven = replace(future, answer=replace(future.answer, aims=(aims[0], replace(aims[1], bound=1))))
    assert _own_best(proven, model).bounds == {"left out": 0, "early finish": 1}
