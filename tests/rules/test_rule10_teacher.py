"""Rule 10, the teacher's day and week, over all classes; and the aim `even week`, which sums the same minutes."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import QUIET, Data, a_class, aims, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, judged, pinned, row, taught


def limits(**numbers: Any) -> Data:
    """Limits of the one teacher, T."""
    return {"teachers": [{"name": "T", **numbers}]}


def two_classes(lessons: list[Data], per_week: str = EVERY_DAY, weeks: int = 2, **more: Any) -> Data:
    """Classes 9B and 9C of teacher T take the same unit."""
    classes = [a_class(name, per_week, teacher="T") for name in ("9B", "9C")]
    return scenario(lessons, weeks=weeks, classes=classes, **{"rules": QUIET, **more})


def both(lesson: str, place_9b: str, place_9c: str) -> list[Data]:
    return [row(lesson, place_9b), row(lesson, place_9c, of="9C")]


def by(*periods: str) -> Data:
    """The timetable of a shared class: ``by("Mon 1 T", "Mon 2 S", "Tue 1")``; no name, no teacher."""
    week: Data = {}
    for entry in periods:
        weekday, period, *name = entry.split()
        week.setdefault(weekday, []).append({"period": int(period), **({"teacher": name[0]} if name else {})})
    return {"timetable": week}


# -- dense lessons a day -----------------------------------------------------------------------------------------------

DENSE = [teach("a", load=4)]


@pytest.mark.parametrize("where", ["1 Mon 1", "1 Wed 1", "2 Fri 1"])
def test_dense_lessons_of_a_day_over_two_classes(where: str) -> None:
    # The first day of term, one in the middle, the last: two dense lessons, at most 1, then 2.
    data = two_classes(DENSE, **limits(dense_a_day=1))
    forbidden(data, 10, "a a", *both("a", where, where))
    allowed(two_classes(DENSE, **limits(dense_a_day=2)), *both("a", where, where))
    allowed(data, *both("a", "1 Tue 1", "1 Thu 1"))


def test_dense_lessons_of_a_day_in_one_class() -> None:
    # Two periods of one date, not one after the other; the same two lessons on neighbouring dates.
    pair = [teach("a", load=4), teach("b", load=5)]
    data = scenario(pair, per_week="Mon 1-3, Tue 1", of_class={"teacher": "T"}, rules=QUIET, **limits(dense_a_day=1))
    forbidden(data, 10, "a b", a="1 Mon 1", b="1 Mon 3")
    allowed(data, a="1 Mon 3", b="1 Tue 1")


def test_only_dense_lessons_count() -> None:
    # A hard assessment and an easy lesson beside a dense one, at most 1.
    three = [teach("a", load=4), teach("b", load=3), assessment("c", load=5)]
    data = scenario(three, weeks=1, per_week="Mon 1-3", of_class={"teacher": "T"}, rules=QUIET, **limits(dense_a_day=1))
    allowed(data, a="1 Mon 1", b="1 Mon 2", c="1 Mon 3")


def test_no_dense_lesson_at_all() -> None:
    impossible(two_classes(DENSE, **limits(dense_a_day=0)))
    # Left out, it does not count; nor does it in the periods of somebody else.
    optional = two_classes([teach("a", load=4, optional=True)], aims=["left out"], **limits(dense_a_day=0))
    assert aims(solved(optional)) == {"left out": 2}
    shared = scenario(DENSE, weeks=1, of_class=by("Mon 1 T", "Tue 1 S"), rules=QUIET, **limits(dense_a_day=0))
    forbidden(shared, 10, "a", a="1 Mon 1")
    allowed(shared, a="1 Tue 1")


def test_a_double_is_one_lesson_of_the_teacher_of_its_first_period() -> None:
    double = [teach("a", load=4, length=2)]
    mine_first = scenario(double, weeks=1, of_class=by("Mon 1 T", "Mon 2 S"), rules=QUIET)
    allowed(mine_first | limits(dense_a_day=1), a="1 Mon 1")
    forbidden(mine_first | limits(dense_a_day=0), 10, "a", a="1 Mon 1")
    mine_second = scenario(double, weeks=1, of_class=by("Mon 1 S", "Mon 2 T"), rules=QUIET)
    allowed(mine_second | limits(dense_a_day=0), a="1 Mon 1")


def test_each_teacher_has_their_own_limits() -> None:
    # 9B is T's and 9C is S's: one dense lesson each.
    data = two_classes(DENSE, **limits(dense_a_day=1))
    data["classes"][1]["teacher"] = "S"
    allowed(data, *both("a", "1 Mon 1", "1 Mon 1"))
    data["teachers"].append({"name": "S", "dense_a_day": 0})
    assert broken(data, *both("a", "1 Mon 1", "1 Mon 1")) == [(10, ["u/a"])]
    impossible(data)


def test_three_classes_in_one_day() -> None:
    # One dense lesson each on the only day of the week, one period after another.
    classes = [a_class(name, f"Mon {period}", teacher="T") for period, name in enumerate(("9B", "9C", "9D"), 1)]
    places = [row("a", f"1 Mon {period}", of=name) for period, name in enumerate(("9B", "9C", "9D"), 1)]
    data = scenario(DENSE, weeks=1, classes=classes, rules=QUIET)
    allowed(data | limits(dense_a_day=3), *places)
    forbidden(data | limits(dense_a_day=2), 10, "a a a", *places)


# -- live lessons a day ------------------------------------------------------------------------------------------------

ON_LINE = [teach("a", live="demand")]


def remote(*days: str, **more: Any) -> Data:
    return {"remote_spells": [{"name": "remote", "on": list(days), **more}]}


@pytest.mark.parametrize("where", ["1 Mon 1", "2 Fri 1"])
def test_live_lessons_of_a_day_over_two_classes(where: str) -> None:
    week, weekday, _ = where.split()
    spell = remote(day(int(week), weekday))
    live = both("a", f"{where} live", f"{where} live")
    forbidden(two_classes(ON_LINE, **spell, **limits(live_a_day=1)), 10, "a a", *live)
    allowed(two_classes(ON_LINE, **spell, **limits(live_a_day=2)), *live)
    # 9C in class on another day: demanding live is met there, and it is no live lesson.
    allowed(two_classes(ON_LINE, **spell, **limits(live_a_day=1)), row("a", f"{where} live"), row("a", "1 Wed 1", of="9C"))


def test_lessons_in_class_are_not_live() -> None:
    allowed(two_classes(ON_LINE, **limits(live_a_day=0)), *both("a", "1 Mon 1", "1 Mon 1"))


def test_live_lessons_of_two_days() -> None:
    spell = remote(day(1, "Mon"), day(1, "Tue"))
    allowed(two_classes(ON_LINE, **spell, **limits(live_a_day=1)), *both("a", "1 Mon 1 live", "1 Tue 1 live"))


def test_the_rest_is_set_work() -> None:
    # Three keen lessons on one remote day, at most 2 live: one wish goes unmet.
    keen = [teach(name, live="prefer") for name in "abc"]
    base = {"weeks": 1, "per_week": "Mon 1-3", "of_class": {"teacher": "T"}, "aims": ["wishes"]}
    answer = solved(scenario(keen, **base, **remote(day(1, "Mon")), **limits(live_a_day=2)))
    assert aims(answer) == {"wishes": 1}
    assert sorted(taught(answer).values()) == ["live", "live", "set work"]


def test_a_live_double_counts_once() -> None:
    double = [teach("a", length=2, live="demand")]
    base = {"weeks": 1, "per_week": "Mon 1-2", "of_class": {"teacher": "T"}}
    allowed(scenario(double, **base, **remote(day(1, "Mon")), **limits(live_a_day=1)), a="1 Mon 1 live")
    forbidden(scenario(double, **base, **remote(day(1, "Mon")), **limits(live_a_day=0)), 10, "a", a="1 Mon 1 live")


def test_the_least_of_a_quota_against_the_day_of_a_teacher() -> None:
    # Two remote periods on one day: at least 2 live of the class, at most 1 of the teacher.
    pair = [teach("a"), teach("b")]
    base = {"weeks": 1, "per_week": "Mon 1-2", "of_class": {"teacher": "T"}, "rules": {"live_quotas": [{"least": 2}]}}
    impossible(scenario(pair, **base, **remote(day(1, "Mon")), **limits(live_a_day=1)))
    solved(scenario(pair, **base, **remote(day(1, "Mon")), **limits(live_a_day=2)))


# -- marking a week ----------------------------------------------------------------------------------------------------

BOOKS = [teach("a", marking_minutes=60)]


@pytest.mark.parametrize("week", [1, 2])
def test_marking_of_a_week_for_each_class(week: int) -> None:
    # The first week, then the last: 60 minutes for each of two classes.
    same = both("a", f"{week} Mon 1", f"{week} Fri 1")
    allowed(two_classes(BOOKS, **limits(marking_a_week=120)), *same)
    forbidden(two_classes(BOOKS, **limits(marking_a_week=119)), 10, "a a", *same)
    allowed(two_classes(BOOKS, **limits(marking_a_week=60)), *both("a", "1 Fri 1", "2 Mon 1"))
    impossible(two_classes(BOOKS, **limits(marking_a_week=59)))


def test_marking_on_saturday_belongs_to_the_week_before() -> None:
    data = two_classes(BOOKS, "Mon 1, Sat 1", **limits(marking_a_week=60))
    forbidden(data, 10, "a a", *both("a", "1 Mon 1", "1 Sat 1"))
    allowed(data, *both("a", "1 Sat 1", "2 Mon 1"))


def test_marking_of_a_double_counts_once() -> None:
    base = {"weeks": 1, "per_week": "Mon 1-2", "of_class": {"teacher": "T"}}
    allowed(scenario([teach("a", length=2, marking_minutes=60)], **base, **limits(marking_a_week=60)), a="1 Mon 1")


def test_marking_of_others_and_of_left_out_lessons_does_not_count() -> None:
    shared = scenario(BOOKS, weeks=1, of_class=by("Mon 1 T", "Tue 1 S", "Wed 1"), **limits(marking_a_week=0))
    forbidden(shared, 10, "a", a="1 Mon 1")
    allowed(shared, a="1 Tue 1")
    allowed(shared, a="1 Wed 1")  # nobody's by name
    optional = two_classes([teach("a", marking_minutes=60, optional=True)], weeks=1, **limits(marking_a_week=60))
    assert aims(solved(optional))["left out"] == 1


# -- preparation a week ------------------------------------------------------------------------------------------------

LAB = teach("a", preparation_minutes=60)


def test_preparation_is_done_in_the_week_before() -> None:
    # At most 0: what is taught in week 1 is prepared before term, which nothing caps; week 2's is prepared in week 1.
    data = scenario([LAB], of_class={"teacher": "T"}, **limits(preparation_a_week=0))
    allowed(data, a="1 Mon 1")
    allowed(data, a="1 Tue 1")
    forbidden(data, 10, "a", a="2 Mon 1")
    forbidden(data, 10, "a", a="2 Tue 1")


@pytest.mark.parametrize("week", [2, 3])
def test_preparation_of_two_lessons_for_one_week(week: int) -> None:
    pair = [LAB, teach("b", preparation_minutes=30)]
    data = scenario(pair, weeks=3, of_class={"teacher": "T"})
    places = {"a": f"{week} Mon 1", "b": f"{week} Tue 1"}
    allowed(data | limits(preparation_a_week=90), **places)
    forbidden(data | limits(preparation_a_week=89), 10, "a b", **places)
    allowed(data | limits(preparation_a_week=60), a="2 Tue 1", b="3 Mon 1")


def test_parallel_classes_are_prepared_once() -> None:
    # Taught to both in week 2: 60 minutes in week 1, not 120.
    data = two_classes([LAB], **limits(preparation_a_week=60))
    allowed(data, *both("a", "2 Mon 1", "2 Tue 1"))
    assert broken(two_classes([LAB], **limits(preparation_a_week=59)), *both("a", "2 Mon 1", "2 Tue 1")) == [(10, ["u/a"] * 2)]
    # For the earliest: taught in week 1 to one of them, it is ready; which class is first does not matter.
    nothing = two_classes([LAB], **limits(preparation_a_week=0))
    allowed(nothing, *both("a", "1 Mon 1", "2 Mon 1"))
    allowed(nothing, *both("a", "2 Mon 1", "1 Mon 1"))
    impossible(two_classes([teach("a", preparation_minutes=60, not_before=day(2, "Mon"))], **limits(preparation_a_week=59)))


def test_prepared_for_the_earliest_of_three_classes() -> None:
    # Weeks 2, 3 and 4: the 60 minutes lie in week 1 alone, so 60 more of b fit in week 2 and in week 3, never in week 1.
    lessons = [LAB, teach("b", preparation_minutes=60)]
    classes = [a_class(name, "Mon 1, Tue 1", teacher="T") for name in ("9B", "9C", "9D")]
    data = scenario(lessons, weeks=4, classes=classes, **limits(preparation_a_week=60))
    first = [row("a", "3 Mon 1"), row("a", "2 Mon 1", of="9C"), row("a", "4 Mon 1", of="9D")]
    for week in (3, 4):
        allowed(data, *first, *[row("b", f"{week} Tue 1", of=name) for name in ("9B", "9C", "9D")])
    second = [row("b", "2 Tue 1"), row("b", "3 Tue 1", of="9C"), row("b", "4 Tue 1", of="9D")]
    assert [rule for rule, _ in broken(data, *first, *second)] == [10]


def test_a_parallel_lesson_that_is_left_out_is_not_prepared_for() -> None:
    # 9B would have had it in week 1. Without 9B it is prepared for 9C's week 2.
    data = two_classes([teach("a", preparation_minutes=60, optional=True)], aims=["left out"], **limits(preparation_a_week=0))
    alone = row("a", "2 Mon 1", of="9C")
    assert broken(data, alone) == [(10, ["u/a"])]
    allowed(data, row("a", "1 Mon 1"), alone)
    # 9C's has its place in week 2: with 9B's in week 1 none is left out; where 9B's finds no place, neither does 9C's.
    assert aims(solved(pinned(data, [alone]))) == {"left out": 0}
    data["classes"][0]["lessons"] = {"a": {"on": day(1, "Sun")}}
    assert aims(solved(pinned(data, [alone]))) == {"left out": 2}


def test_parallel_classes_of_two_teachers_are_prepared_twice() -> None:
    data = two_classes([LAB], **limits(preparation_a_week=0))
    data["classes"][0]["teacher"] = "S"
    # S's class first, in week 1: T still prepares for week 2.
    forbidden(data, 10, "a", *both("a", "1 Mon 1", "2 Mon 1"))
    allowed(data, *both("a", "2 Mon 1", "1 Mon 1"))


def test_lessons_of_two_units_are_two_preparations() -> None:
    units = [{"id": name, "lessons": [teach("a", preparation_minutes=60)]} for name in "uv"]
    data = scenario(units=units, of_class={"teacher": "T", "units": ["u", "v"]}, **limits(preparation_a_week=60))
    places = [row("u/a", "2 Mon 1"), row("v/a", "2 Tue 1")]
    assert broken(data, *places) == [(10, ["u/a", "v/a"])]
    impossible(pinned(data, places))
    solved(pinned(data | limits(preparation_a_week=120), places))


def test_marking_and_preparation_are_capped_apart() -> None:
    # 60 to mark in week 1, and 60 to prepare in week 1 for week 2.
    lessons = [teach("a", marking_minutes=60), teach("b", preparation_minutes=60)]
    data = scenario(lessons, of_class={"teacher": "T"}, **limits(marking_a_week=60, preparation_a_week=60))
    assert allowed(data, a="1 Mon 1", b="2 Mon 1")["even week"] == 120


@pytest.mark.parametrize(("away", "most"), [("closures", 60), ("holidays", 90)])
def test_the_school_week_before(away: str, most: int) -> None:
    # Week 2 is closed: it is still the school week in which week 3's lesson is prepared. A holiday is no school week:
    # the lesson after it is prepared in week 1, where 30 minutes of marking lie.
    off = [{"name": "away", "first": day(2, "Mon"), "last": day(2, "Sun")}]
    lessons = [teach("a", marking_minutes=30), LAB | {"id": "b"}]
    data = scenario(lessons, weeks=3, of_class={"teacher": "T"}, **{away: off})
    assert allowed(data, a="1 Mon 1", b="3 Mon 1")["even week"] == most
    forbidden(data | limits(preparation_a_week=59), 10, "b", a="1 Mon 1", b="3 Mon 1")


def test_limits_stand_together() -> None:
    # Both limits of the teacher break at once: two breaches.
    lessons = [teach("a", load=4, marking_minutes=10), teach("b", load=4, marking_minutes=10)]
    data = scenario(lessons, weeks=1, per_week="Mon 1-3", of_class={"teacher": "T"}, rules=QUIET)
    data |= limits(dense_a_day=1, marking_a_week=10)
    assert broken(data, a="1 Mon 1", b="1 Mon 3") == [(10, ["u/a", "u/b"])] * 2
    impossible(data)


# -- the aim even week -------------------------------------------------------------------------------------------------


def even_week(data: Data) -> int:
    return aims(solved(data | {"aims": ["even week"]}))["even week"]


def test_even_week_spreads_marking() -> None:
    # Three times 60 over two weeks of two periods: 120 at best, over three weeks 60.
    lessons = [teach(name, marking_minutes=60) for name in "abc"]
    assert even_week(scenario(lessons)) == 120
    assert even_week(scenario(lessons, weeks=3)) == 60
    assert judged(scenario(lessons, weeks=3), a="1 Mon 1", b="1 Tue 1", c="3 Mon 1")["aims"]["even week"] == 120


def test_even_week_adds_preparation_and_marking() -> None:
    # Each lesson: 40 to prepare the week before, 60 to mark. In weeks 1 and 2: 40, 100, 60. In weeks 1 and 3: 40, 60, 40, 60.
    lessons = [teach(name, preparation_minutes=40, marking_minutes=60) for name in "ab"]
    two, three = scenario(lessons), scenario(lessons, weeks=3)
    assert even_week(two) == 100
    assert even_week(three) == 60
    assert judged(two, a="1 Mon 1", b="1 Tue 1")["aims"]["even week"] == 120
    assert judged(two, a="2 Mon 1", b="2 Tue 1")["aims"]["even week"] == 120


def test_week_0_counts() -> None:
    # Both in the only week: 40 and 40 are prepared before it.
    lessons = [teach(name, preparation_minutes=40) for name in "ab"]
    assert even_week(scenario(lessons, weeks=1)) == 80
    assert even_week(scenario(lessons, weeks=2)) == 40


def test_even_week_is_a_sum_over_teachers() -> None:
    # 60 each in the only week: 60 + 60 for two teachers as for one who has both classes.
    data = two_classes(BOOKS, weeks=1)
    assert even_week(data) == 120
    data["classes"][1]["teacher"] = "S"
    assert even_week(data) == 120
    # Over two weeks, one teacher can keep them apart; two teachers have 60 each, whenever it is.
    data["term"]["last"] = day(2, "Sun")
    assert even_week(data) == 120
    data["classes"][1]["teacher"] = "T"
    assert even_week(data) == 60


def test_classes_without_a_teacher_have_one_and_the_same() -> None:
    data = two_classes([LAB])
    for group in data["classes"]:
        del group["teacher"]
    # Prepared once for both, in the week before the earlier; marked for each.
    assert judged(data, *both("a", "1 Mon 1", "2 Mon 1"))["aims"]["even week"] == 60
    data["units"][0]["lessons"] = BOOKS
    assert judged(data, *both("a", "1 Mon 1", "1 Tue 1"))["aims"]["even week"] == 120
    assert even_week(data) == 60


def test_even_week_chooses_whose_period() -> None:
    # T has 60 to mark in week 1 already. The other lesson goes to S, in whose weeks nothing lies: 60 + 60; or to T in
    # week 2: 60 alone.
    lessons = [teach("a", marking_minutes=60, on=day(1, "Mon")), teach("b", marking_minutes=60)]
    one_week = scenario(lessons, weeks=1, of_class=by("Mon 1 T", "Tue 1 T", "Wed 1 S"))
    assert even_week(one_week) == 120
    assert judged(one_week, a="1 Mon 1", b="1 Wed 1")["aims"]["even week"] == 120
    assert even_week(scenario(lessons, weeks=2, of_class=by("Mon 1 T", "Tue 1 T", "Wed 1 S"))) == 60


def test_left_out_lessons_are_neither_prepared_nor_marked() -> None:
    lessons = [teach("a", marking_minutes=60, preparation_minutes=30, optional=True), teach("b", marking_minutes=10)]
    assert even_week(scenario(lessons, weeks=1)) == 10


def test_nothing_to_prepare_or_mark() -> None:
    assert even_week(scenario([teach("a")])) == 0
