"""What the rows of a plan say became of their lessons, joined with the record: a row wins over what the record said before."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import scenario_from_data
from sequencer.next_term.term import PlanRow, TermPlan, WholeTerm
from sequencer.scenario.changes.what_ifs import WhatIf
from sequencer.scenario.places import Path, pointer_text, where_text
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import model_data, scenario_data
from sequencer.words import LOST, SKIPPED

_WEEK = timedelta(days=7)
_SAYS_WHEN = ("what", "date", "period", "taught", "revisits", "parts_done")


@dataclass(frozen=True)
class News:
    """A row that says something else than the record did, and what that was; ``row.what`` is None where it is taken back."""

    row: PlanRow
    before: RecordEntry | None = None


@dataclass(frozen=True)
class ScenarioNow:
    """A scenario with all that the rows of its plan say, what of that is new, and the what-ifs that it rules out."""

    scenario: Scenario
    news: tuple[News, ...]
    lapsed: tuple[WhatIf, ...]


def with_what_happened(term: WholeTerm) -> ScenarioNow:
    """The scenario of a term with what the rows of its plan say in its record, and ``today`` put forward as far as they tell.

    A what-if that is ruled out by what happened (a day closed on which a lesson was taught) is left out.

    Raises
    ------
    UnusableInput
        When what a row says cannot have been, at the row.
    """
    if term.plan is None:
        return ScenarioNow(term.scenario, (), ())
    record = _RowsJoined(term.scenario, term.plan)
    if not record.news:
        return ScenarioNow(term.scenario, (), ())
    data = scenario_data(term.scenario)
    data["record"] = [entry for entry, _ in record.entries]
    data["today"] = day_it_is(term.scenario, ((news.row.what, news.row.date) for news in record.news))
    data = {key: value for key, value in data.items() if value not in ([], None)}
    try:
        scenario, lapsed = without_lapsed(term.scenario, data)
    except UnusableInput as unusable:
        raise UnusableInput(tuple(record.at_its_row(problem) for problem in unusable.problems), unusable.source) from None
    return ScenarioNow(scenario, tuple(record.news), lapsed)


def day_it_is(scenario: Scenario, told: Iterable[tuple[str | None, date]], stated: date | None = None) -> str | None:
    """The day stated, or the scenario's ``today``, or the day after the last lesson told of, if that is later; within the term.

    A period that did not take place tells it only where it is no more than a week ahead of what was taught.
    """
    today = stated if stated is not None else scenario.today
    rows = [(what, day) for what, day in told if what not in (None, SKIPPED)]
    days = [day + timedelta(days=1) for what, day in rows if what != LOST]
    days += [today] if today is not None else []
    near = max(days, default=max((day for _, day in rows), default=date.min)) + _WEEK
    days += [day + timedelta(days=1) for what, day in rows if what == LOST and day <= near]
    if not days:
        return None
    latest = max(days)
    return (latest if latest == today else min(latest, scenario.term.last)).isoformat()


def without_lapsed(before: Scenario, data: dict[str, Any]) -> tuple[Scenario, tuple[WhatIf, ...]]:
    """A scenario whose record has grown, read without those what-ifs that could come before and cannot any more, and these.

    Raises
    ------
    UnusableInput
        When anything else is wrong with it.
    """
    try:
        return scenario_from_data(data), ()
    except UnusableInput as unusable:
        places = {_place_of_what_if(problem) for problem in unusable.problems}
        if None in places:
            kept = tuple(problem for problem in unusable.problems if _place_of_what_if(problem) is None)
            raise UnusableInput(kept, unusable.source) from None
    gone = {before.what_ifs[place].name for place in places if place is not None}
    while more := {each.name for each in before.what_ifs if each.builds_on in gone and each.name not in gone}:
        gone |= more
    left = [model_data(each) for each in before.what_ifs if each.name not in gone]
    scenario = scenario_from_data({key: value for key, value in (data | {"what_ifs": left}).items() if value != []})
    return scenario, tuple(each for each in before.what_ifs if each.name in gone)


def _place_of_what_if(problem: Problem) -> int | None:
    match = re.match(r"/what_ifs/(\d+)", problem.pointer)
    return int(match[1]) if match else None


class _RowsJoined:
    """The entries of a record, each with the number of the row that it comes from, if from one; and what rows say anew."""

    def __init__(self, scenario: Scenario, plan: TermPlan) -> None:
        self.entries: list[tuple[dict[str, Any], int | None]] = []
        self.news: list[News] = []
        told: dict[tuple[str, str], list[int]] = {}
        for number, entry in enumerate(scenario.record):
            told.setdefault((entry.class_, entry.lesson), []).append(number)
        own: dict[int, int] = {}
        """The rows that keep, replace or take back an entry, by its place."""
        fresh: list[int] = []
        for number, row in enumerate(plan.lessons):
            about = [place for place in told.get((row.class_, row.lesson), ()) if scenario.record[place].unit in (None, row.unit)]
            if not self._add(scenario, row, number, about, own):
                fresh.append(number)
        for place, entry in enumerate(scenario.record):
            if place not in own:
                self.entries.append((model_data(entry), None))
            elif plan.lessons[own[place]].what is not None:
                self.entries.append((_entry(plan.lessons[own[place]], entry), own[place]))
        self.entries += [(_entry(plan.lessons[number], None), number) for number in fresh]

    def _add(self, scenario: Scenario, row: PlanRow, number: int, about: list[int], own: dict[int, int]) -> bool:
        """Match a row with what the record says of its lesson; whether there is nothing more to be recorded of it."""
        record = scenario.record
        place = next((place for place in about if record[place].what != LOST), None)
        if place is None:
            here = (row.date, row.period)
            place = next((place for place in about if (record[place].date, record[place].period) == here), None)
        before = record[place] if place is not None else None
        if before is None:
            self.news += [News(row)] if row.what is not None else []
            return row.what is None
        if not says_the_same(before, row.what, (row.date, row.period), row.parts_done):
            assert place is not None
            own[place] = number
            self.news.append(News(row, before))
        return True

    def at_its_row(self, problem: Problem) -> Problem:
        """A problem of the joined scenario at the row that says so, or at the record of the scenario."""
        message = re.sub(r"\brecord\[(\d+)\]", lambda match: self._named(int(match[1])), problem.message)
        match = re.match(r"/record/(\d+)(?:/(\w+))?", problem.pointer)
        row = self.entries[int(match[1])][1] if match is not None else None
        if match is None or row is None:
            return replace(problem, where=f"scenario.{problem.where}", pointer=f"/scenario{problem.pointer}", message=message)
        path: Path = ("plan", "lessons", row, match[2] if match[2] in (*PlanRow.model_fields, "class") else "what")
        return replace(problem, where=where_text(path), pointer=pointer_text(path), message=message)

    def _named(self, place: int) -> str:
        row = self.entries[place][1]
        return f"lessons[{row}] of the plan" if row is not None else f"record[{place}]"


def says_the_same(
    entry: RecordEntry, what: str | None, when: tuple[date | None, int | None], parts_done: Iterable[str] | None
) -> bool:
    """Whether a record says of its lesson what a row says: what became of it, when, and, where the row tells, which parts."""
    same = entry.what == what and (parts_done is None or entry.parts_done == tuple(parts_done))
    return same and (what == SKIPPED or when == (entry.date, entry.period))


def _entry(row: PlanRow, before: RecordEntry | None) -> dict[str, Any]:
    """An entry of a record as a row says it; what it said of the lesson that remains stays where one still does."""
    assert row.what is not None
    said = row.model_dump(mode="json", by_alias=True)
    left = {SKIPPED: _SAYS_WHEN[1:], LOST: _SAYS_WHEN[3:]}.get(row.what, ())
    entry = {key: said[key] for key in ("class", "unit", "lesson", *_SAYS_WHEN) if key not in left}
    if before is not None and before.what == row.what:
        entry |= {key: value for key, value in model_data(before).items() if key in ("load", "length", "title")}
    return {key: value for key, value in entry.items() if value not in (None, [])}
