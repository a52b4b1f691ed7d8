"""Rule 1, prerequisites: y requires x, so y comes after x ends, and only if x is placed; windows on top."""

from __future__ import annotations

import pytest

from sequencer import answer_json
from tests.builders import (
    Data,
    a_class,
    aims,
    assessment,
    day,
    feedback,
    impossible,
    practice,
    retrieval,
    scenario,
    solved,
    teach,
)
from tests.rules.helpers import allowed, broken, forbidden, placed, row

CHAIN = [teach("y", requires="x"), teach("x")]


def test_two_periods_leave_one_order() -> None:
    # Listed y first: the order listed says nothing, the requirement does.
    assert placed(solved(scenario(CHAIN, weeks=1))) == {"x": "1 Mon 1", "y": "1 Tue 1"}
    forbidden(scenario(CHAIN, weeks=1), 1, "x y", y="1 Mon 1", x="1 Tue 1")


def test_x_in_the_last_period_leaves_none_for_y() -> None:
    data = scenario([teach("x", on=day(2, "Tue")), teach("y", requires="x")])  # 4 periods, the last on Tuesday of week 2
    impossible(data)
    forbidden(data, 1, "x y", x="2 Tue 1", y="2 Mon 1")


def test_y_comes_after_the_end_of_a_double() -> None:
    # Mon 1-2 is x; y cannot share period 2 (rule 0) and lies on Monday 3.
    data = scenario([teach("y", requires="x"), teach("x", length=2)], weeks=1, per_week="Mon 1-3")
    assert placed(solved(data)) == {"x": "1 Mon 1", "y": "1 Mon 3"}
    assert broken(data, x="1 Mon 1", y="1 Mon 2") == [(0, ["u/x", "u/y"]), (1, ["u/x", "u/y"])]


def test_a_chain_and_two_prerequisites() -> None:
    data = scenario(
        [teach("z", requires=["x", "y"]), teach("y", requires="x"), teach("x")], weeks=1, per_week="Mon 1, Tue 1, Wed 1"
    )
    assert placed(solved(data)) == {"x": "1 Mon 1", "y": "1 Tue 1", "z": "1 Wed 1"}
    forbidden(data, 1, "y z", x="1 Mon 1", z="1 Tue 1", y="1 Wed 1")


def test_a_prerequisite_in_another_unit_of_the_class() -> None:
    units = [{"id": "u", "lessons": [teach("a", requires="v/a")]}, {"id": "v", "lessons": [teach("a")]}]
    data = scenario(weeks=1, units=units, classes=[a_class(units=["u", "v"])])
    by_slot = sorted(answer_json(solved(data))["lessons"], key=lambda row: row["slot"])
    assert [row["unit"] for row in by_slot] == ["v", "u"]
    forbidden(data, 1, "u/a v/a", row("u/a", "1 Mon 1"), row("v/a", "1 Tue 1"))


# -- y only if x -------------------------------------------------------------------------------------------------------


def test_y_is_placed_only_if_x_is() -> None:
    # One period. Leaving out y costs 5, x 1. Without the requirement x goes (1); with it y cannot stand alone, so y goes.
    lessons = [teach("x", optional=True, priority=1), teach("y", optional=True, priority=5)]
    one = {"weeks": 1, "per_week": "Mon 1"}
    free = solved(scenario(lessons, **one))
    assert (placed(free), aims(free)["left out"]) == ({"y": "1 Mon 1"}, 1)

    held = scenario([lessons[0], {**lessons[1], "requires": "x"}], **one)
    answer = solved(held)
    assert (placed(answer), aims(answer)["left out"]) == ({"x": "1 Mon 1"}, 5)
    assert broken(held, y="1 Mon 1") == [(1, ["u/x", "u/y"])]


def test_a_required_lesson_pulls_in_its_optional_prerequisite() -> None:
    lessons = [teach("x", optional=True), teach("y", requires="x")]
    impossible(scenario(lessons, weeks=1, per_week="Mon 1"))
    assert placed(solved(scenario(lessons, weeks=1))) == {"x": "1 Mon 1", "y": "1 Tue 1"}


def test_a_left_out_lesson_requires_nothing() -> None:
    # One period for x; y may be left out.
    answer = solved(scenario([teach("x"), teach("y", requires="x", optional=True)], weeks=1, per_week="Mon 1"))
    assert placed(answer) == {"x": "1 Mon 1"}


# -- units in order ----------------------------------------------------------------------------------------------------


def test_teach_lessons_of_a_unit_in_order() -> None:
    # c, b, a listed: that is the order; the assessment among them is free.
    data = scenario(
        [teach("c"), assessment("p"), teach("b"), teach("a")],
        weeks=1,
        per_week="Mon 1, Tue 1, Wed 1, Thu 1",
        unit={"in_order": True},
    )
    allowed(data, p="1 Mon 1", c="1 Tue 1", b="1 Wed 1", a="1 Thu 1")
    allowed(data, c="1 Mon 1", b="1 Tue 1", a="1 Wed 1", p="1 Thu 1")
    forbidden(data, 1, "a b", c="1 Mon 1", a="1 Tue 1", b="1 Wed 1", p="1 Thu 1")


def test_order_holds_over_a_lesson_left_out() -> None:
    # a, b, c in order, two periods, b alone is optional: a then c, though only b stands between them.
    data = scenario([teach("a"), teach("b", optional=True), teach("c")], weeks=1, unit={"in_order": True})
    assert placed(solved(data)) == {"a": "1 Mon 1", "c": "1 Tue 1"}
    forbidden(data, 1, "a c", c="1 Mon 1", a="1 Tue 1")


def test_order_holds_over_a_lesson_with_the_rule_off() -> None:
    # a, b, c in order, rule 1 off at b: b need not come after a, but c still comes after both.
    lessons = [teach("a"), teach("b", rules={"prerequisites": "off"}), teach("c")]
    data = scenario(lessons, weeks=1, per_week="Mon 1, Tue 1, Wed 1", unit={"in_order": True})
    allowed(data, b="1 Mon 1", a="1 Tue 1", c="1 Wed 1")
    forbidden(data, 1, "a c", b="1 Mon 1", c="1 Tue 1", a="1 Wed 1")
    forbidden(data, 1, "b c", a="1 Mon 1", c="1 Tue 1", b="1 Wed 1")


def test_in_order_does_not_demand_placement() -> None:
    # One period: a is left out, b taught all the same.
    lessons = [teach("a", optional=True, priority=1), teach("b", optional=True, priority=2)]
    answer = solved(scenario(lessons, weeks=1, per_week="Mon 1", unit={"in_order": True}))
    assert (placed(answer), aims(answer)["left out"]) == ({"b": "1 Mon 1"}, 1)


def test_a_unit_after_a_unit() -> None:
    # v after u: its teach lessons after u's; its assessment is free.
    units = [
        {"id": "v", "after": "u", "lessons": [teach("b"), assessment("q")]},
        {"id": "u", "lessons": [teach("a"), assessment("p")]},
    ]
    base = {"weeks": 1, "per_week": "Mon 1, Tue 1, Wed 1, Thu 1", "units": units}
    data = scenario(**base, classes=[a_class(per_week=base["per_week"], units=["u", "v"])])
    allowed(data, q="1 Mon 1", a="1 Tue 1", b="1 Wed 1", p="1 Thu 1")
    forbidden(data, 1, "u/a v/b", b="1 Mon 1", a="1 Tue 1", p="1 Wed 1", q="1 Thu 1")
    # All pairs are ordered: with rule 1 off at a, b still waits for it; with rule 1 off at b, it does not.
    for lesson, order in ((0, "forbidden"), (1, "allowed")):
        lessons = [teach("a"), teach("b")]
        lessons[lesson]["rules"] = {"prerequisites": "off"}
        pair = [{"id": "v", "after": "u", "lessons": lessons[1:]}, {"id": "u", "lessons": lessons[:1]}]
        swapped = scenario(weeks=1, units=pair, classes=[a_class(units=["u", "v"])])
        if order == "allowed":
            allowed(swapped, b="1 Mon 1", a="1 Tue 1")
        else:
            forbidden(swapped, 1, "u/a v/b", b="1 Mon 1", a="1 Tue 1")
    # A class that does not take u has nothing to wait for.
    alone = scenario(**base, classes=[a_class(per_week=base["per_week"], units="v")])
    allowed(alone, b="1 Mon 1", q="1 Tue 1")


# -- windows -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("window", "just_allowed", "just_forbidden"),
    [
        # x on Mon of week 1, slot 0. Tue of week 1: slot 1, 1 day, week 1. Mon of week 2: slot 2, 7 days, week 2.
        # Tue of week 2: slot 3, 8 days, week 2.
        ({"least_days": 7}, "2 Mon 1", "1 Tue 1"),
        ({"least_days": 8}, "2 Tue 1", "2 Mon 1"),
        ({"most_days": 1}, "1 Tue 1", "2 Mon 1"),
        ({"most_days": 7}, "2 Mon 1", "2 Tue 1"),
        ({"least_slots": 2}, "2 Mon 1", "1 Tue 1"),
        ({"least_slots": 3}, "2 Tue 1", "2 Mon 1"),
        ({"most_slots": 1}, "1 Tue 1", "2 Mon 1"),
        ({"most_slots": 2}, "2 Mon 1", "2 Tue 1"),
        ({"least_weeks": 1}, "2 Mon 1", "1 Tue 1"),
        ({"most_weeks": 0}, "1 Tue 1", "2 Mon 1"),
        ({"least_days": 2, "most_days": 7}, "2 Mon 1", "2 Tue 1"),
    ],
)
def test_window_edges(window: Data, just_allowed: str, just_forbidden: str) -> None:
    data = scenario([teach("x"), teach("y", requires={"lesson": "x", **window})])
    allowed(data, x="1 Mon 1", y=just_allowed)
    forbidden(data, 1, "x y", x="1 Mon 1", y=just_forbidden)


@pytest.mark.parametrize("window", [{"least_days": 9}, {"least_slots": 4}, {"least_weeks": 2}, {"most_days": 0}])
def test_a_window_that_no_pair_of_periods_has(window: Data) -> None:
    # Farthest apart: first to last slot, 8 days, 3 slots, 1 week; nearest: 1 day.
    impossible(scenario([teach("x"), teach("y", requires={"lesson": "x", **window})]))


def test_the_widest_window_leaves_first_and_last() -> None:
    for window in ({"least_days": 8}, {"least_slots": 3}):
        answer = solved(scenario([teach("x"), teach("y", requires={"lesson": "x", **window})]))
        assert placed(answer) == {"x": "1 Mon 1", "y": "2 Tue 1"}


def test_days_run_through_a_holiday_and_weeks_and_slots_do_not() -> None:
    # Mon of week 1 to Mon of week 3, week 2 holiday: 14 days, 1 school week, 1 slot.
    off = [{"name": "half term", "first": day(2, "Mon"), "last": day(2, "Sun")}]

    def apart(**window: int) -> Data:
        lessons = [teach("x"), teach("y", requires={"lesson": "x", **window})]
        return scenario(lessons, weeks=3, per_week="Mon 1", holidays=off)

    for window in ({"most_days": 14}, {"least_days": 14}, {"most_weeks": 1}, {"least_weeks": 1}, {"most_slots": 1}):
        allowed(apart(**window), x="1 Mon 1", y="3 Mon 1")
    for window in ({"most_days": 13}, {"least_days": 15}, {"most_weeks": 0}, {"least_weeks": 2}, {"least_slots": 2}):
        forbidden(apart(**window), 1, "x y", x="1 Mon 1", y="3 Mon 1")


def test_a_closed_week_counts_as_a_week() -> None:
    # Closure, not holiday: the numbers of weeks do not change, so Mon of week 3 is 2 school weeks and still 1 slot later.
    closed = [{"name": "storm", "first": day(2, "Mon"), "last": day(2, "Sun")}]
    for window, fits in (({"least_weeks": 2}, True), ({"most_weeks": 1}, False), ({"most_slots": 1}, True)):
        lessons = [teach("x"), teach("y", requires={"lesson": "x", **window})]
        data = scenario(lessons, weeks=3, per_week="Mon 1", closures=closed)
        if fits:
            allowed(data, x="1 Mon 1", y="3 Mon 1")
        else:
            forbidden(data, 1, "x y", x="1 Mon 1", y="3 Mon 1")


def test_slots_are_counted_from_the_end_of_a_double() -> None:
    # x takes Mon 1-2 (slots 0 and 1). Mon 3 is 1 slot after its end, Tue 1 is 2.
    data = scenario(
        [teach("x", length=2), teach("y", requires={"lesson": "x", "most_slots": 1})], weeks=1, per_week="Mon 1-3, Tue 1"
    )
    allowed(data, x="1 Mon 1", y="1 Mon 3")
    forbidden(data, 1, "x y", x="1 Mon 1", y="1 Tue 1")


# -- switched off ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "lessons",
    [
        [teach("x"), teach("y", requires={"lesson": "x", "least_slots": 1}, rules={"prerequisites": "off"})],
        [teach("x"), teach("y", rules={"prerequisites": "off"})],
    ],
)
def test_off_at_y_voids_what_y_requires_and_its_order(lessons: list[Data]) -> None:
    allowed(scenario(lessons, weeks=1, unit={"in_order": True}), y="1 Mon 1", x="1 Tue 1")


def test_off_at_x_changes_nothing_for_y() -> None:
    lessons = [teach("x", rules={"prerequisites": "off"}), teach("y", requires="x")]
    forbidden(scenario(lessons, weeks=1), 1, "x y", y="1 Mon 1", x="1 Tue 1")


@pytest.mark.parametrize(
    ("follower", "rule"), [(practice("y", "x"), 3), (retrieval("y", "x"), 4), (feedback("y", "x"), 6)], ids=str
)
def test_what_practises_revisits_or_answers_comes_after_even_so(follower: Data, rule: int) -> None:
    # Rule 1 is off for all, and so are the distances of rules 3, 4 and 6: the order stays.
    off = {"prerequisites": "off", "practice_after_dense": "off", "retrieval": "off", "marking": "off"}
    data = scenario([teach("x"), follower], weeks=1, rules=off)
    assert placed(solved(data)) == {"x": "1 Mon 1", "y": "1 Tue 1"}
    forbidden(data, rule, "x y", y="1 Mon 1", x="1 Tue 1")


def test_least_periods_are_counted_from_the_end_of_a_double() -> None:
    # The double takes the first two of the class's periods: two periods after it ends is the fourth, not the third.
    lessons = [teach("x", length=2), teach("y", requires={"lesson": "x", "least_slots": 2})]
    impossible(scenario(lessons, weeks=1, per_week="Mon 1-3"))
    assert placed(solved(scenario(lessons, weeks=1, per_week="Mon 1-4"))) == {"x": "1 Mon 1", "y": "1 Mon 4"}
