"""The demo scenarios: possible or not as they say, sound, and never beyond what was proven before.

`BEST` holds, for each demo, the aims in its order with the value proven best. A new value may not beat an old bound, nor a new
bound an old value: either would mean that one of the two proofs is wrong.
"""

from __future__ import annotations

from datetime import date

import pytest

from sequencer import Scenario, SolveSettings, answer_json, read_scenario, solve
from sequencer.instance.build import build_instance
from tests.builders import SCENARIOS, best_of

BEST: dict[str, dict[str, int]] = {
    "small": {
        "left out": 0, "carried over": 0, "left for the next plan": 0, "wishes": 0, "early finish": 0, "dense as set work": 0,
        "distance": 3, "even load": 11,
    },
    "half-term": {
        "left out": 0, "carried over": 1, "left for the next plan": 1, "wishes": 0, "early finish": 2, "dense as set work": 0,
        "distance": 15, "even load": 16,
    },
    "weekly-class": {
        "left out": 0, "carried over": 1, "left for the next plan": 1, "wishes": 0, "early finish": 1, "dense as set work": 0,
        "distance": 14, "even load": 4,
    },
    "shared-class": {
        "left out": 0, "carried over": 0, "left for the next plan": 0, "made lessons": 8, "wishes": 0, "early finish": 0,
        "dense as set work": 0, "distance": 18, "even load": 15,
    },
    "six-classes": {
        "left out": 0, "carried over": 3, "left for the next plan": 3, "made lessons": 22, "wishes": 0, "early finish": 3,
        "dense as set work": 0, "distance": 57, "even load": 55,
    },
    "department": {
        "left out": 0, "carried over": 5, "left for the next plan": 5, "made lessons": 21, "wishes": 0, "early finish": 19,
        "dense as set work": 0, "distance": 67, "even load": 95,
    },
    "year-group": {
        "left out": 0, "carried over": 0, "left for the next plan": 0, "wishes": 0, "early finish": 0, "dense as set work": 0,
        "distance": 0, "even load": 92,
    },
    "from-content": {
        "left out": 0, "carried over": 0, "left for the next plan": 0, "made lessons": 1, "wishes": 0, "early finish": 0,
        "dense as set work": 0, "distance": 0, "even load": 9,
    },
    "five-futures": {"left out": 0, "carried over": 0, "dense as set work": 0, "distance": 13, "even load": 17},
    "exam-year": {
        "left out": 0, "carried over": 0, "left for the next plan": 0, "wishes": 0, "early finish": 1, "dense as set work": 0,
        "distance": 92, "even load": 10,
    },
}  # fmt: skip


# How long they take is measured by name, and stands in benchmarks/README.md.
LONG = ("six-classes",)


def test_every_demo_is_looked_at() -> None:
    assert {path.stem for path in SCENARIOS.glob("*.yaml")} == {*BEST, "no-sequence"}


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.slow if name in LONG else ()) for name in BEST])
def test_a_demo_is_proven_best_at_the_value_known(name: str) -> None:
    answer = best_of(name)
    assert answer.status == "optimal"
    assert answer.verdict is not None and answer.verdict.sound
    assert {aim.aim: aim.value for aim in answer.aims} == BEST[name]
    assert [aim.bound for aim in answer.aims] == list(BEST[name].values())
    assert answer.run.repeatable


@pytest.mark.parametrize("name", BEST)
def test_a_demo_opens_with_why_it_exists(name: str) -> None:
    first, second = (SCENARIOS / f"{name}.yaml").read_text(encoding="utf-8").splitlines()[:2]
    assert first == "# yaml-language-server: $schema=scenario.schema.json"
    assert second.startswith("# ")


def test_the_year_of_three_strands_is_a_year() -> None:
    """It is not among the others, which are settled, and many tests walk: the search for it has a mark of its own."""
    (facts,) = build_instance(_year()).classes
    assert (len(facts.slots), len(facts.lessons), len(_year().units)) == (190, 180, 12)
    assert sum(unit.after == () for unit in _year().units) == 3


@pytest.mark.slow
def test_the_year_of_three_strands_has_a_sequence_beside_its_bounds() -> None:
    answer = solve(_year(), SolveSettings(seconds=300, effort=60))
    assert answer.verdict is not None and answer.verdict.sound and answer.run.repeatable
    values = {aim.aim: aim.value for aim in answer.aims}
    assert (values["left out"], values["carried over"]) == (0, 0)


def _year() -> Scenario:
    return read_scenario(SCENARIOS / "years" / "three-strands.yaml")


def test_the_demo_without_a_sequence_has_none() -> None:
    answer = best_of("no-sequence")
    assert answer.status == "infeasible"
    assert answer_json(answer)["lessons"] == []


def test_half_term_has_the_size_it_is_meant_to_have() -> None:
    """About 35 periods and 30 lessons, five a week, and quotas that bind."""
    body = answer_json(best_of("half-term"))
    assert len(body["lessons"]) + len(body["spare"]) >= 33
    live = [row for row in body["lessons"] if row["taught"] == "live"]
    assert {row["week"] for row in live} == {1, 2}
    assert all(2 <= sum(row["week"] == week for row in live) <= 3 for week in (1, 2))


def test_the_weekly_class_meets_every_topic_again_or_carries_it_over() -> None:
    """Topics of last term among them: 10 to 21 days on, or as long as those say."""
    body = answer_json(best_of("weekly-class"))
    again = {each["lesson"] for row in body["lessons"] for each in row["revisits"]}
    carried = {entry["lesson"] for entry in body["carried_over"]}
    taught = {row["lesson"] for row in body["lessons"] if row["kind"] == "teach"}
    assert again | carried == taught | {"rivers", "floods"}
    assert body["late"] == []


def test_the_shared_class_keeps_each_strand_with_its_teacher() -> None:
    scenario = read_scenario(SCENARIOS / "shared-class.yaml")
    tags = {lesson.id: lesson.tags for unit in scenario.units for lesson in unit.lessons}
    slots = {slot.number: slot.teacher for slot in best_of("shared-class").instance.classes[0].slots}
    for row in answer_json(best_of("shared-class"))["lessons"]:
        for tag, teacher in (("human", "Mr Okafor"), ("physical", "Ms Ferris")):
            assert tag not in tags.get(row["lesson"], ()) or slots[row["slot"]] == teacher, row["lesson"]


def test_pupils_of_the_year_group_have_no_more_than_is_asked() -> None:
    """Counted by hand from the answer: of each subject the class with most, music beside them."""
    body = answer_json(best_of("year-group"))
    tests: dict[str, set[str]] = {day: {"Music"} for day in ("2027-01-27", "2027-02-09")}
    for row in body["lessons"]:
        if row["kind"] == "assessment":
            tests.setdefault(row["date"], set()).add(row["unit"])
    assert max(map(len, tests.values())) == 1
    weeks: dict[tuple[int, int], set[str]] = {}
    for day, subjects in tests.items():
        weeks.setdefault(date.fromisoformat(day).isocalendar()[:2], set()).update(subjects)
    assert max(map(len, weeks.values())) == 3


def test_the_department_is_four_teachers_and_twelve_classes() -> None:
    instance = best_of("department").instance
    assert (len(instance.classes), len([teacher for teacher in instance.teachers if teacher.limited])) == (12, 4)
