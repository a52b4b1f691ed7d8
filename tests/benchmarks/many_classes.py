"""Several classes that share a teacher, kit and days: all classes of one teacher for half a term, and a department."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from tests.benchmarks.drawing import Recipe, aims, unit
from tests.builders import Data

MONDAY = date(2026, 11, 2)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri")
Timetable = dict[str, dict[str, list[int]]]

PATTERNS: list[Data] = [
    {
        "id": "lower-school",
        "rules": {
            "practice_after_dense": 2,
            "retrieval": {"least": 8, "most": 28, "preferred": 14, "chosen": True},
            "starters": 1,
        },
        "practice": {"title": "Practice: {lesson}"},
    },
    {
        "id": "exam-class",
        "rules": {"practice_after_dense": 2, "retrieval": {"least": 8, "most": 21, "preferred": 14}},
        "practice": {"title": "Practice: {lesson}"},
        "retrieval": {"title": "Quiz {number}", "load": 1, "room": 4},
    },
]


@dataclass(frozen=True)
class Band:
    """Parallel classes of one unit.

    Parameters
    ----------
    classes
        Their ids.
    cycle
        Periods in two weeks.
    pattern, marking_minutes
        Of their unit.
    """

    classes: tuple[str, ...]
    cycle: int
    pattern: str
    marking_minutes: int


SIX = (
    Band(("7R", "7S"), 3, "lower-school", 60),
    Band(("8P",), 3, "lower-school", 60),
    Band(("9B",), 4, "lower-school", 90),
    Band(("10G",), 9, "exam-class", 120),
    Band(("12G",), 9, "exam-class", 150),
)
EIGHT = (
    Band(("7R", "7S"), 3, "lower-school", 60),
    Band(("8P", "8Q"), 3, "lower-school", 60),
    Band(("9B", "9C"), 4, "lower-school", 60),
    Band(("10G",), 9, "exam-class", 120),
    Band(("12G",), 9, "exam-class", 150),
)
DEPARTMENT = (
    Band(("7A", "7B", "7C", "7D"), 3, "lower-school", 45),
    Band(("8A", "8B", "8C", "8D"), 4, "lower-school", 45),
    Band(("9A", "9B", "9C", "9D"), 5, "lower-school", 60),
    Band(("10K", "10L", "10M"), 7, "exam-class", 90),
    Band(("11K", "11L", "11M"), 7, "exam-class", 90),
    Band(("12K", "12L"), 8, "exam-class", 120),
)
STAFF = ("Ms Ferris", "Mr Lorne", "Mr Okafor", "Dr Weiss")
WEEKS = 6
"""Weeks of a department."""


def one_teacher(bands: tuple[Band, ...], seed: int) -> Data:
    """All classes of one teacher for seven weeks."""
    names = [name for band in bands for name in band.classes]
    return _classes(Random(f"{len(names)} classes {seed}"), bands, dict.fromkeys(names, STAFF[0]), 7)


def department(seed: int, weeks: int = WEEKS, calendar: Random | None = None, full: float = 1.0) -> Data:
    """Twenty classes and four teachers for so many weeks; parallel classes have different teachers where they can.

    What draws the calendar may be given, so that several departments have the same. Units shorter by a share leave more periods
    free: a test at a unit's end then has more days that it can lie on.
    """
    names = [name for band in DEPARTMENT for name in band.classes]
    return _classes(
        Random(f"department {seed}"),
        DEPARTMENT,
        {name: STAFF[place % len(STAFF)] for place, name in enumerate(names)},
        weeks,
        calendar,
        full,
    )


def _classes(
    draw: Random,
    bands: tuple[Band, ...],
    teacher_of: dict[str, str],
    weeks: int,
    calendar: Random | None = None,
    full: float = 1.0,
) -> Data:
    taken: dict[str, set[tuple[str, str, int]]] = {name: set() for name in STAFF}
    calendar = calendar or draw
    closed = MONDAY + timedelta(days=7 * calendar.randint(1, weeks - 2) + 4)
    remote = MONDAY + timedelta(weeks=calendar.randint(1, weeks - 2))
    units: list[Data] = []
    classes: list[Data] = []
    for number, band in enumerate(bands):
        timetables = {name: _timetable(draw, band.cycle, taken[teacher_of[name]]) for name in band.classes}
        fewest = min(_met(timetable, weeks, closed) for timetable in timetables.values())
        # A third is left for what patterns make (starters need no lessons), and a little stays spare.
        own = round(fewest * full * (0.66 if band.pattern == "lower-school" else 0.62))
        made = unit(draw, number + draw.randint(0, 2) * 6, Recipe(own, band.pattern, minutes=band.marking_minutes))
        _needs(draw, made)
        units.append(made)
        classes += [
            {"id": name, "teacher": teacher_of[name], "units": [made["id"]], "timetable": timetables[name]}
            for name in band.classes
        ]
    staff = list(dict.fromkeys(teacher_of.values()))
    quotas: list[Data] = [{"per": "week", "least": 1, "most": 3}]
    if len(staff) == 1:
        quotas.append({"per": "week", "least": 4, "most": 7, "teacher": staff[0]})
    found: Data = {
        "format": 1,
        "term": {"first": MONDAY.isoformat(), "last": (MONDAY + timedelta(days=7 * weeks - 3)).isoformat(), "cycle": ["A", "B"]},
        "closures": [{"name": "Training day", "on": closed.isoformat()}],
        "remote_spells": [
            {
                "name": "Building works",
                "first": remote.isoformat(),
                "last": (remote + timedelta(days=4)).isoformat(),
                "fixed": [{"taught": "set work", "periods": [5]}],
            }
        ],
        "shared": [{"name": thing, "capacity": 1 + (len(staff) > 1)} for thing in ("instruments", "tablets")],
        "teachers": [],
        # The known sequences are older than the rule of practice before assessments.
        "rules": {"live_quotas": quotas, "in_step": 7, "practice_before_assessment": "off"},
        "aims": aims(PATTERNS),
        "patterns": PATTERNS,
        "units": units,
        "classes": classes,
    }
    found["teachers"] = [_limits(found, name, weeks) for name in staff]
    return found


def _timetable(draw: Random, cycle: int, taken: set[tuple[str, str, int]]) -> Timetable:
    """So many periods in two weeks, spread over days, that the teacher does not have already; long ones hold doubles."""
    found: Timetable = {"A": {}, "B": {}}
    left = {"A": (cycle + 1) // 2, "B": cycle // 2}
    for label, count in left.items():
        days = draw.sample(WEEKDAYS, 5)
        for place in range(count):
            weekday = days[place % 5]
            free = [period for period in range(1, 6) if (label, weekday, period) not in taken]
            if not free:
                weekday, free = next(
                    (day, periods)
                    for day in WEEKDAYS
                    if (periods := [period for period in range(1, 6) if (label, day, period) not in taken])
                )
            period = draw.choice(free)
            taken.add((label, weekday, period))
            found[label].setdefault(weekday, []).append(period)
    return {label: {day: sorted(week[day]) for day in WEEKDAYS if day in week} for label, week in found.items()}


def _met(timetable: Timetable, weeks: int, closed: date) -> int:
    """How often a class meets."""
    days = [MONDAY + timedelta(days=7 * week + day) for week in range(weeks) for day in range(5)]
    return sum(
        len(timetable["AB"[(day - MONDAY).days // 7 % 2]].get(WEEKDAYS[day.weekday()], ())) for day in days if day != closed
    )


def _needs(draw: Random, unit: Data) -> None:
    """Some lessons need shared kit, not the first, which has little choice of days; tests need a room in school."""
    taught = [lesson for lesson in unit["lessons"] if lesson.get("kind") is None]
    for lesson, thing in zip(draw.sample(taught[1:], 2), ("instruments", "tablets"), strict=True):
        lesson["needs"] = [thing, "in school"]
    for lesson in unit["lessons"]:
        if lesson.get("kind") == "assessment":
            lesson["needs"] = ["in school"]


def _limits(found: Data, name: str, weeks: int) -> Data:
    """What a teacher's day and week can hold: half of all marking (tests come late), preparation at twice an even spread."""
    units = {unit["id"]: unit["lessons"] for unit in found["units"]}
    taught = [each["units"][0] for each in found["classes"] if each["teacher"] == name]
    marking = sum(lesson.get("marking_minutes", 0) for unit in taught for lesson in units[unit])
    preparing = sum(lesson.get("preparation_minutes", 0) for unit in dict.fromkeys(taught) for lesson in units[unit])
    most_at_once = max(lesson.get("marking_minutes", 0) for unit in taught for lesson in units[unit])
    return {
        "name": name,
        "dense_a_day": 3,
        "live_a_day": 3,
        "marking_a_week": max(most_at_once, 30 * -(-marking // 60)),
        "preparation_a_week": max(60, 30 * -(-preparing // (weeks * 15))),
    }
