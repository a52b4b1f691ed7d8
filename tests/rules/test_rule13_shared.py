"""Rule 13, shared class: a slot belongs to a teacher, and lessons or strands of a unit may be tied to one of them."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, aims, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import allowed, broken, forbidden, placed, row

WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri")


def shared(lessons: list[Data], periods: str = "T S T S S", weeks: int = 1, unit: Data | None = None, **more: Any) -> Data:
    """A class with one period on each weekday, each with its teacher; ``-`` for the class's own, who is nobody unless stated."""
    week = {
        weekday: {"period": 1, **({"teacher": name} if name != "-" else {})}
        for weekday, name in zip(WEEK, periods.split(), strict=True)
    }
    return scenario(lessons, weeks=weeks, unit=unit, of_class={"timetable": week, **more.pop("of_class", {})}, **more)


# -- lessons -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("where", "is_hers"), [("Mon", False), ("Tue", True), ("Wed", False), ("Thu", True), ("Fri", True)])
def test_a_tied_lesson_lies_in_a_period_of_its_teacher(where: str, is_hers: bool) -> None:
    # The first period of the term is T's, the last S's.
    data = shared([teach("a", teacher="S")])
    if is_hers:
        allowed(data, a=f"1 {where} 1")
    else:
        forbidden(data, 13, "a", a=f"1 {where} 1")


@pytest.mark.parametrize("at", range(5))
def test_the_only_period_of_a_teacher(at: int) -> None:
    teachers = ["S"] * 5
    teachers[at] = "T"
    data = shared([teach("a", teacher="T")], " ".join(teachers))
    assert placed(solved(data)) == {"a": f"1 {WEEK[at]} 1"}


def test_lessons_that_are_not_tied_go_anywhere() -> None:
    data = shared([teach("a")])
    for weekday in WEEK:
        allowed(data, a=f"1 {weekday} 1")


def test_a_period_says_more_than_the_class() -> None:
    # The class is T's but for Friday.
    data = shared([teach("a", teacher="S"), teach("b", teacher="T")], "- - - - S", of_class={"teacher": "T"})
    allowed(data, a="1 Fri 1", b="1 Mon 1")
    forbidden(data, 13, "a", a="1 Thu 1", b="1 Mon 1")
    two = shared([teach("b", teacher="T")], "- - - - S", of_class={"teacher": "T"})
    forbidden(two, 13, "b", b="1 Fri 1")


def test_a_period_that_is_nobodys() -> None:
    # Friday is S's, the others name no teacher.
    forbidden(shared([teach("a", teacher="S")], "- - - - S"), 13, "a", a="1 Mon 1")
    allowed(shared([teach("a", teacher="S")], "- - - - S"), a="1 Fri 1")


def test_more_lessons_than_periods_of_a_teacher() -> None:
    # T has two periods a week.
    lessons = [teach(name, teacher="T") for name in "abc"]
    impossible(shared(lessons))
    assert {place[2:] for place in placed(solved(shared(lessons, weeks=2))).values()} <= {"Mon 1", "Wed 1"}


def test_a_teacher_who_teaches_this_class_no_period() -> None:
    data = shared([teach("a", teacher="S")], "T T T T T")
    data["classes"].append(a_class("9C", units="v", teacher="S"))
    data["units"].append({"id": "v", "lessons": [teach("x")]})
    impossible(data)


def test_a_closure_takes_the_only_period_of_a_teacher() -> None:
    data = shared([teach("a", teacher="T")], "S S T S S", closures=[{"name": "storm", "on": day(1, "Wed")}])
    impossible(data)
    both_weeks = data | {"term": {"first": day(1, "Mon"), "last": day(2, "Sun")}}
    assert placed(solved(both_weeks)) == {"a": "2 Wed 1"}


def test_a_double_is_the_teachers_of_its_first_period() -> None:
    double = [assessment("a", length=2, teacher="T")]

    def monday(first: str, second: str) -> Data:
        periods = [{"period": 1, "teacher": first}, {"period": 2, "teacher": second}]
        return scenario(double, weeks=1, of_class={"timetable": {"Mon": periods, "Tue": {"period": 1, "teacher": "T"}}})

    allowed(monday("T", "S"), a="1 Mon 1")
    forbidden(monday("S", "T"), 13, "a", a="1 Mon 1")


def test_left_out_it_obeys_no_rule() -> None:
    lessons = [teach(name, teacher="T", optional=True) for name in "abc"]
    assert aims(solved(shared(lessons, aims=["left out"]))) == {"left out": 1}


def test_remote_periods_keep_their_teacher() -> None:
    remote = [{"name": "remote", "first": day(1, "Mon"), "last": day(1, "Fri")}]
    forbidden(shared([teach("a", teacher="S")], remote_spells=remote), 13, "a", a="1 Mon 1 live")
    allowed(shared([teach("a", teacher="S")], remote_spells=remote), a="1 Tue 1 set work")


def test_a_timetable_that_changes_hands() -> None:
    # T's periods become S's in the second week.
    def with_teacher(name: str, **more: Any) -> Data:
        return {"weeks": {"every": {"Mon": {"period": 1, "teacher": name}}}, **more}

    tables = [with_teacher("T"), with_teacher("S", first=day(2, "Mon"))]
    data = scenario([teach("a", teacher="S")], of_class={"timetable": tables})
    forbidden(data, 13, "a", a="1 Mon 1")
    allowed(data, a="2 Mon 1")


# -- strands -----------------------------------------------------------------------------------------------------------

STRANDS = {"strands": [{"tag": "poems", "teacher": "T"}, {"tag": "plays", "teacher": "S"}]}


def test_a_strand_is_one_teachers() -> None:
    lessons = [teach("a", tags="poems"), teach("b", tags="plays"), teach("c")]
    data = shared(lessons, unit=STRANDS)
    allowed(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1")
    allowed(data, a="1 Wed 1", b="1 Fri 1", c="1 Tue 1")
    forbidden(data, 13, "a", a="1 Tue 1", b="1 Thu 1", c="1 Wed 1")
    forbidden(data, 13, "b", a="1 Wed 1", b="1 Mon 1", c="1 Tue 1")
    assert broken(data, a="1 Tue 1", b="1 Mon 1", c="1 Wed 1") == [(13, ["u/a"]), (13, ["u/b"])]


def test_the_first_strand_whose_tag_a_lesson_carries() -> None:
    # The order of the unit's strands counts, not that of the lesson's tags.
    lessons = [teach("a", tags=["plays", "poems"])]
    allowed(shared(lessons, unit=STRANDS), a="1 Mon 1")
    forbidden(shared(lessons, unit=STRANDS), 13, "a", a="1 Tue 1")
    turned = {"strands": STRANDS["strands"][::-1]}
    forbidden(shared(lessons, unit=turned), 13, "a", a="1 Mon 1")
    allowed(shared(lessons, unit=turned), a="1 Tue 1")


def test_a_lessons_own_teacher_wins_over_its_strand() -> None:
    data = shared([teach("a", tags="poems", teacher="S"), teach("b", tags="plays")], unit=STRANDS)
    allowed(data, a="1 Tue 1", b="1 Thu 1")
    forbidden(data, 13, "a", a="1 Mon 1", b="1 Thu 1")


def test_a_strand_is_its_units_alone() -> None:
    # v's lesson carries the tag too, but only u ties it.
    units = [{"id": "u", "lessons": [teach("a", tags="poems"), teach("c", tags="plays")], **STRANDS}]
    units.append({"id": "v", "lessons": [teach("b", tags="poems")]})
    data = shared([], units=units, of_class={"units": ["u", "v"]})
    allowed(data, row("u/a", "1 Mon 1"), row("u/c", "1 Tue 1"), row("v/b", "1 Fri 1"))
    forbidden(data, 13, "u/a", row("u/a", "1 Fri 1"), row("u/c", "1 Tue 1"), row("v/b", "1 Mon 1"))


# -- with other rules --------------------------------------------------------------------------------------------------


def test_strands_of_two_shared_classes_each_have_their_periods() -> None:
    # In 9B T has Monday, in 9C Tuesday.
    data = shared([teach("a", teacher="T")], "T S S S S")
    other = shared([], "S T S S S")["classes"][0] | {"id": "9C"}
    data["classes"].append(other)
    allowed(data, row("a", "1 Mon 1"), row("a", "1 Tue 1", of="9C"))
    forbidden(data, 13, "a", row("a", "1 Mon 1"), row("a", "1 Mon 1", of="9C"))
    # In step on one date they cannot be; within a day they can.
    impossible(data | {"rules": {"in_step": 0}})
    solved(data | {"rules": {"in_step": 1}})


def test_a_tied_lesson_counts_in_its_teachers_week() -> None:
    # Both of T's lessons have 30 minutes to mark, at most 30 a week: one in each week. An untied one may go to S.
    tied = [teach(name, teacher="T", marking_minutes=30) for name in "ab"]
    most = {"teachers": [{"name": "T", "marking_a_week": 30}]}
    impossible(shared(tied, **most))
    solved(shared(tied, weeks=2, **most))
    solved(shared([tied[0], teach("b", marking_minutes=30)], **most))
