"""Rule 3, practice after dense: a dense lesson is practised at most w slots after it ends."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import Data, aims, assessment, day, impossible, practice, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, placed


def dense(id: str, **more: Any) -> Data:
    return teach(id, load=4, **more)


def within(slots: int, **more: Any) -> Data:
    return {"practice_after_dense": {"within": slots, **more}}


X_AND_P = [dense("x"), practice("p", "x")]


def carried(data: Data) -> list[tuple[str, str]]:
    """What the best sequence carries over."""
    answer = solved(data)
    found = [(entry["lesson"], entry["what"]) for entry in answer_json(answer)["carried_over"]]
    assert aims(answer)["carried over"] == len(found)
    return found


# -- slots -------------------------------------------------------------------------------------------------------------


def test_straight_after_unless_stated() -> None:
    data = scenario(X_AND_P, weeks=1, per_week=EVERY_DAY)
    assert allowed(data, x="1 Mon 1", p="1 Tue 1")["carried over"] == 0  # first slots
    assert allowed(data, x="1 Thu 1", p="1 Fri 1")["carried over"] == 0  # last slots
    forbidden(data, 3, "x", x="1 Mon 1", p="1 Wed 1")
    # Three periods, one spare: the pair stays together, so nothing is carried over wherever the spare one is.
    found = placed(solved(scenario(X_AND_P, weeks=1, per_week="Mon 1, Tue 1, Wed 1")))
    assert found in ({"x": "1 Mon 1", "p": "1 Tue 1"}, {"x": "1 Tue 1", "p": "1 Wed 1"})


@pytest.mark.parametrize(("slots", "just_allowed", "just_forbidden"), [(1, "Tue", "Wed"), (2, "Wed", "Thu"), (3, "Thu", "Fri")])
def test_within_slots(slots: int, just_allowed: str, just_forbidden: str) -> None:
    data = scenario(X_AND_P, weeks=1, per_week=EVERY_DAY, rules=within(slots))
    allowed(data, x="1 Mon 1", p=f"1 {just_allowed} 1")
    forbidden(data, 3, "x", x="1 Mon 1", p=f"1 {just_forbidden} 1")


def test_practice_before_the_lesson_is_forbidden_even_when_another_serves() -> None:
    data = scenario([*X_AND_P, practice("q", "x")], weeks=1, per_week=EVERY_DAY)
    forbidden(data, 3, "q x", q="1 Mon 1", x="1 Tue 1", p="1 Wed 1")


def test_slots_count_from_the_end_of_a_double_to_the_start_of_the_practice() -> None:
    lessons = [dense("x", length=2), practice("p", "x", length=2)]
    data = scenario(lessons, weeks=1, per_week="Mon 1-2, Tue 1-3")
    allowed(data, x="1 Mon 1", p="1 Tue 1")
    forbidden(data, 3, "x", x="1 Mon 1", p="1 Tue 2")


def test_only_dense_lessons_are_concerned() -> None:
    # A load of 3, and a high-load assessment, need no practice; no dense lesson, nothing to do.
    for lesson in (teach("x", load=3), assessment("x", load=4)):
        allowed(scenario([lesson], weeks=1), x="1 Mon 1")
    forbidden(scenario([dense("x")], weeks=1), 3, "x", x="1 Mon 1")


def test_a_practice_that_does_not_name_the_lesson_does_not_serve_it() -> None:
    data = scenario([dense("x"), teach("z"), practice("p", "z")], weeks=1, per_week=EVERY_DAY)
    forbidden(data, 3, "x", z="1 Mon 1", x="1 Tue 1", p="1 Wed 1")


# -- days --------------------------------------------------------------------------------------------------------------


def test_days_across_a_holiday() -> None:
    # Fri of week 1, then week 2 holiday: the next slot is Mon of week 3, 10 days later.
    def over(**days: int) -> Data:
        off = [{"name": "half term", "first": day(2, "Mon"), "last": day(2, "Sun")}]
        return scenario(X_AND_P, weeks=3, per_week="Mon 1, Fri 1", holidays=off, rules=within(1, **days))

    allowed(over(), x="1 Fri 1", p="3 Mon 1")
    allowed(over(days=10), x="1 Fri 1", p="3 Mon 1")
    forbidden(over(days=9), 3, "x", x="1 Fri 1", p="3 Mon 1")
    allowed(over(days=4), x="1 Mon 1", p="1 Fri 1")  # before the holiday
    forbidden(over(days=3), 3, "x", x="1 Mon 1", p="1 Fri 1")


def test_days_and_slots_hold_together() -> None:
    # Within 3 slots and 1 day: Tuesday is both, Wednesday is 2 slots but 2 days.
    data = scenario(X_AND_P, weeks=1, per_week=EVERY_DAY, rules=within(3, days=1))
    allowed(data, x="1 Mon 1", p="1 Tue 1")
    forbidden(data, 3, "x", x="1 Mon 1", p="1 Wed 1")
    # Days alone do not carry a practice over: slots follow, though none within the days.
    rare = scenario([dense("x"), practice("p", "x")], weeks=2, per_week="Mon 1", rules=within(1, days=6))
    impossible(rare)


# -- no new content ----------------------------------------------------------------------------------------------------


def test_no_new_content_between() -> None:
    def three(between: Data, **numbers: Any) -> Data:
        return scenario([*X_AND_P, between], weeks=1, per_week=EVERY_DAY, rules=within(2, **numbers))

    where = {"x": "1 Mon 1", "n": "1 Tue 1", "p": "1 Wed 1"}
    allowed(three(teach("n")), **where)
    forbidden(three(teach("n"), no_new_content=True), 3, "x", **where)
    allowed(three(assessment("n"), no_new_content=True), **where)  # no teach lesson
    # Strictly between: new content before the lesson or after its practice is free.
    allowed(three(teach("n"), no_new_content=True), n="1 Mon 1", x="1 Tue 1", p="1 Thu 1")
    allowed(three(teach("n"), no_new_content=True), x="1 Mon 1", p="1 Wed 1", n="1 Thu 1")


def test_a_double_of_new_content_between() -> None:
    # Mon 1 x, Mon 2-3 new, Mon 4 p: within 3 slots.
    lessons = [*X_AND_P, teach("n", length=2)]
    data = scenario(lessons, weeks=1, per_week="Mon 1-4", rules=within(3, no_new_content=True))
    forbidden(data, 3, "x", x="1 Mon 1", n="1 Mon 2", p="1 Mon 4")


# -- several practices, several dense lessons -----------------------------------------------------------------------------


def test_one_of_several_practices_is_enough() -> None:
    data = scenario([*X_AND_P, practice("q", "x")], weeks=1, per_week=EVERY_DAY)
    allowed(data, x="1 Mon 1", p="1 Tue 1", q="1 Fri 1")
    allowed(data, x="1 Mon 1", q="1 Tue 1", p="1 Fri 1")
    forbidden(data, 3, "x", x="1 Mon 1", p="1 Wed 1", q="1 Thu 1")


def test_one_practice_serves_several_dense_lessons_inside_their_windows() -> None:
    lessons = [dense("x"), dense("y"), practice("p", ["x", "y"])]
    near, nearer = (scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=within(slots)) for slots in (2, 1))
    allowed(near, x="1 Mon 1", y="1 Tue 1", p="1 Wed 1")
    forbidden(near, 3, "x", x="1 Mon 1", y="1 Wed 1", p="1 Thu 1")  # x is 3 slots before, y straight before
    # Straight after both is not possible, and p itself lies after both, so neither is at the end.
    forbidden(nearer, 3, "x", x="1 Mon 1", y="1 Tue 1", p="1 Wed 1")
    impossible(nearer)


def test_a_left_out_practice_serves_nothing() -> None:
    # Two periods, x on Monday, z required: no room for the optional practice, and a slot follows x.
    lessons = [dense("x", on=day(1, "Mon")), practice("p", "x", optional=True), teach("z")]
    data = scenario(lessons, weeks=1)
    impossible(data)
    assert broken(data, x="1 Mon 1", z="1 Tue 1") == [(3, ["u/x"])]
    # With a third period it is placed rather than left out.
    roomy = scenario(lessons, weeks=1, per_week="Mon 1, Tue 1, Wed 1")
    assert placed(solved(roomy)) == {"x": "1 Mon 1", "p": "1 Tue 1", "z": "1 Wed 1"}


def test_a_left_out_dense_lesson_needs_no_practice() -> None:
    data = scenario([dense("x", optional=True), teach("z")], weeks=1, per_week="Mon 1")
    assert placed(solved(data)) == {"z": "1 Mon 1"}


# -- the last slots ----------------------------------------------------------------------------------------------------


def test_the_last_slot_carries_its_practice_over() -> None:
    # Nobody practises x: only in the last slot do fewer than 1 slots follow.
    data = scenario([dense("x")], weeks=1, per_week=EVERY_DAY)
    assert placed(solved(data)) == {"x": "1 Fri 1"}
    assert carried(data) == [("x", "practice")]
    assert allowed(data, x="1 Fri 1")["carried over"] == 1
    forbidden(data, 3, "x", x="1 Thu 1")


def test_fewer_than_w_slots_follow() -> None:
    # Within 2: from Thursday on fewer than 2 slots follow, from Wednesday 2.
    data = scenario([dense("x")], weeks=1, per_week=EVERY_DAY, rules=within(2))
    assert allowed(data, x="1 Thu 1")["carried over"] == 1
    assert allowed(data, x="1 Fri 1")["carried over"] == 1
    forbidden(data, 3, "x", x="1 Wed 1")


def test_a_practice_that_is_placed_must_come_after_even_the_last_slot() -> None:
    # x on Friday, the last: its required practice has no place, so nothing can be carried over.
    data = scenario([dense("x", on=day(1, "Fri")), practice("p", "x")], weeks=1, per_week=EVERY_DAY)
    impossible(data)
    # An optional one is left out, and the practice carried over.
    optional = scenario([dense("x", on=day(1, "Fri")), practice("p", "x", optional=True)], weeks=1, per_week=EVERY_DAY)
    assert carried(optional) == [("x", "practice")]
    assert aims(solved(optional))["left out"] == 1


def test_what_is_served_at_the_end_is_not_carried_over() -> None:
    # Within 2, x on Thursday: fewer than 2 slots follow, but p on Friday serves it.
    data = scenario(X_AND_P, weeks=1, per_week=EVERY_DAY, rules=within(2))
    assert allowed(data, x="1 Thu 1", p="1 Fri 1")["carried over"] == 0


def test_the_end_is_the_end_of_the_class() -> None:
    # The class leaves on Wednesday: that is its last slot; a double ends in the last slot it holds.
    leaves = scenario([dense("x")], weeks=1, per_week=EVERY_DAY, of_class={"leaves": day(1, "Wed")})
    assert placed(solved(leaves)) == {"x": "1 Wed 1"}
    double = scenario([dense("x", length=2)], weeks=1, per_week="Mon 1-2, Tue 1-3")
    assert placed(solved(double)) == {"x": "1 Tue 2"}


# -- switched off ------------------------------------------------------------------------------------------------------


def test_off_for_one_lesson() -> None:
    lessons = [dense("x", rules={"practice_after_dense": "off"}), dense("y")]
    data = scenario(lessons, weeks=1, per_week="Mon 1, Tue 1")
    assert placed(solved(data)) == {"x": "1 Mon 1", "y": "1 Tue 1"}  # y can only be carried over, last
    forbidden(data, 3, "y", y="1 Mon 1", x="1 Tue 1")


def test_a_dense_lesson_that_no_practice_names_is_noted() -> None:
    # y must follow x, so x cannot hold the last period and its practice cannot be left to the next plan.
    answer = impossible(scenario([teach("x", load=4), teach("y", requires="x")], weeks=1, per_week="Mon 1, Wed 1"))
    assert [note.split(" is dense")[0] for note in answer.notes] == ["9B: u/x"]
    named = scenario([teach("x", load=4), practice("p", "x"), teach("y", requires="x")], weeks=2, per_week="Mon 1, Wed 1")
    assert solved(named).notes == ()


# -- what must lie between ---------------------------------------------------------------------------------------------


def test_what_cannot_lie_between_a_dense_lesson_and_its_practice_is_left_out() -> None:
    # x needs d and p practises both, p straight after d: no place is left for x.
    lessons = [teach("d", load=5), teach("x", load=1, requires="d", optional=True), practice("p", ["d", "x"])]
    data = scenario([*lessons, teach("z", requires="d")], weeks=3, rules=within(1))
    assert set(placed(solved(data))) == {"d", "p", "z"}
    lessons[1].pop("optional")
    impossible(scenario(lessons, weeks=3, rules=within(1)))


def test_two_dense_lessons_cannot_share_a_practice_straight_after_both() -> None:
    lessons = [teach("d", load=5), teach("e", load=5), practice("p", ["d", "e"]), teach("z", requires=["d", "e"])]
    impossible(scenario(lessons, weeks=3, rules=within(1)))
    solved(scenario(lessons, weeks=3, rules=within(2)))
