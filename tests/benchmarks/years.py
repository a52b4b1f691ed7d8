"""Years of one class at five periods a week: a chain of units, units interleaved by threes, and a series that grows."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from tests.benchmarks.drawing import Recipe, aims, shares, unit
from tests.builders import Data

FIRST = date(2026, 9, 7)
DAILY = {"Mon": [1], "Tue": [3], "Wed": [2], "Thu": [5], "Fri": [4]}
GROWTH = (15, 30, 45, 60, 90, 120, 150, 190)
"""Lessons of the series that grows."""

STATED = {
    "growth-60": {"distance": 52, "even load": 16},
    "growth-90": {"distance": 81, "even load": 17},
    "growth-120": {"distance": 105, "even load": 18},
    "growth-150": {"distance": 135, "even load": 18},
    "growth-190": {"distance": 146, "even load": 17},
    "year-0": {"distance": 165, "even load": 17},
}
"""Best values, `distance` before `even load`, that a programme sharing nothing with this one proved, with numpy alone."""

STATED_INTERLEAVED = {"interleaved-0": (131, 148), "interleaved-1": (132, 148), "interleaved-2": (133, 159)}
"""Of `distance` a bound that it proved and a value that it found."""


def year(seed: int) -> Data:
    """190 periods, 180 lessons in a chain of twelve units; with odd seeds the tests may lie anywhere after their unit."""
    draw = Random(f"year {seed}")
    return _chain(draw, 180, 190, 12, together=1, floating=seed % 2 == 1)


def interleaved(seed: int) -> Data:
    """190 periods, 180 lessons, three chains of units taught side by side."""
    return _chain(Random(f"interleaved {seed}"), 180, 190, 12, together=3, floating=False)


def growth(lessons: int) -> Data:
    """So many lessons in a chain of units of about 15, about one period in twenty spare."""
    days = lessons + max(1, lessons // 20)
    return _chain(Random("growth"), lessons, days, max(1, lessons // 15), together=1, floating=False)


def crowded(lessons: int, together: int) -> Data:
    """So many lessons in a year, as many periods a day as that takes: units of about 15 in so many chains side by side."""
    a_day = -(-lessons // 190)
    days = -(-(lessons + max(1, lessons // 20)) // a_day)
    timetable = {weekday: list(range(1, a_day + 1)) for weekday in DAILY}
    units = max(together, lessons // 15)
    return _chain(Random("growth"), lessons, days, units, together, floating=False, timetable=timetable)


def unordered(lessons: int) -> Data:
    """So many lessons in a year that nothing puts in order, and no practice for those that are dense."""
    listed = [{"id": f"l{number}", "load": number % 5 + 1} for number in range(lessons)]
    timetable = {weekday: list(range(1, max(1, lessons // 125) + 1)) for weekday in DAILY}
    return {
        "format": 1,
        "term": {"first": FIRST.isoformat(), "last": "2027-07-16"},
        "units": [{"id": "u", "lessons": listed}],
        "classes": [{"id": "9B", "units": ["u"], "timetable": timetable}],
    }


def _chain(
    draw: Random, lessons: int, days: int, units: int, together: int, floating: bool, timetable: Data | None = None
) -> Data:
    """Units of equal length, each after the one that stands so many before it; a week of holiday after every seven."""
    marking = {"least": 3, "most": 10}
    found = [
        unit(draw, number, Recipe(share, floating=floating, marking=marking))
        for number, share in enumerate(shares(lessons, units))
    ]
    for before, after in zip(found, found[together:], strict=False):
        after["after"] = [before["id"]]
    weeks, over = divmod(days - 1, 5)
    breaks = weeks // 7
    last = FIRST + timedelta(weeks=weeks + breaks, days=over)
    mondays = [FIRST + timedelta(weeks=8 * number + 7) for number in range(breaks)]
    return {
        "format": 1,
        "term": {"first": FIRST.isoformat(), "last": last.isoformat()},
        "holidays": [
            {"name": f"Holiday {number}", "first": monday.isoformat(), "last": (monday + timedelta(days=4)).isoformat()}
            for number, monday in enumerate(mondays, 1)
        ],
        "rules": {"retrieval": {"least": 7, "most": 21, "preferred": 12}},
        "aims": aims(None),
        "units": found,
        "classes": [{"id": "9B", "units": [each["id"] for each in found], "timetable": timetable or DAILY}],
    }
