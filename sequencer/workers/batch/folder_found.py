"""The scenarios of a folder and of the folders in it: read, told from what else lies there, each under a name of its own."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sequencer import UnusableInput, UnusableSettings, read_workbook
from sequencer.files.workbook.cells import read_sheets
from sequencer.files.workbook.form import READ_ME
from sequencer.instance.load import scenario_from_tree
from sequencer.scenario.documents import LANGUAGES, read_file, read_tree
from sequencer.workers.batch.job import UNUSABLE, BatchSettings, Job, Outcome
from sequencer.workers.batch.kinds import is_folder_of_sheets, other_document, other_workbook


@dataclass(frozen=True)
class PassedOver:
    """Something that is no scenario, and what it is instead."""

    name: str
    why: str


Found = Job | Outcome | PassedOver


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
        return Outcome(name, UNUSABLE, details=(f"{_printable(str(path))} must have a name in UTF-8",))
    try:
        return _read(name, path, settings)
    except UnusableInput as unusable:
        return Outcome(name, UNUSABLE, details=tuple(problem.text(unusable.source) for problem in unusable.problems))
    except OSError as error:
        return Outcome(name, UNUSABLE, details=(f"{path} cannot be read: {error.strerror}",))


def _read(name: str, path: Path, settings: BatchSettings) -> Found:
    ending = path.suffix.lower()
    if path.is_dir():
        return Job(name, str(path), read_workbook(path), settings)
    if path.exists() and not path.is_file():
        return PassedOver(name, "it is neither a file nor a folder")  # a pipe would be waited for without end
    if path.name.startswith("~$"):
        return PassedOver(name, "it is a mark of a spreadsheet program that the workbook is open")
    if ending == ".xlsx":
        other = other_workbook(read_sheets(path))
        return PassedOver(name, other) if other is not None else Job(name, str(path), read_workbook(path), settings)
    if ending == ".csv":
        return PassedOver(name, "it is a table: a scenario in CSV is a folder of sheets, Term among them")
    if ending not in LANGUAGES:
        return PassedOver(name, "its name ends in neither .yaml, .yml, .json nor .xlsx")
    text, language = read_file(path)
    tree = read_tree(text, language)
    if not tree.problems and (other := other_document(tree.data)) is not None:
        return PassedOver(name, other)
    return Job(name, str(path), scenario_from_tree(tree, str(path)), settings, text, language)


def _sheets_in(folder: Path) -> set[Path]:
    """The files of a folder that are the sheets of a workbook, and what is said of them; none where it is no workbook."""
    files = {each for each in folder.iterdir() if each.suffix.lower() == ".csv"}
    return files | {folder / f"{READ_ME}.txt"} if is_folder_of_sheets(each.stem for each in files) else set()


def _raise(error: OSError) -> None:
    raise error


def _printable(name: str) -> str:
    """A name as it can be written; a file's may be no text at all."""
    return name.encode("utf-8", "replace").decode()
