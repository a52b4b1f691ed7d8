"""Wishes and what happened: what delivered lessons and ``today`` leave ungranted counts, and is no breach."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json, scenario_from_data, solve
from tests.builders import Data, a_class, assessment, day, feedback, scenario, teach
from tests.rules.helpers import EVERY_DAY, hard

AIMS = ["wishes", "early finish"]


def delivered(lesson: str, weekday: str = "Mon", week: int = 1, period: int = 1, of: str = "9B") -> Data:
    """Return an entry of the record."""
    return {"class": of, "lesson": lesson, "date": day(week, weekday), "period": period}


def before_term(lesson: str) -> Data:
    """Return an entry of a lesson taught on the Friday before the first week."""
    return {"class": "9B", "lesson": lesson, "date": day(0, "Fri")}


def costs(lessons: list[Data], *record: Data, today: str = "Wed", weeks: int = 1, **more: Any) -> dict[int, int]:
    """What wishes cost in the best sequence by rule, for the referee and the solver alike; no rule is broken but by the past."""
    stated: Data = {"per_week": EVERY_DAY, "aims": AIMS, **more}
    data = scenario(lessons, weeks=weeks, **stated)
    answer = solve(scenario_from_data(data | {"record": list(record), "today": day(1, today)}))
    assert answer.status == "optimal", answer.status
    body = answer_json(answer)
    verdict = body["verdict"]
    assert verdict["sound"]
    found: dict[int, int] = {}
    for wish in verdict["wishes"]:
        found[wish["rule"]] = found.get(wish["rule"], 0) + wish["units"] * wish["weight"]
    (wishes,) = (aim for aim in body["aims"] if aim["aim"] == "wishes")
    assert wishes["proven"] and wishes["value"] == wishes["bound"] == sum(found.values())
    return found


def after_a(**window: Any) -> list[Data]:
    return [teach("a"), teach("b", requires={"lesson": "a", "wish": 2, **window})]


@pytest.mark.parametrize(
    ("window", "units"),
    [({"most_days": 1}, 1), ({"most_slots": 1}, 1), ({"least_days": 9}, 5), ({"least_weeks": 1}, 1), ({"most_days": 2}, 0)],
)
def test_a_window_after_a_delivered_lesson(window: Data, units: int) -> None:
    # a was taught on Monday. b comes on Wednesday at the earliest and on Friday at the latest.
    assert costs(after_a(**window), delivered("a")) == ({1: 2 * units} if units else {})


def test_only_days_count_from_what_was_taught_before_the_first_period() -> None:
    # From Friday to Wednesday 5 days, 2 too many; periods and weeks say nothing.
    assert costs(after_a(most_days=3, most_slots=1, most_weeks=0), before_term("a")) == {1: 4}


def test_a_window_between_two_delivered_lessons() -> None:
    assert costs(after_a(most_days=0), delivered("a"), delivered("b", "Tue")) == {1: 2}


def test_a_window_of_lessons_delivered_the_other_way_round() -> None:
    # b was taught on Tuesday, a follows on Wednesday or later: -1 days at best, and 3 short of 2.
    assert costs(after_a(least_days=2), delivered("b", "Tue")) == {1: 6}


def marked(**numbers: int) -> list[Data]:
    return [assessment("a", load=1, rules={"marking": {"wish": 1, **numbers}}), feedback("f", "a")]


def test_feedback_on_a_delivered_lesson() -> None:
    # From Monday to Wednesday 2 school days; on Friday 4.
    assert costs(marked(least=0, most=1), delivered("a")) == {6: 1}
    assert costs(marked(least=6), delivered("a")) == {6: 2}


def test_feedback_on_what_was_taught_before_the_first_period() -> None:
    # Monday to Wednesday are 3 school days.
    assert costs(marked(least=0, most=1), before_term("a")) == {6: 2}


def test_feedback_delivered_first_comes_no_school_days_later() -> None:
    assert costs(marked(least=2), delivered("f")) == {6: 2}


def in_step(*record: Data) -> dict[int, int]:
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY)]
    return costs([teach("a")], *record, classes=classes, rules={"in_step": {"days": 1, "wish": 3}})


def test_in_step_with_a_delivered_lesson() -> None:
    # Monday, and Wednesday at the earliest: 1 day too many.
    assert in_step(delivered("a")) == {11: 3}
    assert in_step(delivered("a", of="9C")) == {11: 3}


def test_in_step_with_what_was_taught_before_the_first_period() -> None:
    # Friday, and Wednesday at the earliest: 4 days too many.
    assert in_step(before_term("a")) == {11: 12}


def test_in_step_of_two_delivered_lessons() -> None:
    assert in_step(before_term("a"), delivered("a", of="9C")) == {11: 6}


def test_runs_of_delivered_lessons_are_lengthened_at_their_cost() -> None:
    # Monday and Tuesday cost 1; there is no period on Wednesday, so the third is one more only because it follows.
    lessons = [hard("a"), hard("b"), hard("c")]
    rules = {"consecutive_high_load": {"most": 1, "wish": 1}}
    record = (delivered("a"), delivered("b", "Tue"))
    assert costs(lessons, *record, rules=rules, per_week="Mon 1, Tue 1, Thu 1") == {2: 2}
    assert costs(lessons, *record, rules=rules) == {2: 1}


def test_a_hard_cap_next_to_delivered_lessons_that_wish_theirs() -> None:
    # a and b cost 4 whatever comes; c must not follow b, so that it comes on Thursday or not at all.
    lessons = [hard("a"), hard("b"), hard("c", optional=True, rules={"consecutive_high_load": {"wish": "off"}})]
    stated: Data = {"rules": {"consecutive_high_load": {"most": 1, "wish": 4}}, "aims": ["left out", *AIMS]}
    record = (delivered("a"), delivered("b", "Tue"))
    assert costs(lessons, *record, **stated) == {2: 4}
    assert costs(lessons, *record, per_week="Mon 1, Tue 1, Fri 1", **stated) == {2: 4}


def test_dates_that_have_gone_by_cost_their_days() -> None:
    rules = {"dates": {"wish": 2}}
    assert costs([teach("a", on=day(1, "Mon"))], rules=rules) == {7: 4}
    # Delivered on another day than wished, it costs as much.
    assert costs([teach("a", on=day(1, "Tue"))], delivered("a"), rules=rules) == {7: 2}


def test_weeks_and_caps_count_delivered_lessons() -> None:
    lessons = [teach("a", load=1, tags=["x"]), teach("b", load=1, tags=["x"])]
    record = (delivered("a"), delivered("b", "Tue"))
    assert costs(lessons, *record, rules={"week": {"most_lessons": 1, "wish": 2}}) == {9: 2}
    assert costs(lessons, *record, rules={"caps": [{"tag": "x", "most": 1, "of": 2, "wish": 3}]}) == {2: 3}


def test_a_teachers_week_counts_delivered_lessons() -> None:
    lessons = [assessment("a", load=1, marking_minutes=60), assessment("b", load=1, marking_minutes=10)]
    limits = [{"name": "Ms Oak", "marking_a_week": 20, "wish": 1}]
    classes = [a_class("9B", EVERY_DAY, teacher="Ms Oak")]
    # 70 minutes in one week are 50 too many, two begun half hours; in the next week b costs nothing.
    assert costs(lessons, delivered("a"), classes=classes, teachers=limits) == {10: 2}
    assert costs(lessons, delivered("a"), weeks=2, classes=classes, teachers=limits) == {10: 2}
