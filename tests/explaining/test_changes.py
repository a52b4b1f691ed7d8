"""Named changes: each does what it says and no more, reads back, and names what is not there with its place."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import (
    Scenario,
    UnusableInput,
    WhatIf,
    apply_changes,
    build_instance,
    change_text,
    scenario_data,
    scenario_from_data,
)
from sequencer.scenario.guards import with_tuples
from sequencer.scenario.written import model_data
from tests.builders import QUIET, a_class, assessment, day, practice, scenario, teach

LESSONS = [
    teach("a", title="First"),
    teach("b", requires={"lesson": "a", "most_days": 7}, load=4),
    practice("p", "b"),
    assessment("t", report_deadline=day(2, "Sun"), length=2, needs="in school", not_after=day(2, "Tue")),
]
BASE = scenario(
    LESSONS,
    classes=[a_class("9B", "Mon 1, Tue 1-2"), a_class("9C", "Mon 2, Tue 3-4")],
    unit={"in_order": True},
    closures=[{"name": "Snow", "on": day(1, "Mon")}],
    remote_spells=[{"name": "Repairs", "first": day(2, "Mon"), "last": day(2, "Fri")}],
    restricted_days=[{"name": "Cover", "on": day(1, "Tue"), "refuses": {"kinds": "assessment"}}],
    rules={"live_quotas": [{"per": "week", "least": 1, "most": 2}]},
    shared=[{"name": "kit", "capacity": 1}],
    teachers=[{"name": "Ms Oak", "dense_a_day": 1}],
)
BASE["classes"][0]["teacher"] = "Ms Oak"
BASE["units"][0]["lessons"][0]["needs"] = "kit"


def made(*changes: dict[str, Any]) -> Scenario:
    what_if = WhatIf.model_validate(with_tuples({"name": "x", "changes": list(changes)}))
    return apply_changes(scenario_from_data(BASE), what_if.changes)


def differences(new: Scenario) -> set[str]:
    """The parts of a scenario that are not as they were."""
    old, changed = scenario_data(scenario_from_data(BASE)), scenario_data(new)
    return {key for key in {*old, *changed} if old.get(key) != changed.get(key)}


CHANGES: dict[str, tuple[dict[str, Any], str, str]] = {
    "add closure": ({"change": "add closure", "closure": {"name": "Strike", "on": day(2, "Mon")}}, "closures", "close"),
    "remove closure": ({"change": "remove closure", "name": "Snow"}, "closures", 'in spite of "Snow", Mon 2 Nov 2026'),
    "add remote spell": (
        {"change": "add remote spell", "spell": {"name": "Flood", "on": day(1, "Tue")}}, "remote_spells", "meet remotely",
    ),
    "remove remote spell": ({"change": "remove remote spell", "name": "Repairs"}, "remote_spells", "meet in school"),
    "remote spell": (
        {"change": "remote spell", "name": "Repairs", "fixed": [{"taught": "live", "weekdays": "Mon"}]},
        "remote_spells", 'let the periods of "Repairs" be with 1 other designation',
    ),
    "add lesson": (
        {"change": "add lesson", "unit": "u", "lesson": teach("n", title="New"), "after": "a"}, "units", 'add "New" (u/n)',
    ),
    "add restricted day": (
        {"change": "add restricted day", "day": {"name": "Visit", "on": day(1, "Tue"), "refuses": {"kinds": "teach"}}},
        "restricted_days", "restrict",
    ),
    "remove restricted day": ({"change": "remove restricted day", "name": "Cover"}, "restricted_days", "teach as usual"),
    "lose period": ({"change": "lose period", "class": "9B", "date": day(1, "Tue"), "period": 2}, "closures", "9B loses"),
    "gain period": ({"change": "gain period", "class": "9B", "date": day(1, "Wed"), "period": 4}, "classes", "meet once more"),
    "leave out": ({"change": "leave out", "lesson": "u/a", "class": "9B"}, "record", 'leave out "First" (u/a) in 9B'),
    "make optional": ({"change": "make optional", "lesson": "u/a", "class": "9C"}, "classes", "be left out in 9C"),
    "move dates": ({"change": "move dates", "lesson": "u/t", "not_after": day(2, "Fri")}, "units", "as late as Fri 13 Nov 2026"),
    "requirement": ({"change": "requirement", "lesson": "u/b", "requires": "a", "most_days": 9}, "units", "at most 9 days after"),
    "unit": ({"change": "unit", "unit": "u", "in_order": False}, "units", "any order"),
    "lesson": ({"change": "lesson", "lesson": "u/t", "length": 1}, "units", "in 1 period"),
    "rules": ({"change": "rules", "lesson": "u/b", "rules": {"practice_after_dense": 3}}, "units", "practice within 3 periods"),
    "live quota": (
        {"change": "live quota", "class": "9B", "first": day(2, "Mon"), "last": day(2, "Sun"), "least": 0},
        "classes", "no least number",
    ),
    "teacher": ({"change": "teacher", "name": "Ms Oak", "dense_a_day": 2}, "teachers", "up to 2 dense lessons a day"),
    "shared": ({"change": "shared", "name": "kit", "capacity": 2}, "shared", "have 2 of kit"),
    "leaves": ({"change": "leaves", "class": "9B", "leaves": day(2, "Wed")}, "classes", "meet until Wed 11 Nov 2026"),
    "strict": ({"change": "strict", "strict": True}, "strict", "short weeks"),
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_changes_its_part_and_is_told_in_words(name: str) -> None:
    change, part, words = CHANGES[name]
    assert differences(made(change)) == {part}
    read = WhatIf.model_validate(with_tuples({"name": "x", "changes": [change]})).changes[0]
    assert words in change_text(read, scenario_from_data(BASE))


def test_a_period_is_gained_on_its_date_alone() -> None:
    new = made({"change": "gain period", "class": "9B", "date": day(1, "Wed"), "period": 4})
    slots = [
        [(str(slot.date), slot.period) for slot in build_instance(each).classes[0].slots]
        for each in (scenario_from_data(BASE), new)
    ]
    assert sorted([*slots[0], (day(1, "Wed"), 4)]) == slots[1]


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_is_written_as_it_is_read(name: str) -> None:
    read = WhatIf.model_validate(with_tuples({"name": "x", "changes": [CHANGES[name][0]]}))
    assert WhatIf.model_validate(with_tuples(model_data(read))) == read


def test_a_change_that_takes_one_of_two_lists_of_words_is_written() -> None:
    change = {"change": "lesson", "lesson": "u/t", "live": "off", "teacher": "off", "needs": []}
    read = WhatIf.model_validate(with_tuples({"name": "x", "changes": [change, change | {"live": "demand"}]}))
    assert WhatIf.model_validate(with_tuples(model_data(read))) == read


def test_a_lesson_is_added_where_the_change_says() -> None:
    added = {"change": "add lesson", "unit": "u", "lesson": teach("n")}
    assert [lesson.id for lesson in made(added | {"after": "a"}).units[0].lessons] == ["a", "n", "b", "p", "t"]
    assert [lesson.id for lesson in made(added).units[0].lessons] == ["a", "b", "p", "t", "n"]


def test_the_periods_of_a_spell_are_designated_anew() -> None:
    monday = {"taught": "live", "on": day(2, "Mon")}
    new = made({"change": "remote spell", "name": "Repairs", "taught": "set work", "fixed": [monday]})
    assert [slot.taught for slot in build_instance(new).classes[0].slots if slot.remote] == ["live", "set work", "set work"]


def test_numbers_of_rules_are_merged() -> None:
    new = made(
        {"change": "rules", "class": "9B", "rules": {"retrieval": {"least": 5, "most": 20}}},
        {"change": "rules", "class": "9B", "rules": {"retrieval": {"most": 30}}},
    )
    rules = new.classes[0].rules
    assert rules is not None and rules.retrieval is not None
    assert (rules.retrieval.least, rules.retrieval.most) == (5, 30)


def test_a_quota_of_one_week_is_changed_by_itself() -> None:
    data = scenario(
        [teach("a")],
        remote_spells=[{"name": "R", "first": day(1, "Mon"), "last": day(2, "Fri")}],
        rules={**QUIET, "live_quotas": [{"per": "week", "most": 1}]},
    )
    change = {"change": "live quota", "class": "9B", "first": day(2, "Mon"), "last": day(2, "Sun"), "most": 2}
    new = apply_changes(scenario_from_data(data), WhatIf.model_validate(with_tuples({"name": "x", "changes": [change]})).changes)
    assert [count.most for count in build_instance(new).live_counts] == [1, 2]


@pytest.mark.parametrize(
    ("change", "where", "message"),
    [
        ({"change": "remove closure", "name": "Rain"}, "changes[1].name", "names no closure of the scenario: Rain"),
        ({"change": "leave out", "lesson": "u/z"}, "changes[1].lesson", "names no lesson of unit u: z"),
        ({"change": "leave out", "lesson": "a"}, "changes[1].lesson", "must be written as unit/lesson (got a)"),
        ({"change": "strict", "strict": True}, "", ""),
        ({"change": "remote spell", "name": "Rain"}, "changes[1].name", "names no remote spell of the scenario: Rain"),
        ({"change": "add lesson", "unit": "u", "lesson": teach("a")}, "changes[1].lesson", "is the name of a lesson of unit u"),
        (
            {"change": "add lesson", "unit": "u", "lesson": teach("n"), "after": "z"},
            "changes[1].after",
            "is not listed in unit u: z",
        ),
        (
            {"change": "requirement", "lesson": "u/b", "requires": "p", "off": True},
            "changes[1].requires",
            "is not required by u/b: p",
        ),
        ({"change": "rules", "unit": "u", "rules": {"week": {"most_lessons": 3}}}, "changes[1].rules", "holds for whole classes"),
        (
            {"change": "gain period", "class": "9B", "date": day(1, "Mon"), "period": 1},
            "changes[1].period",
            "is timetabled on Mon",
        ),
    ],
)
def test_what_is_not_there_is_named_with_its_place(change: dict[str, Any], where: str, message: str) -> None:
    if not where:
        made({"change": "unit", "unit": "u", "in_order": False}, change)
        return
    with pytest.raises(UnusableInput) as refused:
        made({"change": "unit", "unit": "u", "in_order": False}, change)
    (problem,) = refused.value.problems
    assert problem.where == where and message in problem.message


def test_what_comes_of_changes_must_be_a_scenario() -> None:
    with pytest.raises(UnusableInput) as refused:
        made({"change": "move dates", "lesson": "u/t", "not_before": day(2, "Wed")})
    assert "not_before" in refused.value.problems[0].where or "not_after" in refused.value.problems[0].where
