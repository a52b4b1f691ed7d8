"""Wishes about a teacher's day and week (rule 10): each lesson too many, each begun 30 minutes too many."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer.plan.sequence import Laid
from sequencer.rules import ungranted
from tests.builders import Data, a_class, aims, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, broken, placed, row, wish_cost


def taught_by(lessons: list[Data], per_week: str = EVERY_DAY, weeks: int = 2, wish: int = 1, **limits: Any) -> Data:
    """One class of teacher T, whose limits are a wish."""
    teachers = [{"name": "T", "wish": wish, **limits}]
    rules = {"practice_after_dense": "off", "consecutive_high_load": "off"}
    return scenario(lessons, weeks=weeks, per_week=per_week, of_class={"teacher": "T"}, teachers=teachers, rules=rules)


DENSE = [teach(name, load=4) for name in "abc"]


@pytest.mark.parametrize(("most", "over"), [(0, 3), (1, 1), (2, 0)])
def test_dense_lessons_of_a_day(most: int, over: int) -> None:
    # Two on Monday, one on Tuesday: each day by itself.
    data = taught_by(DENSE, "Mon 1-2, Tue 1", weeks=1, dense_a_day=most)
    assert wish_cost(data, a="1 Mon 1", b="1 Mon 2", c="1 Tue 1") == over
    assert (
        wish_cost(taught_by(DENSE, "Mon 1-2, Tue 1", weeks=1, dense_a_day=most, wish=8), a="1 Mon 1", b="1 Mon 2", c="1 Tue 1")
        == 8 * over
    )


def test_live_lessons_of_a_day_over_classes() -> None:
    # Two classes on Monday, both fixed live: 1 too many.
    spell = [{"name": "remote", "first": day(1, "Mon"), "last": day(1, "Fri"), "taught": "live"}]
    classes = [a_class("9B", "Mon 1", teacher="T"), a_class("9C", "Mon 2", teacher="T")]
    limits = [{"name": "T", "live_a_day": 1}]
    data = scenario([teach("x")], weeks=1, classes=classes, remote_spells=spell, teachers=limits)
    impossible(data)
    assert aims(solved(data | {"teachers": [{**limits[0], "wish": 3}]}))["wishes"] == 3


@pytest.mark.parametrize(
    ("minutes", "most", "units"), [(60, 60, 0), (61, 60, 1), (90, 60, 1), (91, 60, 2), (100, 0, 4), (1, 0, 1)]
)
def test_each_begun_half_hour_of_marking(minutes: int, most: int, units: int) -> None:
    data = taught_by([assessment("a", marking_minutes=minutes)], "Mon 1", weeks=1, marking_a_week=most)
    assert wish_cost(data, a="1 Mon 1") == units


def test_each_week_by_itself() -> None:
    # 50 and 50 minutes in week 1, 50 in week 2, at most 40: 60 over is 2 units, 10 over 1.
    lessons = [assessment(name, marking_minutes=50) for name in "abc"]
    data = taught_by(lessons, marking_a_week=40, wish=5)
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="2 Mon 1") == 5 * 3
    # All in week 1: 110 over is 4 units. The best: 1 week with two, 3 units.
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1") == 5 * 4
    assert aims(solved(data))["wishes"] == 5 * 3


def test_preparation_counts_in_the_week_before_and_not_before_term() -> None:
    # A lesson of week 2 is prepared in week 1: 31 minutes over, 2 units. One of week 1 in a week 0 that nothing limits.
    data = taught_by([teach("a", preparation_minutes=91)], preparation_a_week=60)
    assert wish_cost(data, a="2 Mon 1") == 2
    assert wish_cost(data, a="1 Mon 1") == 0
    assert placed(solved(data))["a"].startswith("1 ")


def test_parallel_classes_are_prepared_for_once() -> None:
    # x takes 40 minutes, both classes have it in week 2: 40 in week 1, once: 10 over, 1 unit.
    classes = [a_class("9B", "Mon 1", teacher="T"), a_class("9C", "Tue 1", teacher="T")]
    teachers = [{"name": "T", "preparation_a_week": 30, "wish": 1}]
    data = scenario([teach("x", preparation_minutes=40)], classes=classes, teachers=teachers)
    assert wish_cost(data, row("x", "2 Mon 1", "9B"), row("x", "2 Tue 1", "9C")) == 1
    # In week 1 for one class it is prepared before term.
    assert wish_cost(data, row("x", "1 Mon 1", "9B"), row("x", "2 Tue 1", "9C")) == 0


def test_limits_of_another_teacher_stay_hard() -> None:
    classes = [a_class("9B", "Mon 1-2", teacher="T"), a_class("9C", "Mon 1-2", teacher="S")]
    teachers = [{"name": "T", "dense_a_day": 1, "wish": 2}, {"name": "S", "dense_a_day": 1}]
    rules = {"practice_after_dense": "off"}
    data = scenario(DENSE[:2], weeks=1, classes=classes, teachers=teachers, rules=rules)
    rows = [row("a", "1 Mon 1", of) for of in ("9B", "9C")] + [row("b", "1 Mon 2", of) for of in ("9B", "9C")]
    assert broken(data, *rows) == [(10, ["u/a", "u/b"])]
    impossible(data)
    teachers[1]["wish"] = 1
    assert aims(solved(data))["wishes"] == 3


def test_of_some_classes_only_wishes_that_look_at_no_other() -> None:
    # Two classes with a dense lesson on Monday each: T's wish of one a day looks at both, 9B's own wish about its week at 9B.
    own = {"week": {"most_lessons": 0, "wish": 5}}
    classes = [a_class("9B", "Mon 1", teacher="T", rules=own), a_class("9C", "Mon 2", teacher="T")]
    teachers = [{"name": "T", "dense_a_day": 1, "wish": 2}]
    data = scenario(DENSE[:1], weeks=1, classes=classes, teachers=teachers, rules={"practice_after_dense": "off"})
    answer = solved(data)
    assert answer.sequence is not None
    costs = {
        looked_at: sum(wish.cost for wish in ungranted(Laid(answer.instance, answer.sequence, looked_at)))
        for looked_at in ((0,), (1,), (0, 1))
    }
    assert costs == {(0,): 5, (1,): 0, (0, 1): 5 + 2}
