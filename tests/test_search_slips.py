"""Two slips of the search that rolling forward brought to light."""

from __future__ import annotations

from tests.builders import Data, a_class, aims, assessment, scenario, solved, teach


def test_even_week_may_be_the_first_aim_of_classes_that_share_a_rule() -> None:
    """Its value is no sum over classes, so that nothing is learnt of it class by class; they are begun all the same."""
    # One test in each class of one teacher, 30 and 20 minutes of marking, two weeks: apart, the heavier week has 30.
    tests = [{"id": f"t{each}", "lessons": [assessment("t", marking_minutes=each)]} for each in (30, 20)]
    classes = [a_class(name, units=unit["id"], teacher="Ms Oak") for name, unit in zip(("9B", "9C"), tests, strict=True)]
    assert aims(solved(scenario(units=tests, classes=classes, aims=["even week"]))) == {"even week": 30}


def test_made_lessons_taught_before_the_first_period_are_not_counted() -> None:
    record = [
        {"class": "9B", "lesson": "x", "date": "2026-10-20"},
        {"class": "9B", "lesson": "x-practice", "date": "2026-10-21"},
    ]
    pattern: Data = {"id": "usual", "practice": {}}
    lessons = [teach("x", load=4), teach("y", load=4), teach("z")]
    data = scenario(lessons, unit={"pattern": "usual"}, patterns=[pattern], record=record, today="2026-11-02")
    assert aims(solved(data))["made lessons"] == 1
