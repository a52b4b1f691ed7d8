"""What of last year's scenario no longer fits: pins, timetables, quotas, needs, people."""

from __future__ import annotations

from datetime import date

import pytest

from sequencer import UnusableInput, scenario_data
from tests.builders import Data, a_class, assessment, scenario, teach
from tests.redating.helpers import EVERY_DAY, OLD, one_lesson, redated, said

# -- pins --------------------------------------------------------------------------------------------------------------


def test_a_pin_moves_with_its_period() -> None:
    result = redated(one_lesson(on="2026-11-12", period=1))
    assert scenario_data(result.scenario)["units"][0]["lessons"] == [{"id": "x", "on": "2027-11-11", "period": 1}]


@pytest.mark.parametrize(
    ("calendar", "why"),
    [
        ({"closures": [{"name": "Training", "on": "2027-11-11"}]}, "9B does not meet on Thu 11 Nov 2027"),
        ({"holidays": [{"name": "Break", "on": "2027-11-11"}]}, "9B does not meet on Thu 11 Nov 2027"),
        ({"closures": [{"name": "Training", "on": "2027-11-11", "periods": 1}]}, "9B does not meet on Thu 11 Nov 2027"),
        (
            {"classes": [{"id": "9B", "timetable": {"Mon": 1, "Thu": [2, 3]}}]},
            "9B does not meet in period 1 on Thu 11 Nov 2027",
        ),
        (
            {"restricted_days": [{"name": "Cover", "on": "2027-11-11", "refuses": {"kinds": "teach"}}]},
            "no period of 9B on Thu 11 Nov 2027 suits it",
        ),
    ],
)
def test_a_pin_without_its_period_is_left_out(calendar: Data, why: str) -> None:
    result = redated(one_lesson(title="An outing", on="2026-11-12", period=1), **calendar)
    assert scenario_data(result.scenario)["units"][0]["lessons"] == [{"id": "x", "title": "An outing"}]
    assert said(result)[0] == f'"An outing", on Thu 12 Nov 2026, period 1: left out, since {why}'
    assert result.moved == ()


def test_a_double_needs_both_its_periods() -> None:
    data = scenario([teach("x", length=2, on="2026-11-12", period=1)], per_week="Tue 1-2, Thu 1-2", **OLD)
    result = redated(data, closures=[{"name": "Assembly", "on": "2027-11-11", "periods": 2}])
    assert said(result) == ['"x", on Thu 12 Nov 2026, period 1: left out, since no period of 9B on Thu 11 Nov 2027 suits it']


def test_a_date_that_suits_one_class_of_two_is_left_out_for_both() -> None:
    both = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY), a_class("9D", EVERY_DAY)]
    data = scenario([teach("x", on="2026-11-12")], classes=both, **OLD)
    result = redated(data, classes=[{"id": "9C", "timetable": {"Mon": 1}}, {"id": "9D", "timetable": {"Tue": 1}}])
    assert said(result) == [
        '"x", on Thu 12 Nov 2026: left out, since 9C does not meet on Thu 11 Nov 2027; 9D does not meet on Thu 11 Nov 2027'
    ]


def test_the_date_that_a_class_gives_its_lesson_is_its_own() -> None:
    # 9B's own date has no place (week 6), so the unit's holds for it too; 9C's has, and 9C alone does not meet on the unit's.
    classes = [
        a_class("9B", EVERY_DAY, lessons={"x": {"on": "2026-12-17", "live": "avoid"}}),
        a_class("9C", EVERY_DAY, lessons={"u/x": {"on": "2026-12-02", "period": 1}}),
    ]
    data = scenario([teach("x", on="2026-11-12")], classes=classes, **OLD)
    result = redated(data, closures=[{"name": "Visit", "on": "2027-11-11", "classes": "9C"}])
    assert said(result) == [
        '9B, "x", on Thu 17 Dec 2026: left out, since it lay in school week 6, and the new calendar has 5; '
        "the date that the unit gives it holds instead"
    ]
    new = scenario_data(result.scenario)
    assert new["units"][0]["lessons"] == [{"id": "x", "on": "2027-11-11"}]
    assert new["classes"][0]["lessons"] == {"x": {"live": "avoid"}}
    assert new["classes"][1]["lessons"] == {"u/x": {"on": "2027-12-01", "period": 1}}


def test_what_a_class_says_goes_when_nothing_of_it_is_left() -> None:
    data = scenario([teach("x")], of_class={"lessons": {"x": {"not_after": "2026-12-17"}}}, **OLD)
    assert "lessons" not in scenario_data(redated(data).scenario)["classes"][0]


def test_a_lesson_that_no_period_suits_for_other_reasons_keeps_its_date() -> None:
    # A double, in a class that never meets twice on a day: not the new calendar's doing.
    data = scenario([teach("x", length=2, on="2026-11-12")], per_week="Tue 1, Thu 1", **OLD)
    result = redated(data)
    assert said(result) == ['9B: no period suits "x" in its length, dates, place and way of being taught']
    assert result.scenario.units[0].lessons[0].on == date(2027, 11, 11)


# -- classes and rules -------------------------------------------------------------------------------------------------


def test_the_day_a_class_leaves_moves() -> None:
    assert redated(scenario([teach("x")], of_class={"leaves": "2026-12-04"}, **OLD)).scenario.classes[0].leaves == date(
        2027, 12, 3
    )
    result = redated(scenario([teach("x")], of_class={"leaves": "2026-12-16"}, **OLD))
    assert result.scenario.classes[0].leaves is None
    assert said(result) == ["9B, leaves Wed 16 Dec 2026: left out, since it lay in school week 6, and the new calendar has 5"]


def timetables(*firsts: str) -> Data:
    """Return a scenario whose class has a timetable from the first day, and one from each date given."""
    periods = [{"weeks": {"every": {"Mon": 1, "Fri": 1}}}]
    periods += [{"first": first, "weeks": {"every": {"Mon": place}}} for place, first in enumerate(firsts, 2)]
    return scenario([teach("x")], of_class={"timetable": periods}, **OLD)


def test_the_day_a_timetable_begins_moves() -> None:
    # From Monday of week 4, and from the holiday before it, which is the same; before term, by as many weeks.
    for old in ("2026-11-30", "2026-11-25"):
        result = redated(timetables(old))
        assert [timetable.first for timetable in result.scenario.classes[0].timetable] == [None, date(2027, 11, 29)]
        assert said(result) == []
    early = timetables()
    early["classes"][0]["timetable"][0]["first"] = "2026-10-20"
    assert redated(early).scenario.classes[0].timetable[0].first == date(2027, 10, 19)


def test_a_timetable_that_begins_too_late_or_never_holds_is_left_out() -> None:
    result = redated(timetables("2026-12-14"))
    assert len(result.scenario.classes[0].timetable) == 1
    assert said(result) == [
        "9B, timetable, from Mon 14 Dec 2026: left out, since it lay in school week 6, and the new calendar has 5"
    ]
    result = redated(timetables("2026-12-12"))  # Saturday of week 5, of which the new term has no Saturday
    assert said(result) == ["9B, timetable, from Sat 12 Dec 2026: left out, since Sat 11 Dec 2027 lies after the new term"]
    result = redated(timetables("2026-11-24", "2026-11-26"))
    assert [timetable.weeks["every"]["Mon"][0].period for timetable in result.scenario.classes[0].timetable] == [1, 3]
    assert said(result) == ["9B, timetable, from Tue 24 Nov 2026: left out, since the next one holds from the same day"]
    assert len(result.moved) == 1


def test_a_new_timetable_takes_the_place_of_the_old_one_with_its_dates() -> None:
    new = {
        "id": "9B",
        "teacher": "T2",
        "leaves": "2027-12-08",
        "timetable": [{"first": "2027-11-22", "weeks": {"A": {"Tue": 3}}}],
    }
    data = timetables("2026-12-14")
    data["classes"][0] |= {"leaves": "2026-12-16", "teacher": "T1"}
    result = redated(data, classes=[new])
    assert said(result) == []
    class_ = scenario_data(result.scenario)["classes"][0]
    assert class_ == {"id": "9B", "teacher": "T2", "units": "u", "leaves": "2027-12-08", "timetable": [
        {"first": "2027-11-22", "weeks": {"A": {"Tue": 3}}}
    ]}  # fmt: skip


def test_no_timetable_left_is_an_error() -> None:
    data = timetables()
    data["classes"][0]["timetable"][0]["first"] = "2026-12-14"
    with pytest.raises(UnusableInput, match="leaves class 9B without a timetable"):
        redated(data)


REMOTE = {"name": "Works", "first": "2027-11-08", "last": "2027-11-12"}
SPAN = {"per": "span", "most": 2, "first": "2026-11-09", "last": "2026-11-13"}


def test_the_span_of_a_quota_moves_where_somebody_meets_remotely_then() -> None:
    data = scenario([teach("x")], rules={"live_quotas": [SPAN, {"most": 3}]}, **OLD)
    quotas = redated(data, remote_spells=[REMOTE]).scenario.rules.live_quotas
    assert quotas is not None
    assert [(quota.first, quota.last) for quota in quotas] == [(date(2027, 11, 8), date(2027, 11, 12)), (None, None)]
    result = redated(data)
    assert scenario_data(result.scenario)["rules"] == {"live_quotas": [{"most": 3}]}
    assert said(result) == [
        "live quota, from Mon 9 Nov 2026 to Fri 13 Nov 2026: left out, since nobody whom it counts meets remotely then in "
        "the new calendar"
    ]
    assert result.no_longer_fits[0].pointer == "/rules/live_quotas/0"


def test_the_span_of_a_teachers_quota_looks_at_that_teacher() -> None:
    classes = [a_class("9B", EVERY_DAY, teacher="T1"), a_class("9C", EVERY_DAY, teacher="T2")]
    data = scenario([teach("x")], classes=classes, rules={"live_quotas": [SPAN | {"teacher": "T1"}]}, **OLD)
    assert redated(data, remote_spells=[REMOTE | {"classes": "9B"}]).scenario.rules.live_quotas is not None
    assert said(redated(data, remote_spells=[REMOTE | {"classes": "9C"}])) == [
        "live quota of T1, from Mon 9 Nov 2026 to Fri 13 Nov 2026: left out, since nobody whom it counts meets remotely then in "
        "the new calendar"
    ]


def test_a_class_without_its_quota_does_not_fall_under_the_scenarios() -> None:
    # A class's list takes the place of the scenario's, so it stays when it is empty; the scenario's own goes.
    late = SPAN | {"first": "2026-12-14", "last": "2026-12-18"}
    data = scenario([teach("x")], rules={"live_quotas": [late]}, of_class={"rules": {"live_quotas": [late]}}, **OLD)
    result = redated(data, remote_spells=[REMOTE])
    assert "rules" not in scenario_data(result.scenario)
    assert scenario_data(result.scenario)["classes"][0]["rules"] == {"live_quotas": "off"}
    why = "from Mon 14 Dec 2026 to Fri 18 Dec 2026: left out, since it lay in school week 6, and the new calendar has 5"
    assert said(result) == [f"live quota, {why}", f"9B, live quota, {why}"]
    assert result.moved == ()


def test_what_hangs_on_the_old_timetable_or_teacher_goes_with_it() -> None:
    data = scenario(
        [teach("x", needs=["lab", "in school"], tags="maths", teacher="T1"), assessment("t")],
        unit={"strands": [{"tag": "maths", "teacher": "T1"}]},
        of_class={"teacher": "T1", "timetable": {"Mon": {"period": 1, "offers": "lab"}}},
        teachers=[{"name": "T1", "dense_a_day": 1}],
        rules={"live_quotas": [{"most": 3, "teacher": "T1"}]},
        **OLD,
    )
    assert said(redated(data)) == []
    result = redated(data, classes=[{"id": "9B", "teacher": "T2", "timetable": {"Mon": 1}}])
    assert [(misfit.where, misfit.text) for misfit in result.no_longer_fits] == [
        ("rules.live_quotas[0]", 'live quota of T1: left out, since it is nobody who teaches a class ("T1")'),
        ("teachers[0]", 'limits of T1: left out, since it is nobody who teaches a class ("T1")'),
        (
            "units[0].lessons[0].teacher",
            '"x", teacher: left out, since it is nobody who teaches a class ("T1")',
        ),
        (
            "units[0].strands[0]",
            'unit u, strand maths: left out, since it is nobody who teaches a class ("T1")',
        ),
        ("units[0].lessons[0].needs", '"x", needs: left out, since it is offered by no period of class 9B ("lab")'),
    ]
    new = scenario_data(result.scenario)
    assert new["units"][0] == {
        "id": "u",
        "lessons": [{"id": "x", "tags": "maths", "needs": "in school"}, {"id": "t", "kind": "assessment"}],
    }
    assert "rules" not in new and "teachers" not in new
