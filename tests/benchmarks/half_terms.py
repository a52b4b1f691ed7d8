"""Half terms of one class, drawn at random: what one teacher asks for one class, in the words of most scenarios.

They keep to a part of the scenario language which ``experts/half_term.py`` reads too.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from random import Random

from tests.benchmarks.drawing import Recipe, aims, shares, unit
from tests.builders import Data

MONDAY = date(2026, 11, 2)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri")


def half_term(seed: int) -> Data:
    """One class for six or seven weeks at four or five periods a week: 25 to 30 periods, with one to three of them spare."""
    draw = Random(f"half term {seed}")
    weeks, a_week = draw.choice(((6, (5, 4)), (6, (5, 5)), (7, (4, 4)), (7, (4, 5))))
    two_weeks = {label: _week(draw, count) for label, count in zip("AB", a_week, strict=True)}
    closed = sorted(draw.sample(range(2, 5 * weeks - 3), draw.choice((1, 2))))
    closures = [{"name": f"Closed day {at + 1}", "on": _on(day)} for at, day in enumerate(closed)]
    met = [
        (day, period)
        for day in range(5 * weeks)
        if day not in closed
        for period in two_weeks["AB"[day // 5 % 2]].get(WEEKDAYS[day % 5], ())
    ]
    spare = draw.choice((1, 2, 2, 3))
    patterned = seed % 5 in (3, 4)
    units, rules, patterns = _units(draw, len(met) - spare, seed, patterned)
    found: Data = {
        "format": 1,
        "title": f"Half term {seed}",
        "term": {"first": _on(0), "last": _on(5 * weeks - 1), "cycle": ["A", "B"]},
        "closures": closures,
        "rules": rules,
        "aims": aims(patterns),
        "patterns": patterns,
        "units": units,
        "classes": [{"id": "9B", "units": [each["id"] for each in units], "timetable": two_weeks}],
    }
    _remote(draw, found, weeks)
    _mix(draw, found, weeks)
    if draw.random() < 0.4:
        free = [day for day in range(5, 5 * weeks - 5) if day not in closed]
        refuses = {"kinds": ["teach", "assessment"]}
        found["restricted_days"] = [{"name": "Cover teacher", "on": _on(draw.choice(free)), "refuses": refuses}]
    if not patterns:
        del found["patterns"]
    return found


def _on(day: int) -> str:
    """A date by its number among the weekdays of term, from 0."""
    return (MONDAY + timedelta(days=7 * (day // 5) + day % 5)).isoformat()


def _week(draw: Random, count: int) -> dict[str, list[int]]:
    """So many periods of a week; with five, one day has two."""
    days = sorted(draw.sample(range(5), min(count, 4)))
    week = {WEEKDAYS[day]: [draw.randint(1, 5)] for day in days}
    if count == 5:
        first = draw.choice((1, 3))
        week[WEEKDAYS[draw.choice(days)]] = [first, first + 1]
    return week


def _units(draw: Random, lessons: int, seed: int, patterned: bool) -> tuple[list[Data], Data, list[Data]]:
    """Units with so many lessons, made ones included as far as can be told; the rules and patterns they go by."""
    rules: Data = {"marking": {"least": draw.choice((2, 3)), "most": 10}}
    if not patterned:
        least, most, preferred = draw.choice(((7, 21, 12), (6, 16, 10), (8, 24, 14)))
        rules["retrieval"] = {"least": least, "most": most, "preferred": preferred}
        rules["practice_after_dense"] = draw.choice((1, 1, 2))
        recipes = [
            Recipe(share, test=place == 0 or draw.random() < 0.5)
            for place, share in enumerate(shares(lessons, draw.choice((2, 2, 3))))
        ]
        units = [unit(draw, seed * 3 + place, recipe) for place, recipe in enumerate(recipes)]
        patterns: list[Data] = []
    else:
        starters = seed % 5 == 4
        pattern: Data = {
            "id": "usual",
            "rules": {
                "practice_after_dense": 2,
                "retrieval": {"least": 7, "most": 21, "preferred": 12, **({"chosen": True} if starters else {})},
            },
            "practice": {"title": "Practice: {lesson}"},
        }
        if starters:
            pattern["rules"]["starters"] = 1
        else:
            pattern["retrieval"] = {"title": "Quiz {number}", "load": 1, "room": 4, "most": 3}
        patterns = [pattern]
        # About a quarter of what is taught is practised in a lesson of its own, and every four lessons there is a quiz.
        own = round(lessons * (0.8 if starters else 0.68))
        recipes = [Recipe(share, pattern="usual", test=place == 0) for place, share in enumerate(shares(own, 2))]
        units = [unit(draw, seed * 3 + place, recipe) for place, recipe in enumerate(recipes)]
    for before, after in pairwise(units):
        after["after"] = [before["id"]]
    first, last = units[0]["lessons"], units[-1]["lessons"]
    draw.choice([each for each in first if each.get("kind") is None])["live"] = "prefer"
    draw.choice([each for each in first if each.get("kind") == "practice"] or first[:1])["live"] = "avoid"
    last.append({"id": "news", "title": "In this week's news", "load": 2, "optional": True, "rules": {"retrieval": "off"}})
    return units, rules, patterns


def _remote(draw: Random, found: Data, weeks: int) -> None:
    """A week or a fortnight taught remotely, most of it open, with a quota of live lessons."""
    first, length = draw.randint(0, weeks - 2), draw.choice((1, 1, 2))
    found["remote_spells"] = [
        {
            "name": "Remote spell",
            "first": _on(5 * first),
            "last": _on(5 * (first + length) - 1),
            "fixed": [{"taught": draw.choice(("set work", "live")), "weekdays": [draw.choice(WEEKDAYS)]}],
        }
    ]
    found["rules"]["live_quotas"] = [{"per": "week", "least": draw.choice((1, 2)), "most": 3}]
    for each in found["units"]:
        for lesson in each["lessons"]:
            if lesson.get("kind") == "assessment":
                lesson["needs"] = ["in school"]


def _mix(draw: Random, found: Data, weeks: int) -> None:
    """What keeps weeks from being all of one kind: a cap on a tag, a thread, or a limit on the week's load."""
    kind = draw.choice(("cap", "thread", "week"))
    listed = [lesson for each in found["units"] for lesson in each["lessons"]]
    taught = [lesson for lesson in listed if lesson.get("kind") is None]
    if kind == "cap":
        for lesson in draw.sample(taught, len(taught) // 3):
            lesson["tags"] = ["writing"]
        found["rules"]["caps"] = [{"tag": "writing", "most": 2, "of": 4}]
    elif kind == "thread":
        for lesson in taught[1::3]:
            lesson["tags"] = ["maths"]
        found["rules"]["threads"] = [{"tag": "maths", "least": 1, "of": 12}]
    else:
        total = sum(lesson["load"] for lesson in listed)
        found["rules"]["week"] = {"most_load": -(-total // weeks) + 5}
