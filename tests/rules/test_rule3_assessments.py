"""Rule 3: an assessment comes after the practice that serves what it requires.

One class that meets on every weekday; x is dense, p its practice within 3 periods, t a test.
"""

from __future__ import annotations

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.builders import Data, assessment, day, impossible, practice, scenario, slots, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, forbidden, placed

RULES = {"practice_after_dense": 3}


def half_term(*lessons: Data, weeks: int = 1, rules: Data | None = None, **more: Data) -> Data:
    return scenario(lessons, weeks=weeks, per_week=EVERY_DAY, rules={**RULES, **(rules or {})}, **more)


def three(**of_test: object) -> Data:
    return half_term(teach("x", load=4), practice("p", "x"), assessment("t", requires="x", **of_test))


def test_the_test_comes_after_the_practice() -> None:
    allowed(three(), x="1 Mon 1", p="1 Tue 1", t="1 Wed 1")
    allowed(three(), x="1 Mon 1", p="1 Thu 1", t="1 Fri 1")
    forbidden(three(), 3, "x p t", x="1 Mon 1", p="1 Wed 1", t="1 Tue 1")


def test_a_longer_practice_has_ended() -> None:
    data = half_term(teach("x", load=4), practice("p", "x", length=2), assessment("t", requires="x"))
    data["classes"][0]["timetable"] = {"Mon": [1], "Tue": [1, 2, 3]}
    allowed(data, x="1 Mon 1", p="1 Tue 1", t="1 Tue 3")
    forbidden(data, 3, "x p t", x="1 Mon 1", p="1 Tue 2", t="1 Tue 1")


def test_a_test_that_does_not_require_the_lesson_may_lie_before_its_practice() -> None:
    allowed(half_term(teach("x", load=4), practice("p", "x"), assessment("t")), x="1 Mon 1", p="1 Wed 1", t="1 Tue 1")


def test_what_is_no_assessment_may_lie_before_it() -> None:
    data = half_term(teach("x", load=4), practice("p", "x"), teach("t", load=1, requires="x"))
    allowed(data, x="1 Mon 1", p="1 Wed 1", t="1 Tue 1")


def test_through_another_lesson() -> None:
    lessons = teach("x", load=4), practice("p", "x"), teach("y", load=1, requires="x"), assessment("t", requires="y")
    allowed(half_term(*lessons), x="1 Mon 1", y="1 Tue 1", p="1 Wed 1", t="1 Thu 1")
    forbidden(half_term(*lessons), 3, "x p t", x="1 Mon 1", y="1 Tue 1", t="1 Wed 1", p="1 Thu 1")


def test_through_the_order_of_the_unit() -> None:
    lessons = teach("x", load=4), practice("p", "x"), teach("y", load=1), assessment("t", requires="y")
    forbidden(half_term(*lessons, unit={"in_order": True}), 3, "x p t", x="1 Mon 1", y="1 Tue 1", t="1 Wed 1", p="1 Thu 1")
    allowed(half_term(*lessons), x="1 Mon 1", y="1 Tue 1", t="1 Wed 1", p="1 Thu 1")


def test_not_through_what_is_off() -> None:
    quiet = teach("y", load=1, requires="x", rules={"prerequisites": "off"})
    lessons = teach("x", load=4), practice("p", "x"), quiet, assessment("t", requires="y")
    allowed(half_term(*lessons), x="1 Mon 1", y="1 Tue 1", t="1 Wed 1", p="1 Thu 1")


def test_of_several_that_serve_one_is_enough() -> None:
    lessons = teach("x", load=4), practice("p", "x"), practice("q", "x", load=1), assessment("t", requires="x")
    allowed(half_term(*lessons), x="1 Mon 1", p="1 Tue 1", t="1 Wed 1", q="1 Thu 1")
    forbidden(half_term(*lessons), 3, "x p t", x="1 Mon 1", t="1 Tue 1", p="1 Wed 1", q="1 Thu 1")


def test_practice_that_does_not_serve_may_come_later() -> None:
    # Within 1 period only p serves; q names x as well, and lies after the test.
    lessons = teach("x", load=4), practice("p", "x"), practice("q", "x", load=1), assessment("t", requires="x")
    data = half_term(*lessons, rules={"practice_after_dense": 1})
    allowed(data, x="1 Mon 1", p="1 Tue 1", t="1 Wed 1", q="1 Fri 1")


def test_practice_of_what_is_not_dense_may_come_later() -> None:
    data = half_term(teach("x", load=3), practice("p", "x"), assessment("t", requires="x"))
    allowed(data, x="1 Mon 1", t="1 Tue 1", p="1 Wed 1")


def test_said_otherwise_the_narrowest_wins() -> None:
    off, on = {"practice_before_assessment": "off"}, {"practice_before_assessment": {}}
    early = {"x": "1 Mon 1", "t": "1 Tue 1", "p": "1 Wed 1"}
    allowed(three(rules=off), **early)
    wide = three()
    wide["rules"].update(off)
    allowed(wide, **early)
    narrow = three(rules=on)
    narrow["rules"].update(off)
    forbidden(narrow, 3, "x p t", **early)
    of_class = three()
    of_class["classes"][0]["rules"] = off
    allowed(of_class, **early)
    of_class["classes"][0]["lessons"] = {"t": {"rules": on}}
    forbidden(of_class, 3, "x p t", **early)


def test_nothing_is_asked_where_the_practice_is_left_to_the_next_plan() -> None:
    # Two periods follow x, fewer than 3: its practice may be carried over, and the test lies in one of them.
    data = half_term(teach("x", load=4, on=day(1, "Wed")), assessment("t", requires="x"))
    solved(data)
    # A listed practice in one of the two serves, so that the test comes after it.
    data = half_term(teach("x", load=4, on=day(1, "Wed")), practice("p", "x"), assessment("t", requires="x"))
    assert slots(solved(data)) == {"x": 2, "p": 3, "t": 4}
    impossible(data | {"units": [{**data["units"][0], "lessons": [*data["units"][0]["lessons"][:2], _on(data, "Thu")]}]})


def _on(data: Data, weekday: str) -> Data:
    return {**data["units"][0]["lessons"][2], "on": day(1, weekday)}


def test_nothing_is_asked_of_what_is_left_out() -> None:
    # With p on Wednesday the optional test on Tuesday is left out.
    test = assessment("t", requires="x", optional=True, on=day(1, "Tue"))
    data = half_term(teach("x", load=4), practice("p", "x", on=day(1, "Wed")), test)
    assert placed(solved(data)).keys() == {"x", "p"}


def test_homework_that_serves_lies_in_the_lesson_itself() -> None:
    data = half_term(
        teach("x", load=4, rules={"practice_after_dense": {"homework": {}}}), assessment("t", requires="x", on=day(1, "Tue"))
    )
    allowed(data, x="1 Mon 1", t="1 Tue 1")


def test_a_practice_that_a_pattern_made_comes_before_the_test() -> None:
    data = half_term(teach("x", load=4, on=day(1, "Mon")), assessment("t", requires="x"), unit={"pattern": "usual"})
    data["patterns"] = [{"id": "usual", "practice": {}}]
    found = slots(solved({**data, "aims": ["early finish", "made lessons"]}))
    assert found["x-practice"] < found["t"]
    data["units"][0]["lessons"][1]["on"] = day(1, "Tue")
    impossible(data)


def test_a_delivered_test_is_past() -> None:
    # The test was given on Tuesday; the practice still lies in its window on Wednesday or Thursday.
    record = [
        {"class": "9B", "unit": "u", "lesson": "x", "date": day(1, "Mon"), "period": 1},
        {"class": "9B", "unit": "u", "lesson": "t", "date": day(1, "Tue"), "period": 1},
    ]
    answer = solved_past(three() | {"today": day(1, "Wed"), "record": record})
    assert answer == [3]


def solved_past(data: Data) -> list[int]:
    """The rules that are past in the best sequence."""
    body = answer_json(solve(scenario_from_data(data), SolveSettings()))
    assert body["status"] == "optimal"
    assert body["verdict"]["sound"]
    return [breach["rule"] for breach in body["verdict"]["breaches"] if breach["past"]]


def test_practice_that_was_skipped_asks_nothing_of_the_test() -> None:
    record = [{"class": "9B", "unit": "u", "lesson": "p", "what": "skipped"}]
    solved(three(on=day(1, "Tue")) | {"record": record})


def test_today_that_leaves_no_practice_before_the_test_is_past() -> None:
    # x was delivered on Monday; today is Wednesday and the test is on Wednesday: its practice comes after it.
    record = [{"class": "9B", "unit": "u", "lesson": "x", "date": day(1, "Mon"), "period": 1}]
    data = three(on=day(1, "Wed")) | {"today": day(1, "Wed"), "record": record}
    assert solved_past(data) == [3]
    # On Thursday there is room before it.
    later = three(on=day(1, "Thu")) | {"today": day(1, "Wed"), "record": record}
    assert slots(solved(later)) == {"x": 0, "p": 2, "t": 3}
