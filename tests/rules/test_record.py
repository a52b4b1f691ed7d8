"""What happened: delivered, part-taught, needing another, skipped and lost lessons, with ``today``; what cannot be mended."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json, answer_text, scenario_from_data, solve
from tests.builders import Data, a_class, assessment, day, feedback, impossible, practice, rows, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, hard, placed

LOOSE: Data = {"consecutive_high_load": "off", "practice_after_dense": "off"}


def entry(lesson: str, week: int = 1, weekday: str = "Mon", period: int = 1, of: str = "9B", **more: Any) -> Data:
    """Return one entry of the record: delivered unless ``what`` says otherwise."""
    return {"class": of, "lesson": lesson, "date": day(week, weekday), "period": period, **more}


def solved_past(data: Data) -> Data:
    """The best answer of a scenario in which something cannot be mended."""
    answer = solve(scenario_from_data(data))
    assert answer.status == "optimal", answer.status
    body = answer_json(answer)
    assert body["verdict"]["sound"]
    return body


def past_breaches(data: Data) -> list[tuple[int, list[str]]]:
    breaches = solved_past(data)["verdict"]["breaches"]
    assert all(each["past"] for each in breaches)
    return [(each["rule"], [one["lesson"] for one in each["lessons"]]) for each in breaches]


# -- where things lie --------------------------------------------------------------------------------------------------


def test_delivered_lessons_stay_and_others_come_on_or_after_today() -> None:
    # a was taught on Tuesday; b and c lie on Wednesday (today) and Thursday, though Monday is free.
    data = scenario([teach("a"), teach("b"), teach("c")], weeks=1, per_week=EVERY_DAY, unit={"in_order": True}, rules=LOOSE)
    data |= {"today": day(1, "Wed"), "record": [entry("a", weekday="Tue")]}
    answer = solved(data)
    assert placed(answer) == {"a": "1 Tue 1", "b": "1 Wed 1", "c": "1 Thu 1"}
    assert [row["delivered"] for row in rows(answer).values()] == [True, False, False]


def test_a_period_of_today_that_a_delivered_lesson_holds_is_taken() -> None:
    data = scenario([teach("a"), teach("b")], weeks=1, per_week="Mon 1-2", rules=LOOSE)
    data |= {"today": day(1, "Mon"), "record": [entry("a")]}
    assert placed(solved(data)) == {"a": "1 Mon 1", "b": "1 Mon 2"}


def test_what_is_left_of_a_part_taught_lesson_takes_its_place() -> None:
    # b requires a: it waits for the rest of a. The practice of a follows the rest, not the part.
    lessons = [teach("a", load=4), practice("p", "a"), teach("b", requires="a")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY) | {
        "today": day(1, "Tue"),
        "record": [entry("a", what="part-taught", load=4)],
    }
    answer = solved(data)
    assert placed(answer)["a"] == "1 Mon 1"
    order = list(placed(answer))
    assert order.index("a-rest") < order.index("b")
    assert order.index("p") == order.index("a-rest") + 1
    assert rows(answer)["a-rest"]["title"] == "a (rest)"


def test_a_lesson_that_needs_another() -> None:
    data = scenario([teach("a", title="Rain"), teach("b", requires="a")], weeks=1, per_week=EVERY_DAY)
    data |= {"today": day(1, "Tue"), "record": [entry("a", what="needs another", title="Rain once more", load=1)]}
    row = rows(solved(data))
    assert list(row) == ["a", "a-again", "b"]
    assert (row["a-again"]["title"], row["a-again"]["load"]) == ("Rain once more", 1)


def test_a_rest_may_be_delivered_too() -> None:
    data = scenario([teach("a"), teach("b", requires="a")], weeks=1, per_week=EVERY_DAY)
    data |= {"today": day(1, "Wed"), "record": [entry("a", what="part-taught"), entry("a-rest", weekday="Tue")]}
    assert placed(solved(data)) == {"a": "1 Mon 1", "a-rest": "1 Tue 1", "b": "1 Wed 1"}


def test_a_skipped_lesson_is_neither_placed_nor_left_out() -> None:
    lessons = [teach("a", load=4), practice("p", "a", optional=True), teach("b", requires="a"), teach("c", optional=True)]
    skipped = [{"class": "9B", "lesson": name, "what": "skipped"} for name in ("a", "c")]
    body = answer_json(solved(scenario(lessons, weeks=1, per_week="Mon 1", record=skipped)))
    assert [row["lesson"] for row in body["lessons"]] == ["b"]
    assert [each["lesson"] for each in body["skipped"]] == ["a", "c"]
    assert [each["lesson"] for each in body["left_out"]] == ["p"]


def test_a_lost_period_does_not_exist() -> None:
    data = scenario([teach("a"), teach("b")], weeks=1, per_week="Mon 1, Tue 1, Wed 1", unit={"in_order": True})
    data |= {"record": [entry("b", weekday="Tue", what="lost")]}
    assert placed(solved(data)) == {"a": "1 Mon 1", "b": "1 Wed 1"}
    impossible(data | {"term": {"first": day(1, "Mon"), "last": day(1, "Tue")}})


def test_a_lesson_delivered_before_the_first_period_has_a_date_only() -> None:
    # Answered at least 3 school days later; the term begins on Monday: Wednesday is the third school day in it.
    data = scenario([assessment("t"), feedback("f", "t"), teach("b", requires="t")], weeks=1, per_week=EVERY_DAY)
    data |= {"record": [{"class": "9B", "lesson": "t", "date": "2026-10-22"}], "today": day(1, "Mon")}
    found = placed(solved(data))
    assert found["f"] == "1 Wed 1" and "t" not in found


# -- rules that reach back ---------------------------------------------------------------------------------------------


def test_a_run_with_delivered_lessons_goes_on() -> None:
    # Two high-load lessons were taught on Monday and Tuesday: on Wednesday no third may follow.
    data = scenario([hard("a"), hard("b"), hard("c")], weeks=1, per_week=EVERY_DAY)
    data |= {"today": day(1, "Wed"), "record": [entry("a"), entry("b", weekday="Tue")]}
    assert placed(solved(data))["c"] in ("1 Thu 1", "1 Fri 1")


def test_a_run_that_was_delivered_is_reported_and_blocks_nothing() -> None:
    data = scenario([hard(name) for name in "abcd"], weeks=1, per_week=EVERY_DAY)
    delivered = [entry(name, weekday=weekday) for name, weekday in zip("abc", ("Mon", "Tue", "Wed"), strict=True)]
    data |= {"today": day(1, "Thu"), "record": delivered}
    assert past_breaches(data) == [(2, ["a", "b", "c"])]
    # The fourth cannot follow on Thursday: b, c and it would be a run of three that can be avoided.
    assert next(row["date"] for row in solved_past(data)["lessons"] if row["lesson"] == "d") == day(1, "Fri")


@pytest.mark.parametrize(
    ("lessons", "rules", "record", "today", "expected"),
    [
        # a was taught after b, which requires it.
        ([teach("a"), teach("b", requires="a")], {}, [entry("b"), entry("a", weekday="Tue")], "Wed", [(1, ["a", "b"])]),
        # b was taught, a is still to come.
        ([teach("a"), teach("b", requires="a")], {}, [entry("b")], "Tue", [(1, ["a", "b"])]),
        # At most one day later, and today is two days later.
        (
            [teach("a"), teach("b", requires=[{"lesson": "a", "most_days": 1}])], {}, [entry("a")], "Wed", [(1, ["a", "b"])],
        ),
        # Practised straight after, and the period straight after has gone by.
        ([teach("a", load=4), practice("p", "a")], {}, [entry("a")], "Wed", [(3, ["a"])]),
        # Feedback at most 3 school days later, and today is the fourth.
        (
            [assessment("t"), feedback("f", "t")], {"marking": {"least": 1, "most": 3}}, [entry("t")], "Fri", [(6, ["t", "f"])],
        ),
        # Not after Tuesday, and it is Wednesday.
        ([teach("a", not_after=day(1, "Tue"))], {}, [], "Wed", [(7, ["a"])]),
        # Pinned to a date that has gone by.
        ([teach("a", on=day(1, "Mon"), period=1)], {}, [], "Wed", [(7, ["a"])]),
        # At least two lessons a week, and one period is left.
        ([teach("a")], {"week": {"least_lessons": 2}}, [], "Fri", [(9, ["a"])]),
    ],
)  # fmt: skip
def test_what_cannot_be_mended_is_reported_and_blocks_nothing(
    lessons: list[Data], rules: Data, record: list[Data], today: str, expected: list[tuple[int, list[str]]]
) -> None:
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=rules) | {"record": record, "today": day(1, today)}
    assert past_breaches(data) == expected


def test_what_can_be_mended_still_binds() -> None:
    # The period straight after the dense lesson is today's: there the practice must lie.
    data = scenario([teach("a", load=4), practice("p", "a"), teach("b")], weeks=1, per_week=EVERY_DAY)
    data |= {"record": [entry("a")], "today": day(1, "Tue")}
    assert placed(solved(data))["p"] == "1 Tue 1"


def test_a_retrieval_whose_window_has_gone_by_is_late() -> None:
    # Taught on Monday, to be met 1 to 2 days later; it is Thursday: the first date that is left.
    lessons = [teach("a"), {"id": "r", "kind": "retrieval", "revisits": "a", "load": 1}]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules={"retrieval": {"least": 1, "most": 2}})
    data |= {"record": [entry("a")], "today": day(1, "Thu")}
    answer = solved(data)
    assert placed(answer)["r"] == "1 Thu 1"
    assert [each["lesson"] for each in answer_json(answer)["late"]] == ["a"]


def test_a_retrieval_that_was_delivered_in_time_counts() -> None:
    lessons = [teach("a"), {"id": "r", "kind": "retrieval", "revisits": "a", "load": 1}, teach("b")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules={"retrieval": {"least": 1, "most": 2}})
    data |= {"record": [entry("a"), entry("r", weekday="Tue")], "today": day(1, "Thu")}
    body = answer_json(solved(data))
    assert body["late"] == body["carried_over"] == []


def test_what_was_met_again_can_be_recorded() -> None:
    lessons = [teach("a"), teach("b"), teach("c")]
    rules = {"retrieval": {"least": 1, "most": 2, "chosen": True}, "starters": 1}
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=rules)
    data |= {"record": [entry("a"), entry("b", weekday="Tue", revisits=["a"])], "today": day(1, "Wed")}
    row = rows(solved(data))
    assert row["b"]["revisits"] == [{"unit": "u", "lesson": "a", "days": 1, "how": "starter"}]
    # c meets b on Thursday, 2 days on: on Wednesday c itself would have to be met by Friday, and nothing follows it.
    assert row["c"]["revisits"] == [{"unit": "u", "lesson": "b", "days": 2, "how": "starter"}]


# -- parallel classes --------------------------------------------------------------------------------------------------


def test_how_far_parallel_classes_have_drifted() -> None:
    # 9B has had a and b, 9C only a, two days later than 9B.
    classes = [a_class("9B", per_week=EVERY_DAY), a_class("9C", per_week=EVERY_DAY)]
    data = scenario([teach("a"), teach("b"), teach("c")], classes=classes, weeks=1) | {
        "record": [entry("a"), entry("b", weekday="Tue"), entry("a", weekday="Wed", of="9C")],
        "today": day(1, "Thu"),
    }
    assert answer_json(solved(data))["drift"] == [
        {"class": "9B", "unit": "u", "lesson": "b", "days": 0, "lessons": 0},
        {"class": "9C", "unit": "u", "lesson": "a", "days": 2, "lessons": 1},
    ]


def drifted(*record: Data) -> tuple[list[tuple[int, int]], list[str]]:
    """Lessons and days that 9B and 9C are behind in a unit of four lessons, and what is said of it."""
    classes = [a_class("9B", per_week=EVERY_DAY), a_class("9C", per_week=EVERY_DAY)]
    lessons = [teach(name, load=1) for name in "abcd"]
    answer = solved(scenario(lessons, classes=classes, weeks=3) | {"record": list(record), "today": day(2, "Wed")})
    told = [line for line in answer_text(answer).splitlines() if line.startswith("Parallel classes")]
    return [(each["lessons"], each["days"]) for each in answer_json(answer)["drift"]], told


def test_what_remains_of_a_lesson_is_not_one_lesson_more() -> None:
    # Both have had a; the rest that 9B had of it, three days later, is no second lesson.
    rest = (entry("a", what="part-taught"), entry("a-rest", weekday="Thu"))
    assert drifted(*rest, entry("a", of="9C")) == ([(0, 0), (0, 0)], [])
    again = (entry("a", what="needs another"), entry("a-again", weekday="Thu"))
    assert drifted(*again, entry("a", of="9C")) == ([(0, 0), (0, 0)], [])


def test_a_lesson_that_is_skipped_is_no_arrear() -> None:
    skipped = {"class": "9C", "lesson": "b", "what": "skipped"}
    both = [entry("a"), entry("a", of="9C"), skipped]
    assert drifted(*both) == ([(0, 0), (0, 0)], [])
    assert drifted(*both, entry("b", weekday="Tue")) == ([(0, 0), (0, 0)], [])
    # c, which 9C has still to be taught, is one.
    behind = drifted(*both, entry("b", weekday="Tue"), entry("c", weekday="Wed"))
    assert behind == ([(0, 0), (1, 0)], ["Parallel classes, u: 9C is 1 lesson behind 9B"])
    # Nor is 9B behind for want of what 9C skipped.
    before = drifted(*both, entry("c", weekday="Thu"), entry("c", weekday="Thu", of="9C"), entry("d", weekday="Fri", of="9C"))
    assert before == ([(1, 0), (0, 0)], ["Parallel classes, u: 9B is 1 lesson behind 9C"])


def test_what_is_said_of_drift_names_the_lesson_and_the_classes() -> None:
    # a a day later, b six days later: from Tuesday to Monday.
    late = (entry("a", weekday="Tue", of="9C"), entry("b", 2, "Mon", of="9C"))
    assert drifted(entry("a"), entry("b", weekday="Tue"), entry("c", weekday="Wed"), *late) == (
        [(0, 0), (1, 6)],
        ['Parallel classes, u: 9C is 1 lesson behind 9B and had "b" 6 days later than 9B'],
    )


def test_what_classes_were_taught_before_the_term_is_no_unit_that_they_share() -> None:
    topics = [{"id": "old", "date": "2026-10-05"}, {"id": "older", "date": "2026-10-01"}]
    classes = [a_class("9B", taught_before=topics), a_class("9C", taught_before=[topics[0] | {"date": "2026-10-07"}])]
    assert answer_json(solved(scenario([teach("a")], classes=classes)))["drift"] == []


def test_classes_that_are_out_of_step_already() -> None:
    # At most one day apart; 9B had it on Monday and it is Wednesday.
    classes = [a_class("9B", per_week=EVERY_DAY), a_class("9C", per_week=EVERY_DAY)]
    data = scenario([teach("a")], classes=classes, weeks=1, rules={"in_step": 1})
    data |= {"record": [entry("a")], "today": day(1, "Wed")}
    assert past_breaches(data) == [(11, ["a", "a"])]


def test_the_order_of_a_unit_goes_on_past_a_lesson_taught_too_soon() -> None:
    # b was taught before a; c still comes after a.
    lessons = [teach("a", not_before=day(1, "Wed")), teach("b"), teach("c")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, unit={"in_order": True})
    data |= {"record": [entry("b")], "today": day(1, "Tue")}
    body = solved_past(data)
    assert [row["lesson"] for row in body["lessons"]] == ["b", "a", "c"]
    assert past_breaches(data) == [(1, ["a", "b"])]


def test_old_topics_that_are_due_at_once_are_late_one_after_the_other() -> None:
    # Three topics whose windows have gone by, and one place in each starter: the first three dates meet one each.
    rules = {"retrieval": {"least": 5, "most": 10, "chosen": True}}
    topics = [{"id": f"old-{number}", "date": "2026-09-01", "rules": rules} for number in range(3)]
    lessons = [assessment(f"x{number}") for number in range(4)]
    data = scenario(lessons, weeks=4, per_week="Mon 1", rules={"starters": 1}, of_class={"taught_before": topics})
    body = answer_json(solved(data))
    assert [row["date"] for row in body["lessons"] if row["revisits"]] == [day(week, "Mon") for week in (1, 2, 3)]
    assert len(body["late"]) == 3


# -- in text -----------------------------------------------------------------------------------------------------------


def test_text_tells_what_is_past_and_what_was_taught_in_part() -> None:
    # Monday a in part, Tuesday nothing, today Wednesday: the rest of a on Wednesday, or later; b was taught whole.
    # c-rest of unit v is a lesson of its own: c was taught whole.
    units = [
        {"id": "u", "lessons": [teach("a"), teach("b")]},
        {"id": "v", "lessons": [teach("c"), teach("c-rest", requires="c")]},
    ]
    data = scenario(
        weeks=1, units=units, classes=[a_class(per_week="Mon 1-3, Tue 1, Wed 1, Thu 1, Fri 1", units=["u", "v"])], rules=LOOSE
    )
    record = [entry("a", what="part-taught"), entry("b", period=2), entry("c", period=3)]
    answer = solved(data | {"today": day(1, "Wed"), "record": record})
    lines = [line.split() for line in answer_text(answer).splitlines()]
    told = [line[-2:] for line in lines if line and line[-1] in ("(taught)", "(part-taught)")]
    assert told == [["a", "(part-taught)"], ["b", "(taught)"], ["c", "(taught)"]]
    empty = [line for line in lines if line and line[-1] in ("past", "spare")]
    # Seven periods, three taught, two to come (the rest of a, and c-rest): Tuesday is past, one of the three others is spare.
    assert [line[-1] for line in empty] == ["past", "spare"]
    assert empty[0][0] == "Tue"


def test_text_without_today_has_no_past() -> None:
    assert "past" not in answer_text(solved(scenario([teach("a")], weeks=1)))
