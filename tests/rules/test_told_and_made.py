"""What happened, what patterns make and what is met again, where these meet: each case was found by the second reading."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import Data, aims, assessment, day, practice, retrieval, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, broken, placed, refs


def told(lesson: str, place: str = "", what: str = "delivered", **more: Any) -> Data:
    """Return an entry of the record: ``told("a", "1 Mon 1")``."""
    entry: Data = {"class": "9B", "lesson": lesson, "what": what, **more}
    if place:
        week, weekday, period = place.split()
        entry |= {"date": day(int(week), weekday), "period": int(period)}
    return entry


def made(*parts: str, **more: Any) -> Data:
    """Return a scenario's key ``patterns``: one with the parts named, and with what ``more`` says of them."""
    return {"patterns": [{"id": "usual", **{part: {} for part in parts}, **more}]}


USUAL = {"pattern": "usual"}


# -- met again more than once ------------------------------------------------------------------------------------------


def test_the_second_retrieval_takes_the_only_date_and_the_first_is_carried_over() -> None:
    # x on Mon 2, r (which lists x) on Mon 9 or 16, the last slot. First retrieval: 7 to 21 days, so it may be carried over
    # (2 + 21 is past the 16th). Second: exactly 14 days, the 16th, and may not. So r is on the 16th and serves the second.
    rules = {"retrieval": {"least": 7, "most": 21, "then": [{"least": 14, "most": 14}]}}
    data = scenario([teach("x", on=day(1, "Mon")), retrieval("r", "x")], weeks=3, per_week="Mon 1", rules=rules)
    answer = solved(data)
    assert placed(answer)["r"] == "3 Mon 1"
    assert aims(answer)["carried over"] == 1


def test_six_retrievals_take_the_nearest_of_many_dates() -> None:
    # x on the first Monday of three full weeks, met in a starter on each of the 14 days after, 1, 2, 3, 4, 7, 8, 9, 10, 11, 14 to
    # 18 days on. Six retrievals would like 8 days: the nearest dates are 8, 7, 9, 10, 11 and 4 days on, 11 days off in all.
    window = {"least": 1, "most": 18, "preferred": 8}
    lessons = [teach("x"), *[teach(f"y{number}", starter="x") for number in range(14)]]
    data = scenario(lessons, weeks=3, per_week=EVERY_DAY, rules={"retrieval": window | {"then": [window] * 5}})
    data["aims"] = ["carried over", "distance"]
    data["units"][0]["lessons"][0]["on"] = day(1, "Mon")
    assert aims(solved(data)) == {"carried over": 0, "distance": 11}


def test_what_can_no_longer_be_met_leaves_later_retrievals_alone() -> None:
    # t was taught on Fri 30 October, and nothing has room to meet it. Its first retrieval, late by now, cannot be mended, nor
    # the one counted from it. The last may be 30 days later, after the last slot: that one is carried over.
    further = [{"least": 1, "most": 2, "counted_from": "retrieval before"}, {"least": 8, "most": 30}]
    topic = {"id": "t", "date": "2026-10-30", "rules": {"retrieval": {"least": 1, "most": 2, "chosen": True, "then": further}}}
    # The one lesson that had room was delivered, and met nothing.
    lessons = [teach("a"), {"id": "r", "kind": "retrieval", "room": 1}]
    data = scenario(lessons, per_week="Mon 1", of_class={"taught_before": [topic]}, record=[told("r", "1 Mon 1")])
    assert aims(solved(data))["carried over"] == 1


def test_two_retrievals_that_have_one_date_between_them_block_nothing() -> None:
    # t was taught on Fri 30 October; both windows hold Mon 9 alone.
    topic = {"id": "t", "date": "2026-10-30", "rules": {"retrieval": {"least": 9, "most": 11, "chosen": True}}}
    topic["rules"]["retrieval"]["then"] = [{"least": 8, "most": 12}]
    data = scenario([teach("a")], weeks=3, per_week="Mon 1", of_class={"taught_before": [topic]}, rules={"starters": 1})
    answer = solved(data)
    # One of the two is kept, on its preferred day; the other is told, once.
    assert aims(answer)["carried over"] == 0
    assert [breach.past for breach in answer.verdict.breaches] == [True]


def test_what_the_record_says_was_met_in_a_part_taught_lesson_counts() -> None:
    # a on Mon 2, met on Thu 5 in r, which was part-taught: in its window, so no later date stands in for it.
    record = [told("a", "1 Mon 1"), told("r", "1 Thu 1", "part-taught", revisits=["a"])]
    rules = {"retrieval": {"least": 1, "most": 3}}
    data = scenario([teach("a"), retrieval("r", "a")], per_week="Mon 1, Thu 1", rules=rules, record=record, today=day(1, "Fri"))
    assert answer_json(solved(data))["late"] == []


def test_a_skipped_lesson_takes_up_no_room() -> None:
    # r has room for two and lists y, which is skipped; so it meets both of the others, 7 days on.
    rules = {"retrieval": {"least": 7, "most": 7, "chosen": True}}
    others = [teach(name, on=day(1, "Mon")) for name in ("w", "x")]
    lessons = [*others, teach("y"), retrieval("r", "y", room=2)]
    data = scenario(lessons, per_week="Mon 1-2", rules=rules, record=[told("y", what="skipped")])
    assert aims(solved(data))["carried over"] == 0


# -- what patterns make ------------------------------------------------------------------------------------------------


def test_writing_that_practises_is_no_made_practice() -> None:
    # Writing of kind practice is there though rule 3 is off.
    pattern = made(writing={"kind": "practice"})
    data = scenario([teach("a")], per_week="Mon 1", unit=USUAL, rules={"practice_after_dense": "off"}, **pattern)
    assert placed(solved(data)) == {"a": "1 Mon 1", "writing": "2 Mon 1"}


def test_made_lessons_taught_before_the_first_slot_are_in_no_slot() -> None:
    # The class first meets on Thu 5; its practice was on Mon 2.
    record = [told("a-practice", what="delivered", date=day(1, "Mon"))]
    data = scenario([teach("a", load=4)], per_week="Thu 1", unit=USUAL, record=record, **made("practice"))
    assert aims(solved(data))["made lessons"] == 0


@pytest.mark.parametrize("level", ["scenario", "unit", "lesson"])
def test_there_are_as_many_made_retrieval_lessons_as_retrievals(level: str) -> None:
    # a on Mon 2, met again on the 9th and on the 16th: in retrieval-1 and retrieval-2.
    rules = {"retrieval": {"least": 7, "most": 7, "then": [{"least": 14, "most": 14}]}}
    data = scenario([teach("a", on=day(1, "Mon"))], weeks=4, per_week="Mon 1", unit=USUAL, **made("retrieval"))
    {"scenario": data, "unit": data["units"][0], "lesson": data["units"][0]["lessons"][0]}[level]["rules"] = rules
    assert aims(solved(data))["made lessons"] == 2


def test_a_lesson_of_another_unit_with_the_same_name_is_another() -> None:
    # q practises v/a. u/a, dense too, has its own practice made.
    u: Data = {"id": "u", "pattern": "usual", "lessons": [teach("a", load=4), practice("q", "v/a")]}
    v: Data = {"id": "v", "lessons": [teach("a", load=4)]}
    data = scenario(per_week="Mon 1, Thu 1", of_class={"units": ["u", "v"]}, units=[u, v], **made("practice"))
    assert "a-practice" in placed(solved(data))


def test_of_two_made_practices_that_serve_the_same_either_could_be_taken_away() -> None:
    # x, y, then both made practices, all within three periods: each serves both. With one of them all is well.
    lessons = [teach("x", load=4), teach("y", load=4)]
    per_week, rules = "Mon 1, Tue 1, Wed 1, Thu 1", {"practice_after_dense": 3}
    data = scenario(lessons, weeks=1, per_week=per_week, unit=USUAL, rules=rules, **made("practice"))
    taught = {"x": "1 Mon 1", "y": "1 Tue 1"}
    assert broken(data, **taught, **{"x-practice": "1 Wed 1"}) == []
    both = {"x-practice": "1 Wed 1", "y-practice": "1 Thu 1"}
    assert broken(data, **taught, **both) == [(3, refs("x x-practice")), (3, refs("y y-practice"))]


# -- what cannot be mended ---------------------------------------------------------------------------------------------


def test_new_content_delivered_between_leaves_no_practice_in_time() -> None:
    # x and y were taught one after the other, so new content lies between x and any practice.
    rules = {"practice_after_dense": {"within": 2, "no_new_content": True}}
    record = [told("x", "1 Mon 1"), told("y", "1 Tue 1")]
    lessons = [teach("x", load=4), teach("y"), practice("p", "x")]
    answer = solved(scenario(lessons, rules=rules, record=record, today=day(1, "Wed")))
    assert "p" in placed(answer)


def test_practice_too_long_for_the_only_period_of_its_window_comes_late() -> None:
    # x was taught on Mon 1; its practice is a double and should begin a period later, where Tuesday has a single one.
    rules = {"practice_after_dense": 1}
    lessons = [teach("x", load=4), practice("p", "x", length=2)]
    data = scenario(
        lessons, weeks=1, per_week="Mon 1, Tue 1, Wed 1-2", rules=rules, record=[told("x", "1 Mon 1")], today=day(1, "Tue")
    )
    answer = solved(data)
    assert placed(answer)["p"] == "1 Wed 1"
    assert [(breach.rule, breach.past) for breach in answer.verdict.breaches] == [(3, True)]


def test_a_pinned_date_leaves_practice_out_of_its_window() -> None:
    # Its window is Tuesday and it must lie on Thursday: not the fault of any lesson that is still to be placed.
    rules = {"practice_after_dense": 1}
    lessons = [teach("x", load=4), practice("p", "x", on=day(1, "Thu"))]
    data = scenario(lessons, per_week="Mon 1, Tue 1, Thu 1", rules=rules, record=[told("x", "1 Mon 1")], today=day(1, "Tue"))
    answer = solved(data)
    assert placed(answer)["p"] == "1 Thu 1"
    assert [(breach.rule, breach.past) for breach in answer.verdict.breaches] == [(3, True)]


def test_what_was_delivered_without_what_it_requires_no_longer_asks_for_it() -> None:
    # y was delivered on the first slot. x, optional, can no longer come before it; the one slot left is better used.
    lessons = [teach("x", optional=True), teach("y", requires="x"), teach("z", optional=True, priority=2)]
    data = scenario(lessons, weeks=1, record=[told("y", "1 Mon 1")], today=day(1, "Tue"))
    assert placed(solved(data)) == {"y": "1 Mon 1", "z": "1 Tue 1"}


HARD = [assessment("x", load=4), assessment("y", load=4)]
TAGGED = [teach("x", tags="talk"), teach("y", tags="talk")]
PLAIN = [teach("x"), teach("y")]
THREAD = [*PLAIN, teach("z", tags="talk", optional=True)]
TIMED = [teach("x", marking_minutes=30), teach("y", marking_minutes=30)]
REMOTE: Data = {"name": "remote"}
BOTH = [told("x", "1 Mon 1"), told("y", "1 Tue 1")]


@pytest.mark.parametrize(
    ("lessons", "more"),
    [
        (HARD, {"rules": {"consecutive_high_load": 1}}),
        (TAGGED, {"rules": {"caps": [{"tag": "talk", "most": 1, "of": 2}]}}),
        (THREAD, {"rules": {"threads": [{"tag": "talk", "least": 1, "of": 2}]}}),
        (PLAIN, {"rules": {"week": {"most_lessons": 1}}}),
        (PLAIN, {"rules": {"week": {"least_load": 20}}}),
        (PLAIN, {"rules": {"live_quotas": [{"most": 0}]}, "remote_spells": [REMOTE | {"on": day(1, "Mon"), "taught": "live"}]}),
        (PLAIN, {"rules": {"live_quotas": [{"least": 1}]}, "remote_spells": [REMOTE | {"on": day(1, "Wed")}]}),
        (TIMED, {"teachers": [{"name": "Ms Oak", "marking_a_week": 40}]}),
    ],
    ids=["runs", "caps", "threads", "most lessons", "least load", "most live", "least live", "marking"],
)  # fmt: skip
def test_counts_that_delivered_lessons_break_block_nothing(lessons: list[Data], more: Data) -> None:
    # x and y were delivered on Monday and Tuesday; Wednesday has gone by too. All is said and done in the first week.
    of_class = {"teacher": "Ms Oak"}
    solved(
        scenario(lessons, per_week="Mon 1, Tue 1, Wed 1", weeks=1, of_class=of_class, record=BOTH, today=day(1, "Thu"), **more)
    )


# -- what is spent -----------------------------------------------------------------------------------------------------


def test_a_lesson_taught_again_is_not_put_off_until_it_needs_no_practice() -> None:
    # b on Mon 1 needs another lesson; its practice was on Tue 1. Nothing else would practise it: b again comes next, not last.
    for lessons, more in (
        ([teach("b", load=4), practice("p", "b")], {}),
        ([teach("b", load=4)], {"unit": USUAL, **made("practice")}),
    ):
        name = "p" if not more else "b-practice"
        record = [told("b", "1 Mon 1", "needs another"), told(name, "1 Tue 1")]
        aims_ = ["left out", "carried over", "early finish"]
        answer = solved(scenario(lessons, weeks=4, record=record, today=day(1, "Wed"), aims=aims_, **more))
        assert placed(answer)["b-again"] == "2 Mon 1"
        assert aims(answer)["carried over"] == 0


def test_a_retrieval_delivered_before_a_lesson_is_taught_again_was_its_retrieval() -> None:
    record = [told("a", "1 Mon 1", "needs another"), told("r", "2 Mon 1")]
    lessons = [teach("a"), retrieval("r", "a")]
    aims_ = ["left out", "carried over", "early finish"]
    rules = {"retrieval": {"least": 7, "most": 7}}
    answer = solved(scenario(lessons, weeks=5, record=record, today=day(2, "Tue"), aims=aims_, rules=rules))
    assert placed(answer)["a-again"] == "2 Tue 1"
    assert aims(answer)["carried over"] == 0


def test_practice_that_is_skipped_is_asked_of_nobody() -> None:
    # x is dense and its only practice is skipped: it need not lie in the last period, where practice could be carried over.
    record = [told("p", what="skipped")]
    lessons = [teach("x", load=4), practice("p", "x"), teach("y", requires="x"), teach("z", requires="y")]
    answer = solved(scenario(lessons, weeks=3, record=record))
    assert placed(answer)["x"] < placed(answer)["y"] < placed(answer)["z"]
    assert aims(answer).get("carried over", 0) == 0 and answer.verdict.breaches == ()


@pytest.mark.parametrize("what", ["part-taught", "needs another"])
def test_what_remains_of_a_made_lesson_is_taught(what: str) -> None:
    record = [told("a", "1 Mon 1"), told("a-practice", "1 Tue 1", what)]
    data = scenario([teach("a", load=4)], unit=USUAL, record=record, today=day(1, "Wed"), **made("practice"))
    ending = {"part-taught": "rest", "needs another": "again"}[what]
    assert placed(solved(data))[f"a-practice-{ending}"] in ("2 Mon 1", "2 Tue 1")
