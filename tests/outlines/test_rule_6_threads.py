"""Rule 6: threads, and the exercises that pools give them."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from sequencer import scenario_from_data
from sequencer.instance.build import build_instance
from sequencer.outlines.outlined import Outlines, outline_sequence
from sequencer.plan.sequence import Laid, Placement, Sequence
from tests.outlines.made import lesson_data, outlined, part

THREAD: Any = {"lesson_threads": [{"tag": "numeracy"}]}


def _pool(*exercises: Any, **more: Any) -> Any:
    return [{"tag": "numeracy", "exercises": list(exercises), **more}]


def _class(lessons: int, pools: Any, minutes: int = 20, **more: Any) -> Outlines:
    data = lesson_data([part("other", 10)], rules=THREAD, pools=pools, lesson_minutes=minutes, **more)
    first = data["units"][0]["lessons"][0]
    data["units"][0]["lessons"] = [{**first, "id": f"l{number}"} for number in range(lessons)]
    data["classes"][0]["timetable"] = {"Mon": [1, 2], "Tue": [1, 2]}
    instance = build_instance(scenario_from_data(data))
    return outline_sequence(Laid(instance, Sequence(tuple(Placement(n, n, "in class") for n in range(lessons)))))


def _chosen(found: Outlines) -> list[list[str]]:
    return [[part.id.partition("/")[2] for part in each.inside.parts if part.exercise] for each in found.lessons]


def test_a_part_with_the_tag_is_enough_and_none_is_too_few() -> None:
    assert outlined(lesson_data([part("other", 5, tags=["numeracy"])], rules=THREAD)).outlines
    assert not outlined(lesson_data([part("other", 5)], rules=THREAD)).outlines
    assert not outlined(
        lesson_data([part("other", 5, tags=["numeracy"])], rules={"lesson_threads": [{"tag": "numeracy", "least": 2}]})
    ).outlines


def test_each_class_meets_an_exercise_once_and_a_lesson_too_many_has_none() -> None:
    found = _class(3, _pool({"id": "a", "minutes": 5}, {"id": "b", "minutes": 5}))
    assert sorted(_chosen(found)) == [[], ["a"], ["b"]]
    lacking = next(each for each in found.lessons if each.laid is None)
    assert lacking.why_not and lacking.why_not.conflict == ("at least 1 part tagged numeracy in a lesson",)


def test_none_of_one_sort_comes_twice_within_two_lessons_or_as_many_as_are_stated() -> None:
    exercises = [{"id": name, "minutes": 5, "sort": sort} for name, sort in (("a", "maps"), ("b", "maps"), ("c", "graphs"))]
    assert _chosen(_class(3, _pool(*exercises)))[1] == ["c"]
    assert sum(map(len, _chosen(_class(3, _pool(*exercises, apart=3))))) == 2
    assert sum(map(len, _chosen(_class(3, _pool(*exercises, apart=1))))) == 3


def test_an_exercise_suits_its_lessons_and_objectives() -> None:
    exercises = [{"id": "a", "minutes": 5, "lessons": ["u/l1"]}, {"id": "b", "minutes": 5}]
    assert _chosen(_class(2, _pool(*exercises))) == [["b"], ["a"]]


def test_the_choice_over_the_term_is_the_best_there_is() -> None:
    """Three lessons of 18, 16 and 14 minutes for a part of 6 to 10: of all ways to give them four exercises, the best."""
    exercises = [("a", 4, "maps"), ("b", 6, "maps"), ("c", 8, "graphs"), ("d", 5, "rates")]
    pools = _pool(*({"id": name, "minutes": minutes, "sort": sort} for name, minutes, sort in exercises))
    data = lesson_data([part("other", {"least": 6, "most": 10})], rules=THREAD, pools=pools, lesson_minutes=30)
    lessons = [dict(data["units"][0]["lessons"][0], id=f"l{n}") for n in range(3)]
    for lesson, filled in zip(lessons, (12, 14, 16), strict=True):
        lesson["parts"] = [*lesson["parts"], part("other", filled, "filler")]
    data["units"][0]["lessons"] = lessons
    data["classes"][0]["timetable"] = {"Mon": [1, 2, 3]}
    instance = build_instance(scenario_from_data(data))
    found = outline_sequence(Laid(instance, Sequence(tuple(Placement(n, n, "in class") for n in range(3)))))

    def short(filled: int, minutes: int) -> int | None:
        left = 30 - filled - minutes
        return None if left < 6 else 2 * max(0, 10 - left)

    best = min(
        sum(costs)
        for three in product(exercises, repeat=3)
        if len({each[0] for each in three}) == 3 and three[0][2] != three[1][2] != three[2][2]
        for costs in [[short(filled, each[1]) for filled, each in zip((12, 14, 16), three, strict=True)]]
        if None not in costs
    )
    assert found.proven
    assert sum(each.values["other minutes short"] for each in found.lessons) == best


@pytest.mark.parametrize(("taught", "kept"), [("in class", True), ("live", True), ("set work", False)])
def test_a_part_that_a_version_leaves_out_is_none_with_the_tag(taught: str, kept: bool) -> None:
    parts = [part("other", 5, tags=["numeracy"], versions={"set work": "off", "live": {"minutes": 3}}), part("other", 5)]
    assert bool(outlined(lesson_data(parts, rules=THREAD, taught=taught)).outlines) == kept
