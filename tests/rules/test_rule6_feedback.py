"""Rule 6, feedback: at least t school days after the lesson it answers (3 unless stated), and at most m when stated."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, assessment, day, feedback, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, forbidden, placed

TEST_AND_F = [assessment("test"), feedback("f", "test")]


def marking(least: int | None = None, most: int | None = None, **more: Any) -> Data:
    numbers = {"least": least, "most": most}
    return {"marking": {**{key: value for key, value in numbers.items() if value is not None}, **more}}


@pytest.mark.parametrize(
    ("test", "just_allowed", "just_forbidden"),
    [
        ("1 Mon 1", "1 Thu 1", "1 Wed 1"),  # Tue Wed Thu
        ("1 Tue 1", "1 Fri 1", "1 Thu 1"),  # Wed Thu Fri
        ("1 Wed 1", "2 Mon 1", "1 Fri 1"),  # Thu Fri Mon
        ("1 Fri 1", "2 Wed 1", "2 Tue 1"),  # Mon Tue Wed
        ("2 Tue 1", "2 Fri 1", "2 Thu 1"),  # the last slot
    ],
)
def test_3_school_days_unless_stated(test: str, just_allowed: str, just_forbidden: str) -> None:
    data = scenario(TEST_AND_F, weeks=2, per_week=EVERY_DAY)
    allowed(data, test=test, f=just_allowed)
    forbidden(data, 6, "f test", test=test, f=just_forbidden)


def test_too_late_for_any_feedback() -> None:
    # From Wednesday of the last week only Thu and Fri follow.
    impossible(scenario([assessment("test", on=day(2, "Wed")), TEST_AND_F[1]], weeks=2, per_week=EVERY_DAY))


def test_the_only_pair_of_periods() -> None:
    # Mon and Thu: 3 school days from Mon to Thu. The test has nowhere else to go.
    assert placed(solved(scenario(TEST_AND_F, weeks=1, per_week="Mon 1, Thu 1"))) == {"test": "1 Mon 1", "f": "1 Thu 1"}
    impossible(scenario(TEST_AND_F, weeks=1, per_week="Mon 1, Wed 1"))


def test_none_on_the_same_day_unless_no_time_is_needed() -> None:
    same_day = {"weeks": 1, "per_week": "Mon 1-2"}
    allowed(scenario(TEST_AND_F, **same_day, rules=marking(0)), test="1 Mon 1", f="1 Mon 2")
    forbidden(scenario(TEST_AND_F, **same_day, rules=marking(1)), 6, "f test", test="1 Mon 1", f="1 Mon 2")
    # And never before.
    forbidden(scenario(TEST_AND_F, **same_day, rules=marking(0)), 6, "f test", f="1 Mon 1", test="1 Mon 2")


def test_at_most() -> None:
    # Mon to Fri 4 school days, to Mon of week 2 it is 5.
    data = scenario(TEST_AND_F, weeks=2, per_week=EVERY_DAY, rules=marking(most=4))
    allowed(data, test="1 Mon 1", f="1 Thu 1")
    allowed(data, test="1 Mon 1", f="1 Fri 1")
    forbidden(data, 6, "f test", test="1 Mon 1", f="2 Mon 1")
    exactly = scenario(TEST_AND_F, weeks=2, per_week=EVERY_DAY, rules=marking(least=4, most=4))
    allowed(exactly, test="1 Mon 1", f="1 Fri 1")
    forbidden(exactly, 6, "f test", test="1 Mon 1", f="1 Thu 1")


# -- which days are school days ----------------------------------------------------------------------------------------


def over(**calendar: Any) -> Data:
    return scenario(TEST_AND_F, weeks=3, per_week=EVERY_DAY, **calendar)


def test_a_holiday_does_not_count() -> None:
    # Thu 5; week 2 is holiday: Fri, Mon, Tue of week 3.
    data = over(holidays=[{"name": "half term", "first": day(2, "Mon"), "last": day(2, "Sun")}])
    allowed(data, test="1 Thu 1", f="3 Tue 1")
    forbidden(data, 6, "f test", test="1 Thu 1", f="3 Mon 1")


def test_a_day_closed_to_the_whole_school_does_not_count() -> None:
    # Mon; Tue closed: Wed, Thu, Fri.
    data = over(closures=[{"name": "storm", "on": day(1, "Tue")}])
    allowed(data, test="1 Mon 1", f="1 Fri 1")
    forbidden(data, 6, "f test", test="1 Mon 1", f="1 Thu 1")


@pytest.mark.parametrize("part", [{"classes": "9B"}, {"classes": ["9B", "9C"]}, {"periods": 1}])
def test_a_day_closed_in_part_counts(part: Data) -> None:
    # Mon; Tue without this class's lesson is a school day all the same: Tue, Wed, Thu.
    classes = [a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY, units="v")]
    units = [{"id": "u", "lessons": TEST_AND_F}, {"id": "v", "lessons": [teach("v", optional=True)]}]
    data = over(classes=classes, units=units, closures=[{"name": "trip", "on": day(1, "Tue"), **part}])
    allowed(data, test="1 Mon 1", f="1 Thu 1")
    forbidden(data, 6, "f test", test="1 Mon 1", f="1 Wed 1")


def test_remote_days_and_days_without_a_lesson_count() -> None:
    spell = [{"name": "remote", "on": [day(1, "Tue"), day(1, "Wed")]}]
    allowed(over(remote_spells=spell), test="1 Mon 1", f="1 Thu 1")
    allowed(scenario(TEST_AND_F, weeks=1, per_week="Mon 1, Thu 1"), test="1 Mon 1", f="1 Thu 1")


def test_a_saturday_does_not_count() -> None:
    # A test on Saturday: Mon, Tue, Wed. A test on Wednesday: Thu, Fri are two; Saturday adds none.
    data = scenario(TEST_AND_F, weeks=2, per_week="Mon 1, Tue 1, Wed 1, Sat 1")
    allowed(data, test="1 Sat 1", f="2 Wed 1")
    forbidden(data, 6, "f test", test="1 Sat 1", f="2 Tue 1")
    forbidden(data, 6, "f test", test="1 Wed 1", f="1 Sat 1")
    allowed(data, test="1 Tue 1", f="1 Sat 1")  # Wed Thu Fri, and Saturday comes after them


# -- which lessons -----------------------------------------------------------------------------------------------------


def test_after_every_lesson_it_answers() -> None:
    lessons = [assessment("test"), assessment("essay"), feedback("f", ["test", "essay"])]
    data = scenario(lessons, weeks=2, per_week=EVERY_DAY)
    allowed(data, test="1 Mon 1", essay="1 Tue 1", f="1 Fri 1")
    forbidden(data, 6, "essay f", test="1 Mon 1", essay="1 Tue 1", f="1 Thu 1")


def test_the_numbers_are_those_of_the_lesson_answered() -> None:
    quick = [assessment("test", rules=marking(1)), feedback("f", "test", rules=marking(4))]
    allowed(scenario(quick, weeks=1, per_week=EVERY_DAY), test="1 Mon 1", f="1 Tue 1")
    slow = [assessment("test", rules=marking(4)), feedback("f", "test", rules=marking(1))]
    forbidden(scenario(slow, weeks=1, per_week=EVERY_DAY), 6, "f test", test="1 Mon 1", f="1 Thu 1")


def test_off_leaves_the_order() -> None:
    lessons = [assessment("test", rules={"marking": "off"}), feedback("f", "test")]
    data = scenario(lessons, weeks=1)
    assert placed(solved(data)) == {"test": "1 Mon 1", "f": "1 Tue 1"}
    forbidden(data, 6, "f test", f="1 Mon 1", test="1 Tue 1")


def test_a_left_out_assessment_is_not_waited_for() -> None:
    # One period: the test (1) goes, feedback (5) stays.
    lessons = [assessment("test", optional=True), feedback("f", "test", optional=True, priority=5)]
    assert placed(solved(scenario(lessons, weeks=1, per_week="Mon 1"))) == {"f": "1 Mon 1"}
