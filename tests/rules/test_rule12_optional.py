"""Rule 12, optional lessons have a priority and may be left out; the others never. What is left out obeys and serves nothing."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import Data, aims, assessment, day, impossible, practice, retrieval, scenario, solved, teach
from tests.rules.helpers import allowed, broken, judged, placed

ONE_PERIOD = {"weeks": 1, "per_week": "Mon 1"}


def test_what_fits_is_placed() -> None:
    answer = solved(scenario([teach("a", optional=True), teach("b", optional=True)], weeks=1))
    assert (sorted(placed(answer)), aims(answer)["left out"]) == (["a", "b"], 0)
    assert answer_json(answer)["left_out"] == []


def test_the_lower_priority_goes() -> None:
    # One period: b (1 unless stated) goes before a (2).
    data = scenario([teach("b", optional=True), teach("a", optional=True, priority=2)], **ONE_PERIOD)
    answer = solved(data)
    assert (placed(answer), aims(answer)["left out"]) == ({"a": "1 Mon 1"}, 1)
    assert answer_json(answer)["left_out"] == [{"class": "9B", "unit": "u", "lesson": "b", "priority": 1}]
    assert judged(data, b="1 Mon 1")["aims"]["left out"] == 2


def test_priorities_are_summed() -> None:
    # Two periods. A double worth 5 against two singles worth 3 each: the singles, 5 left out. Worth 7: the double, 6 left out.
    singles = [teach("a", optional=True, priority=3), teach("b", optional=True, priority=3)]
    for priority, stays, left_out in ((5, ["a", "b"], 5), (7, ["d"], 6)):
        double = teach("d", length=2, optional=True, priority=priority)
        answer = solved(scenario([double, *singles], weeks=1, per_week="Mon 1-2"))
        assert (sorted(placed(answer)), aims(answer)["left out"]) == (stays, left_out)


def test_a_required_lesson_never_goes() -> None:
    # However high the priority of the optional one.
    answer = solved(scenario([teach("a", optional=True, priority=1000), teach("b")], **ONE_PERIOD))
    assert (placed(answer), aims(answer)["left out"]) == ({"b": "1 Mon 1"}, 1000)
    impossible(scenario([teach("a"), teach("b")], **ONE_PERIOD))
    assert broken(scenario([teach("a", optional=True), teach("b")], weeks=1), a="1 Mon 1") == [(0, ["u/b"])]
    # A required lesson that is missing is a breach, and no matter of priorities.
    assert judged(scenario([teach("a", optional=True), teach("b")], weeks=1), a="1 Mon 1")["aims"]["left out"] == 0


def test_all_left_out() -> None:
    # No period at all.
    answer = solved(
        scenario(
            [teach("a", optional=True, priority=2), teach("b", optional=True, priority=3)],
            weeks=1,
            per_week="Tue 1",
            of_class={"leaves": day(1, "Mon")},
        )
    )
    assert (placed(answer), aims(answer)["left out"]) == ({}, 5)


def test_a_lesson_left_out_obeys_no_rule() -> None:
    # Only the closed Wednesday is in the lab; Saturday has no period: such a lesson can only be left out, and is.
    days = {"timetable": {"Mon": 1, "Tue": 1, "Wed": {"period": 1, "offers": "lab"}}}
    closed = [{"name": "storm", "on": day(1, "Wed")}]
    for more in ({"needs": "lab"}, {"on": day(1, "Sat")}):
        lessons = [teach("a", optional=True, **more), teach("b")]
        answer = solved(scenario(lessons, weeks=1, of_class=days, closures=closed))
        assert (list(placed(answer)), aims(answer)["left out"]) == (["b"], 1)
    # It may be left out by hand even where there is room; that only costs.
    assert allowed(scenario([teach("a", optional=True, on=day(1, "Sat")), teach("b")], weeks=1), b="1 Mon 1")["left out"] == 1
    assert judged(scenario([teach("a", optional=True), teach("b")], weeks=1), b="1 Mon 1")["sound"]


def test_a_lesson_left_out_serves_none() -> None:
    # Two periods, x on Monday and a required test: the optional practice goes, and with it what x needs.
    lessons = [teach("x", load=4, on=day(1, "Mon")), practice("p", "x", optional=True), assessment("test")]
    impossible(scenario(lessons, weeks=1))


def test_a_placed_lesson_keeps_the_optional_lesson_that_it_requires() -> None:
    # Two periods, y required, x (1) and z (9) optional. By priorities z would stay and x go (1 left out). But y requires x:
    # x and y fill both periods and z goes, 9 left out.
    lessons = [teach("y"), teach("x", optional=True, priority=1), teach("z", optional=True, priority=9)]
    free = solved(scenario(lessons, weeks=1))
    assert (sorted(placed(free)), aims(free)["left out"]) == (["y", "z"], 1)
    held = scenario([teach("y", requires="x"), *lessons[1:]], weeks=1)
    answer = solved(held)
    assert (placed(answer), aims(answer)["left out"]) == ({"x": "1 Mon 1", "y": "1 Tue 1"}, 9)
    assert broken(held, y="1 Mon 1", z="1 Tue 1") == [(1, ["u/x", "u/y"])]


def test_an_optional_lesson_and_the_one_it_requires_go_together_when_that_is_better() -> None:
    # Periods Mon 1-2. y (4) requires x (1); a double d stands against both, 5 together. d worth 6: both go, 5 left out (d alone
    # gone would be 6). d worth 4: d goes, 4 left out.
    pair = [teach("x", optional=True, priority=1), teach("y", optional=True, priority=4, requires="x")]
    for priority, stays, left_out in ((6, ["d"], 5), (4, ["x", "y"], 4)):
        double = teach("d", length=2, optional=True, priority=priority)
        answer = solved(scenario([double, *pair], weeks=1, per_week="Mon 1-2"))
        assert (sorted(placed(answer)), aims(answer)["left out"]) == (stays, left_out)


def test_aims_are_settled_in_the_order_listed() -> None:
    # One period, x dense, optional, without a practice. Placed: carried over 1. Left out: left out 1.
    lessons = [teach("x", load=4, optional=True)]
    first_left_out = solved(scenario(lessons, **ONE_PERIOD, aims=["left out", "carried over"]))
    assert aims(first_left_out) == {"left out": 0, "carried over": 1}
    first_carried_over = solved(scenario(lessons, **ONE_PERIOD, aims=["carried over", "left out"]))
    assert aims(first_carried_over) == {"carried over": 0, "left out": 1}


def early(*lessons: Data, **more: Any) -> Data:
    """Return a class that meets every day of one week, with `early finish` as its only aim."""
    return scenario([*lessons], weeks=1, per_week="Mon 1, Tue 1, Wed 1, Thu 1, Fri 1", aims=["early finish"], **more)


def test_early_finish_counts_spare_slots_before_the_last_required_teach_lesson() -> None:
    data = early(teach("a"), teach("b", not_before=day(1, "Thu")))
    # b no sooner than Thursday, a before it: two of Monday, Tuesday and Wednesday are spare.
    assert aims(solved(data)) == {"early finish": 2}
    assert judged(data, a="1 Fri 1", b="1 Thu 1")["aims"]["early finish"] == 3
    assert judged(data, a="1 Mon 1", b="1 Fri 1")["aims"]["early finish"] == 3
    double = early(teach("a"), teach("b", length=2), adjacent_periods=[[1, 2]])
    double["classes"][0]["timetable"] = {"Mon": [1], "Tue": [1], "Wed": [1, 2]}
    assert aims(solved(double)) == {"early finish": 1}


@pytest.mark.parametrize("last", [teach("b", optional=True), assessment("b"), practice("b", "a"), retrieval("b", "a")])
def test_early_finish_waits_for_nothing_but_required_teach_lessons(last: Data) -> None:
    # Whatever else comes last, the spare slots before it do not count.
    data = early(teach("a"), last, rules={"retrieval": "off"})
    assert judged(data, a="1 Tue 1", b="1 Fri 1")["aims"]["early finish"] == 1
    assert aims(solved(data)) == {"early finish": 0}


def test_what_early_finish_does_not_wait_for_fills_a_slot() -> None:
    data = early(teach("a"), teach("b", optional=True))
    assert judged(data, a="1 Tue 1", b="1 Mon 1")["aims"]["early finish"] == 0
    assert judged(data, a="1 Tue 1")["aims"]["early finish"] == 1


def test_early_finish_waits_for_no_lesson_that_a_date_fixes() -> None:
    # b cannot lie elsewhere than on Friday, so the spare slots before it are nobody's choice; a wished date leaves a choice.
    friday = {"on": day(1, "Fri")}
    assert aims(solved(early(teach("a"), teach("b", **friday)))) == {"early finish": 0}
    assert aims(solved(early(teach("a"), teach("b", **friday, period=1)))) == {"early finish": 0}
    own = early(teach("a"), teach("b"))
    own["classes"][0]["lessons"] = {"b": friday}
    assert aims(solved(own)) == {"early finish": 0}
    wished = early(teach("a"), teach("b", **friday, rules={"dates": {"wish": 1}}))
    assert judged(wished, a="1 Mon 1", b="1 Fri 1")["aims"]["early finish"] == 3
    assert aims(solved(early(teach("b", **friday)))) == {"early finish": 0}


def test_early_finish_counts_what_was_taught_like_any_other_lesson() -> None:
    data = early(teach("a"), teach("b"), today=day(1, "Thu"))
    data["record"] = [{"class": "9B", "lesson": "a", "date": day(1, "Tue"), "period": 1}]
    # Monday and Wednesday were spare; b comes as soon as it can, on Thursday.
    assert aims(solved(data)) == {"early finish": 2}
    data["record"].append({"class": "9B", "lesson": "b", "date": day(1, "Wed"), "period": 1})
    assert aims(solved(data)) == {"early finish": 1}


def test_even_load_is_the_heaviest_week_of_each_class() -> None:
    # Loads 3, 3, 2 in two weeks of two slots: 3 + 2 and 3, heaviest 5; or 3 + 3 and 2, heaviest 6.
    data = scenario([teach("a", load=3), teach("b", load=3), teach("c", load=2)], aims=["even load"])
    assert aims(solved(data)) == {"even load": 5}
    assert judged(data, a="1 Mon 1", b="1 Tue 1", c="2 Mon 1")["aims"]["even load"] == 6
