"""Minimal conflicts of scenarios small enough to work out by hand: which statements, no more and no fewer."""

from __future__ import annotations

from collections import Counter
from typing import Any

from sequencer import ExplainSettings, Explanation, Scenario, explain, scenario_from_data
from sequencer.questions.explaining.minimal_conflict import Search
from sequencer.questions.explaining.possible import Clock
from sequencer.questions.explaining.statements import take_apart
from tests.builders import PATIENT, a_class, day, practice, scenario, teach
from tests.explaining.judging import judged


def explained(data: dict[str, Any], conflicts: int = 3) -> Explanation:
    """The conflicts of a scenario, each judged minimal from outside."""
    read = scenario_from_data(data)
    found = explain(read, ExplainSettings(conflicts=conflicts, repairs=0))
    assert found.possible is False
    assert all(conflict.proven for conflict in found.conflicts)
    assert judged(read, found).not_minimal == ()
    return found


def kinds(found: Explanation, number: int = 0) -> Counter[str]:
    return Counter(statement.kind for statement in found.conflicts[number].statements)


def text(found: Explanation, number: int = 0) -> str:
    return " | ".join(statement.text for statement in found.conflicts[number].statements)


def test_a_possible_scenario_has_no_conflict() -> None:
    found = explain(scenario_from_data(scenario([teach("a")])))
    assert (found.possible, found.conflicts, found.repairs) == (True, (), ())


def test_more_lessons_than_periods() -> None:
    # Two weeks of two periods; of five lessons each is one too many, and so is the number of periods too few.
    found = explained(scenario([teach(name) for name in "abcde"]))
    assert kinds(found) == {"periods": 1, "lesson": 5}
    assert found.more is False


def test_of_six_lessons_in_four_periods_five_are_enough() -> None:
    assert kinds(explained(scenario([teach(name) for name in "abcdef"]), 1)) == {"periods": 1, "lesson": 5}


def test_a_lesson_before_the_one_it_requires() -> None:
    # b must lie in the first week and a in the second, and b requires a. That b is taught is enough: it brings a with it.
    lessons = [teach("a", not_before=day(2, "Mon")), teach("b", requires="a", not_after=day(1, "Sun"))]
    assert kinds(explained(scenario(lessons))) == {"lesson": 1, "requires": 1, "not before": 1, "not after": 1}


def test_a_window_that_no_two_periods_fit() -> None:
    # The class meets on Mondays and Tuesdays: no two periods lie 2 to 5 days apart.
    lessons = [teach("a"), teach("b", requires={"lesson": "a", "least_days": 2, "most_days": 5})]
    found = explained(scenario(lessons))
    assert kinds(found) == {"periods": 1, "lesson": 1, "requires": 1, "window": 2}


def test_a_closure_is_named_where_the_lesson_would_have_had_its_period() -> None:
    lessons = [teach("a", not_after=day(1, "Mon"))]
    found = explained(scenario(lessons, closures=[{"name": "Snow", "on": day(1, "Mon")}]))
    assert kinds(found) == {"lesson": 1, "not after": 1, "closure": 1}
    assert "Snow: no class meets on Mon 2 Nov 2026" in text(found)


def test_a_dense_lesson_whose_practice_comes_too_late() -> None:
    # x is dense and in the first week; its only practice may come from the second week on, and must follow at once.
    # That p practises x is part of it: were it said of no lesson, x would be practised by none and the rule say nothing.
    lessons = [teach("x", load=4, not_after=day(1, "Mon")), practice("p", "x", not_before=day(2, "Mon"))]
    found = explained(scenario(lessons))
    assert kinds(found) == {"lesson": 1, "not after": 1, "not before": 1, "practice": 1, "practises": 1}


def test_one_week_of_a_quota_is_named() -> None:
    # Both remote weeks ask for two lessons live; in the second both periods are fixed as set work, and least numbers are strict.
    # A period more in that week would do as well.
    spell = {
        "name": "Repairs", "first": day(1, "Mon"), "last": day(2, "Fri"),
        "fixed": [{"taught": "set work", "on": [day(2, "Mon"), day(2, "Tue")]}],
    }  # fmt: skip
    data = scenario(
        [teach(name) for name in "abcd"], remote_spells=[spell], strict=True, rules={"live_quotas": [{"per": "week", "least": 2}]}
    )
    found = explained(data)
    assert kinds(found) == {"quota": 1, "strict": 1, "remote spell": 1, "periods": 1}
    assert "at least 2 lessons live in week 2" in text(found)


def test_the_classes_of_two_conflicts_that_share_nothing() -> None:
    units = [{"id": "u", "lessons": [teach(name) for name in "abcde"]}, {"id": "v", "lessons": [teach(name) for name in "fghij"]}]
    found = explained(scenario(units=units, classes=[a_class("9B", units="u"), a_class("9C", units="v")]))
    assert len(found.conflicts) == 2 and found.more is False
    keys = [{statement.key for statement in conflict.statements} for conflict in found.conflicts]
    assert not keys[0] & keys[1]
    assert [conflict.statements[0].classes for conflict in found.conflicts] == [(0,), (1,)]


def test_no_more_conflicts_are_listed_than_asked_for() -> None:
    units = [{"id": "u", "lessons": [teach(name) for name in "abcde"]}, {"id": "v", "lessons": [teach(name) for name in "fghij"]}]
    found = explained(scenario(units=units, classes=[a_class("9B", units="u"), a_class("9C", units="v")]), 1)
    assert len(found.conflicts) == 1 and found.more is True


def test_a_lesson_that_one_class_may_leave_out() -> None:
    """The word of a class on whether a lesson may be left out wins over the unit's."""
    data = scenario([teach(name) for name in "abcde"], of_class={"lessons": {"e": {"optional": True}}})
    assert explain(scenario_from_data(data)).possible is True


def test_a_statement_stands_where_the_file_has_it() -> None:
    lessons = [teach("a", not_before=day(2, "Mon")), teach("b", requires="a", not_after=day(1, "Sun"))]
    found = explained(scenario(lessons))
    paths = {statement.kind: statement.path for statement in found.conflicts[0].statements}
    assert paths["not before"] == ("units", 0, "lessons", 0, "not_before")
    assert paths["requires"] == ("units", 0, "lessons", 1, "requires", 0)
    assert paths["lesson"] == ("units", 0, "lessons", 1)


def test_the_answer_is_a_scenario_like_any_other() -> None:
    assert isinstance(explained(scenario([teach(name) for name in "abcde"])).instance.scenario, Scenario)


def test_the_proof_drops_a_statement_that_the_search_left_in() -> None:
    # A question that is not answered in time leaves more in a conflict than it needs.
    lessons = [teach("a", not_after=day(1, "Mon")), teach("b", not_before=day(1, "Tue"))]
    stated = take_apart(scenario_from_data(scenario(lessons, closures=[{"name": "Snow", "on": day(1, "Mon")}])))
    search = Search(stated, Clock(PATIENT, PATIENT))
    found = search._proven(search.statements)
    assert found.proven
    assert sorted(statement.kind for statement in found.statements) == ["closure", "lesson", "not after"]
