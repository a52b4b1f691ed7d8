"""The scenarios of a folder and of the folders in it: read, told from what else lies there, each under a name of its own.

What is surely something else (a calendar, a record, what-ifs, a sequence, a plan) is passed over; a scenario with slips is not.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sequencer import UnusableInput, UnusableSettings, read_workbook
from sequencer.files.workbook import all_sheets, form
from sequencer.files.workbook.cells import Sheet, read_sheets
from sequencer.instance.load import scenario_from_tree
from sequencer.scenario.documents import LANGUAGES, read_file, read_tree
from sequencer.scenario.new_calendar import NewCalendar
from sequencer.scenario.schema import Scenario
from sequencer.workers.batch.job import UNUSABLE, BatchSettings, Job, ScenarioOutcome

_OF_SCENARIOS = frozenset(about.alias or name for name, about in Scenario.model_fields.items())
_OF_CALENDARS = frozenset(about.alias or name for name, about in NewCalendar.model_fields.items())
_OF_ANYTHING = frozenset({"format", "title"})

_SHEETS = frozenset(name.lower() for name in (form.TERM, form.TIMETABLE, *(sheet.name for sheet in all_sheets.SHEETS)))


@dataclass(frozen=True)
class PassedOver:
    """Something that is no scenario, and what it is instead."""

    name: str
    why: str


Found = Job | ScenarioOutcome | PassedOver


def scenario_files(folder: Path, results: Path) -> Iterator[Path]:
    """Every file below a folder, and every folder that is a workbook of CSV files, in order of their names.

    What is hidden (its name begins with a dot) is left alone, and so are links to folders and the folder of results.

    Raises
    ------
    UnusableSettings
        When there is no such folder, or it is itself a workbook of CSV files.
    OSError
        When a folder cannot be read.
    """
    if not folder.is_dir():
        raise UnusableSettings([f"{folder} is no folder"])
    if _sheets_in(folder):
        raise UnusableSettings([f"{folder} is itself a workbook: name the folder that it lies in"])
    for place, folders, files in os.walk(folder, onerror=_raise):
        here = Path(place)
        sheets = _sheets_in(here)
        folders[:] = sorted(name for name in folders if not name.startswith(".") and (here / name).resolve() != results.resolve())
        if sheets:
            yield here
        yield from (here / name for name in sorted(files) if not name.startswith(".") and here / name not in sheets)


def name_of(path: Path, folder: Path) -> str:
    """The name of what lies at a path: the way to it from the folder, the same on every machine."""
    return _printable(path.relative_to(folder).as_posix())


def found(path: Path, folder: Path, settings: BatchSettings) -> Found:
    """What lies at a path: a scenario to be solved, one that cannot be used, or something else."""
    name = name_of(path, folder)
    if str(path) != _printable(str(path)):
        return ScenarioOutcome(name, UNUSABLE, details=(f"{_printable(str(path))} must have a name in UTF-8",))
    try:
        return _read(name, path, settings)
    except UnusableInput as unusable:
        return ScenarioOutcome(name, UNUSABLE, details=tuple(problem.text(unusable.source) for problem in unusable.problems))
    except OSError as error:
        return ScenarioOutcome(name, UNUSABLE, details=(f"{path} cannot be read: {error.strerror}",))


def _read(name: str, path: Path, settings: BatchSettings) -> Found:
    ending = path.suffix.lower()
    if path.is_dir():
        return Job(name, str(path), read_workbook(path), settings)
    if path.exists() and not path.is_file():
        return PassedOver(name, "it is neither a file nor a folder")  # a pipe would be waited for without end
    if path.name.startswith("~$"):
        return PassedOver(name, "it is a mark of a spreadsheet program that the workbook is open")
    if ending == ".xlsx":
        other = _other_workbook(read_sheets(path))
        return PassedOver(name, other) if other is not None else Job(name, str(path), read_workbook(path), settings)
    if ending == ".csv":
        return PassedOver(name, "it is a table: a scenario in CSV is a folder of sheets, Term among them")
    if ending not in LANGUAGES:
        return PassedOver(name, "its name ends in neither .yaml, .yml, .json nor .xlsx")
    text, language = read_file(path)
    tree = read_tree(text, language)
    if not tree.problems and (other := _other_document(tree.data)) is not None:
        return PassedOver(name, other)
    return Job(name, str(path), scenario_from_tree(tree, str(path)), settings, text, language)


def _sheets_in(folder: Path) -> set[Path]:
    """The files of a folder that are the sheets of a workbook, and what is said of them; none where it is no workbook."""
    files = {each for each in folder.iterdir() if each.suffix.lower() == ".csv"}
    return files | {folder / f"{form.READ_ME}.txt"} if _is_folder_of_sheets(each.stem for each in files) else set()


def _raise(error: OSError) -> None:
    raise error


def _printable(name: str) -> str:
    """A name as it can be written; a file's may be no text at all."""
    return name.encode("utf-8", "replace").decode()


def _other_document(data: Any) -> str | None:
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


def _other_workbook(sheets: list[Sheet]) -> str | None:
    """What a workbook is instead of one that was filled in."""
    if any(sheet.name.lower() in _SHEETS for sheet in sheets):
        return None
    if any("lesson" in row for sheet in sheets for row in sheet.rows[:1]):
        return "it is a plan: lessons with dates"
    return "none of its sheets belongs to a scenario"


def _is_folder_of_sheets(names: Iterable[str]) -> bool:
    """Whether files of comma-separated values of these names are the sheets of a workbook."""
    return any(name.lower() in (form.TERM.lower(), form.TIMETABLE.lower()) for name in names)
