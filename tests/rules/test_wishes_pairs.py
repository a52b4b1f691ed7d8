"""Wishes about how far lessons lie apart: windows of prerequisites (rule 1), feedback (rule 6), in step (rule 11)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, aims, assessment, day, feedback, impossible, practice, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, broken, forbidden, judged, placed, row, wish_cost

# -- windows of prerequisites ------------------------------------------------------------------------------------------


def window(weeks: int = 2, per_week: str = EVERY_DAY, **numbers: Any) -> Data:
    """b requires a, with a window that is a wish."""
    lessons = [teach("a"), teach("b", requires={"lesson": "a", "wish": 1, **numbers})]
    return scenario(lessons, weeks=weeks, per_week=per_week)


@pytest.mark.parametrize(
    ("numbers", "a", "b", "units"),
    [
        # Days: Monday to Thursday is 3 days.
        ({"most_days": 3}, "1 Mon 1", "1 Thu 1", 0),
        ({"most_days": 2}, "1 Mon 1", "1 Thu 1", 1),
        ({"most_days": 0}, "1 Mon 1", "1 Thu 1", 3),
        ({"least_days": 3}, "1 Mon 1", "1 Thu 1", 0),
        ({"least_days": 5}, "1 Mon 1", "1 Thu 1", 2),
        # Over a weekend: Friday to Monday is 3 days, and Monday to Friday of the next week 11.
        ({"most_days": 1}, "1 Fri 1", "2 Mon 1", 2),
        ({"most_days": 4}, "1 Mon 1", "2 Fri 1", 7),
        ({"least_days": 30}, "1 Mon 1", "2 Fri 1", 19),
        # Periods: Friday to Monday is 1, Monday to Friday of the next week 9.
        ({"most_slots": 1}, "1 Fri 1", "2 Mon 1", 0),
        ({"most_slots": 1}, "1 Mon 1", "2 Fri 1", 8),
        ({"least_slots": 4}, "1 Fri 1", "2 Tue 1", 2),
        # School weeks.
        ({"most_weeks": 0}, "1 Mon 1", "1 Fri 1", 0),
        ({"most_weeks": 0}, "1 Fri 1", "2 Mon 1", 1),
        ({"least_weeks": 2}, "1 Mon 1", "1 Tue 1", 2),
        # Each of the three by itself: 1 day too many, 2 periods too few, 1 week too few.
        ({"most_days": 2, "least_slots": 5, "least_weeks": 1}, "1 Mon 1", "1 Thu 1", 4),
    ],
)
def test_units_outside_the_window(numbers: Data, a: str, b: str, units: int) -> None:
    assert wish_cost(window(**numbers), a=a, b=b) == units


def test_the_weight_multiplies_every_unit() -> None:
    assert wish_cost(window(most_days=1, wish=10), a="1 Mon 1", b="1 Thu 1") == 20


def test_periods_are_counted_from_the_end_of_a_double() -> None:
    # a holds Mon 1-2. Tue 1 is 1 period after its end.
    lessons = [teach("a", length=2), teach("b", requires={"lesson": "a", "least_slots": 3, "wish": 1})]
    data = scenario(lessons, weeks=1, per_week="Mon 1-2, Tue 1, Wed 1")
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1") == 2
    assert wish_cost(data, a="1 Mon 1", b="1 Wed 1") == 1


def test_the_order_stays_hard() -> None:
    forbidden(window(most_days=3, wish=1), 1, "a b", a="1 Tue 1", b="1 Mon 1")
    forbidden(window(least_days=1), 1, "a b", a="1 Tue 1", b="1 Mon 1")
    # And so does that b is left out when a is.
    lessons = [teach("a", optional=True), teach("b", requires={"lesson": "a", "most_days": 1, "wish": 1}, optional=True)]
    assert broken(scenario(lessons, weeks=1), b="1 Mon 1") == [(1, ["u/a", "u/b"])]


def test_a_wished_window_does_not_keep_a_lesson_from_its_place() -> None:
    # At most 1 day later, but b can only be on Friday, and a only on Monday: 3 days beyond.
    lessons = [
        teach("a", on=day(1, "Mon")),
        teach("b", on=day(1, "Fri"), requires={"lesson": "a", "most_days": 1, "wish": 1}),
    ]
    assert aims(solved(scenario(lessons, weeks=1, per_week=EVERY_DAY)))["wishes"] == 3
    lessons[1]["requires"] = {"lesson": "a", "most_days": 1}
    impossible(scenario(lessons, weeks=1, per_week=EVERY_DAY))


def test_the_solver_comes_as_near_as_it_can() -> None:
    # Mon, Tue, Fri; a is on Monday. b wishes at least 3 days, c at most 2, after a; both cannot be on Friday or Tuesday.
    lessons = [
        teach("a", on=day(1, "Mon")),
        teach("b", requires={"lesson": "a", "least_days": 3, "wish": 1}),
        teach("c", requires={"lesson": "a", "most_days": 2, "wish": 1}),
    ]
    answer = solved(scenario(lessons, weeks=1, per_week="Mon 1, Tue 1, Fri 1"))
    assert placed(answer) == {"a": "1 Mon 1", "c": "1 Tue 1", "b": "1 Fri 1"}
    assert aims(answer)["wishes"] == 0


def test_lessons_that_only_a_wish_tells_apart() -> None:
    # b and c are alike but for their wishes about a: whichever is listed first, the one that wishes to be soon is.
    for names in ("bc", "cb"):
        lessons = [teach("a"), *(teach(name, requires={"lesson": "a", "most_days": 9, "wish": 1}) for name in names)]
        lessons[2]["requires"] = {"lesson": "a", "most_days": 1, "wish": 1}
        answer = solved(scenario(lessons, weeks=1, per_week="Mon 1, Tue 1, Fri 1"))
        assert placed(answer) == {"a": "1 Mon 1", names[1]: "1 Tue 1", names[0]: "1 Fri 1"}


def test_prerequisites_off_voids_the_wish() -> None:
    assert wish_cost(window(most_days=0) | {"rules": {"prerequisites": "off"}}, a="1 Mon 1", b="1 Thu 1") == 0


# -- feedback ----------------------------------------------------------------------------------------------------------

TEST_AND_F = [assessment("test"), feedback("f", "test")]


def marked(**numbers: Any) -> Data:
    return {"marking": {"wish": 1, **numbers}}


@pytest.mark.parametrize(
    ("numbers", "test", "f", "units"),
    [
        ({}, "1 Mon 1", "1 Thu 1", 0),  # Tue Wed Thu: the 3 school days that hold unless stated
        ({}, "1 Mon 1", "1 Tue 1", 2),
        ({}, "1 Fri 1", "2 Mon 1", 2),  # a weekend has no school day
        ({"least": 0}, "1 Mon 1", "1 Tue 1", 0),
        ({"least": 1, "most": 2}, "1 Mon 1", "1 Fri 1", 2),
        ({"least": 1, "most": 2}, "1 Mon 1", "2 Fri 1", 7),
        ({"least": 5, "most": 5}, "1 Mon 1", "2 Mon 1", 0),
    ],
)
def test_school_days_outside(numbers: Data, test: str, f: str, units: int) -> None:
    assert wish_cost(scenario(TEST_AND_F, weeks=2, per_week=EVERY_DAY, rules=marked(**numbers)), test=test, f=f) == units


def test_closed_days_do_not_count() -> None:
    # Tuesday closed to the whole school: Mon to Thu is 2 school days, 1 short.
    closed = [{"name": "storm", "on": day(1, "Tue")}]
    data = scenario(TEST_AND_F, weeks=1, per_week=EVERY_DAY, rules=marked(), closures=closed)
    assert wish_cost(data, test="1 Mon 1", f="1 Thu 1") == 1


def test_feedback_stays_after_what_it_answers() -> None:
    data = scenario(TEST_AND_F, weeks=1, per_week=EVERY_DAY, rules=marked())
    forbidden(data, 6, "f test", f="1 Mon 1", test="1 Tue 1")
    impossible(scenario(TEST_AND_F, weeks=1, per_week="Mon 1", rules=marked()))


def test_every_pair_counts() -> None:
    # f comes 1 school day after one test and 2 after the other: 2 + 1 short.
    lessons = [assessment("test"), assessment("essay"), feedback("f", ["test", "essay"])]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=marked())
    assert wish_cost(data, test="1 Mon 1", essay="1 Tue 1", f="1 Wed 1") == 3


def test_a_report_deadline_stays_hard() -> None:
    # Due on Friday with 3 school days: from Tuesday, not from Wednesday; whatever feedback wishes.
    lessons = [assessment("test", report_deadline=day(1, "Fri")), feedback("f", "test")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=marked())
    assert wish_cost(data, test="1 Tue 1", f="1 Wed 1") == 2
    forbidden(data, 7, "test", test="1 Wed 1", f="1 Fri 1")


def test_a_test_that_is_left_out_wishes_nothing() -> None:
    lessons = [assessment("test", optional=True), feedback("f", "test")]
    assert wish_cost(scenario(lessons, weeks=1, per_week="Mon 1", rules=marked()), f="1 Mon 1") == 0


# -- in step -----------------------------------------------------------------------------------------------------------


def parallel(*classes: Data, **more: Any) -> Data:
    return scenario([teach("x")], weeks=2, classes=list(classes), **more)


def three(rules: Data) -> Data:
    return parallel(*(a_class(of, EVERY_DAY) for of in ("9B", "9C", "9D")), rules=rules)


def on(**places: str) -> list[Data]:
    """``on(B="1 Mon 1")``: where x is in class 9B."""
    return [row("x", place, f"9{of}") for of, place in places.items()]


@pytest.mark.parametrize(
    ("places", "units"),
    [
        ({"B": "1 Mon 1", "C": "1 Wed 1", "D": "1 Mon 1"}, 0),
        ({"B": "1 Mon 1", "C": "1 Thu 1", "D": "1 Mon 1"}, 2),  # 3 days twice, 1 beyond each
        ({"B": "1 Thu 1", "C": "1 Mon 1", "D": "1 Tue 1"}, 1),  # 3, 2 and 1 days
        ({"B": "1 Mon 1", "C": "1 Thu 1", "D": "2 Mon 1"}, 1 + 5 + 2),  # 3, 7 and 4 days
    ],
)
def test_days_beyond_for_each_pair(places: dict[str, str], units: int) -> None:
    assert wish_cost(three({"in_step": {"days": 2, "wish": 1}}), *on(**places)) == units
    assert wish_cost(three({"in_step": {"days": 2, "wish": 6}}), *on(**places)) == 6 * units


def test_hard_for_one_class_and_wished_by_another() -> None:
    # Hard: at most 7 days for 9B. Wished: at most 2 for 9C. Between the two both numbers hold, each in its own way.
    strict, wishing = {"in_step": 7}, {"in_step": {"days": 2, "wish": 3}}
    classes = (a_class("9B", EVERY_DAY, rules=strict), a_class("9C", EVERY_DAY, rules=wishing))
    assert wish_cost(parallel(*classes), *on(B="1 Mon 1", C="1 Fri 1")) == 6
    verdict = judged(parallel(*classes), *on(B="1 Mon 1", C="2 Thu 1"))
    assert [breach["rule"] for breach in verdict["breaches"]] == [11]
    assert verdict["aims"]["wishes"] == 3 * 8


def test_two_numbers_and_two_weights() -> None:
    # The smaller number, the greater weight.
    one, other = {"in_step": {"days": 1, "wish": 2}}, {"in_step": {"days": 3, "wish": 5}}
    classes = (a_class("9B", EVERY_DAY, rules=one), a_class("9C", EVERY_DAY, rules=other))
    assert wish_cost(parallel(*classes), *on(B="1 Mon 1", C="1 Fri 1")) == 15


def test_a_class_with_the_rule_off_wishes_nothing() -> None:
    classes = (a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY, rules={"in_step": "off"}))
    data = parallel(*classes, rules={"in_step": {"days": 0, "wish": 1}})
    assert wish_cost(data, *on(B="1 Mon 1", C="2 Fri 1")) == 0


def test_the_solver_brings_classes_together_as_far_as_it_can() -> None:
    # 9B meets on Mondays, 9C on Thursdays; x needs the lab, which 9C has in the second week only: 9B takes its second Monday.
    lab = {"first": day(2, "Mon"), "weeks": {"every": {"Thu": {"period": 1, "offers": "lab"}}}}
    classes = (
        a_class("9B", "Mon 1", offers="lab"),
        a_class("9C", timetable=[{"weeks": {"every": {"Thu": 1}}}, lab]),
    )
    data = scenario([teach("x", needs="lab")], classes=list(classes), rules={"in_step": {"days": 1, "wish": 1}})
    answer = solved(data)
    assert (placed(answer, "9B"), placed(answer, "9C")) == ({"x": "2 Mon 1"}, {"x": "2 Thu 1"})
    assert aims(answer)["wishes"] == 2


def test_a_lesson_left_out_in_one_class_keeps_no_step() -> None:
    lessons = [teach("x", optional=True), practice("p", "y"), teach("y")]
    data = scenario(
        lessons, classes=[a_class("9B", EVERY_DAY), a_class("9C", EVERY_DAY)], rules={"in_step": {"days": 0, "wish": 1}}
    )
    rows = [row("y", "1 Mon 1", of) for of in ("9B", "9C")] + [row("p", "1 Tue 1", of) for of in ("9B", "9C")]
    assert judged(data, *rows, row("x", "1 Fri 1"))["aims"]["wishes"] == 0
