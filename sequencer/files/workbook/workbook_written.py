"""A scenario as the sheets of a workbook: what they have columns for, and on the sheet More whatever they have none for."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from datetime import date
from typing import Any

from sequencer.errors import UnusableInput, UnusableSettings
from sequencer.files.workbook import form
from sequencer.files.workbook.blank import Contents
from sequencer.files.workbook.cells import Sheet
from sequencer.files.workbook.filled import filled_in
from sequencer.files.workbook.more import differences
from sequencer.files.workbook.rows import plain_id
from sequencer.instance.load import scenario_from_data
from sequencer.scenario.calendar_schema import Partial
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Unit
from sequencer.scenario.written import scenario_data
from sequencer.words import EVERY_WEEK, WEEKDAYS

LONGEST = 32_000
"""Characters that a cell can hold."""


def scenario_contents(scenario: Scenario) -> Contents:
    """What the sheets of a workbook hold so that it is read back as the same scenario.

    Raises
    ------
    UnusableSettings
        When a part of it does not go into a cell.
    """
    contents = Contents(
        _settings(scenario),
        {
            form.DAYS: _days_off(scenario),
            form.BELLS: [(bell.number, bell.starts, bell.ends) for bell in scenario.periods],
            form.CLASSES: [(each.id, each.teacher, ", ".join(each.units)) for each in scenario.classes],
            form.LESSONS: [row for unit in scenario.units for row in _lessons(scenario, unit)],
            form.MORE: [],
        },
        _grid(scenario),
    )
    meant = _in_short(filled_in(sheets_of(contents)).data)
    rows = list(differences(meant, scenario_data(scenario)))
    too_long = [place for place, value in rows if value is not None and len(value) > LONGEST]
    if too_long:
        raise UnusableSettings([f"{place} is too long for a cell of a workbook" for place in too_long])
    contents.rows[form.MORE] = [(place, value) for place, value in rows]
    if scenario_from_data(filled_in(sheets_of(contents)).data) != scenario:
        raise UnusableSettings(["this scenario cannot be written as a workbook that is read back as the same"])
    return contents


def _in_short(data: dict[str, Any]) -> dict[str, Any]:
    """What was read in the short forms of a scenario file, so that no form is taken for a difference."""
    with suppress(UnusableInput):
        return scenario_data(scenario_from_data(data))
    # It cannot be used without the sheet More: these forms are all that differ.
    for entry in data["classes"]:
        if set(entry["timetable"]) == {EVERY_WEEK}:
            entry["timetable"] = entry["timetable"][EVERY_WEEK]
    if len(data["term"]["cycle"]) == 1:
        del data["term"]["cycle"]
    return {key: value for key, value in data.items() if key != "rules" or value}


def sheets_of(contents: Contents) -> list[Sheet]:
    """The sheets as they would be read back from a file."""
    return [Sheet(name, tuple(tuple(_read(cell) for cell in row) for row in rows)) for name, rows in contents.tables()]


def _read(cell: form.Cell) -> form.Cell:
    return cell.strip() or None if isinstance(cell, str) else cell


def _settings(scenario: Scenario) -> dict[str, form.Cell]:
    term, two_weeks = scenario.term, tuple(scenario.term.cycle) == ("A", "B")
    first_week = term.first_label if term.first_label in ("A", "B") and len(term.cycle) == 2 else None
    special: dict[str, form.Cell] = {
        form.FIRST_DAY: term.first, form.LAST_DAY: term.last, form.CYCLE: 2 if two_weeks else 1, form.FIRST_WEEK: first_week,
        form.MAKE_PRACTICE: "no",
    }  # fmt: skip
    data = scenario_data(scenario)
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


def _days_off(scenario: Scenario) -> list[tuple[form.Cell, ...]]:
    """All entries of a kind, or none where one of them says more than a row can."""
    kinds: tuple[tuple[str, Iterable[Any]], ...] = (
        (form.HOLIDAY, scenario.holidays), (form.CLOSURE, scenario.closures), (form.REMOTE, scenario.remote_spells),
    )  # fmt: skip
    rows: list[tuple[form.Cell, ...]] = []
    for kind, entries in kinds:
        read = [_day_off(kind, entry) for entry in entries]
        rows += [row for row in read if row is not None] if None not in read else []
    return rows


def _day_off(kind: str, entry: Any) -> tuple[form.Cell, ...] | None:
    on = [entry.on] if isinstance(entry.on, date) else list(entry.on or ())
    first, last = (on[0], None) if len(on) == 1 else (entry.first, entry.last)
    if first is None or (len(on) != 1 and last is None) or len(on) > 1:
        return None
    partial = isinstance(entry, Partial)
    classes, periods = (entry.classes, entry.periods) if partial else ((), ())
    return kind, entry.name, first, last, ", ".join(classes) or None, ", ".join(map(str, periods)) or None


def _grid(scenario: Scenario) -> dict[tuple[str, str, int], str]:
    """The classes of each period of the grid; of those whose timetable it can hold."""
    labels = ("A", "B") if tuple(scenario.term.cycle) == ("A", "B") else ("A",)
    found: dict[tuple[str, str, int], list[str]] = {}
    data = scenario_data(scenario)
    for entry in data["classes"]:
        weeks = entry["timetable"]
        if isinstance(weeks, dict) and weeks and set(weeks) <= set(WEEKDAYS):
            weeks = {EVERY_WEEK: weeks}
        known = labels if len(labels) > 1 else (EVERY_WEEK,)
        if not isinstance(weeks, dict) or not set(weeks) <= set(known):
            continue
        places = [
            (label if len(labels) > 1 else "A", weekday, period)
            for label, days in weeks.items()
            for weekday, periods in (days.items() if isinstance(days, dict) else ())
            for period in (periods if isinstance(periods, list) else [periods])
        ]
        if all(weekday in WEEKDAYS[:5] and isinstance(period, int) for _, weekday, period in places):
            for place in places:
                found.setdefault(place, []).append(entry["id"])
    return {place: ", ".join(ids) for place, ids in found.items()}


def _lessons(scenario: Scenario, unit: Unit) -> Iterable[tuple[form.Cell, ...]]:
    title = unit.title if unit.title and plain_id(unit.title, set()) == unit.id else unit.id
    taken: set[str] = set()
    for number, lesson in enumerate(unit.lessons):
        named = lesson.title or lesson.id
        by_title = plain_id(named, taken) == lesson.id
        taken.add(lesson.id)
        special: dict[str, form.Cell] = {
            form.UNIT: title if number == 0 else None,
            form.LESSON: named,
            form.KIND: lesson.kind if lesson.kind != "teach" else None,
            form.REQUIRES: _requires(unit, lesson),
            form.GOES_WITH: _named(unit, lesson.practises or lesson.revisits or lesson.answers),
            form.OPTIONAL: "yes" if lesson.optional else None,
            form.ID: None if by_title else lesson.id,
        }
        yield tuple(_held(lesson, each) if each.key else special[each.name] for each in form.LESSON_COLUMNS)


def _held(lesson: Lesson, column: form.Column) -> form.Cell:
    """What a lesson says word for word; nothing where that is what is meant anyway."""
    if column.holds in (form.WORDS, form.SENTENCES):
        return _joined(getattr(lesson, column.key), ", " if column.holds == form.WORDS else "; ")
    stated: form.Cell = getattr(lesson, column.key)
    return None if stated == Lesson.model_fields[column.key].default else stated


def _joined(words: tuple[str, ...], between: str) -> str | None:
    return between.join(words) or None if not any(between.strip() in word for word in words) else None


def _requires(unit: Unit, lesson: Lesson) -> str | None:
    plain = all(each.model_fields_set <= {"lesson"} for each in lesson.requires)
    return _named(unit, tuple(each.lesson for each in lesson.requires)) if plain else None


def _named(unit: Unit, refs: tuple[str, ...]) -> str | None:
    """Lessons of the unit by title, or by id where the title does not tell."""
    titles = {lesson.id: lesson.title or lesson.id for lesson in unit.lessons}
    ids = {title.lower() for title in titles} | {""}
    if any(ref not in titles for ref in refs):
        return None
    plain = [title for title in titles.values() if list(titles.values()).count(title) == 1 and ";" not in title]
    said = [titles[ref] if titles[ref] in plain and titles[ref].lower() not in ids - {ref.lower()} else ref for ref in refs]
    return "; ".join(said) or None
