"""Wishes about dates and pins (rule 7)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, aims, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, broken, judged, placed

WISH = {"dates": {"wish": 1}}


def one(place: str, wish: int = 1, **dates: Any) -> int:
    """What the wish costs where the lesson's only period lies there: for the referee, and for the solver."""
    week, weekday, period = place.split()
    data = scenario([teach("a", **dates)], weeks=2, per_week=f"{weekday} {period}", rules={"dates": {"wish": wish}})
    data["closures"] = [{"name": "closed", "on": day(3 - int(week), weekday)}]
    cost: int = aims(solved(data))["wishes"]
    assert judged(data, a=place)["aims"]["wishes"] == cost
    return cost


@pytest.mark.parametrize(
    ("dates", "place", "units"),
    [
        ({"not_before": day(1, "Wed")}, "1 Wed 1", 0),
        ({"not_before": day(1, "Wed")}, "1 Mon 1", 2),
        ({"not_before": day(1, "Wed")}, "2 Fri 1", 0),
        ({"not_after": day(1, "Wed")}, "1 Wed 1", 0),
        ({"not_after": day(1, "Wed")}, "1 Fri 1", 2),
        ({"not_after": day(1, "Fri")}, "2 Mon 1", 3),  # days, not school days
        ({"not_before": day(1, "Tue"), "not_after": day(1, "Thu")}, "1 Wed 1", 0),
        ({"not_before": day(1, "Tue"), "not_after": day(1, "Thu")}, "1 Mon 1", 1),
        ({"not_before": day(1, "Tue"), "not_after": day(1, "Thu")}, "1 Fri 1", 1),
        ({"on": day(1, "Wed")}, "1 Mon 1", 2),
        ({"on": day(1, "Wed")}, "2 Wed 1", 7),
        ({"on": day(1, "Wed")}, "1 Wed 1", 0),
        ({"on": day(1, "Wed"), "period": 2}, "1 Wed 2", 0),
        ({"on": day(1, "Wed"), "period": 2}, "1 Wed 5", 1),  # another period of the date, however far
        ({"on": day(1, "Wed"), "period": 2}, "1 Thu 2", 1),
        ({"on": day(1, "Wed"), "period": 2}, "1 Thu 5", 1),  # another date: the period says nothing
        ({"on": day(1, "Wed"), "not_before": day(1, "Tue")}, "1 Mon 1", 2),  # the nearest date that suits all: Wednesday
    ],
)
def test_days_off(dates: Data, place: str, units: int) -> None:
    assert one(place, **dates) == units
    assert one(place, wish=30, **dates) == 30 * units


def test_a_wished_date_leaves_the_lesson_its_other_periods() -> None:
    # On Wednesday, where it does not meet: hard, there is no sequence; as a wish Tuesday and Thursday are both 1 day off.
    base = {"weeks": 1, "per_week": "Mon 1, Tue 1, Thu 1"}
    impossible(scenario([teach("a", on=day(1, "Wed"))], **base))
    answer = solved(scenario([teach("a", on=day(1, "Wed"))], **base, rules=WISH))
    assert placed(answer)["a"] in ("1 Tue 1", "1 Thu 1")
    assert aims(answer)["wishes"] == 1


def test_two_lessons_that_wish_one_period() -> None:
    lessons = [teach(name, on=day(1, "Tue"), period=2) for name in "ab"]
    answer = solved(scenario(lessons, weeks=1, per_week="Mon 1, Tue 1-2", rules=WISH))
    # One has it; the other is on the day before or in the other period of the date, which costs the same.
    assert "1 Tue 2" in placed(answer).values()
    assert aims(answer)["wishes"] == 1


def test_a_report_deadline_stays_hard() -> None:
    # Reports on Friday, three school days: Tuesday at the latest. Wished: not before Thursday, 2 days later.
    test = assessment("test", report_deadline=day(1, "Fri"), not_before=day(1, "Thu"))
    data = scenario([test], weeks=1, per_week=EVERY_DAY, rules=WISH)
    answer = solved(data)
    assert placed(answer) == {"test": "1 Tue 1"}
    assert aims(answer)["wishes"] == 2
    assert broken(data, test="1 Wed 1") == [(7, ["u/test"])]
    impossible(data | {"rules": {}})


def test_a_lesson_left_out_wishes_nothing() -> None:
    # Left out costs 1, three days off cost 3: with wishes first it is left out.
    data = scenario([teach("a", on=day(1, "Mon"), optional=True)], weeks=1, per_week="Thu 1", rules=WISH)
    values = aims(solved(data))
    assert (values["left out"], values["wishes"]) == (0, 3)
    assert aims(solved(data | {"aims": ["wishes", "left out"]})) == {"wishes": 0, "left out": 1}


def test_numbers_and_weights_of_one_class() -> None:
    # The unit wishes Monday; 9C has its own date, as a wish of weight 5; 9D makes the unit's hard.
    classes = [
        a_class("9B", "Wed 1"),
        a_class("9C", "Wed 1", lessons={"a": {"on": day(1, "Tue"), "rules": {"dates": {"wish": 5}}}}),
        a_class("9D", "Mon 1, Wed 1", lessons={"a": {"rules": {"dates": {"wish": "off"}}}}),
    ]
    data = scenario([teach("a", on=day(1, "Mon"))], weeks=1, classes=classes, rules=WISH)
    answer = solved(data)
    assert placed(answer, "9D") == {"a": "1 Mon 1"}
    assert aims(answer)["wishes"] == 2 + 5
    classes[2]["timetable"] = {"Wed": 1}
    impossible(data)


def test_dates_off_wish_nothing() -> None:
    lesson = teach("a", on=day(1, "Mon"), rules={"dates": "off"})
    assert aims(solved(scenario([lesson], weeks=1, per_week="Thu 1", rules=WISH)))["wishes"] == 0


def test_lessons_told_apart_by_their_dates() -> None:
    # Alike but for the date wished: each is on its own, whichever is listed first.
    for days in (("Mon", "Tue"), ("Tue", "Mon")):
        lessons = [teach(name, on=day(1, weekday)) for name, weekday in zip("ab", days, strict=True)]
        answer = solved(scenario(lessons, weeks=1, per_week="Mon 1, Tue 1", rules=WISH))
        assert placed(answer) == {name: f"1 {weekday} 1" for name, weekday in zip("ab", days, strict=True)}
        assert aims(answer)["wishes"] == 0
