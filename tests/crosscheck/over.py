"""Seeded random scenarios in which much is over: part of the plan is delivered or lost, `today` has passed what rules ask for.

A saved scenario gets a record and `today`, places and dates that mostly lie before it, parallel lessons taught before the first
slot, and rules in two strengths. Nothing is searched for while they are drawn, so that thousands can be.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from datetime import timedelta
from random import Random

from tests.crosscheck import calendars, exhaustive, meeting, recording
from tests.crosscheck.facts import Facts, read_facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.planting import has_circle, plant, sensible
from tests.crosscheck.refusals import refused
from tests.crosscheck.saved import FAMILIES, scenario
from tests.crosscheck.slots import Raw, listed

SOURCES = ("small", "small", "further")
MOST = 3000
"""Most assignments of the classes, and combinations of them, that are looked through."""


def over(seed: int) -> Raw:
    """A scenario made of a saved one; the same seed gives the same while that is saved."""
    rng = Random(f"over {seed}")
    while True:
        family = rng.choice(SOURCES)
        data = deepcopy(scenario(family, rng.randrange(FAMILIES[family][1])))
        facts = read_facts(data)
        planted = plant(rng, facts, 60, 0.7)
        if planted is None and not data.get("record"):
            data.pop("rules", None)
            facts = read_facts(data)
            planted = None if has_circle(facts) else plant(rng, facts, 60, 0.7)
        if planted is None:
            continue
        drawn = _drawn(rng, data, facts, planted)
        if drawn is not None:
            return drawn


def _drawn(rng: Random, data: Raw, facts: Facts, planted: Assignment) -> Raw | None:
    for change, chance in CHANGES:
        if rng.random() < chance:
            change(rng, data, facts)
    if not data.get("record"):
        recording.record(rng, data, facts, planted)
    elif rng.random() < 0.3:
        data["today"] = _some_day(rng, facts)
    if rng.random() < 0.15:
        data["record"] = []
    try:
        found = read_facts(data)
    except RuntimeError:
        return None  # a lesson recorded in a period that the record calls lost
    if has_circle(found) or not sensible(data, found) or refused(data) or not all(group.slots for group in found.classes):
        return None
    if not exhaustive.few_assignments(found, MOST) or not exhaustive.few_combinations(found, MOST):
        return None
    return data


def _some_day(rng: Random, facts: Facts) -> str:
    return calendars.iso(rng.choice([slot.day for group in facts.classes for slot in group.slots]))


def _lessons(data: Raw) -> list[Raw]:
    return [lesson for unit in data["units"] for lesson in unit["lessons"]]


def _places(rng: Random, data: Raw, facts: Facts) -> None:
    """A room that is there on some weekday of the first weeks, a teacher of some, and lessons that need them."""
    for group in data["classes"]:
        for table in _weekdays(group["timetable"]):
            for day, entries in table.items():
                table[day] = [_with_studio(entry) if rng.random() < 0.4 else entry for entry in listed(entries)]
    if not any("studio" in slot.offers for group in read_facts(data).classes for slot in group.slots):
        return
    for lesson in rng.sample(_lessons(data), min(len(_lessons(data)), rng.choice([1, 1, 2]))):
        lesson["needs"] = ["studio"]
    days = sorted({slot.day for group in facts.classes for slot in group.slots})
    last = [calendars.iso(day) for day in days[len(days) // 2 :] if rng.random() < 0.7]
    if last and rng.random() < 0.6:
        data.setdefault("restricted_days", []).append(
            {"name": "visit", "on": last, "refuses": {"kinds": rng.choice(["teach", "practice", "retrieval", "assessment"])}}
        )


def _with_studio(entry: int | Raw) -> Raw:
    return {**(entry if isinstance(entry, dict) else {"period": entry}), "offers": "studio"}


def _weekdays(table: Raw | list[Raw]) -> list[Raw]:
    if isinstance(table, list):
        return [days for entry in table for days in entry["weeks"].values()]
    weeks = all(isinstance(value, dict) for value in table.values())
    return list(table.values()) if weeks else [table]


def _dates(rng: Random, data: Raw, facts: Facts) -> None:
    for lesson in rng.sample(_lessons(data), 1):
        lesson[rng.choice(["not_after", "on", "not_before"])] = _some_day(rng, facts)


def _pairs(rng: Random, data: Raw, facts: Facts) -> None:
    """A lesson that requires another, within so many days; or practice within few slots; or in step within few days."""
    unit = rng.choice(data["units"])
    if len(unit["lessons"]) > 1:
        one, other = rng.sample(unit["lessons"], 2)
        window = rng.choice(
            [{}, {}, {"most_days": rng.randint(1, 8)}, {"most_slots": rng.randint(1, 3)}, {"least_days": rng.randint(1, 9)}]
        )
        other["requires"] = [{"lesson": one["id"], **window}]
    if rng.random() < 0.4 and len(data["classes"]) > 1:
        data.setdefault("rules", {})["in_step"] = rng.randint(0, 7)


def _tests(rng: Random, data: Raw, facts: Facts) -> None:
    """A test that requires a dense lesson, mostly with a wide window for its practice."""
    high = data.get("loads", {}).get("high", 4)
    unit = rng.choice(data["units"])
    teach = [lesson for lesson in unit["lessons"] if lesson.get("kind", "teach") == "teach"]
    others = [lesson for lesson in unit["lessons"] if lesson not in teach[:1]]
    if not teach or not others:
        return
    dense, test = teach[0], rng.choice(others)
    dense["load"] = high
    if test.get("kind", "teach") not in ("teach", "assessment"):
        return
    test["kind"] = "assessment"
    test.setdefault("requires", rng.choice([dense["id"], [dense["id"]]]))
    rules = data.setdefault("rules", {})
    rules["practice_after_dense"] = {"within": rng.randint(1, 4), **({"no_new_content": True} if rng.random() < 0.3 else {})}
    rest = [lesson for lesson in others if lesson is not test and lesson.get("kind", "teach") == "teach"]
    if rest and rng.random() < 0.7:
        rest[0].update(kind="practice", practises=dense["id"])
    if rng.random() < 0.2:
        rng.choice([rules, unit.setdefault("rules", {}), test.setdefault("rules", {})])["practice_before_assessment"] = "off"
    if rng.random() < 0.2:
        test.setdefault("rules", {})["practice_before_assessment"] = {"off": False}


def _wished_beside(rng: Random, data: Raw, facts: Facts) -> None:
    """Hard and wished numbers side by side, for the week and for high-load lessons in a row, at some level."""
    levels: list[Raw] = [data, *data["classes"]]
    rules = rng.choice(levels).setdefault("rules", {})
    weight = {"weight": rng.randint(1, 3)} if rng.random() < 0.7 else {}
    if rng.random() < 0.6:
        wished = {name: rng.randint(1, 4) for name in rng.sample(["most_lessons", "least_lessons", "most_load", "least_load"], 1)}
        stated = rules.get("week") if isinstance(rules.get("week"), dict) else {}
        rules["week"] = {
            **({"most_lessons": rng.randint(3, 5)} if rng.random() < 0.6 else {}),
            **stated,
            "wished": {**wished, **weight},
        }
    else:
        rules["consecutive_high_load"] = {
            **({"most": rng.randint(2, 3)} if rng.random() < 0.6 else {}),
            "wished": {"most": 1, **weight},
        }
    if rng.random() < 0.3:
        other = rng.choice(levels).setdefault("rules", {})
        name = rng.choice(["week", "consecutive_high_load"])
        if name not in other:
            other[name] = {"wished": rng.choice(["off", {"weight": 5}])}
    data["aims"] = ["wishes", *(aim for aim in data.get("aims") or () if aim != "wishes")]


def _prepared_before(rng: Random, data: Raw, facts: Facts) -> None:
    """One of parallel classes had a lesson before its first slot."""
    for lesson in _lessons(data):
        lesson["preparation_minutes"] = rng.choice([0, 20, 40, 60])
    data["aims"] = ["even week", *(aim for aim in data.get("aims") or () if aim != "even week")]
    group = rng.choice(facts.classes)
    lessons = [lesson for lesson in group.lessons if not lesson.made]
    known = {(entry["class"], entry["unit"], entry["lesson"]) for entry in data.get("record", [])}
    if lessons and group.slots:
        key = rng.choice(lessons).key
        day = calendars.iso(group.slots[0].day - timedelta(days=rng.randint(1, 5)))
        if key not in known:
            data.setdefault("record", []).append({"class": key[0], "unit": key[1], "lesson": key[2], "date": day})


def _chosen(rng: Random, data: Raw, facts: Facts) -> None:
    """Retrieval that is chosen, whether or not there is room."""
    data.setdefault("rules", {})["retrieval"] = {**meeting.window(rng), "chosen": True}


CHANGES: tuple[tuple[Callable[[Random, Raw, Facts], None], float], ...] = (
    *((_places, 0.5), (_dates, 0.4), (_prepared_before, 0.25)),
    *((_pairs, 0.5), (_chosen, 0.25), (_tests, 0.6)),
    (_wished_beside, 0.4),
)
