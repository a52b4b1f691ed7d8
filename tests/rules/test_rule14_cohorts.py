"""Rule 14 over cohorts: of each subject the class with most, what is fixed elsewhere, and each number at its boundary."""

from __future__ import annotations

import re
from typing import Any

import pytest

from sequencer import (
    ExplainSettings,
    UnusableInput,
    WhatIf,
    apply_changes,
    build_instance,
    change_text,
    explain,
    price,
    scenario_from_data,
)
from sequencer.scenario.guards import with_tuples
from sequencer.solver.model import coupled_classes
from tests.builders import QUIET, Data, a_class, aims, assessment, day, impossible, rows, scenario, solved, teach

GEOGRAPHY = {"name": "Geography", "classes": ["9G1", "9G2"]}
HISTORY = {"name": "History", "classes": "9H"}


def year(numbers: Data, *subjects: Data, of_geography: Any = (), of_history: Any = (), **more: Any) -> Data:
    """Year 9 in one week: geography in two classes and history in one, each on Monday, Tuesday and Wednesday."""
    return scenario(
        weeks=1,
        units=[
            {"id": "g", "lessons": of_geography or [assessment("test", on=day(1, "Mon"))]},
            {"id": "h", "lessons": of_history or [assessment("essay", on=day(1, "Mon"))]},
        ],
        classes=[
            a_class("9G1", "Mon 1, Tue 1, Wed 1", "g"), a_class("9G2", "Mon 2, Tue 2, Wed 2", "g"),
            a_class("9H", "Mon 3-4, Tue 3, Wed 3", "h"),
        ],
        cohorts=[
            {"id": "Y9", "title": "Year 9", "subjects": [*subjects] or [GEOGRAPHY, HISTORY], "rules": {"pupils_week": numbers}}
        ],
        **{"rules": QUIET, **more},
    )  # fmt: skip


def told(data: Data) -> list[str]:
    """The one conflict, in words."""
    (conflict,) = explain(scenario_from_data(data), ExplainSettings(conflicts=1, repairs=0)).conflicts
    return [statement.text for statement in conflict.statements]


# -- of each subject the class with most ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("most", "possible"), [(1, False), (2, True)])
@pytest.mark.parametrize("key", ["assessments_a_day", "assessments_a_week"])
def test_two_classes_of_a_subject_count_once(key: str, most: int, possible: bool) -> None:
    # Three tests on Monday, of which a pupil sits one of two in geography, and the essay in history: two.
    (solved if possible else impossible)(year({key: most}))


def test_the_class_with_most_counts() -> None:
    # 9G2 alone has a second test, since 9G1 meets once: 2 in geography, and 1 in history.
    data = year({"assessments_a_week": 2}, of_geography=[assessment("test"), assessment("more", optional=True)])
    data["classes"][0]["leaves"] = day(1, "Mon")
    data["classes"][1]["lessons"] = {"more": {"optional": False}}
    impossible(data)
    numbers = data["cohorts"][0]["rules"]["pupils_week"]
    numbers["wish"] = 1
    assert aims(solved(data))["wishes"] == 1
    del numbers["wish"]
    numbers["assessments_a_week"] = 3
    assert aims(solved(data))["left out"] == 1


def test_a_class_of_another_subject_gives_way() -> None:
    # The history class may write its essay on any day but that of the tests.
    answer = solved(year({"assessments_a_day": 1}, of_history=[assessment("essay")]))
    assert rows(answer, "9H")["essay"]["date"] in (day(1, "Tue"), day(1, "Wed"))


def test_none_at_all() -> None:
    impossible(year({"assessments_a_week": 0}))
    solved(year({"assessments_a_week": 0}, of_geography=[teach("a")], of_history=[teach("b")]))


def test_classes_of_a_cohort_are_coupled_only_where_it_can_have_too_much() -> None:
    for most, groups in ((1, 1), (2, 3)):
        assert len(coupled_classes(build_instance(scenario_from_data(year({"assessments_a_week": most}))))) == groups


# -- homework and dense lessons -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("most", "possible"), [(49, False), (50, True)])
@pytest.mark.parametrize("key", ["homework_a_day", "homework_a_week"])
def test_homework_counts_where_it_is_due(key: str, most: int, possible: bool) -> None:
    # Set on Monday: 20 minutes due on Tuesday in both classes of geography, and 30 minutes in history.
    tasks = {
        "of_geography": [teach("a", on=day(1, "Mon"), homework={"minutes": 20})],
        "of_history": [teach("b", on=day(1, "Mon"), homework={"minutes": 30})],
    }
    (solved if possible else impossible)(year({key: most}, **tasks))


def test_homework_due_on_different_days() -> None:
    # At least two days later: history's is due on Wednesday.
    tasks = {
        "of_geography": [teach("a", on=day(1, "Mon"), homework={"minutes": 20})],
        "of_history": [teach("b", on=day(1, "Mon"), homework={"minutes": 30, "due_days": 2})],
    }
    answer = solved(year({"homework_a_day": 30}, **tasks))
    assert rows(answer, "9H")["b"]["homework"] == {"title": "Homework: b", "due": day(1, "Wed"), "minutes": 30}
    impossible(year({"homework_a_day": 29}, **tasks))


def test_homework_due_in_the_next_plan_does_not_count() -> None:
    solved(year({"homework_a_week": 0}, of_geography=[teach("a", on=day(1, "Wed"), homework={"minutes": 20})]))


def test_homework_that_serves_as_practice_counts() -> None:
    by_homework = {"practice_after_dense": {"homework": {"minutes": 25}}, "consecutive_high_load": "off"}
    lessons = [teach("x", load=4, on=day(1, "Mon"))]
    impossible(year({"homework_a_day": 24}, of_geography=lessons, rules=by_homework))
    solved(year({"homework_a_day": 25}, of_geography=lessons, rules=by_homework))
    # What the lesson says of its own homework stands in its place.
    lessons[0]["homework"] = {"title": "Read on", "minutes": 24}
    answer = solved(year({"homework_a_day": 24}, of_geography=lessons, rules=by_homework))
    assert rows(answer, "9G1")["x"]["homework"]["title"] == "Read on"


@pytest.mark.parametrize(("most", "possible"), [(1, False), (2, True)])
@pytest.mark.parametrize("key", ["dense_a_day", "dense_a_week"])
def test_dense_lessons(key: str, most: int, possible: bool) -> None:
    lessons = {"of_geography": [teach("x", load=4, on=day(1, "Mon"))], "of_history": [teach("y", load=5, on=day(1, "Mon"))]}
    (solved if possible else impossible)(year({key: most}, **lessons))


# -- what is fixed elsewhere ----------------------------------------------------------------------------------------------


FRENCH = {"name": "French", "fixed_assessments": [day(1, "Tue")]}


@pytest.mark.parametrize(("most", "possible"), [(2, False), (3, True)])
def test_what_is_fixed_counts(most: int, possible: bool) -> None:
    (solved if possible else impossible)(year({"assessments_a_week": most}, GEOGRAPHY, HISTORY, FRENCH))


def test_a_day_with_a_fixed_assessment_is_left_free() -> None:
    answer = solved(year({"assessments_a_day": 1}, HISTORY, FRENCH, of_history=[assessment("essay", not_before=day(1, "Tue"))]))
    assert rows(answer, "9H")["essay"]["date"] == day(1, "Wed")


def test_where_more_is_fixed_than_asked_nothing_is_added() -> None:
    french = FRENCH | {"fixed_assessments": [day(1, "Tue"), day(1, "Tue")]}
    data = year({"assessments_a_day": 1}, HISTORY, french, of_history=[assessment("essay", not_before=day(1, "Tue"))])
    answer = solved(data)
    assert rows(answer, "9H")["essay"]["date"] == day(1, "Wed")
    assert "Year 9, on Tue 3 Nov 2026: 2 assessments fixed elsewhere, at most 1 asked, so that no more is added" in answer.notes
    data["units"][1]["lessons"][0]["not_after"] = day(1, "Tue")
    impossible(data)


# -- which numbers hold ---------------------------------------------------------------------------------------------------


def test_the_narrowest_number_wins() -> None:
    # The scenario's number holds for each class and each cohort that does not state its own.
    data = year({}, rules=QUIET | {"pupils_week": {"assessments_a_week": 1}})
    impossible(data)
    data["cohorts"][0]["rules"] = {"pupils_week": {"assessments_a_week": 2}}
    solved(data)
    data["cohorts"][0]["rules"] = {"pupils_week": "off"}
    solved(data)
    data["units"][0]["lessons"].append(assessment("more"))
    impossible(data)
    data["classes"] = [each | {"rules": {"pupils_week": "off"}} for each in data["classes"]]
    solved(data)


# -- wished ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("numbers", "units"),
    [
        # The essay and one of two tests on Monday, where at most none, or one, is wished.
        ({"assessments_a_day": 0}, 2), ({"assessments_a_day": 1}, 1), ({"assessments_a_day": 2}, 0),
        # 61 minutes: each begun half an hour too many counts.
        ({"homework_a_week": 0}, 3), ({"homework_a_week": 1}, 2), ({"homework_a_week": 31}, 1), ({"homework_a_week": 61}, 0),
        # The days and the week are counted by themselves.
        ({"assessments_a_day": 1, "assessments_a_week": 0}, 3),
    ],
)  # fmt: skip
def test_a_wish_costs_each_too_many(numbers: Data, units: int) -> None:
    data = year(
        numbers | {"wish": 2},
        of_geography=[assessment("test", on=day(1, "Mon"), homework={"minutes": 21})],
        of_history=[assessment("essay", on=day(1, "Mon"), homework={"minutes": 40})],
    )
    answer = solved(data)
    assert aims(answer)["wishes"] == 2 * units
    assert answer.verdict is not None
    assert sum(each.units for each in answer.verdict.wishes) == units


# -- in words -------------------------------------------------------------------------------------------------------------


def test_a_conflict_over_classes_is_told_and_repaired() -> None:
    data = year({"assessments_a_day": 1})
    assert "Year 9: at most 1 assessment a day" in told(data)
    cheap = data | {"repair_costs": {"week": 1, "day": 500}}
    (repair,) = explain(scenario_from_data(cheap), ExplainSettings(conflicts=1, repairs=1)).repairs
    (change,) = repair.changes
    assert change_text(change, scenario_from_data(data)) == "at most 2 assessments a day, for Year 9"
    assert repair.answer.verdict is not None and repair.answer.verdict.sound


def test_a_number_of_the_scenario_is_told_for_the_cohort() -> None:
    data = year({}, rules=QUIET | {"pupils_week": {"assessments_a_day": 1}})
    assert "Year 9: at most 1 assessment a day" in told(data)


def test_the_referee_names_the_lessons() -> None:
    answer = solved(year({"assessments_a_day": 1, "wish": 1}, GEOGRAPHY, HISTORY, FRENCH | {"fixed_assessments": day(1, "Mon")}))
    assert answer.verdict is not None
    (wish,) = answer.verdict.wishes
    assert wish.message == "Year 9: 3 assessments on Mon 2 Nov 2026, at most 1 wished: g/test, h/essay, and 1 fixed elsewhere"
    assert wish.class_ids == ("9G1", "9H")


def test_what_it_costs_is_told() -> None:
    found = price(scenario_from_data(year({"assessments_a_day": 1})), "pupils_week")
    assert (found.status_with, found.status_without) == ("infeasible", "optimal")


@pytest.mark.parametrize(
    ("change", "possible"),
    [({"cohort": "Y9", "rules": {"pupils_week": {"assessments_a_day": 2}}}, True), ({"rules": {"pupils_week": "off"}}, False)],
)
def test_a_what_if_changes_it(change: Data, possible: bool) -> None:
    read = scenario_from_data(year({"assessments_a_day": 1}))
    what_if = {"name": "x", "changes": [{"change": "rules", **change}]}
    (made,) = WhatIf.model_validate(with_tuples(what_if)).changes
    assert explain(apply_changes(read, [made])).possible is possible


# -- what is refused ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("subjects", "message"),
    [
        ([{"name": "A", "classes": "9X"}], "cohorts[0].subjects[0].classes names no class of the scenario: "),
        (
            [GEOGRAPHY, {"name": "A", "classes": "9G1"}],
            "cohorts[0].subjects[1].classes names 9G1, which stands under Geography of Year 9 already, so that its tests would "
            "count twice for one pupil: name it under one subject alone",
        ),
        ([{"name": "A", "classes": ["9G1", "9G1"]}], 'cohorts[0].subjects[0].classes[1] is in the list already ("9G1")'),
        ([GEOGRAPHY, GEOGRAPHY], "cohorts[0].subjects[1].name repeats the name of cohorts[0].subjects[0]"),
        ([{"name": "A", "fixed_assessments": "2026-12-24"}], "must lie in term, 2026-11-02 to 2026-11-08 (got 2026-12-24)"),
    ],
)
def test_what_cannot_be_meant_is_refused(subjects: list[Data], message: str) -> None:
    with pytest.raises(UnusableInput, match=re.escape(message)):
        scenario_from_data(year({}, *subjects))


def test_a_cohort_is_given_rules_over_classes_only() -> None:
    data = year({}) | {"what_ifs": [{"name": "x", "changes": [{"change": "rules", "cohort": "Y9", "rules": {"week": "off"}}]}]}
    with pytest.raises(UnusableInput, match="holds for whole classes, not for cohorts: week"):
        scenario_from_data(data)
