"""Every rule of the language, by its key: just allowed and just forbidden, repaired, dropped and priced, wished, changed.

A rule that is added fails here by name until it has an example.
"""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import dataclass
from random import Random
from typing import Any

import pytest

from sequencer import (
    PRICED_RULES,
    ExplainSettings,
    UnusableInput,
    WhatIf,
    apply_changes,
    change_text,
    explain,
    price,
    scenario_from_data,
)
from sequencer.scenario.base_schema import RepairCosts
from sequencer.scenario.class_schema import TeacherWeek
from sequencer.scenario.guards import with_tuples
from sequencer.scenario.numbers import numbers_of
from sequencer.scenario.rules_schema import ClassRules
from tests.builders import (
    QUIET,
    Data,
    a_class,
    aims,
    assessment,
    day,
    feedback,
    impossible,
    practice,
    retrieval,
    scenario,
    solved,
    teach,
)
from tests.crosscheck import added, exhaustive
from tests.crosscheck.facts import read_facts
from tests.crosscheck.saved import FOLDER
from tests.rules.helpers import hard

CHEAP, DEAR = 1, 500


@dataclass(frozen=True)
class Example:
    """A scenario that a rule's numbers just forbid and others just allow.

    Parameters
    ----------
    says
        The scenario, without the rule's numbers.
    forbidden, allowed
        The numbers, as a scenario states them; where the rule has none, they switch it on and off.
    cost
        The cost of a repair that is made cheap, so that it is the one found.
    changes
        What the repair changes: `rules` unless it has a change of its own.
    """

    says: Data
    forbidden: Any
    allowed: Any = "off"
    cost: str = "rule"
    changes: str = "rules"


def week(lessons: list[Data], per_week: str = "Mon 1, Tue 1", **more: Any) -> Data:
    return scenario(lessons, 1, per_week, **more)


REMOTE = {"remote_spells": [{"name": "Repairs", "first": day(1, "Mon"), "last": day(1, "Fri")}]}
LATE = {"not_before": day(2, "Mon")}

EXAMPLES: dict[str, Example] = {
    # b comes in the first week and a, which it requires, in the second.
    "prerequisites": Example(
        scenario([teach("a", **LATE), teach("b", requires="a", not_after=day(1, "Sun"))]), {}, "off", "order", "requirement"
    ),
    "consecutive_high_load": Example(week([hard(name) for name in "abc"], "Mon 1-3"), {"most": 2}, {"most": 3}, "run"),
    # y, which comes after x and before its practice, lies between.
    "practice_after_dense": Example(
        week([teach("x", load=4), teach("y", requires="x"), practice("p", "x", requires="y")], "Mon 1-3"),
        {"within": 1}, {"within": 2}, "period",
    ),
    # Monday and Thursday.
    "practice_after_dense days": Example(
        week([teach("x", load=4), practice("p", "x")], "Mon 1, Thu 1"), {"days": 2}, {"days": 3}, "day"
    ),
    # The test comes in the first week, and the practice of what it requires in the second.
    "practice_before_assessment": Example(
        scenario(
            [teach("x", load=4), practice("p", "x", **LATE), assessment("t", requires="x", not_after=day(1, "Sun"))],
            rules={"practice_after_dense": {"within": 9}},
        ),
        {},
    ),
    # Met again three weeks later, though the class meets in between.
    "retrieval": Example(
        scenario([teach("a", on=day(1, "Mon")), retrieval("r", "a", not_before=day(4, "Mon"))], 4, "Mon 1"),
        {"least": 10, "most": 20}, {"least": 10, "most": 21}, "day",
    ),
    # Met again in school: the first Tuesday is closed and the second one remote.
    "retrieval least": Example(
        scenario(
            [teach("a"), retrieval("r", "a", needs="in school")],
            closures=[{"name": "Snow", "on": day(1, "Tue")}],
            remote_spells=[{"name": "Repairs", "on": day(2, "Tue")}],
        ),
        {"least": 8, "most": 8}, {"least": 7, "most": 8}, "day",
    ),
    "marking": Example(week([assessment("t"), feedback("f", "t")]), {"least": 2}, {"least": 1}, "school_day"),
    "marking most": Example(
        week([assessment("t"), feedback("f", "t")], "Mon 1, Thu 1"),
        {"least": 1, "most": 2}, {"least": 1, "most": 3}, "school_day",
    ),
    # The class meets on Mondays.
    "weekdays": Example(
        week([teach("a", tags=["map"])], "Mon 1"),
        [{"tag": "map", "on": "Tue", "most": 0}], [{"tag": "map", "on": "Tue", "most": 1}], "week",
    ),
    # By Monday, which is closed.
    "dates": Example(
        week([teach("a", not_after=day(1, "Mon"))], closures=[{"name": "Snow", "on": day(1, "Mon")}]),
        {}, "off", "day", "move dates",
    ),
    "place": Example(week([teach("a", needs=["lab"])], of_class={"offers": ["lab"]}, **REMOTE), {}, "off", "need", "lesson"),
    # Monday and Thursday.
    "in_step": Example(
        week([teach("a")], classes=[a_class("9B", "Mon 1"), a_class("9C", "Thu 1")]), {"days": 2}, {"days": 3}, "day"
    ),
    "caps": Example(
        week([teach(name, tags=["map"]) for name in "ab"], "Mon 1-2"),
        [{"tag": "map", "most": 1, "of": 2}], [{"tag": "map", "most": 2, "of": 2}], "run",
    ),
    "threads": Example(
        week([*(teach(name, not_after=day(1, "Mon")) for name in "ab"), teach("c", tags=["map"])], "Mon 1-2, Tue 1"),
        [{"tag": "map", "least": 1, "of": 2}], [{"tag": "map", "least": 0, "of": 2}], "run",
    ),
    "live_quotas": Example(
        week([teach("a", live="refuse"), teach("b")], **REMOTE),
        [{"per": "week", "least": 2}], [{"per": "week", "least": 1}], "quota", "live quota",
    ),
    "live_quotas most": Example(
        week([teach("a", live="demand"), teach("b", live="demand")], **REMOTE),
        [{"per": "week", "most": 1}], [{"per": "week", "most": 2}], "quota", "live quota",
    ),
    "week": Example(week([teach("a"), teach("b")]), {"most_lessons": 1}, {"most_lessons": 2}, "week"),
    "week least_lessons": Example(week([teach("a")]), {"least_lessons": 2}, {"least_lessons": 1}, "week"),
    "week least_load": Example(week([teach("a", load=2)]), {"least_load": 3}, {"least_load": 2}, "week"),
    "week most_load": Example(week([teach("a", load=2)]), {"most_load": 1}, {"most_load": 2}, "week"),
    "pupils_week": Example(
        week([assessment("t"), assessment("u")], "Mon 1-2"), {"assessments_a_day": 1}, {"assessments_a_day": 2}, "week"
    ),
    "pupils_week assessments_a_week": Example(
        week([assessment("t"), assessment("u")]), {"assessments_a_week": 1}, {"assessments_a_week": 2}, "week"
    ),
    # Set on Monday and due on Tuesday.
    "pupils_week homework_a_day": Example(
        week([teach(name, homework={"minutes": 20}, on=day(1, "Mon")) for name in "ab"], "Mon 1-2, Tue 1"),
        {"homework_a_day": 39}, {"homework_a_day": 40}, "week",
    ),
    "pupils_week homework_a_week": Example(
        week([teach("a", homework={"minutes": 20}, on=day(1, "Mon"))], "Mon 1, Fri 1"),
        {"homework_a_week": 19}, {"homework_a_week": 20}, "week",
    ),
    "pupils_week dense_a_day": Example(
        week([teach(name, load=4) for name in "ab"], "Mon 1-2", rules=QUIET), {"dense_a_day": 1}, {"dense_a_day": 2}, "week"
    ),
    "pupils_week dense_a_week": Example(
        week([teach(name, load=4) for name in "ab"], rules=QUIET), {"dense_a_week": 1}, {"dense_a_week": 2}, "week"
    ),
    "teachers": Example(
        week([teach(name, load=4) for name in "ab"], "Mon 1-2", of_class={"teacher": "Ms Ash"}, rules=QUIET),
        [{"name": "Ms Ash", "dense_a_day": 1}], [{"name": "Ms Ash", "dense_a_day": 2}], "teacher", "teacher",
    ),
    "teachers live_a_day": Example(
        week([teach(name, live="demand") for name in "ab"], "Mon 1-2", of_class={"teacher": "Ms Ash"}, **REMOTE),
        [{"name": "Ms Ash", "live_a_day": 1}], [{"name": "Ms Ash", "live_a_day": 2}], "teacher", "teacher",
    ),
    "teachers marking_a_week": Example(
        week([assessment("t", marking_minutes=60)], of_class={"teacher": "Ms Ash"}),
        [{"name": "Ms Ash", "marking_a_week": 30}], [{"name": "Ms Ash", "marking_a_week": 60}], "teacher", "teacher",
    ),
    "teachers preparation_a_week": Example(
        scenario([teach("a", preparation_minutes=60, on=day(2, "Mon"))], 2, "Mon 1", of_class={"teacher": "Ms Ash"}),
        [{"name": "Ms Ash", "preparation_a_week": 30}], [{"name": "Ms Ash", "preparation_a_week": 60}], "teacher", "teacher",
    ),
}  # fmt: skip
"""By the rule's key, and the number where it has several, the smallest scenario for it."""

ALWAYS_HARD = {"prerequisites", "practice_after_dense", "practice_before_assessment", "retrieval", "place"}

KEYS_SAVED = {key for path in FOLDER.glob("*.jsonl") for key in re.findall(r'"(\w+)": ', path.read_text(encoding="utf-8"))}
"""Every key that the saved random scenarios state somewhere."""

each_rule = pytest.mark.parametrize("rule", PRICED_RULES)
each_example = pytest.mark.parametrize("name", EXAMPLES)


def rule_of(name: str) -> str:
    return name.split()[0]


def eased(rule: str) -> set[str]:
    """The numbers of a rule that can be eased."""
    numbers = TeacherWeek if rule == "teachers" else ClassRules.numbers_of(rule)
    return set(numbers_of(numbers)) if numbers is not None else set()


def stating(name: str, numbers: Any) -> Data:
    """An example with these numbers of its rule."""
    says, rule = EXAMPLES[name].says, rule_of(name)
    return says | ({rule: numbers} if rule == "teachers" else {"rules": says.get("rules", {}) | {rule: numbers}})


def test_every_rule_has_an_example() -> None:
    assert {rule_of(name) for name in EXAMPLES} == set(PRICED_RULES)


@each_rule
def test_every_number_that_can_be_eased_has_an_example(rule: str) -> None:
    forbidden = [EXAMPLES[name].forbidden for name in EXAMPLES if rule_of(name) == rule]
    stated = {key for each in forbidden for entry in (each if isinstance(each, list) else [each]) for key in entry}
    assert eased(rule) <= stated


def test_the_schema_knows_every_rule_whatever_is_imported_first() -> None:
    reads = "Scenario.model_json_schema()['$defs']['ClassRules']['properties']"
    code = f"from sequencer.scenario.schema import Scenario; print(*{reads})"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(PRICED_RULES) - {"teachers"} <= set(run.stdout.split())


@each_rule
def test_random_scenarios_state_every_number(rule: str) -> None:
    drawn = next((module.drawn for module in added.MODULES if rule == module.KEY), None)
    stated = {key for seed in range(60) for key in drawn(Random(seed))} if drawn else KEYS_SAVED
    assert eased(rule) <= stated


@each_example
def test_the_second_reading_allows_and_forbids_the_same(name: str) -> None:
    assert exhaustive.best(read_facts(stating(name, EXAMPLES[name].forbidden))) is None
    assert exhaustive.best(read_facts(stating(name, EXAMPLES[name].allowed))) is not None


@each_example
def test_one_number_is_just_allowed_and_another_just_forbidden(name: str) -> None:
    impossible(stating(name, EXAMPLES[name].forbidden))
    if rule_of(name) != "teachers" or EXAMPLES[name].allowed != "off":
        solved(stating(name, EXAMPLES[name].allowed))


@each_example
def test_a_repair_eases_it_and_works(name: str) -> None:
    example = EXAMPLES[name]
    costs = {key: CHEAP if key == example.cost else DEAR for key in RepairCosts.model_fields}
    found = explain(
        scenario_from_data(stating(name, example.forbidden) | {"repair_costs": costs}), ExplainSettings(conflicts=1, repairs=1)
    )
    (repair,) = found.repairs
    assert {change.change for change in repair.changes} == {example.changes}
    if example.changes == "rules":
        assert all(getattr(change.rules, rule_of(name)) is not None for change in repair.changes)  # type: ignore[union-attr]
    assert repair.answer.verdict is not None and repair.answer.verdict.sound


@each_example
def test_what_it_costs_is_told(name: str) -> None:
    found = price(scenario_from_data(stating(name, EXAMPLES[name].forbidden)), rule_of(name))
    assert (found.status_with, found.status_without) == ("infeasible", "optimal")


@each_example
def test_it_may_be_wished_or_is_always_hard(name: str) -> None:
    numbers = EXAMPLES[name].forbidden
    wished = [entry | {"wish": 1} for entry in numbers] if isinstance(numbers, list) else numbers | {"wish": 1}
    read = stating(name, wished)
    if rule_of(name) in ALWAYS_HARD:
        with pytest.raises(UnusableInput, match="this rule is always hard"):
            scenario_from_data(read)
        return
    found, again = aims(solved(read)), exhaustive.best(read_facts(read))
    assert found["wishes"] > 0
    assert again is not None and again.values == tuple(found[aim] for aim in read_facts(read).aims)


@each_example
def test_a_what_if_changes_it(name: str) -> None:
    example = EXAMPLES[name]
    change: Data = {"change": "rules", "rules": {rule_of(name): example.allowed}}
    if rule_of(name) == "teachers":
        change = {"change": "teacher", **example.allowed[0]}
    read = scenario_from_data(stating(name, example.forbidden))
    (made,) = WhatIf.model_validate(with_tuples({"name": "x", "changes": [change]})).changes
    assert change_text(made, read)
    assert explain(apply_changes(read, [made])).possible
