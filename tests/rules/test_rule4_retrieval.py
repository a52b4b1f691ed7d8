"""Rule 4, retrieval: what was taught is met again on a date from least to most days later (10 to 14 unless stated)."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import Data, aims, day, impossible, retrieval, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, placed

X_AND_R = [teach("x"), retrieval("r", "x")]
MONDAYS = "Mon 1"
"""One period a week: slots 7 days apart, so that only 14 days fits the window of 10 to 14."""


def days(least: int, most: int, **more: int) -> Data:
    return {"retrieval": {"least": least, "most": most, **more}}


def listed(data: Data, what: str) -> list[str]:
    """The lessons listed under ``carried_over`` or ``late`` in the best answer."""
    return [entry["lesson"] for entry in answer_json(solved(data))[what]]


# -- the window --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "days_later", "fits"),
    [
        # x on Mon 2 November. Preferred: 12 days, Saturday the 14th.
        ("2 Wed 1", 9, False),
        ("2 Thu 1", 10, True),
        ("2 Fri 1", 11, True),
        ("3 Mon 1", 14, True),
        ("3 Tue 1", 15, False),
    ],
)
def test_10_to_14_days_unless_stated(place: str, days_later: int, fits: bool) -> None:
    data = scenario(X_AND_R, weeks=3, per_week=EVERY_DAY)
    if fits:
        values = allowed(data, x="1 Mon 1", r=place)
        assert (values["carried over"], values["distance"]) == (0, abs(days_later - 12))
    else:
        forbidden(data, 4, "x", x="1 Mon 1", r=place)


def test_the_best_date_is_nearest_to_the_preferred_one() -> None:
    # Mon + 10 = Thu (2 from 12), + 11 = Fri (1), + 14 = Mon (2): Friday.
    answer = solved(scenario([teach("x", on=day(1, "Mon")), X_AND_R[1]], weeks=3, per_week=EVERY_DAY))
    assert (placed(answer)["r"], aims(answer)["distance"]) == ("2 Fri 1", 1)
    # x free: Tuesday + 13 and Wednesday + 12 come nearer; 12 days apart is best.
    assert aims(solved(scenario(X_AND_R, weeks=3, per_week=EVERY_DAY, aims=["distance"])))["distance"] == 0


def test_stated_numbers() -> None:
    data = scenario(X_AND_R, weeks=1, per_week=EVERY_DAY, rules=days(2, 3))
    # Preferred: (2 + 3) // 2 = 2.
    assert allowed(data, x="1 Mon 1", r="1 Wed 1")["distance"] == 0
    assert allowed(data, x="1 Mon 1", r="1 Thu 1")["distance"] == 1
    assert allowed(data, x="1 Tue 1", r="1 Fri 1")["distance"] == 1  # the last slot
    forbidden(data, 4, "x", x="1 Mon 1", r="1 Tue 1")
    forbidden(data, 4, "x", x="1 Mon 1", r="1 Fri 1")
    preferring = scenario(X_AND_R, weeks=1, per_week=EVERY_DAY, rules=days(2, 3, preferred=3))
    assert allowed(preferring, x="1 Mon 1", r="1 Thu 1")["distance"] == 0


def test_days_run_from_date_to_date_whatever_the_length() -> None:
    # A double on Mon 1-2, met on Wed: 2 days, as for a single.
    lessons = [teach("x", length=2), X_AND_R[1]]
    data = scenario(lessons, weeks=1, per_week="Mon 1-2, Wed 1, Fri 1", rules=days(2, 4))
    assert allowed(data, x="1 Mon 1", r="1 Wed 1")["distance"] == 1
    assert allowed(data, x="1 Mon 1", r="1 Fri 1")["distance"] == 1


def test_the_revisit_comes_after() -> None:
    # Even where the window is void, as at the end, r comes after x.
    data = scenario(X_AND_R, weeks=1)
    assert placed(solved(data)) == {"x": "1 Mon 1", "r": "1 Tue 1"}
    forbidden(data, 4, "r x", r="1 Mon 1", x="1 Tue 1")


def test_only_what_a_retrieval_lesson_lists_is_to_be_retrieved() -> None:
    # Three weeks, nobody revisits y: it lies anywhere, the first slot included.
    data = scenario([teach("y"), *X_AND_R], weeks=3, per_week=MONDAYS)
    values = allowed(data, x="1 Mon 1", y="2 Mon 1", r="3 Mon 1")
    assert (values["carried over"], values["distance"]) == (0, 2)


def test_one_retrieval_lesson_revisits_several() -> None:
    lessons = [teach("x"), teach("y"), retrieval("r", ["x", "y"])]
    data = scenario(lessons, weeks=4, per_week=EVERY_DAY)
    # r on Mon 16: x on Mon 2 is 14 days before (2 from 12), y on Fri 6 is 10 (2).
    assert allowed(data, x="1 Mon 1", y="1 Fri 1", r="3 Mon 1")["distance"] == 4
    forbidden(data, 4, "y", x="1 Mon 1", y="2 Mon 1", r="3 Mon 1")


def test_a_holiday_inside_the_window() -> None:
    # x on Mon 2, window 12 to 16 November; Thu 12 and Fri 13 are holiday: only Mon 16 is left, 14 days, 2 from 12.
    off = [{"name": "half term", "first": day(2, "Thu"), "last": day(2, "Fri")}]
    data = scenario([teach("x", on=day(1, "Mon")), X_AND_R[1]], weeks=3, per_week=EVERY_DAY, holidays=off)
    answer = solved(data)
    assert (placed(answer)["r"], aims(answer)["distance"], aims(answer)["carried over"]) == ("3 Mon 1", 2, 0)
    forbidden(data, 4, "x", x="1 Mon 1", r="3 Tue 1")


def test_days_run_through_a_holiday() -> None:
    # Fri 6, week 2 holiday, Mon 16 to Fri 20: 10 to 14 days, all of week 3.
    off = [{"name": "half term", "first": day(2, "Mon"), "last": day(2, "Sun")}]
    data = scenario(X_AND_R, weeks=4, per_week=EVERY_DAY, holidays=off)
    assert allowed(data, x="1 Fri 1", r="3 Mon 1")["distance"] == 2
    assert allowed(data, x="1 Fri 1", r="3 Wed 1")["distance"] == 0
    assert allowed(data, x="1 Fri 1", r="3 Fri 1")["distance"] == 2
    forbidden(data, 4, "x", x="1 Fri 1", r="4 Mon 1")


# -- late --------------------------------------------------------------------------------------------------------------


def mondays(lessons: list[Data], closed: int, weeks: int, **more: Any) -> Data:
    """Mondays only, one of them closed."""
    return scenario(lessons, weeks=weeks, per_week=MONDAYS, closures=[{"name": "storm", "on": day(closed, "Mon")}], **more)


def test_a_closure_on_the_only_day_makes_it_late() -> None:
    # x on Mon 2, window 12 to 16: Mon 16 is closed, so no slot lies in it; the first later one, Mon 23, is the window.
    # 21 days is 9 from 12.
    data = mondays([teach("x", on=day(1, "Mon")), X_AND_R[1]], closed=3, weeks=5)
    answer = solved(data)
    assert placed(answer) == {"x": "1 Mon 1", "r": "4 Mon 1"}
    assert (aims(answer)["carried over"], aims(answer)["distance"]) == (1, 9)
    assert [(late["lesson"], late["date"]) for late in answer_json(answer)["late"]] == [("x", day(4, "Mon"))]
    assert answer_json(answer)["carried_over"] == []


def test_late_is_the_first_later_date_and_no_other() -> None:
    data = mondays(X_AND_R, closed=3, weeks=5)
    allowed(data, x="1 Mon 1", r="4 Mon 1")
    forbidden(data, 4, "x", x="1 Mon 1", r="2 Mon 1")  # before the window
    forbidden(data, 4, "x", x="1 Mon 1", r="5 Mon 1")  # after the first later date


def test_any_period_of_the_first_later_date_will_do() -> None:
    closed = [{"name": "storm", "on": day(3, "Mon")}]
    data = scenario(X_AND_R, weeks=5, per_week="Mon 1-2", closures=closed)
    for period in (1, 2):
        assert allowed(data, x="1 Mon 1", r=f"4 Mon {period}")["carried over"] == 1


def test_not_late_while_the_window_has_a_slot() -> None:
    # Mon 16 is open: that r does not use it is no excuse.
    data = scenario(X_AND_R, weeks=5, per_week=MONDAYS)
    forbidden(data, 4, "x", x="1 Mon 1", r="4 Mon 1")
    # x moves rather than be late: from Mon 9 the window has Mon 23.
    free = solved(mondays(X_AND_R, closed=3, weeks=4))
    assert (placed(free), aims(free)["carried over"]) == ({"x": "2 Mon 1", "r": "4 Mon 1"}, 0)


# -- carried over ------------------------------------------------------------------------------------------------------


def test_carried_over_when_the_window_ends_after_the_last_slot() -> None:
    # Three Mondays. x on the second, 9 November: + 14 = 23, after the last slot (16): carried over. r lies after it all
    # the same, and carried over counts no distance.
    data = scenario([teach("x", on=day(2, "Mon")), X_AND_R[1]], weeks=3, per_week=MONDAYS)
    answer = solved(data)
    assert placed(answer) == {"x": "2 Mon 1", "r": "3 Mon 1"}
    assert (aims(answer)["carried over"], aims(answer)["distance"]) == (1, 0)
    assert [(entry["lesson"], entry["what"]) for entry in answer_json(answer)["carried_over"]] == [("x", "retrieval")]
    assert answer_json(answer)["late"] == []


def test_a_window_that_ends_on_the_last_slot_is_not_carried_over() -> None:
    # x on Mon 2: + 14 = Mon 16, the last slot itself.
    data = scenario(X_AND_R, weeks=3, per_week=MONDAYS)
    assert allowed(data, x="1 Mon 1", r="3 Mon 1")["carried over"] == 0
    forbidden(data, 4, "x", x="1 Mon 1", r="2 Mon 1")
    # One day more, + 15 = Tue 17, and it may be carried over.
    data = scenario(X_AND_R, weeks=3, per_week=MONDAYS, rules=days(10, 15))
    assert allowed(data, x="1 Mon 1", r="2 Mon 1")["carried over"] == 1
    # One day less, 10 to 13: no slot from Thu 12 to Sun 15, a later one on Mon 16: late, |14 - 11| = 3.
    data = scenario(X_AND_R, weeks=3, per_week=MONDAYS, rules=days(10, 13))
    values = allowed(data, x="1 Mon 1", r="3 Mon 1")
    assert (values["carried over"], values["distance"]) == (1, 3)
    assert listed(data | {"units": [{"id": "u", "lessons": [teach("x", on=day(1, "Mon")), X_AND_R[1]]}]}, "late") == ["x"]


def test_the_last_slot_is_that_of_the_class() -> None:
    # Five weeks of term, but the class leaves in week 3.
    data = scenario(X_AND_R, weeks=5, per_week=MONDAYS, of_class={"leaves": day(3, "Wed")})
    assert allowed(data, x="2 Mon 1", r="3 Mon 1")["carried over"] == 1
    stays = scenario(X_AND_R, weeks=5, per_week=MONDAYS)
    forbidden(stays, 4, "x", x="2 Mon 1", r="3 Mon 1")


def test_met_in_the_window_is_not_carried_over() -> None:
    # x on Fri 6, last slot Wed 18: + 14 = Fri 20 is after it, but r on Mon 16 meets it after 10 days.
    data = scenario(X_AND_R, weeks=3, per_week=EVERY_DAY, of_class={"leaves": day(3, "Wed")})
    values = allowed(data, x="1 Fri 1", r="3 Mon 1")
    assert (values["carried over"], values["distance"]) == (0, 2)
    assert allowed(data, x="1 Fri 1", r="2 Mon 1")["carried over"] == 1
    # Not even when only the distance counts, which carrying over would make 0.
    for aim, value in (("distance", 2), ("carried over", 0)):
        assert allowed(data | {"aims": [aim]}, x="1 Fri 1", r="3 Mon 1")[aim] == value


# -- several retrieval lessons -----------------------------------------------------------------------------------------


def test_one_of_two_retrieval_lessons_in_the_window_is_enough() -> None:
    lessons = [teach("x"), retrieval("r", "x"), retrieval("s", "x")]
    data = scenario(lessons, weeks=3, per_week=EVERY_DAY)
    assert allowed(data, x="1 Mon 1", r="1 Tue 1", s="2 Thu 1")["distance"] == 2
    assert allowed(data, x="1 Mon 1", s="2 Fri 1", r="3 Fri 1")["distance"] == 1
    # Both in the window: the nearer one counts.
    assert allowed(data, x="1 Mon 1", r="2 Thu 1", s="2 Fri 1")["distance"] == 1
    forbidden(data, 4, "x", x="1 Mon 1", r="2 Wed 1", s="3 Tue 1")  # 9 and 15 days
    forbidden(data, 4, "r x", r="1 Mon 1", x="1 Tue 1", s="2 Fri 1")  # s serves, but r comes before


def test_a_left_out_retrieval_lesson_serves_nothing() -> None:
    # Three Mondays, all of them required lessons: no room for the optional r, x on the first, window inside the term.
    lessons = [teach("x", on=day(1, "Mon")), teach("y"), teach("z"), retrieval("r", "x", optional=True)]
    data = scenario(lessons, weeks=3, per_week=MONDAYS)
    impossible(data)
    assert broken(data, x="1 Mon 1", y="2 Mon 1", z="3 Mon 1") == [(4, ["u/x"])]
    # On the second Monday its window ends after the last slot: left out 1, carried over 1.
    later = scenario([{**lessons[0], "on": day(2, "Mon")}, *lessons[1:]], weeks=3, per_week=MONDAYS)
    assert (aims(solved(later))["left out"], aims(solved(later))["carried over"]) == (1, 1)


def test_a_left_out_lesson_is_not_retrieved() -> None:
    # One period: x (5) or r (1) goes; r goes, x is then carried over. With the priorities swapped x goes.
    base = {"weeks": 1, "per_week": MONDAYS}
    lessons = [teach("x", optional=True, priority=5), retrieval("r", "x", optional=True, priority=1)]
    answer = solved(scenario(lessons, **base))
    assert (placed(answer), aims(answer)["carried over"]) == ({"x": "1 Mon 1"}, 1)
    swapped = [{**lessons[0], "priority": 1}, {**lessons[1], "priority": 5}]
    answer = solved(scenario(swapped, **base))
    assert (placed(answer), aims(answer)["carried over"]) == ({"r": "1 Mon 1"}, 0)


# -- switched off ------------------------------------------------------------------------------------------------------


def test_off_leaves_the_order_alone() -> None:
    lessons = [teach("x", rules={"retrieval": "off"}), retrieval("r", "x")]
    data = scenario(lessons, weeks=3, per_week=EVERY_DAY)
    values = allowed(data, x="1 Mon 1", r="1 Tue 1")
    assert (values["carried over"], values["distance"]) == (0, 0)
    allowed(data, x="1 Mon 1", r="3 Fri 1")
    forbidden(data, 4, "r x", r="1 Mon 1", x="1 Tue 1")
