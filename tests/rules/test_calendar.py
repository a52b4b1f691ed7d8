"""The calendar: which slots a class has, under which week, label and cycle, and which days are school days."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from sequencer import Slot, build_instance, scenario_from_data
from tests.builders import Data, a_class, aims, day, impossible, scenario, solved, teach, term
from tests.rules.helpers import EVERY_DAY, placed

ONE = [teach("a")]


def slots_in(data: Data, class_id: str = "9B") -> tuple[Slot, ...]:
    classes = build_instance(scenario_from_data(data)).classes
    return next(one.slots for one in classes if one.id == class_id)


def when(data: Data, class_id: str = "9B") -> list[tuple[str, int]]:
    return [(slot.date.isoformat(), slot.period) for slot in slots_in(data, class_id)]


def weeks_in(data: Data) -> list[tuple[int, str, int]]:
    """(number, label, cycle) of every school week."""
    calendar = build_instance(scenario_from_data(data)).calendar
    return [(week.number, week.label, week.cycle) for week in calendar.weeks]


def school_days(data: Data) -> list[str]:
    return [day.isoformat() for day in build_instance(scenario_from_data(data)).calendar.school_days]


def two_weekly(weeks: int, **more: Any) -> Data:
    return {**term(weeks), "cycle": ["A", "B"], **more}


def week_off(week: int) -> Data:
    return {"name": f"week {week}", "first": day(week, "Mon"), "last": day(week, "Sun")}


# -- slots -------------------------------------------------------------------------------------------------------------


def test_slots_are_numbered_from_0_in_order_of_date_and_period() -> None:
    data = scenario(ONE, weeks=2, of_class={"timetable": {"Tue": [2, 1], "Mon": 3}})
    assert when(data) == [
        (day(1, "Mon"), 3), (day(1, "Tue"), 1), (day(1, "Tue"), 2),
        (day(2, "Mon"), 3), (day(2, "Tue"), 1), (day(2, "Tue"), 2),
    ]  # fmt: skip
    assert [slot.number for slot in slots_in(data)] == [0, 1, 2, 3, 4, 5]


def test_the_first_and_the_last_day_of_term_count() -> None:
    # Term Tue 3 to Mon 9 November: its first Monday and its second Tuesday lie outside.
    data = scenario(ONE, per_week="Mon 1, Tue 1", term={"first": day(1, "Tue"), "last": day(2, "Mon")})
    assert when(data) == [(day(1, "Tue"), 1), (day(2, "Mon"), 1)]
    assert [slot.week.number for slot in slots_in(data)] == [1, 2]  # the week is Monday to Sunday, cut or not


def test_every_week_and_the_week_of_a_label_are_merged() -> None:
    # Mon 1 every week; in week B also Mon 3 and Tue 1.
    data = scenario(
        ONE, term=two_weekly(2), of_class={"timetable": [{"weeks": {"every": {"Mon": 1}, "B": {"Mon": 3, "Tue": 1}}}]}
    )
    assert when(data) == [(day(1, "Mon"), 1), (day(2, "Mon"), 1), (day(2, "Mon"), 3), (day(2, "Tue"), 1)]


def test_saturday_exists_only_in_a_school_week_and_outside_holidays() -> None:
    # Week 2: Monday to Friday are holiday, so its Saturday lies in no school week. Week 3: Saturday itself is holiday.
    # Week 4: Friday alone is left, which makes it a school week.
    holidays = [
        {"name": "half term", "first": day(2, "Mon"), "last": day(2, "Fri")},
        {"name": "feast", "on": day(3, "Sat")},
        {"name": "long weekend", "first": day(4, "Mon"), "last": day(4, "Thu")},
    ]
    data = scenario(ONE, weeks=4, per_week="Sat 1", holidays=holidays)
    assert when(data) == [(day(1, "Sat"), 1), (day(4, "Sat"), 1)]
    assert [slot.week.number for slot in slots_in(data)] == [1, 3]  # school weeks: 1, 3 and 4, numbered 1 to 3


def test_a_class_without_a_slot_takes_no_lesson() -> None:
    # The class leaves on Monday, before its first Tuesday.
    none = {"per_week": "Tue 1", "weeks": 1, "of_class": {"leaves": day(1, "Mon")}}
    assert when(scenario(ONE, **none)) == []
    impossible(scenario(ONE, **none))
    assert aims(solved(scenario([teach("a", optional=True)], **none)))["left out"] == 1


def test_leaving_date_is_the_last_one() -> None:
    data = scenario(ONE, weeks=2, per_week="Mon 1, Tue 1, Wed 1", of_class={"leaves": day(2, "Tue")})
    assert when(data)[-1] == (day(2, "Tue"), 1)
    assert len(when(data)) == 5  # 6 less the second Wednesday


def test_a_timetable_changes_from_a_date() -> None:
    # Mon 1 until the second Tuesday, from which it is Mon 2 and Wed 1.
    new = {"first": day(2, "Tue"), "weeks": {"every": {"Mon": 2, "Wed": 1}}}
    data = scenario(ONE, weeks=3, of_class={"timetable": [{"weeks": {"every": {"Mon": 1}}}, new]})
    assert when(data) == [
        (day(1, "Mon"), 1), (day(2, "Mon"), 1), (day(2, "Wed"), 1), (day(3, "Mon"), 2), (day(3, "Wed"), 1),
    ]  # fmt: skip
    # The date from which it holds is itself included; a first timetable that begins later leaves none before it.
    assert when(scenario(ONE, weeks=2, of_class={"timetable": [{**new, "first": day(1, "Wed")}]})) == [
        (day(1, "Wed"), 1), (day(2, "Mon"), 2), (day(2, "Wed"), 1),
    ]  # fmt: skip


# -- closures ----------------------------------------------------------------------------------------------------------


def test_a_closure_takes_slots_and_leaves_numbers_and_labels() -> None:
    # All of week 2 closed: weeks 1 and 3 keep number 1 and 3, label A and A.
    data = scenario(ONE, term=two_weekly(3), per_week="Mon 1", closures=[week_off(2)])
    assert [(slot.number, slot.week.number, slot.week.label) for slot in slots_in(data)] == [(0, 1, "A"), (1, 3, "A")]
    assert weeks_in(data) == [(1, "A", 1), (2, "B", 1), (3, "A", 2)]


def test_a_closure_of_a_day_a_period_or_a_class() -> None:
    whole = {"name": "storm", "on": day(1, "Mon")}
    classes = [a_class("9B", "Mon 1-2, Tue 1"), a_class("9C", "Mon 1-2, Tue 1")]
    tuesday = (day(1, "Tue"), 1)
    for closure, left_9b, left_9c in [
        (whole, [], []),
        (whole | {"periods": 1}, [2], [2]),
        (whole | {"classes": "9B"}, [], [1, 2]),
        (whole | {"classes": "9C", "periods": [2]}, [1, 2], [1]),
        (whole | {"on": [day(1, "Mon"), day(2, "Mon")]}, [], []),
    ]:
        data = scenario(ONE, weeks=1, classes=classes, closures=[closure])
        assert when(data, "9B") == [*((day(1, "Mon"), period) for period in left_9b), tuesday], closure
        assert when(data, "9C") == [*((day(1, "Mon"), period) for period in left_9c), tuesday], closure


def test_no_lesson_lies_on_a_closed_day() -> None:
    # Mon, Tue, Wed; Tuesday closed: three lessons do not fit, two take Monday and Wednesday.
    base = {"weeks": 1, "per_week": "Mon 1, Tue 1, Wed 1", "closures": [{"name": "storm", "on": day(1, "Tue")}]}
    unit = {"in_order": True}
    assert placed(solved(scenario([teach("a"), teach("b")], unit=unit, **base))) == {"a": "1 Mon 1", "b": "1 Wed 1"}
    impossible(scenario([teach("a"), teach("b"), teach("c")], unit=unit, **base))


# -- numbers, labels, cycles -------------------------------------------------------------------------------------------


def test_labels_pause_during_a_holiday_when_they_follow_school_weeks() -> None:
    # Calendar weeks 1 to 5, week 3 holiday: school weeks 1 2 . 3 4 carry A B . A B.
    data = scenario(ONE, term=two_weekly(5), holidays=[week_off(3)])
    assert weeks_in(data) == [(1, "A", 1), (2, "B", 1), (3, "A", 2), (4, "B", 2)]


def test_labels_run_on_through_a_holiday_when_they_follow_calendar_weeks() -> None:
    # Calendar weeks carry A B A B A, week 3 is holiday: A B . B A; numbers pause all the same. B after B, then A after B,
    # begin a cycle each.
    data = scenario(ONE, term=two_weekly(5, labels_follow="calendar weeks"), holidays=[week_off(3)])
    assert weeks_in(data) == [(1, "A", 1), (2, "B", 1), (3, "B", 2), (4, "A", 3)]


def test_the_timetable_follows_the_label() -> None:
    timetable = [{"weeks": {"A": {"Mon": 1}, "B": {"Tue": 1}}}]
    for follow, after_the_holiday in (("school weeks", "Mon"), ("calendar weeks", "Tue")):
        data = scenario(ONE, term=two_weekly(4, labels_follow=follow), holidays=[week_off(3)], of_class={"timetable": timetable})
        assert when(data) == [(day(1, "Mon"), 1), (day(2, "Tue"), 1), (day(4, after_the_holiday), 1)]


def test_a_cycle_begins_where_the_label_comes_no_later() -> None:
    # First week B: it is alone in its cycle.
    assert weeks_in(scenario(ONE, term=two_weekly(3, first_label="B"))) == [(1, "B", 1), (2, "A", 2), (3, "B", 2)]
    # Three labels from C on: C | A B C | A.
    three = {**term(5), "cycle": ["A", "B", "C"], "first_label": "C"}
    assert weeks_in(scenario(ONE, term=three)) == [(1, "C", 1), (2, "A", 2), (3, "B", 2), (4, "C", 2), (5, "A", 3)]
    # One label: every week is a cycle.
    assert weeks_in(scenario(ONE, weeks=3)) == [(1, "A", 1), (2, "A", 2), (3, "A", 3)]


def test_weeks_of_the_term_before_have_no_number_of_this_one() -> None:
    # Two weeks of the term before, a week's holiday, then its own two; labels and cycles run on.
    term = two_weekly(5, week_one=day(4, "Wed"))
    assert weeks_in(scenario(ONE, term=term, holidays=[week_off(3)])) == [(-1, "A", 1), (0, "B", 1), (1, "A", 2), (2, "B", 2)]
    # With no school week after its first day, all of them are its own.
    late = two_weekly(5, week_one=day(5, "Wed"))
    assert weeks_in(scenario(ONE, term=late, holidays=[week_off(5)]))[0] == (1, "A", 1)


def test_labels_come_from_the_first_week_not_from_the_parity_of_iso_weeks() -> None:
    # ISO 8601: 2026 has a week 53. Weeks 51 52 53 1 2 carry A B A B A; parity would say A B A A B.
    mondays = [date(2026, 12, 14), date(2026, 12, 21), date(2026, 12, 28), date(2027, 1, 4), date(2027, 1, 11)]
    assert [monday.isocalendar().week for monday in mondays] == [51, 52, 53, 1, 2]
    for follow in ("school weeks", "calendar weeks"):
        over_new_year = {"first": "2026-12-14", "last": "2027-01-17", "cycle": ["A", "B"], "labels_follow": follow}
        assert [label for _, label, _ in weeks_in(scenario(ONE, term=over_new_year))] == ["A", "B", "A", "B", "A"]
    # Weeks 52, 53 and 1 off: week 2 is the second school week (B), four Mondays after the first (A).
    off = [{"name": "winter", "first": "2026-12-21", "last": "2027-01-10"}]
    labels = {
        follow: weeks_in(scenario(ONE, term={**over_new_year, "labels_follow": follow}, holidays=off))
        for follow in ("school weeks", "calendar weeks")
    }
    assert labels == {"school weeks": [(1, "A", 1), (2, "B", 1)], "calendar weeks": [(1, "A", 1), (2, "A", 2)]}


# -- remote spells and restricted days ---------------------------------------------------------------------------------


def remote(**more: Any) -> Data:
    return {"name": "remote week", "first": day(1, "Mon"), "last": day(1, "Fri"), **more}


def how(data: Data, class_id: str = "9B") -> list[str]:
    return [slot.taught for slot in slots_in(data, class_id)]


@pytest.mark.parametrize(
    ("spell", "expected"),
    [
        (remote(), ["open"] * 5),
        (remote(taught="live"), ["live"] * 5),
        (remote(on=[day(1, "Tue")], first=None, last=None), ["in class", "open", "in class", "in class", "in class"]),
        (remote(periods=[2]), ["in class"] * 5),
        (remote(classes=["9C"]), ["in class"] * 5),
        (remote(fixed=[{"taught": "live", "weekdays": ["Mon", "Fri"]}]), ["live", "open", "open", "open", "live"]),
        (remote(fixed=[{"taught": "set work", "on": day(1, "Wed")}]), ["open", "open", "set work", "open", "open"]),
        (remote(fixed=[{"taught": "live", "periods": 2}]), ["open"] * 5),
        (remote(fixed=[{"taught": "live", "classes": "9C"}]), ["open"] * 5),
        # The later of two that fit holds: Monday is set work, not live; Friday is made open again.
        (
            remote(
                taught="live",
                fixed=[{"taught": "set work", "weekdays": ["Mon", "Fri"]}, {"taught": "open", "weekdays": "Fri"}],
            ),
            ["set work", "live", "live", "live", "open"],
        ),
    ],
)
def test_how_remote_periods_are_fixed(spell: Data, expected: list[str]) -> None:
    spell = {key: value for key, value in spell.items() if value is not None}
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY)]
    assert how(scenario(ONE, weeks=1, classes=classes, remote_spells=[spell])) == expected


def test_the_spell_listed_later_holds_where_two_meet() -> None:
    # All week live with the kit, Wednesday and Thursday set work with nothing: the second entry holds there, offers too.
    inner = {"name": "inner", "first": day(1, "Wed"), "last": day(1, "Thu"), "taught": "set work"}
    data = scenario(ONE, weeks=1, per_week=EVERY_DAY, remote_spells=[remote(taught="live", offers="kit"), inner])
    assert how(data) == ["live", "live", "set work", "set work", "live"]
    assert [slot.offers for slot in slots_in(data)] == [("kit",), ("kit",), (), (), ("kit",)]
    swapped = scenario(ONE, weeks=1, per_week=EVERY_DAY, remote_spells=[inner, remote(taught="live")])
    assert how(swapped) == ["live"] * 5


def test_restricted_days_cover_dates_periods_and_classes() -> None:
    base = {"name": "visit", "on": day(1, "Mon"), "refuses": {"kinds": "assessment"}}
    classes = [a_class("9B", "Mon 1-2, Tue 1"), a_class("9C", "Mon 1-2, Tue 1")]
    data = scenario(ONE, weeks=1, classes=classes, restricted_days=[base, base | {"periods": 2, "classes": "9C"}])
    assert [slot.restrictions for slot in slots_in(data, "9B")] == [(0,), (0,), ()]
    assert [slot.restrictions for slot in slots_in(data, "9C")] == [(0,), (0, 1), ()]


# -- school days -------------------------------------------------------------------------------------------------------


def test_school_days() -> None:
    # Two weeks. Tuesday closed to all: no school day. Wednesday closed to one class, Thursday for one period: school days.
    # Friday is holiday. Week 2 is remote: school days. Saturdays and Sundays never count, lessons or not.
    data = scenario(
        ONE,
        weeks=2,
        per_week="Mon 1, Sat 1",
        closures=[
            {"name": "storm", "on": day(1, "Tue")},
            {"name": "trip", "on": day(1, "Wed"), "classes": "9B"},
            {"name": "assembly", "on": day(1, "Thu"), "periods": 1},
        ],
        holidays=[{"name": "feast", "on": day(1, "Fri")}],
        remote_spells=[{"name": "remote", "first": day(2, "Mon"), "last": day(2, "Fri")}],
    )
    assert school_days(data) == [
        day(1, "Mon"), day(1, "Wed"), day(1, "Thu"), *(day(2, weekday) for weekday in ("Mon", "Tue", "Wed", "Thu", "Fri")),
    ]  # fmt: skip


def test_school_days_lie_in_term() -> None:
    data = scenario(ONE, per_week="Wed 1", term={"first": day(1, "Tue"), "last": day(2, "Mon")})
    assert school_days(data) == [day(1, "Tue"), day(1, "Wed"), day(1, "Thu"), day(1, "Fri"), day(2, "Mon")]
