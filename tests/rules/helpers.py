"""Sequences written by hand, and what the solver and the referee say of them.

A place is written ``"1 Mon 2"``: Monday of the first calendar week of term, period 2, and where it matters how it is
taught, ``"1 Mon 2 set work"``. ``allowed`` and ``forbidden`` ask both: the solver, by pinning every lesson named,
and the referee, without pins. What one of them lets through and the other does not is a failure.
"""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import Any

from sequencer import Answer, answer_json, build_instance, check, scenario_from_data, sequence_from_data, verdict_json
from tests.builders import MONDAY, WEEKDAYS, aims, assessment, day, impossible, solved

Data = dict[str, Any]

EVERY_DAY = "Mon 1, Tue 1, Wed 1, Thu 1, Fri 1"
"""One period on each weekday: slot numbers are 0 to 4 in the first week, 5 to 9 in the second."""


def hard(id: str, **more: Any) -> Data:
    """Return a high-load lesson that is no teach lesson, so that only the cap on consecutive ones concerns it."""
    return assessment(id, load=4, **more)


def row(lesson: str, place: str, of: str = "9B") -> Data:
    """Return one placed lesson of a sequence: ``row("a", "1 Mon 2 live", of="9C")``."""
    week, weekday, period, *taught = place.split(maxsplit=3)
    placed: Data = {"class": of, "lesson": lesson, "date": day(int(week), weekday), "period": int(period)}
    unit, slash, name = lesson.partition("/")
    if slash:
        placed |= {"unit": unit, "lesson": name}
    return placed | ({"taught": taught[0]} if taught else {})


def placed(answer: Answer, class_id: str = "9B") -> dict[str, str]:
    """Return where each placed lesson of a class begins: ``{"a": "1 Mon 1"}``."""
    found = {}
    for lesson in answer_json(answer)["lessons"]:
        if lesson["class"] == class_id:
            on = date.fromisoformat(lesson["date"])
            week, weekday = divmod((on - MONDAY).days, 7)
            found[lesson["lesson"]] = f"{week + 1} {WEEKDAYS[weekday]} {lesson['period']}"
    return found


def taught(answer: Answer, class_id: str = "9B") -> dict[str, str]:
    """Return how each placed lesson of a class is taught."""
    lessons = answer_json(answer)["lessons"]
    return {lesson["lesson"]: lesson["taught"] for lesson in lessons if lesson["class"] == class_id}


# -- the referee -------------------------------------------------------------------------------------------------------


def judged(data: Data, /, *rows: Data, **places: str) -> Data:
    """Return the referee's verdict on a sequence written by hand, as it stands in the JSON answer."""
    scenario = scenario_from_data(data)
    lessons = [*rows, *(row(lesson, place) for lesson, place in places.items())]
    verdict = check(scenario, sequence_from_data(scenario, {"lessons": lessons}))
    body = verdict_json(build_instance(scenario), verdict)
    assert body["sound"] == (not body["breaches"])
    return body


def broken(data: Data, /, *rows: Data, **places: str) -> list[tuple[int, list[str]]]:
    """Return the referee's breaches as (rule number, lessons in alphabetical order)."""
    breaches = judged(data, *rows, **places)["breaches"]
    return sorted((breach["rule"], sorted(f"{one['unit']}/{one['lesson']}" for one in breach["lessons"])) for breach in breaches)


def refs(lessons: str) -> list[str]:
    """Return ``["u/a", "u/b"]`` for ``"b a"``."""
    return sorted(lesson if "/" in lesson else f"u/{lesson}" for lesson in lessons.split())


# -- both at once ------------------------------------------------------------------------------------------------------


def pinned(data: Data, rows: list[Data]) -> Data:
    """Return the scenario with each lesson of the rows pinned, for its class alone, to its date and period."""
    data = deepcopy(data)
    for lesson in rows:
        own = next(entry for entry in data["classes"] if entry["id"] == lesson["class"]).setdefault("lessons", {})
        ref = "/".join(filter(None, (lesson.get("unit"), lesson["lesson"])))
        own[ref] = {**own.get(ref, {}), "on": lesson["date"], "period": lesson["period"]}
    return data


def allowed(data: Data, /, *rows: Data, **places: str) -> dict[str, int]:
    """Assert that the sequence is sound and that the solver can make it; return the referee's value of each aim.

    The lessons are pinned, so the solver only decides how they are taught and whether a lesson not named is placed.
    """
    lessons = [*rows, *(row(lesson, place) for lesson, place in places.items())]
    verdict = judged(data, *lessons)
    assert verdict["sound"], verdict["breaches"]
    answer = solved(pinned(data, lessons))
    for lesson in lessons:
        begins = placed(answer, lesson["class"])[lesson["lesson"]]
        found = row(lesson["lesson"], begins, lesson["class"])
        assert (found["date"], found["period"]) == (lesson["date"], lesson["period"])
    return dict(verdict["aims"])


def forbidden(data: Data, rule: int, concerned: str, /, *rows: Data, **places: str) -> None:
    """Assert that the referee finds exactly this one breach and that the solver proves the pinned sequence impossible."""
    lessons = [*rows, *(row(lesson, place) for lesson, place in places.items())]
    assert broken(data, *lessons) == [(rule, refs(concerned))]
    impossible(pinned(data, lessons))


def wish_cost(data: Data, /, *rows: Data, **places: str) -> int:
    """Return what the wishes cost a sound sequence: alike for the referee, its list of wishes not granted, and the solver.

    The solver is given the lessons pinned, so that it only decides how they are taught.
    """
    lessons = [*rows, *(row(lesson, place) for lesson, place in places.items())]
    verdict = judged(data, *lessons)
    assert verdict["sound"], verdict["breaches"]
    cost: int = verdict["aims"]["wishes"]
    assert cost == sum(wish["units"] * wish["weight"] for wish in verdict["wishes"])
    assert cost == aims(solved(pinned(data, lessons)))["wishes"]
    return cost
