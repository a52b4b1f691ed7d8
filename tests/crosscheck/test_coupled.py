"""Tiny classes under the rules that join classes (shared things, teachers, in step, cohorts): exhaustive search, aim by aim.

A failure names the seed and prints the scenario; `coupled(seed)` makes it again.
"""

from __future__ import annotations

from random import Random

import pytest

from sequencer import SolveSettings, answer_json, scenario_from_data, solve
from tests.builders import a_class, assessment, scenario, teach
from tests.crosscheck import exhaustive, rules
from tests.crosscheck.added import pupils_week, weekdays
from tests.crosscheck.facts import read_facts
from tests.crosscheck.in_full import InFull
from tests.crosscheck.slots import Raw

SEEDS, MORE_SEEDS, GROUP = 40, 2000, 20
AIMS = ("left out", "wishes", "early finish", "distance", "even load", "even week")


def coupled(seed: int) -> Raw:
    """Two to four classes of two subjects, each with two or three lessons for three or four periods."""
    rng = Random(f"coupled {seed}")
    while True:
        data = _drawn(rng)
        if exhaustive.few_combinations(read_facts(data), 4000):
            return data


def _drawn(rng: Random) -> Raw:
    units, classes = [], []
    for name in "gh":
        lessons = [
            rng.choice([assessment, teach, teach])(
                f"{name}{number}", load=rng.choice([1, 3, 4]), optional=rng.random() < 0.3,
                marking_minutes=rng.choice([0, 20, 30]), preparation_minutes=rng.choice([0, 20]),
                **({"needs": "kit"} if rng.random() < 0.3 else {}),
            )
            for number in range(rng.randint(2, 3))
        ]  # fmt: skip
        units.append({"id": name, "in_order": rng.random() < 0.5, "lessons": lessons})
    for number in range(rng.randint(2, 4)):
        days = rng.sample(["Mon", "Tue", "Thu"], 2)
        periods = ", ".join(f"{weekday} {rng.randint(1, 2)}" for weekday in sorted(days))
        classes.append(a_class(f"9{number}", periods, rng.choice("gh"), teacher=rng.choice(["Ash", "Elm"])))
    data = scenario(
        weeks=2, units=units, classes=classes, aims=rng.sample(AIMS, rng.randint(2, len(AIMS))), shared=[{"name": "kit"}],
        rules={"practice_after_dense": "off", "consecutive_high_load": "off"},
    )  # fmt: skip
    lessons = [lesson for unit in units for lesson in unit["lessons"]]
    for _ in range(rng.choice([1, 1, 2])):
        pupils_week.cohorts(rng, data, lessons)
    if rng.random() < 0.4:
        data["rules"]["in_step"] = {"days": rng.randint(0, 3)} | ({"wish": 1} if rng.random() < 0.3 else {})
    if rng.random() < 0.3:
        data["rules"]["pupils_week"] = pupils_week.drawn(rng)
    if rng.random() < 0.2:
        data["rules"]["weekdays"] = [weekdays.drawn(rng) | ({"wish": 1} if rng.random() < 0.4 else {})]
    if rng.random() < 0.4:
        limits = {"dense_a_day": rng.randint(0, 1), "marking_a_week": rng.choice([30, 50]), "preparation_a_week": 20}
        key = rng.choice(sorted(limits))
        data["teachers"] = [{"name": classes[0]["teacher"], key: limits[key]} | ({"wish": 2} if rng.random() < 0.4 else {})]
    return data


def _compare(seed: int) -> bool:
    """Whether there is a sequence; what it comes to is proven and as exhaustive search has it."""
    data = coupled(seed)
    facts = read_facts(data)
    best = exhaustive.best(facts)
    body = answer_json(solve(scenario_from_data(data), SolveSettings(seconds=60)))
    told = InFull(f"coupled seed {seed}", data, f"expected {best}", body)
    assert body["status"] == ("infeasible" if best is None else "optimal"), told
    if best is None:
        return False
    assert tuple(aim["value"] for aim in body["aims"]) == best.values, told
    assert all(aim["proven"] and aim["bound"] == aim["value"] for aim in body["aims"]) and body["verdict"]["sound"], told
    placed = {(x["class"], x["unit"], x["lesson"]): (x["slot"], x["taught"]) for x in body["lessons"]}
    assert rules.first_broken(facts, placed) is None, told
    return True


@pytest.mark.parametrize("first", range(0, SEEDS, GROUP))
def test_coupled_answers_equal_exhaustive_search(first: int) -> None:
    possible = sum(map(_compare, range(first, first + GROUP)))
    assert 0 < possible < GROUP


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SEEDS, MORE_SEEDS, 5 * GROUP))
def test_more_coupled_answers_equal_exhaustive_search(first: int) -> None:
    for seed in range(first, min(first + 5 * GROUP, MORE_SEEDS)):
        _compare(seed)
