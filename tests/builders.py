"""Scenarios in one line, so that a test shows only what matters to it.

``scenario([teach("a"), teach("b", requires="a")], per_week="Mon 1, Tue 1-2")`` is one class, 9B, that meets three
times a week for two weeks from Monday 2 November 2026 and takes one unit, ``u``. Builders return plain dicts in the
scenario language, so whatever they do not offer can be said in that language. No rule is switched off behind a
test's back: ``QUIET`` does so by name.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from sequencer import Answer, Asked, SolveSettings, answer_json, around_written, read_scenario, scenario_from_data, solve

Data = dict[str, Any]

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONDAY = date(2026, 11, 2)
"""First day of every term made here."""

PATIENT = 300
"""Seconds that no scenario of a test needs, however busy the machine is: a proof that is expected is waited for."""

SCENARIOS = Path(__file__).resolve().parent.parent / "scenarios"

QUIET: Data = {"consecutive_high_load": "off", "practice_after_dense": "off"}
"""``rules=QUIET``: the two rules that fire on high loads alone are off."""


@cache
def best_of(demo: str) -> Answer:
    """Return the best sequence of a demo, which is looked for once for all tests of a process."""
    return solve(read_scenario(SCENARIOS / f"{demo}.yaml"), SolveSettings(seconds=PATIENT))


def around_text(name: str, answer: Answer, *asked: Any, **more: Any) -> str:
    """Return what surrounds an answer's sequence as text; what is asked is given as ``Asked`` takes it."""
    return str(around_written(answer, name, "text", Asked(*asked, **more)))


def _listed(words: str | Sequence[str]) -> str | list[str]:
    return words if isinstance(words, str) else list(words)


# -- lessons -----------------------------------------------------------------------------------------------------------


def teach(id: str, **more: Any) -> Data:
    """Return a teach lesson: ``teach("x", load=4, requires="w")``."""
    return {"id": id, **more}


def practice(id: str, practises: str | Sequence[str] = (), **more: Any) -> Data:
    """Return a practice lesson: ``practice("p", "x")`` practises x."""
    return {"id": id, "kind": "practice", "practises": _listed(practises), **more}


def retrieval(id: str, revisits: str | Sequence[str] = (), **more: Any) -> Data:
    """Return a retrieval lesson: ``retrieval("r", ["x", "y"])`` revisits x and y."""
    return {"id": id, "kind": "retrieval", "revisits": _listed(revisits), **more}


def assessment(id: str, **more: Any) -> Data:
    """Return an assessment."""
    return {"id": id, "kind": "assessment", **more}


def feedback(id: str, answers: str | Sequence[str] = (), **more: Any) -> Data:
    """Return a feedback lesson: ``feedback("f", "test")`` answers the assessment test."""
    return {"id": id, "kind": "feedback", "answers": _listed(answers), **more}


# -- calendar ----------------------------------------------------------------------------------------------------------


def timetable(per_week: str) -> Data:
    """Return ``{"Mon": [1], "Tue": [1, 2, 3]}`` for ``"Mon 1, Tue 1-3"``."""
    days: dict[str, list[int]] = {}
    for entry in per_week.split(","):
        weekday, periods = entry.split()
        first, _, last = periods.partition("-")
        days.setdefault(weekday, []).extend(range(int(first), int(last or first) + 1))
    return dict(days)


def term(weeks: int) -> Data:
    """Return a term of so many weeks, to a Sunday so that lessons at weekends can be stated."""
    return {"first": MONDAY.isoformat(), "last": (MONDAY + timedelta(days=7 * weeks - 1)).isoformat()}


def day(week: int, weekday: str) -> str:
    """Return the date of a weekday in a week numbered from 1: ``day(1, "Tue")`` is ``"2026-11-03"``."""
    return (MONDAY + timedelta(days=7 * (week - 1) + WEEKDAYS.index(weekday))).isoformat()


# -- whole scenarios ---------------------------------------------------------------------------------------------------


def a_class(id: str = "9B", per_week: str = "Mon 1, Tue 1", units: str | Sequence[str] = "u", **more: Any) -> Data:
    """Return a class; ``timetable=`` in the scenario language wins over ``per_week``."""
    return {"id": id, "units": _listed(units), "timetable": timetable(per_week), **more}


def scenario(
    lessons: Sequence[Data] = (),
    weeks: int = 2,
    per_week: str = "Mon 1, Tue 1",
    unit: Data | None = None,
    of_class: Data | None = None,
    **top_level: Any,
) -> Data:
    """Return one class with one unit, unless ``units`` or ``classes`` say otherwise.

    Parameters
    ----------
    lessons
        The lessons of unit ``u``.
    weeks, per_week
        How long the term is, and when class 9B meets.
    unit, of_class
        What else the unit or the class states, such as ``unit={"in_order": True}``.
    top_level
        What else the scenario states, such as ``closures=[…]``; it wins over the rest.
    """
    return {
        "format": 1,
        "term": term(weeks),
        "units": [{"id": "u", "lessons": list(lessons), **(unit or {})}],
        "classes": [a_class(per_week=per_week, **(of_class or {}))],
        **top_level,
    }


# -- answers -----------------------------------------------------------------------------------------------------------


def solved(data: Data, **settings: Any) -> Answer:
    """Solve and return the answer, which must be proven best, passed by the referee, and priced alike by both."""
    answer = solve(scenario_from_data(data), SolveSettings(**{"seconds": PATIENT, **settings}))
    assert answer.status == "optimal", answer.status
    body = answer_json(answer)
    assert body["verdict"]["sound"], body["verdict"]["breaches"]
    for aim in body["aims"]:
        assert aim["proven"] and aim["bound"] == aim["value"] == body["verdict"]["aims"][aim["aim"]], aim
    return answer


def impossible(data: Data, **settings: Any) -> Answer:
    """Solve and return the answer, which must be a proof that no sequence exists: running out of time fails."""
    answer = solve(scenario_from_data(data), SolveSettings(**{"seconds": PATIENT, **settings}))
    assert answer.status == "infeasible", answer.status
    assert answer.sequence is None
    return answer


def aims(answer: Answer) -> dict[str, int]:
    """Return the value of each aim: ``aims(solved(…))["even load"]``."""
    return {aim["aim"]: aim["value"] for aim in answer_json(answer)["aims"]}


def rows(answer: Answer, class_id: str = "9B") -> dict[str, Data]:
    """Return the placed lessons of a class by id, as they stand in the JSON answer, in order of time."""
    return {row["lesson"]: row for row in answer_json(answer)["lessons"] if row["class"] == class_id}


def slots(answer: Answer, class_id: str = "9B") -> dict[str, int]:
    """Return the first slot number of each placed lesson of a class."""
    return {lesson: row["slot"] for lesson, row in rows(answer, class_id).items()}
