"""What other programs know of a school's term: its dates, holidays, closures and timetables, put into a scenario.

It comes as a calendar (``foreign_calendar.py``) or as a table (``foreign_table.py``), and is told line by line before it is kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import scenario_from_data
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import monday_of, school_calendar
from sequencer.scenario.written import scenario_data
from sequencer.words import WEEKDAYS, count_text, day_text

MOST_BYTES, MOST_ENTRIES = 2_000_000, 5_000

HOLIDAY, CLOSURE = "holiday", "closure"


@dataclass(frozen=True)
class ForeignDays:
    """Days on which nobody is taught, as another program has them."""

    kind: str
    name: str
    first: date
    last: date
    line: int


@dataclass(frozen=True)
class ForeignPeriod:
    """A period in which a class meets on a date."""

    class_id: str
    day: date
    period: int
    line: int


@dataclass
class Foreign:
    """What was understood of a calendar or a table.

    ``weekly`` has the periods of classes that are stated by weekday and label of the week; ``told`` each line that says
    something, and how it is understood, or that it is not.
    """

    first: date | None = None
    last: date | None = None
    days: list[ForeignDays] = field(default_factory=list)
    periods: list[ForeignPeriod] = field(default_factory=list)
    weekly: dict[str, dict[str, dict[str, set[int]]]] = field(default_factory=dict)
    told: list[tuple[int, str]] = field(default_factory=list)

    def tell(self, line: int, sentence: str) -> None:
        """Say how a line is understood."""
        self.told.append((line, sentence))


def with_foreign(scenario: Scenario, foreign: Foreign) -> Scenario:
    """A scenario with what another program knows: dates of term where stated, days off beside its own, timetables in their place.

    What is told of timetables is added to ``foreign.told``.

    Raises
    ------
    UnusableInput
        When it does not fit together.
    """
    data = scenario_data(scenario)
    if foreign.first is not None:
        data["term"]["first"] = foreign.first.isoformat()
    if foreign.last is not None:
        data["term"]["last"] = foreign.last.isoformat()
    first, last = (date.fromisoformat(data["term"][key]) for key in ("first", "last"))
    for days in foreign.days:
        if days.last < first or days.first > last:
            foreign.tell(days.line, f"{days.name}: lies outside the term, and is left out")
            continue
        entry: dict[str, Any] = {"name": days.name}
        if days.first == days.last:
            entry["on"] = days.first.isoformat()
        else:
            entry |= {"first": days.first.isoformat(), "last": days.last.isoformat()}
        listed = data.setdefault("holidays" if days.kind == HOLIDAY else "closures", [])
        if entry not in listed:
            listed.append(entry)
    without = scenario_from_data({**data, "what_ifs": []} if not data.get("what_ifs") else data)
    weekly = {**_by_label(without, foreign), **foreign.weekly}
    for each in data["classes"]:
        if each["id"] in weekly:
            each["timetable"] = _timetable(weekly[each["id"]], tuple(without.term.cycle))
    return scenario_from_data(data)


def _by_label(scenario: Scenario, foreign: Foreign) -> dict[str, dict[str, dict[str, set[int]]]]:
    """Periods by label of the week and weekday: those that a class has in more than half of the weeks of a label."""
    weeks = {week.monday: week.label for week in school_calendar(scenario).weeks}
    off = {day for each in foreign.days for day in _span(each.first, each.last)}
    seen: dict[tuple[str, str, str, int], dict[date, int]] = {}
    for each in foreign.periods:
        label = weeks.get(monday_of(each.day))
        if label is not None:
            seen.setdefault((each.class_id, label, WEEKDAYS[each.day.weekday()], each.period), {})[each.day] = each.line
    found: dict[str, dict[str, dict[str, set[int]]]] = {}
    for (class_id, label, weekday, period), days in sorted(seen.items()):
        could = [
            day
            for monday, own in weeks.items()
            if own == label and (day := date.fromordinal(monday.toordinal() + WEEKDAYS.index(weekday))) not in off
            if scenario.term.first <= day <= scenario.term.last
        ]
        line = min(days.values())
        if 2 * len(days) <= len(could):
            told = ", ".join(map(day_text, sorted(days)))
            foreign.tell(line, f"{class_id} {weekday} period {period}: only on {told}; that is no timetable, and is left out")
            continue
        found.setdefault(class_id, {}).setdefault(label, {}).setdefault(weekday, set()).add(period)
        where = f" in weeks {label}" if len(set(weeks.values())) > 1 else ""
        missing = [day for day in could if day not in days]
        beside = f"; not on {', '.join(map(day_text, missing))}, which is to be told as a closure" if missing else ""
        foreign.tell(line, f"{class_id} {weekday} period {period}{where}: {count_text(len(days), 'date')}{beside}")
    return found


def _timetable(weekly: dict[str, dict[str, set[int]]], cycle: tuple[str, ...]) -> dict[str, Any]:
    """Periods as a scenario states a timetable."""
    written = {
        label: {day: sorted(weekly[label][day]) for day in WEEKDAYS if day in weekly[label]} for label in cycle if label in weekly
    }
    if set(weekly) == {"every"}:
        return {day: sorted(weekly["every"][day]) for day in WEEKDAYS if day in weekly["every"]}
    return written[cycle[0]] if len(cycle) == 1 else written


def _span(first: date, last: date) -> Iterable[date]:
    return (date.fromordinal(number) for number in range(first.toordinal(), last.toordinal() + 1))


def refuse(problems: list[Problem], source: str = "") -> None:
    """Raise what is wrong, where anything is."""
    if problems:
        raise UnusableInput(tuple(sorted(problems, key=lambda each: each.line)), source)


def at_line(line: int, message: str) -> Problem:
    """Something that is wrong in a line."""
    return Problem("", message, "", line, 1)
