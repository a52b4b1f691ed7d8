"""Tells a scenario from what may lie beside it in a folder: calendars, records, what-ifs, sequences, plans.

Only what is surely something else is passed over: a scenario with slips in it must not be.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sequencer.files.workbook import form
from sequencer.files.workbook.cells import Sheet
from sequencer.scenario.new_calendar import NewCalendar
from sequencer.scenario.schema import Scenario

_OF_SCENARIOS = frozenset(about.alias or name for name, about in Scenario.model_fields.items())
_OF_CALENDARS = frozenset(about.alias or name for name, about in NewCalendar.model_fields.items())
_OF_ANYTHING = frozenset({"format", "title"})

_SHEETS = frozenset(name.lower() for name in (form.TERM, form.TIMETABLE, *(sheet.name for sheet in form.SHEETS)))


def other_document(data: Any) -> str | None:
    """What a document is instead of a scenario; None where it is one, or nothing else."""
    if isinstance(data, list) and any(isinstance(row, dict) and "lesson" in row for row in data):
        return "it is a sequence: a list of lessons with dates"
    if not isinstance(data, dict) or "units" in data:
        return None
    keys = set(data)
    if "scenario" in keys:
        return "it is a request that holds a scenario"
    if "lessons" in keys:
        return "it is a sequence: lessons with dates"
    if not {"term", "classes"} & keys:
        if "record" in keys:
            return "it is a record of what happened"
        if "what_ifs" in keys:
            return "it holds what-ifs, and no scenario"
    if "term" in keys and keys <= _OF_CALENDARS:
        return "it is a calendar: a scenario has units"
    if not (keys & _OF_SCENARIOS) - _OF_ANYTHING:
        return "nothing in it belongs to a scenario"
    return None


def other_workbook(sheets: list[Sheet]) -> str | None:
    """What a workbook is instead of one that was filled in."""
    if any(sheet.name.lower() in _SHEETS for sheet in sheets):
        return None
    if any("lesson" in row for sheet in sheets for row in sheet.rows[:1]):
        return "it is a plan: lessons with dates"
    return "none of its sheets belongs to a scenario"


def is_folder_of_sheets(names: Iterable[str]) -> bool:
    """Whether files of comma-separated values of these names are the sheets of a workbook."""
    return any(name.lower() in (form.TERM.lower(), form.TIMETABLE.lower()) for name in names)
