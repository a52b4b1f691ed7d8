"""A term's workbook: the sheets of its scenario, and beside them the plan, what happened, and the plans before."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile, is_zipfile

import openpyxl

from sequencer.errors import UnusableInput, UnusableSettings
from sequencer.files.workbook import form
from sequencer.files.workbook.blank import xlsx_of
from sequencer.files.workbook.cells import MOST_UNPACKED, Sheet, read_sheets, workbook_sheets
from sequencer.files.workbook.filled import filled_in, meant
from sequencer.files.workbook.kept import written_into
from sequencer.files.workbook.plan_read_back import rows_in, what_of
from sequencer.files.workbook.rows import Filled, as_held, at_cells, rows_of
from sequencer.files.workbook.term_sheets import (
    EARLIER,
    HAPPENED,
    HAPPENED_COLUMNS,
    KEPT,
    LEFT,
    LOAD_LEFT,
    PERIODS_LEFT,
    PLAN,
    TERM_SHEETS,
    put_term_sheets,
    unpacked,
)
from sequencer.files.workbook.workbook_written import scenario_contents
from sequencer.next_term.happened import with_what_happened
from sequencer.next_term.term import WholeTerm, beside_from_data
from sequencer.render.tables import PARTS_DONE, saved
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.schema import Scenario

_HOLDS = {
    "date": form.DATE, "today": form.DATE, "period": form.NUMBER, LOAD_LEFT: form.NUMBER, PERIODS_LEFT: form.NUMBER,
    "revisits": form.SENTENCES, PARTS_DONE: form.SENTENCES,
}  # fmt: skip
"""What the cells of the sheet with what happened hold, where it is no text."""


@dataclass(frozen=True)
class TermBook:
    """A term as a workbook holds it, and the cell of each of its parts."""

    term: WholeTerm
    cells: Filled
    source: str

    @contextmanager
    def placed(self) -> Iterator[None]:
        """Tell what is wrong with the term at its cells."""
        try:
            with at_cells(self.cells, self.source):
                try:
                    yield
                except UnusableInput as unusable:
                    own = (replace(each, pointer=each.pointer.removeprefix("/scenario")) for each in unusable.problems)
                    raise UnusableInput(tuple(own), self.source) from None
        except UnusableInput as unusable:
            raise UnusableInput(tuple(dict.fromkeys(unusable.problems)), self.source) from None

    def as_it_is_now(self) -> Scenario:
        """Its scenario, with what its plan says became of lessons."""
        with self.placed():
            return with_what_happened(self.term).scenario


def read_term_book(path: str | os.PathLike[str]) -> TermBook:
    """The term that a workbook (.xlsx), or a folder of CSV files, holds.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    """
    return _held(read_sheets(Path(path)), str(path))


def load_term_book(content: bytes, source: str = "", most_unpacked: int = MOST_UNPACKED, limits: Limits = NO_LIMITS) -> TermBook:
    """The term that the bytes of a workbook hold; no more than so many of them are unpacked.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    return _held(workbook_sheets(content, source, most_unpacked), source, limits)


def cells_of(path: str | os.PathLike[str]) -> Callable[[tuple[str | int, ...]], str]:
    """What says from which cell of a workbook a part of its scenario comes; nothing where it comes from none."""
    cells = read_term_book(path).cells

    def cell(part: tuple[str | int, ...]) -> str:
        place = cells.place_of(part)
        return str(place) if place is not None else ""

    return cell


def read_workbook(path: str | os.PathLike[str]) -> Scenario:
    """The scenario that a workbook (.xlsx), or a folder of CSV files, means, with what its plan says became of lessons.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    """
    return read_term_book(path).as_it_is_now()


def load_workbook(content: bytes, source: str = "", most_unpacked: int = MOST_UNPACKED, limits: Limits = NO_LIMITS) -> Scenario:
    """The same of the bytes of a workbook; no more than so many of them are unpacked.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    return load_term_book(content, source, most_unpacked, limits).as_it_is_now()


def term_written(term: WholeTerm, into: bytes | None = None, source: str = "") -> bytes:
    """A workbook that holds a term: a new one, or one that is there, given as its bytes, with what is the teacher's own in it.

    Raises
    ------
    UnusableSettings
        When a part of it does not go into a cell.
    """
    bare = term.scenario.model_copy(update={"record": (), "today": None})
    content = xlsx_of(scenario_contents(bare)) if into is None else written_into(into, bare, source)
    book = openpyxl.load_workbook(BytesIO(content))
    put_term_sheets(book, term)
    result = saved(book)
    if load_term_book(result, source).term != term:
        raise UnusableSettings(["this term cannot be written as a workbook that is read back as the same"])
    return result


def drawn_in(content: bytes) -> bool:
    """Whether a file is a workbook with charts or pictures, which are not carried over into the one that is written."""
    if not is_zipfile(BytesIO(content)):
        return False
    with ZipFile(BytesIO(content)) as packed:
        return any(part.startswith(("xl/charts/", "xl/media/")) for part in packed.namelist())


def _held(sheets: list[Sheet], source: str, limits: Limits = NO_LIMITS) -> TermBook:
    by_name = {sheet.name: sheet for sheet in sheets if sheet.name in TERM_SHEETS}
    filled = filled_in([sheet for sheet in sheets if sheet.name not in TERM_SHEETS])
    if HAPPENED in by_name:
        _happened(filled, by_name[HAPPENED])
    beside: dict[str, Any] = {"term": 1, "plan": None, "earlier": []}
    if PLAN in by_name:
        beside["plan"] = {"lessons": _plan(filled, by_name[PLAN])}
    if KEPT in by_name:
        try:
            kept = unpacked(row[0] for row in by_name[KEPT].rows if row)
        except ValueError:
            said = f"cannot be read: delete the sheets {KEPT} and {EARLIER}; the plan stays, and those before it are lost"
            filled.report(by_name[KEPT].place(0, 0), said)
        else:
            beside["earlier"] = kept["earlier"]
            if beside["plan"] is not None and kept["made_for"] is not None:
                beside["plan"]["made_for"] = kept["made_for"]
    scenario = meant(filled, source, limits)
    with at_cells(filled, source):
        plan, earlier = beside_from_data(beside, limits)
    return TermBook(WholeTerm(term=1, scenario=scenario, plan=plan, earlier=earlier), filled, source)


def _plan(filled: Filled, sheet: Sheet) -> list[dict[str, Any]]:
    """The rows of the plan, as a term has them."""
    read = rows_in([sheet])
    filled.problems += read.problems
    filled.places |= {("plan", *path): place for path, place in read.places.items()} | read.places
    filled.places["plan",] = sheet.place(0, 0)
    rows: list[dict[str, Any]] = read.data["lessons"]
    for row in rows:
        row["title"] = row.get("title", row["lesson"])
        row["pin"] = row.get("pin") == "yes"
    return rows


def _happened(filled: Filled, sheet: Sheet) -> None:
    """Put what happened, and the day up to which it is told, into the data of the scenario."""
    titles = {
        (unit["id"], str(lesson.get("title", lesson["id"])).lower()): lesson["id"]
        for unit in filled.data["units"]
        for lesson in unit["lessons"]
    }
    for row in rows_of(sheet, HAPPENED_COLUMNS, ("class", "date", "period", "what", "lesson"), filled):
        path = ("record", len(filled.data.get("record", ())))
        entry: dict[str, Any] = {}
        for name, value in row.values.items():
            place = row.place(name)
            read = what_of(filled, value, place) if name == "what" else as_held(filled, value, place, _HOLDS.get(name, form.TEXT))
            if name == "today":
                filled.data["today"], filled.places["today",] = read, place
            elif name != "title" and read is not None:
                key = LEFT.get(name, name.replace(" ", "_"))
                entry[key] = read
                filled.places[*path, key] = place
        title = str(row.values.get("title", "")).lower()
        known = [key for key, named in titles if named == title and entry.get("unit") in (None, key)]
        if "lesson" not in entry and len(known) == 1:
            entry |= {"unit": known[0], "lesson": titles[known[0], title]}
        if entry:
            filled.places[path] = row.place("class")
            filled.data.setdefault("record", []).append(entry)
