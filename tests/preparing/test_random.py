"""Random departments: tasks and minutes against a second reading of the scenario's plain data and the rows of the JSON answer."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest

from sequencer import SolveSettings, answer_json, preparation_json, scenario_from_data, solve
from tests.builders import MONDAY, Data, a_class, assessment, feedback, scenario, teach

ONE_DAY = timedelta(days=1)


def department(seed: int) -> Data:
    """Three classes of two teachers, two of them parallel, over five weeks with a holiday, a closure and a remote day."""
    rng = random.Random(seed)
    lessons: list[Data] = []
    for number in range(6):
        more: Data = {}
        if rng.random() < 0.8:
            more["preparation_minutes"] = rng.choice([15, 30, 45])
        if rng.random() < 0.6:
            notice = [{"what": "room", "days": rng.randint(1, 8)}] if rng.random() < 0.7 else []
            if rng.random() < 0.5:
                notice.append({"what": "printing", "days": rng.randint(1, 4), "hand_in": True})
            status = rng.choice(["ready", "to adapt", "to make"])
            extra = {} if status == "ready" else {"outside_specialism_minutes": rng.choice([0, 10])}
            more["prepare"] = {"status": status, "notice": notice, **extra}
        lessons.append(teach(f"l{number}", **more))
    lessons.append(assessment("test", marking_minutes=rng.choice([0, 20]), marking_minutes_per_script=rng.choice([0, 2, 3])))
    lessons.append(feedback("talk", "test"))
    classes = [
        a_class("9A", "Mon 1, Wed 2, Fri 1", teacher="T1", size=rng.randint(10, 30)),
        a_class("9B", "Tue 1, Wed 3, Thu 1", teacher="T1", size=rng.randint(10, 30)),
        a_class("9C", "Mon 2, Tue 2, Fri 3", teacher="T2", size=rng.randint(10, 30)),
    ]
    days = [MONDAY + timedelta(days=offset) for offset in range(35) if offset % 7 < 5]
    holiday = rng.choice(days[5:15])
    back_on = holiday + timedelta(days=rng.randint(0, 6))
    return scenario(
        lessons,
        weeks=5,
        classes=classes,
        holidays=[{"name": "Away", "first": holiday.isoformat(), "last": back_on.isoformat()}],
        closures=[{"name": "Closed", "on": rng.choice(days).isoformat()}],
        remote_spells=[{"name": "Home", "on": rng.choice(days).isoformat(), "taught": "set work"}],
        aims=["early finish", "even week"],
    )


def school_days(data: Data) -> list[date]:
    holiday, closed = data["holidays"][0], date.fromisoformat(data["closures"][0]["on"])
    first, last = date.fromisoformat(holiday["first"]), date.fromisoformat(holiday["last"])
    days = [MONDAY + timedelta(days=offset) for offset in range(35)]
    return [day for day in days if day.weekday() < 5 and not first <= day <= last and day != closed]


def back(days: list[date], day: date, count: int) -> str | None:
    """Walk back from a date over so many school days."""
    while count:
        day -= ONE_DAY
        if day < MONDAY:
            return None
        count -= day in days
    return day.isoformat()


def weeks(data: Data) -> dict[date, int]:
    """The number of each school week, by its Monday."""
    holiday = data["holidays"][0]
    first, last = date.fromisoformat(holiday["first"]), date.fromisoformat(holiday["last"])
    mondays = [MONDAY + timedelta(days=7 * week) for week in range(5)]
    taught = [monday for monday in mondays if any(not first <= monday + timedelta(days=day) <= last for day in range(5))]
    return {monday: number for number, monday in enumerate(taught, 1)}


def read(data: Data, rows: list[Data]) -> tuple[Counter[Any], Counter[Any]]:
    """Tasks as (what, who, by, lesson, classes, minutes), and minutes as (teacher, week, what)."""
    days, numbers = school_days(data), weeks(data)
    lessons = {lesson["id"]: lesson for lesson in data["units"][0]["lessons"]}
    classes = {class_["id"]: class_ for class_ in data["classes"]}
    when = {(row["class"], row["lesson"]): date.fromisoformat(row["date"]) for row in rows}
    how = {(row["class"], row["lesson"]): row["taught"] for row in rows}
    period = {(row["class"], row["lesson"]): row["period"] for row in rows}
    tasks: Counter[Any] = Counter()
    minutes: Counter[Any] = Counter()

    def week(day: date) -> int:
        return numbers[day - timedelta(days=day.weekday())]

    for name, lesson in lessons.items():
        material = lesson.get("prepare")
        notices = material["notice"] if material else []
        for teacher in ("T1", "T2"):
            having = sorted(
                (when[class_, name], period[class_, name], class_) for class_ in classes if classes[class_]["teacher"] == teacher
            )
            first = having[0][0]
            ready = material is not None and material["status"] == "ready"
            takes = 0 if ready else lesson.get("preparation_minutes", 0)
            takes += material.get("outside_specialism_minutes", 0) if material else 0
            if takes:
                minutes[teacher, week(first) - 1, "preparation"] += takes
            if not ready and (material is not None or takes):
                ahead = max([notice["days"] for notice in notices if notice.get("hand_in")], default=1)
                names = tuple(class_ for _, _, class_ in having)
                tasks["prepare", teacher, back(days, first, ahead), name, names, takes] += 1
            for day, _, class_ in having:
                for notice in notices:
                    tasks["book", teacher, back(days, day, notice["days"]), name, (class_,), 0] += 1
                if how[class_, name] != "in class":
                    tasks["upload", teacher, back(days, day, 1), name, (class_,), 0] += 1
                scripts = classes[class_]["size"] * lesson.get("marking_minutes_per_script", 0)
                marking = scripts + lesson.get("marking_minutes", 0)
                if marking:
                    minutes[teacher, week(day), "marking"] += marking
                if marking or lesson.get("kind") == "assessment":
                    tasks["mark", teacher, back(days, when[class_, "talk"], 1), name, (class_,), marking] += 1
    return tasks, minutes


@pytest.mark.parametrize("seed", range(12))
def test_tasks_and_minutes_are_those_of_a_second_reading(seed: int) -> None:
    data = department(seed)
    answer = solve(scenario_from_data(data), SolveSettings(seconds=60, effort=0.3))
    assert answer.sequence is not None and answer.verdict is not None
    body = preparation_json(answer)
    tasks, minutes = read(data, answer_json(answer)["lessons"])
    told = Counter(
        (task["what"], task["who"], task["by"], task["lesson"], tuple(each["class"] for each in task["classes"]), task["minutes"])
        for task in body["tasks"]
    )
    assert told == tasks
    counted: Counter[Any] = Counter()
    for week in body["weeks"]:
        for what in ("preparation", "marking"):
            counted[week["teacher"], week["week"], what] += week[f"{what}_minutes"]
    assert +counted == minutes
    heaviest: dict[str, int] = {}
    for teacher, week, _ in minutes:
        together = minutes[teacher, week, "preparation"] + minutes[teacher, week, "marking"]
        heaviest[teacher] = max(together, heaviest.get(teacher, 0))
    assert sum(heaviest.values()) == answer.verdict.aims["even week"]
