"""Rule 2, caps on tags and threads: what any q consecutive slots hold."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, aims, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, forbidden, judged, placed

TWO_DAYS = "Mon 1, Tue 1"
"""Over two weeks: slots 0 and 1, then six days, then slots 2 and 3."""


def lab(id: str, **more: Any) -> Data:
    return teach(id, tags="lab", **more)


def caps(most: int, of: int, **more: Any) -> Data:
    return {"caps": [{"tag": "lab", "most": most, "of": of, **more}]}


def threads(least: int, of: int, **more: Any) -> Data:
    return {"threads": [{"tag": "lab", "least": least, "of": of, **more}]}


# -- caps --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("days", ["Mon Tue", "Wed Thu", "Thu Fri"])
def test_most_1_of_2_from_the_first_window_to_the_last(days: str) -> None:
    a, b = (f"1 {weekday} 1" for weekday in days.split())
    forbidden(scenario([lab("a"), lab("b")], weeks=1, per_week=EVERY_DAY, rules=caps(1, 2)), 2, "a b", a=a, b=b)


@pytest.mark.parametrize("days", ["Mon Wed", "Tue Thu", "Wed Fri", "Mon Fri"])
def test_most_1_of_2_with_a_slot_between(days: str) -> None:
    a, b = (f"1 {weekday} 1" for weekday in days.split())
    allowed(scenario([lab("a"), lab("b")], weeks=1, per_week=EVERY_DAY, rules=caps(1, 2)), a=a, b=b)


def test_windows_count_slots_whatever_they_hold() -> None:
    # Most 2 of 4. Slots 0, 2, 3: three in the first window, though a lesson and nothing lie between. 0, 3, 4: windows
    # 0-3 and 1-4 hold two each.
    data = scenario([lab("a"), lab("b"), lab("c"), teach("plain")], weeks=1, per_week=EVERY_DAY, rules=caps(2, 4))
    forbidden(data, 2, "a b c plain", a="1 Mon 1", b="1 Wed 1", c="1 Thu 1", plain="1 Tue 1")  # all that the window holds
    forbidden(data, 2, "a b c", a="1 Mon 1", b="1 Wed 1", c="1 Thu 1", plain="1 Fri 1")
    allowed(data, a="1 Mon 1", b="1 Thu 1", c="1 Fri 1", plain="1 Tue 1")


def test_most_0_of_1_takes_none() -> None:
    data = scenario([lab("a", optional=True)], weeks=1, rules=caps(0, 1))
    assert aims(solved(data))["left out"] == 1
    forbidden(scenario([lab("a")], weeks=1, per_week="Mon 1", rules=caps(0, 1)), 2, "a", a="1 Mon 1")


def test_every_slot_of_a_double_counts() -> None:
    # A double holds the tag in two neighbouring slots.
    double = scenario([lab("d", length=2)], weeks=1, per_week="Mon 1-2", rules=caps(1, 2))
    forbidden(double, 2, "d", d="1 Mon 1")
    with_single = scenario([lab("d", length=2), lab("a")], weeks=1, per_week="Mon 1-2, Tue 1, Wed 1", rules=caps(2, 3))
    forbidden(with_single, 2, "a d", d="1 Mon 1", a="1 Tue 1")
    allowed(with_single, d="1 Mon 1", a="1 Wed 1")


def test_a_short_stretch_is_one_window_for_a_cap() -> None:
    # Two slots in all, a cap over five: one window.
    data = scenario([lab("a"), lab("b")], weeks=1, rules=caps(1, 5))
    forbidden(data, 2, "a b", a="1 Mon 1", b="1 Tue 1")
    allowed(scenario([lab("a"), lab("b")], weeks=1, rules=caps(2, 5)), a="1 Mon 1", b="1 Tue 1")
    # A stretch of exactly as many slots as the window: one window as well.
    forbidden(scenario([lab("a"), lab("b")], weeks=1, rules=caps(1, 2)), 2, "a b", a="1 Mon 1", b="1 Tue 1")


def test_break_days_cut_the_slots_into_stretches() -> None:
    # Stretches Mon Tue | Mon Tue, the gap being 6 days. Most 1 of 3: each short stretch is a window.
    two = [lab("a"), lab("b")]
    cut, whole = caps(1, 3, break_days=5), caps(1, 3, break_days=6)
    where = {"a": "1 Mon 1", "b": "2 Mon 1"}  # slots 0 and 2
    forbidden(scenario(two, rules=caps(1, 3)), 2, "a b", **where)
    forbidden(scenario(two, rules=whole), 2, "a b", **where)
    allowed(scenario(two, rules=cut), **where)
    forbidden(scenario(two, rules=cut), 2, "a b", a="2 Mon 1", b="2 Tue 1")  # the last stretch
    impossible(scenario([*two, lab("c")], rules=cut))  # three in two stretches of at most one


def test_caps_of_different_tags_stand_side_by_side() -> None:
    lessons = [teach("a", tags=["lab", "essay"]), teach("b", tags="essay"), teach("c", tags="lab")]
    rules = {"caps": [{"tag": "lab", "most": 1, "of": 2}, {"tag": "essay", "most": 1, "of": 3}]}
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=rules)
    allowed(data, a="1 Mon 1", c="1 Wed 1", b="1 Thu 1")
    forbidden(data, 2, "a b", a="1 Mon 1", b="1 Wed 1", c="1 Thu 1")
    forbidden(data, 2, "a c", a="1 Mon 1", c="1 Tue 1", b="1 Thu 1")


# -- threads -----------------------------------------------------------------------------------------------------------


def plain(*names: str) -> list[Data]:
    """Lessons without the tag, and one with it that is never taught, for a tag that no lesson carries is refused as a slip."""
    return [*(teach(name) for name in names), lab("never", optional=True, on=day(1, "Sun"))]


def broken_windows(data: Data, **places: str) -> list[tuple[int, list[str]]]:
    """(rule, dates) of every breach."""
    breaches = judged(data, **places)["breaches"]
    return [(breach["rule"], [period["date"] for period in breach["periods"]]) for breach in breaches]


@pytest.mark.parametrize(("tagged", "fits"), [("Tue", False), ("Wed", False), ("Mon Wed", True), ("Tue Thu", True)])
def test_least_1_of_2_when_every_slot_is_filled(tagged: str, fits: bool) -> None:
    # Four slots, all filled. One tagged lesson leaves two plain neighbours, on Wed and Thu, or on Mon and Tue.
    days = ["Mon", "Tue", "Wed", "Thu"]
    places = {weekday.lower(): f"1 {weekday} 1" for weekday in days}
    lessons = [teach(weekday.lower(), tags="lab" if weekday in tagged else []) for weekday in days]
    data = scenario(lessons, weeks=1, per_week="Mon 1, Tue 1, Wed 1, Thu 1", rules=threads(1, 2))
    if fits:
        allowed(data, **places)
    else:
        left = ("Wed", "Thu") if tagged == "Tue" else ("Mon", "Tue")
        assert broken_windows(data, **places) == [(2, [day(1, weekday) for weekday in left])]
        impossible(data)


def test_a_spare_slot_serves_a_thread() -> None:
    # Four slots, no lab: two plain lessons fit between spare slots, three leave two neighbours wherever they lie.
    base = {"weeks": 1, "per_week": "Mon 1, Tue 1, Wed 1, Thu 1", "rules": threads(1, 2)}
    two = scenario(plain("a", "b"), **base)
    allowed(two, a="1 Mon 1", b="1 Wed 1")
    allowed(two, a="1 Mon 1", b="1 Thu 1")
    assert broken_windows(two, a="1 Wed 1", b="1 Thu 1") == [(2, [day(1, "Wed"), day(1, "Thu")])]
    impossible(scenario(plain("a", "b", "c"), **base))


def test_every_slot_of_a_double_serves_a_thread() -> None:
    # Least 2 of 3: the double fills two of Mon 1-2, Tue 1.
    lessons = [lab("d", length=2), *plain("a")]
    allowed(scenario(lessons, weeks=1, per_week="Mon 1-2, Tue 1", rules=threads(2, 3)), d="1 Mon 1", a="1 Tue 1")
    impossible(scenario(lessons, weeks=1, per_week="Mon 1-2, Tue 1", rules=threads(3, 3)))


def test_a_short_stretch_is_no_window_for_a_thread() -> None:
    two = plain("a", "b")
    allowed(scenario(two, weeks=1, rules=threads(1, 3)), a="1 Mon 1", b="1 Tue 1")
    # Exactly as many slots as the window: one window.
    impossible(scenario(two, weeks=1, rules=threads(1, 2)))


def test_break_days_leave_short_stretches_without_a_window() -> None:
    # Mon Tue | Mon Tue, all filled with plain lessons: windows of 3 only if the slots are one stretch.
    four = plain("a", "b", "c", "d")
    places = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "2 Mon 1", "d": "2 Tue 1"}
    allowed(scenario(four, per_week=TWO_DAYS, rules=threads(1, 3, break_days=5)), **places)
    impossible(scenario(four, per_week=TWO_DAYS, rules=threads(1, 3, break_days=6)))
    impossible(scenario(four, per_week=TWO_DAYS, rules=threads(1, 3)))


def test_the_last_window_counts() -> None:
    # Five slots, least 1 of 3, all filled, the only lab lesson on Tuesday: Mon-Wed and Tue-Thu hold it, Wed-Fri does not.
    lessons = [lab("lab"), *plain("a", "b", "c", "d")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=threads(1, 3))
    places = {"a": "1 Mon 1", "lab": "1 Tue 1", "b": "1 Wed 1", "c": "1 Thu 1", "d": "1 Fri 1"}
    assert broken_windows(data, **places) == [(2, [day(1, "Wed"), day(1, "Thu"), day(1, "Fri")])]
    # On Wednesday, the middle, it lies in every window: the only place there is.
    assert broken_windows(data, **places | {"lab": "1 Wed 1", "b": "1 Tue 1"}) == []
    assert placed(solved(data))["lab"] == "1 Wed 1"
