"""A scenario as the sheets of a workbook: what they have columns for, and on the sheet More whatever they have none for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date
from typing import Any

from pydantic import BaseModel

from sequencer.errors import UnusableInput, UnusableSettings
from sequencer.files.workbook import all_sheets, form
from sequencer.files.workbook.blank import Contents
from sequencer.files.workbook.cells import Sheet
from sequencer.files.workbook.day_rows import LISTS, day_cells
from sequencer.files.workbook.filled import filled_in
from sequencer.files.workbook.further_rows import aim_cells, cohort_cells, what_if_cells
from sequencer.files.workbook.limits_written import limit_cells
from sequencer.files.workbook.more import differences
from sequencer.files.workbook.part_rows import part_cells, unit_name
from sequencer.files.workbook.rows import held_in, near_miss, plain_id
from sequencer.instance.load import scenario_from_data
from sequencer.scenario.class_schema import EarlierTopic
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Unit
from sequencer.scenario.written import scenario_data
from sequencer.words import BEFORE, EVERY_WEEK, WEEKDAYS

LONGEST = 32_000
"""Characters that a cell can hold."""

COLUMNS = {each.name: each.columns for each in all_sheets.SHEETS}

USUAL_PATTERN = {"id": "usual", "practice": {}}
"""The pattern of every unit where practice lessons are made."""


def scenario_contents(scenario: Scenario) -> Contents:
    """What the sheets of a workbook hold so that it is read back as the same scenario.

    Raises
    ------
    UnusableSettings
        When a part of it does not go into a cell.
    """
    data = scenario_data(scenario)
    term = (scenario.term.first, scenario.term.last)
    before = [(each.id, topic) for each in scenario.classes for topic in each.taught_before]
    called = _called(scenario.units) | {f"{BEFORE}/{topic.id}": f"{BEFORE}/{topic.id}" for _, topic in before}
    contents = Contents(
        _settings(scenario),
        {
            form.DAYS: _in_columns(form.DAYS, [row for kind in tuple(LISTS)[:3] for row in _of_days(data, kind, term)]),
            form.COVER: _in_columns(form.COVER, _of_days(data, form.RESTRICTED, term)),
            form.CLASSES: [
                _cells(form.CLASSES, each, {"class": each.id, "units": ", ".join(each.units)}) for each in scenario.classes
            ],
            form.LESSONS: [row for unit in scenario.units for row in _lessons(unit, called)],
            form.PARTS: _in_columns(form.PARTS, part_cells(scenario)),
            form.LIMITED: _in_columns(form.LIMITED, limit_cells(data)),
            form.BEFORE: [_cells(form.BEFORE, topic, _topic(scenario, name, topic)) for name, topic in before],
            form.KIT: [_cells(form.KIT, thing, {}) for thing in scenario.shared],
            form.YEARS: cohort_cells(scenario.cohorts),
            form.WHAT_IF: _in_columns(form.WHAT_IF, what_if_cells(data.get("what_ifs", ()), term)),
            form.ORDER: aim_cells(scenario.aims),
            form.BELLS: [_cells(form.BELLS, bell, {}) for bell in scenario.periods],
            form.MORE: [],
        },
        _grid(scenario),
    )
    meant = _in_short(filled_in(sheets_of(contents)).data)
    rows = list(differences(meant, data))
    too_long = [place for place, value in rows if value is not None and len(value) > LONGEST]
    if too_long:
        raise UnusableSettings([f"{place} is too long for a cell of a workbook" for place in too_long])
    contents.rows[form.MORE] = [(place, value) for place, value in rows]
    read = filled_in(sheets_of(contents))
    if read.problems or scenario_from_data(read.data) != scenario:
        raise UnusableSettings(["this scenario cannot be written as a workbook that is read back as the same"])
    return contents


def _in_short(data: dict[str, Any]) -> dict[str, Any]:
    """What was read in the short forms of a scenario file, so that no form is taken for a difference."""
    with suppress(UnusableInput):
        return scenario_data(scenario_from_data(data))
    # It cannot be used without the sheet More: these forms are all that differ.
    for entry in data["classes"]:
        if isinstance(entry["timetable"], dict) and set(entry["timetable"]) == {EVERY_WEEK}:
            entry["timetable"] = entry["timetable"][EVERY_WEEK]
    if len(data["term"]["cycle"]) == 1:
        del data["term"]["cycle"]
    return {key: value for key, value in data.items() if key != "rules" or value}


def sheets_of(contents: Contents) -> list[Sheet]:
    """The sheets as they would be read back from a file."""
    return [
        Sheet(name, tuple(tuple(cell.strip() or None if isinstance(cell, str) else cell for cell in row) for row in rows))
        for name, rows in contents.tables()
    ]


def _settings(scenario: Scenario) -> dict[str, form.Cell]:
    term, two_weeks = scenario.term, tuple(scenario.term.cycle) == ("A", "B")
    first_week = term.first_label if term.first_label in ("A", "B") and len(term.cycle) == 2 else None
    special: dict[str, form.Cell] = {
        form.FIRST_DAY: term.first, form.LAST_DAY: term.last, form.CYCLE: 2 if two_weeks else 1, form.FIRST_WEEK: first_week,
        form.WEEK_ONE: term.week_one,
    }  # fmt: skip
    data = scenario_data(scenario)
    special[form.MAKE_PRACTICE] = "yes" if data.get("patterns") == [USUAL_PATTERN] else "no"
    retrieval = data.get("rules", {}).get("retrieval")
    if not isinstance(retrieval, dict) or not set(retrieval) <= {"least", "most"}:
        data.get("rules", {}).pop("retrieval", None)
    return {each.name: special[each.name] if each.name in special else _stated(data, each) for each in form.SETTINGS}


def _stated(data: dict[str, Any], setting: form.Setting) -> form.Cell:
    """What a scenario says there, where a cell can say it."""
    here: Any = data
    for key in setting.path:
        here = here.get(key) if isinstance(here, dict) else None
    fits = isinstance(here, str) if setting.holds == form.TEXT else type(here) is int
    stated: form.Cell = here if fits else None
    return stated


def _in_columns(sheet: str, rows: Iterable[dict[str, form.Cell]]) -> list[tuple[form.Cell, ...]]:
    """Rows by their columns as those of a sheet."""
    return [tuple(row.get(column.name) for column in COLUMNS[sheet]) for row in rows]


def _cells(sheet: str, part: BaseModel, special: dict[str, form.Cell]) -> tuple[form.Cell, ...]:
    """A row of a sheet that says a part of the scenario word for word, but for what is special."""
    return tuple(held_in(part, each) if each.key else special.get(each.name) for each in COLUMNS[sheet])


def _of_days(data: dict[str, Any], kind: str, term: tuple[date, date]) -> list[dict[str, form.Cell]]:
    """All entries of a kind, or none where one of them lies on no date."""
    rows = [day_cells(entry, term) for entry in data.get(LISTS[kind], ())]
    return [row | {form.WHAT: kind} for row in rows if row is not None] if None not in rows else []


def _topic(scenario: Scenario, name: str, topic: EarlierTopic) -> dict[str, form.Cell]:
    """The class of a topic taught before, and its id where its title does not tell."""
    titles = [(lesson.title or lesson.id).lower() for unit in scenario.units for lesson in unit.lessons]
    title = topic.title or topic.id
    tells = plain_id(title, set()) == topic.id and near_miss(title, titles) is None
    return {"class": name, "title": title, form.ID: None if tells else topic.id}


def _grid(scenario: Scenario) -> dict[form.Place, str]:
    """The classes of each period of the grid; of those whose timetables it can hold."""
    labels = ("A", "B") if tuple(scenario.term.cycle) == ("A", "B") else ("A",)
    known = labels if len(labels) > 1 else (EVERY_WEEK,)
    found: dict[form.Place, list[str]] = {}
    for entry in scenario.classes:
        places = [
            (timetable.first, label if len(labels) > 1 else "A", weekday, period)
            for timetable in entry.timetable
            for label, days in timetable.weeks.items()
            for weekday, periods in days.items()
            for period in periods
        ]
        days_fit = all(weekday in WEEKDAYS[:5] for _, _, weekday, _ in places)
        # What more is said of a period stands on the sheet More, under its week.
        plain = len(labels) > 1 or not any(period.model_fields_set - {"period"} for *_, period in places)
        if days_fit and plain and all(label in known for timetable in entry.timetable for label in timetable.weeks):
            for since, label, weekday, period in places:
                found.setdefault((since, label, weekday, period.period), []).append(entry.id)
    return {place: ", ".join(ids) for place, ids in found.items()}


def _lessons(unit: Unit, called: Mapping[str, str]) -> Iterable[tuple[form.Cell, ...]]:
    title = unit_name(unit)
    taken: set[str] = set()
    for number, lesson in enumerate(unit.lessons):
        named = lesson.title or lesson.id
        by_title = plain_id(named, taken) == lesson.id
        taken.add(lesson.id)
        special: dict[str, form.Cell] = {
            form.UNIT: title if number == 0 else None,
            form.LESSON: named,
            form.KIND: lesson.kind if lesson.kind != "teach" else None,
            form.REQUIRES: _requires(unit, lesson, called),
            form.GOES_WITH: _named(unit, lesson.practises or lesson.revisits or lesson.answers, called),
            form.ID: None if by_title else lesson.id,
        }
        yield _cells(form.LESSONS, lesson, special)


def _requires(unit: Unit, lesson: Lesson, called: Mapping[str, str]) -> str | None:
    plain = all(each.model_fields_set <= {"lesson"} for each in lesson.requires)
    return _named(unit, tuple(each.lesson for each in lesson.requires), called) if plain else None


def _named(unit: Unit, refs: tuple[str, ...], elsewhere: Mapping[str, str]) -> str | None:
    """Lessons of the unit by title, or by id where the title does not tell; those of others as they are called elsewhere."""
    titles = {lesson.id: lesson.title or lesson.id for lesson in unit.lessons}
    if any(ref not in titles and ref not in elsewhere for ref in refs):
        return None
    ids = {title.lower() for title in titles} | {""}
    plain = [title for title in titles.values() if list(titles.values()).count(title) == 1 and ";" not in title]
    own = {ref: title if title in plain and title.lower() not in ids - {ref.lower()} else ref for ref, title in titles.items()}
    return "; ".join(own.get(ref) or elsewhere[ref] for ref in refs) or None


def _called(units: Iterable[Unit]) -> dict[str, str]:
    """What lessons are called in other units than their own, by unit and id: by title, where it means one lesson alone."""
    lessons = [(f"{unit.id}/{lesson.id}", lesson.id, lesson.title or lesson.id) for unit in units for lesson in unit.lessons]
    counts = Counter(name for _, own, title in lessons for name in {own.lower(), title.lower()})
    return {ref: title if counts[title.lower()] == 1 and ";" not in title else ref for ref, _, title in lessons}
