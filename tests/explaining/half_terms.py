"""Seeded random half terms of one class as plain dicts: about 26 lessons in about 32 periods, each with a sequence.

Every number that a contradiction may tighten is stated with room to spare, so that its undoing is the number that stood there.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random
from typing import Any

from sequencer import scenario_from_data
from sequencer.questions.explaining.possible import Clock, possible

Data = dict[str, Any]

MONDAY = date(2026, 11, 2)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri")


def half_term(seed: int) -> Data:
    """A half term that has a sequence."""
    rng = Random(f"half term {seed}")
    while True:
        data = _draw(rng)
        if possible(scenario_from_data(data), Clock(20, 10)):
            return data


def _draw(rng: Random) -> Data:
    weeks = rng.choice((6, 7))
    last = MONDAY + timedelta(days=7 * weeks - 3)
    remote = rng.randrange(weeks) if rng.random() < 0.6 else None
    data: Data = {
        "format": 1,
        "term": {"first": MONDAY.isoformat(), "last": last.isoformat(), "cycle": ["A", "B"]},
        "rules": {"week": {"most_lessons": 6}},
        "units": [_unit(rng, "rivers", rng.randint(7, 9), weeks, True)],
        "classes": [{"id": "10G", "units": ["rivers", "coasts"], "timetable": {"A": _week(rng), "B": _week(rng)}}],
    }  # fmt: skip
    data["units"].append(_unit(rng, "coasts", rng.randint(4, 6), weeks, False))
    if remote is not None:
        first = MONDAY + timedelta(days=7 * remote)
        data["remote_spells"] = [
            {"name": "Building works", "first": first.isoformat(), "last": (first + timedelta(days=4)).isoformat()}
        ]
        data["rules"]["live_quotas"] = [{"per": "week", "least": 1, "most": 3}]
    if rng.random() < 0.5:
        data["closures"] = [{"name": "Training day", "on": (MONDAY + timedelta(days=7 * rng.randrange(weeks) + 4)).isoformat()}]
    return data


def _week(rng: Random) -> dict[str, Any]:
    days = sorted(rng.sample(WEEKDAYS, 4), key=WEEKDAYS.index)
    table: dict[str, Any] = {day: rng.randint(1, 5) for day in days}
    double = rng.choice(days)
    table[double] = [3, 4]
    return table


def _unit(rng: Random, unit: str, teach: int, weeks: int, tested: bool) -> Data:
    lessons: list[Data] = []
    names = [f"{unit[0]}{number}" for number in range(1, teach + 1)]
    for number, name in enumerate(names):
        dense = rng.random() < 0.25
        load = rng.choice((4, 5)) if dense else rng.choice((2, 3))
        lesson: Data = {"id": name, "title": f"{unit.capitalize()} {number + 1}", "load": load}
        lesson["rules"] = {"retrieval": {"least": 7, "most": 21}, "practice_after_dense": 3}
        if number and rng.random() < 0.25:
            lesson["requires"] = {"lesson": names[number - 1], "most_days": 21}
        if rng.random() < 0.2:
            share = (number + 1) / teach if tested else 1
            late = MONDAY + timedelta(days=min(7 * weeks - 3, round(7 * weeks * share) + 14))
            lesson["not_after"] = late.isoformat()
        lessons.append(lesson)
        if dense:
            lessons.append({"id": f"{name}-task", "kind": "practice", "load": 2, "practises": name})
    met = rng.sample(names[: max(2, teach - 2)], 2)
    lessons.append({"id": f"{unit[0]}-quiz", "kind": "retrieval", "load": 1, "revisits": met})
    if tested:
        due = MONDAY + timedelta(days=7 * weeks - 3)
        lessons += [
            {
                "id": "test",
                "kind": "assessment",
                "requires": names[-1],
                "report_deadline": due.isoformat(),
                "rules": {"marking": 2},
            },
            {"id": "talk", "kind": "feedback", "load": 1, "answers": "test"},
        ]
    return {"id": unit, "in_order": True, **({} if tested else {"after": "rivers"}), "lessons": lessons}
