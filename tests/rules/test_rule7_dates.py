"""Rule 7, dates: not before, not after, on a date, pinned to a period, and a report deadline."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, placed


def one(**more: Any) -> Data:
    """One lesson and five periods, Monday to Friday."""
    return scenario([teach("a", **more)], weeks=1, per_week=EVERY_DAY)


# -- not before, not after, on -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("dates", "just_allowed", "just_forbidden"),
    [
        ({"not_before": day(1, "Wed")}, "1 Wed 1", "1 Tue 1"),
        ({"not_after": day(1, "Wed")}, "1 Wed 1", "1 Thu 1"),
        ({"on": day(1, "Wed")}, "1 Wed 1", "1 Tue 1"),
        ({"on": day(1, "Wed")}, "1 Wed 1", "1 Thu 1"),
        ({"not_before": day(1, "Fri")}, "1 Fri 1", "1 Thu 1"),  # the last slot
        ({"not_after": day(1, "Mon")}, "1 Mon 1", "1 Tue 1"),  # the first slot
        ({"not_before": day(1, "Tue"), "not_after": day(1, "Tue")}, "1 Tue 1", "1 Mon 1"),
    ],
)
def test_edges(dates: Data, just_allowed: str, just_forbidden: str) -> None:
    allowed(one(**dates), a=just_allowed)
    assert broken(one(**dates), a=just_forbidden) == [(7, ["u/a"])]


@pytest.mark.parametrize(
    ("dates", "place"),
    [
        ({"not_before": day(1, "Fri")}, "1 Fri 1"),
        ({"not_after": day(1, "Mon")}, "1 Mon 1"),
        ({"on": day(1, "Wed")}, "1 Wed 1"),
        ({"not_before": day(1, "Tue"), "not_after": day(1, "Tue")}, "1 Tue 1"),
    ],
)
def test_the_solver_finds_the_only_period(dates: Data, place: str) -> None:
    assert placed(solved(one(**dates))) == {"a": place}


@pytest.mark.parametrize("dates", [{"not_before": day(1, "Sat")}, {"on": day(1, "Sat")}])
def test_no_period_on_the_dates(dates: Data) -> None:
    impossible(one(**dates))


def test_a_closed_day_leaves_no_period() -> None:
    closed = [{"name": "storm", "on": day(1, "Wed")}]
    impossible(scenario([teach("a", on=day(1, "Wed"))], weeks=1, per_week=EVERY_DAY, closures=closed))


# -- pins --------------------------------------------------------------------------------------------------------------


def test_pinned_to_a_date_and_period() -> None:
    lessons = [teach("a", on=day(1, "Tue"), period=2), teach("b"), teach("c")]
    data = scenario(lessons, weeks=1, per_week="Mon 1, Tue 1-2")
    assert placed(solved(data))["a"] == "1 Tue 2"
    assert broken(data, a="1 Tue 1", b="1 Mon 1", c="1 Tue 2") == [(7, ["u/a"])]
    assert broken(data, a="1 Mon 1", b="1 Tue 1", c="1 Tue 2") == [(7, ["u/a"])]  # the period is asked for on its date
    assert broken(data, a="1 Tue 2", b="1 Tue 1", c="1 Mon 1") == []


def test_two_lessons_pinned_to_one_period() -> None:
    impossible(scenario([teach(name, on=day(1, "Tue"), period=2) for name in "ab"], weeks=1, per_week="Mon 1, Tue 1-2"))


def test_a_double_is_pinned_by_its_first_period() -> None:
    def double(period: int) -> Data:
        return scenario([teach("d", length=2, on=day(1, "Tue"), period=period)], weeks=1, per_week="Mon 1, Tue 1-3")

    for period in (1, 2):
        assert placed(solved(double(period))) == {"d": f"1 Tue {period}"}
    impossible(double(3))  # its second period would be the fourth
    assert broken(double(2), d="1 Tue 1") == [(7, ["u/d"])]  # it holds period 2, but begins in 1


def test_pins_at_the_first_and_the_last_period() -> None:
    lessons = [teach("a", on=day(1, "Fri"), period=1), teach("b", on=day(1, "Mon"), period=1)]
    assert placed(solved(scenario(lessons, weeks=1, per_week=EVERY_DAY))) == {"b": "1 Mon 1", "a": "1 Fri 1"}
    # A pin does not bend rule 1.
    bound = [lessons[0], {**lessons[1], "requires": "a"}]
    impossible(scenario(bound, weeks=1, per_week=EVERY_DAY))


# -- one class's own dates ---------------------------------------------------------------------------------------------


def test_a_class_states_its_own_dates() -> None:
    # The unit says Monday; 9C says Wednesday for itself.
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY, lessons={"a": {"on": day(1, "Wed")}})]
    answer = solved(scenario([teach("a", on=day(1, "Mon"))], weeks=1, classes=classes))
    assert (placed(answer, "9B"), placed(answer, "9C")) == ({"a": "1 Mon 1"}, {"a": "1 Wed 1"})


def test_a_class_moves_a_pin() -> None:
    # Unit: Monday, period 2. The class: another period of that date.
    own = {"lessons": {"a": {"period": 1}}}
    data = scenario([teach("a", on=day(1, "Mon"), period=2)], weeks=1, per_week="Mon 1-2, Tue 1-2", of_class=own)
    assert placed(solved(data)) == {"a": "1 Mon 1"}
    assert broken(data, a="1 Mon 2") == [(7, ["u/a"])]


def test_a_class_states_one_date_and_keeps_the_others() -> None:
    # The unit: not before Tuesday, not after Thursday. The class: not after Tuesday. Tuesday alone is left.
    own = {"lessons": {"a": {"not_after": day(1, "Tue")}}}
    lessons = [teach("a", not_before=day(1, "Tue"), not_after=day(1, "Thu"))]
    assert placed(solved(scenario(lessons, weeks=1, per_week=EVERY_DAY, of_class=own))) == {"a": "1 Tue 1"}
    # Or the class: not before Thursday. Thursday alone is left.
    own = {"lessons": {"a": {"not_before": day(1, "Thu")}}}
    assert placed(solved(scenario(lessons, weeks=1, per_week=EVERY_DAY, of_class=own))) == {"a": "1 Thu 1"}
    assert broken(scenario(lessons, weeks=1, per_week=EVERY_DAY, of_class=own), a="1 Wed 1") == [(7, ["u/a"])]


# -- report deadlines --------------------------------------------------------------------------------------------------


def report(deadline: str, **calendar: Any) -> Data:
    return scenario([assessment("test", report_deadline=deadline)], per_week=EVERY_DAY, **{"weeks": 1, **calendar})


def latest(data: Data, place: str, too_late: str) -> None:
    allowed(data, test=place)
    forbidden(data, 7, "test", test=too_late)


def test_three_school_days_before_the_reports_unless_stated() -> None:
    # Reports due Friday: from Tuesday, Wed Thu Fri are three; from Wednesday two.
    latest(report(day(1, "Fri")), "1 Tue 1", "1 Wed 1")
    # Due Thursday: Monday, the first slot, is the only one. Due Wednesday: none.
    assert placed(solved(report(day(1, "Thu")))) == {"test": "1 Mon 1"}
    impossible(report(day(1, "Wed")))


def test_marking_time_stated() -> None:
    latest(report(day(1, "Fri"), rules={"marking": 1}), "1 Thu 1", "1 Fri 1")
    latest(report(day(1, "Fri"), rules={"marking": 4}), "1 Mon 1", "1 Tue 1")
    impossible(report(day(1, "Fri"), rules={"marking": 5}))


@pytest.mark.parametrize("rules", [{"marking": 0}, {"marking": "off"}])
def test_without_marking_time_the_lesson_still_lies_no_later_than_the_reports(rules: Data) -> None:
    data = report(day(1, "Wed"), rules=rules)
    allowed(data, test="1 Wed 1")
    assert broken(data, test="1 Thu 1") == [(7, ["u/test"])]
    late = scenario([assessment("test", report_deadline=day(1, "Wed"))], weeks=1, per_week="Thu 1, Fri 1", rules=rules)
    impossible(late)


def test_a_deadline_across_a_holiday() -> None:
    # Due Mon of week 3, week 2 holiday: from Wed of week 1, Thu Fri Mon are three.
    off = [{"name": "half term", "first": day(2, "Mon"), "last": day(2, "Sun")}]
    latest(report(day(3, "Mon"), weeks=3, holidays=off), "1 Wed 1", "1 Thu 1")
    # Due on the last day of that holiday, or the Sunday before it: the same three days end on Friday.
    for deadline in (day(2, "Sun"), day(1, "Sun")):
        latest(report(deadline, weeks=3, holidays=off), "1 Tue 1", "1 Wed 1")


def test_a_deadline_across_closures() -> None:
    # Due Friday. Thursday closed to the whole school: from Mon, Tue Wed Fri. Closed in part: from Tue, Wed Thu Fri.
    storm = {"name": "storm", "on": day(1, "Thu")}
    latest(report(day(1, "Fri"), closures=[storm]), "1 Mon 1", "1 Tue 1")
    for part in ({"classes": "9B"}, {"periods": [1]}):
        latest(report(day(1, "Fri"), closures=[storm | part]), "1 Tue 1", "1 Wed 1")


def test_a_deadline_of_one_class() -> None:
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY, lessons={"test": {"report_deadline": day(1, "Thu")}})]
    answer = solved(scenario([assessment("test", not_before=day(1, "Mon"))], weeks=1, classes=classes))
    assert placed(answer, "9C") == {"test": "1 Mon 1"}


# -- switched off ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "dates",
    [
        {"not_before": day(1, "Fri")},
        {"not_after": day(1, "Tue")},
        {"on": day(1, "Sat")},
        {"on": day(1, "Fri"), "period": 1},
        {"report_deadline": day(1, "Mon")},
    ],
)
def test_off_voids_every_date(dates: Data) -> None:
    # One slot, Wednesday.
    lesson = teach("a", rules={"dates": "off"}, **dates)
    assert placed(solved(scenario([lesson], weeks=1, per_week="Wed 1"))) == {"a": "1 Wed 1"}
    impossible(scenario([{**lesson, "rules": {}}], weeks=1, per_week="Wed 1"))


def test_a_pin_takes_no_later_period_of_its_date() -> None:
    # a is pinned to the first of Monday's two periods, and b would have to come before it.
    lessons = [teach("a", requires="b", on=day(1, "Mon"), period=1), teach("b")]
    impossible(scenario(lessons, weeks=1, per_week="Mon 1-2"))
    # Pinned to the second period it leaves room.
    assert placed(solved(scenario([lessons[0] | {"period": 2}, teach("b")], weeks=1, per_week="Mon 1-2"))) == {
        "b": "1 Mon 1",
        "a": "1 Mon 2",
    }
