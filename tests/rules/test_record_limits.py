"""What was taught has just reached a limit: it binds what is still to come, and breaking it is no fault of the past."""

from __future__ import annotations

from tests.builders import QUIET, Data, a_class, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, judged, placed, row


def entry(lesson: str, weekday: str = "Mon", week: int = 1, of: str = "9B", **more: str) -> Data:
    """Return an entry of the record: delivered in the first period of a date, which may lie before the first week."""
    return {"class": of, "lesson": lesson, "date": day(week, weekday), **({"period": 1} if week else {}), **more}


def could_be_mended(data: Data, rule: int, **places: str) -> None:
    """Assert that the referee finds one breach, of this rule, that is no fault of the past."""
    (breach,) = judged(data, **places)["breaches"]
    assert (breach["rule"], breach["past"]) == (rule, False)


# -- the week ----------------------------------------------------------------------------------------------------------


def test_a_week_that_has_its_most_lessons_takes_no_more() -> None:
    for most in ({"most_lessons": 1}, {"most_load": 3}):
        data = scenario([teach("a"), teach("b")], rules={"week": most}, aims=["early finish"])
        data |= {"today": day(1, "Tue"), "record": [entry("a")]}
        could_be_mended(data, 9, b="1 Tue 1")
        assert placed(solved(data)) == {"a": "1 Mon 1", "b": "2 Mon 1"}


def test_a_week_that_can_still_have_its_least_lessons_must() -> None:
    # Two a week: one was taught, and one period is left. The next week has its two.
    data = scenario([teach(name) for name in "abcd"], rules={"week": {"least_lessons": 2}})
    data |= {"today": day(1, "Tue"), "record": [entry("a")]}
    found = judged(data, b="2 Mon 1", c="2 Tue 1")["breaches"]  # d, which is not placed, is another matter
    assert [(breach["rule"], breach["past"]) for breach in found] == [(0, False), (9, False)]
    assert "1 Tue 1" in placed(solved(data)).values()


# -- live --------------------------------------------------------------------------------------------------------------


def test_a_week_that_has_its_most_lessons_live_takes_no_more() -> None:
    spell = {"name": "Repairs", "first": day(1, "Mon"), "last": day(1, "Fri")}
    data = scenario([teach("a"), teach("b", load=4)], weeks=1, remote_spells=[spell])
    data["rules"] = {"live_quotas": [{"per": "week", "most": 1}], **QUIET}
    data |= {"today": day(1, "Tue"), "record": [entry("a", taught="live")]}
    could_be_mended(data, 5, b="1 Tue 1 live")
    assert judged(data, b="1 Tue 1 set work")["sound"]


# -- in step -----------------------------------------------------------------------------------------------------------


def in_step(days: int, *record: Data, today: str, lessons: tuple[Data, ...] = (teach("a"),), first: str = EVERY_DAY) -> Data:
    """Return two classes, the second meeting as stated, that keep within so many days."""
    data = scenario(lessons, weeks=1, classes=[a_class("9B", EVERY_DAY), a_class("9C", first)], rules={"in_step": days})
    return data | {"today": day(1, today), "record": list(record)}


def test_a_parallel_class_that_can_still_keep_in_step_must() -> None:
    # Taught on Monday to 9B, and today is Wednesday: just within two days, with nothing to spare.
    data = in_step(2, entry("a"), today="Wed")
    late = row("a", "1 Thu 1", of="9C")
    (breach,) = judged(data, late)["breaches"]
    assert (breach["rule"], breach["past"]) == (11, False)
    assert placed(solved(data), "9C") == {"a": "1 Wed 1"}


def test_days_are_counted_from_what_was_taught_before_the_first_period() -> None:
    # Taught to 9B on the Friday before: Tuesday is 4 days later. 9C could have it on Monday, were it not for b.
    lessons = (teach("a", requires="b"), teach("b"))
    for days, possible in ((4, True), (3, False)):
        for earlier, later in (("9B", "9C"), ("9C", "9B")):
            data = in_step(days, entry("a", "Fri", 0, of=earlier), today="Mon", lessons=lessons, first="Mon 1, Tue 1")
            data["classes"].sort(key=lambda each: each["id"] != earlier)
            data["classes"][1]["timetable"] = data["classes"][0]["timetable"] = {"Mon": [1], "Tue": [1]}
            if possible:
                assert placed(solved(data), later) == {"b": "1 Mon 1", "a": "1 Tue 1"}
            else:
                impossible(data)


# -- the teacher's day -------------------------------------------------------------------------------------------------


def test_a_day_that_has_its_most_dense_lessons_takes_no_more() -> None:
    data = scenario([teach("a", load=4), teach("b", load=4)], per_week="Mon 1-2, Tue 1", rules=QUIET, teachers=[])
    data |= {"teachers": [{"name": "Ms Ash", "dense_a_day": 1}], "today": day(1, "Mon"), "record": [entry("a")]}
    data["classes"][0]["teacher"] = "Ms Ash"
    could_be_mended(data, 10, b="1 Mon 2")
    assert placed(solved(data | {"aims": ["early finish"]}))["b"] == "1 Tue 1"
