"""Workbooks and folders of CSV files as plain sheets of cells, and where each cell stands."""

from __future__ import annotations

import csv
import re
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from sequencer.errors import Problem, UnusableInput
from sequencer.files.workbook.counted import MOST_CELLS, MOST_OF, refuse_what_is_too_much, unusable
from sequencer.render.document import unguarded
from sequencer.scenario.documents import LANGUAGES

Value = str | int | float | date | None
"""What a cell holds: text without blanks around it, a number, a date, or nothing."""

_FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]|\x00")

MOST_BYTES, MOST_UNPACKED, MOST_ROWS, MOST_COLUMNS = 5_000_000, 60_000_000, 3000, 60

ENDINGS = (".xlsx", ".csv")


@dataclass(frozen=True)
class CellPlace:
    """A cell: its sheet, and row and column counted from 1."""

    sheet: str
    row: int
    column: int

    def __str__(self) -> str:
        return f"sheet {self.sheet}, cell {get_column_letter(self.column)}{self.row}"


@dataclass(frozen=True)
class Sheet:
    """The cells of one sheet, row by row; what is wrong with cells that hold nothing that can be read, by row and column."""

    name: str
    rows: tuple[tuple[Value, ...], ...]
    spoilt: Mapping[tuple[int, int], str] = field(default_factory=dict)

    def place(self, row: int, column: int) -> CellPlace:
        """Where a cell stands, its row and column counted from 0."""
        return CellPlace(self.name, row + 1, column + 1)


def is_table(path: Path) -> bool:
    """Whether a path names a workbook, a CSV file, or a folder."""
    return path.suffix.lower() in ENDINGS or (path.is_dir() and path.suffix.lower() not in LANGUAGES)


def read_sheets(path: Path) -> list[Sheet]:
    """The sheets of a workbook, of a CSV file, or of all CSV files of a folder."""
    if path.is_dir():
        files = sorted(each for each in path.iterdir() if each.suffix.lower() == ".csv")
        if not files:
            raise unusable(str(path), "holds no CSV file")
        return [_csv_sheet(file) for file in files]
    if path.suffix.lower() == ".csv":
        return [_csv_sheet(path)]
    return workbook_sheets(_bytes(path), str(path))


def _bytes(path: Path) -> bytes:
    with path.open("rb") as file:
        text = file.read(MOST_BYTES + 1)
    if len(text) > MOST_BYTES:
        raise unusable(str(path), f"is too large: at most {MOST_BYTES:,} bytes can be read")
    return text


def _csv_sheet(path: Path) -> Sheet:
    try:
        text = _bytes(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise unusable(str(path), "is not UTF-8: save it as CSV UTF-8") from None
    try:
        rows = list(csv.reader(StringIO(text, newline=""), strict=True))
    except csv.Error as error:
        raise unusable(str(path), f"is not CSV that can be read (RFC 4180): {error}") from None
    return _sheet(str(path), path.stem, [[_plain_text(cell) for cell in row] for row in rows], {})


def workbook_sheets(content: bytes, source: str = "", most_unpacked: int = MOST_UNPACKED) -> list[Sheet]:
    """The sheets of a workbook (.xlsx), given as its bytes; no more is unpacked than ``most_unpacked`` bytes."""
    try:
        with ZipFile(BytesIO(content)) as packed:
            if sum(part.file_size for part in packed.infolist()) > most_unpacked:
                raise unusable(source, f"is too large: unpacked, at most {most_unpacked:,} bytes can be read")
            refuse_what_is_too_much(packed, source)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features of the file that are not read here
            return _sheets(content, source)
    except BadZipFile:
        raise unusable(source, "is not a workbook: save it as .xlsx") from None
    except UnusableInput:
        raise
    except Exception as error:  # a damaged file can make the library fail in any way
        raise unusable(source, "is a damaged workbook: open it, and save it anew as .xlsx") from error


def _sheets(content: bytes, source: str) -> list[Sheet]:
    """The sheets, read row by row: what a file says of ranges (merged, linked, sized) is never laid out, however large."""
    values = load_workbook(BytesIO(content), read_only=True, data_only=True, keep_links=False)
    # Only a formula can be written otherwise than it is read, and most workbooks hold none.
    formulas = load_workbook(BytesIO(content), read_only=True, keep_links=False) if _has_formulas(content) else values
    found, cells_left, rows_left = [], MOST_CELLS, MOST_OF["row"][0]
    for sheet, written in zip(values.worksheets, formulas.worksheets, strict=True):
        # The size that a sheet states of itself is not relied on.
        sheet.reset_dimensions()
        written.reset_dimensions()
        spoilt: dict[tuple[int, int], str] = {}
        rows = []
        laid_out = (
            zip(sheet.iter_rows(), written.iter_rows(), strict=True)
            if written is not sheet
            else ((row, row) for row in sheet.iter_rows())
        )
        for number, (cells, texts) in enumerate(laid_out):
            # What lies between cells is laid out too, though no part states it.
            cells_left -= len(cells)
            rows_left -= 1
            if number >= MOST_ROWS * 10 or cells_left < 0 or rows_left < 0:
                raise unusable(source, f"has cells far out on sheet {sheet.title}: at most {MOST_ROWS} rows are read")
            row = []
            for column, (cell, text) in enumerate(zip(cells, texts, strict=True)):
                value, problem = _cell(cell.value, text.value)
                if problem is not None:
                    spoilt[number, column] = problem
                row.append(value)
            rows.append(row)
        found.append(_sheet(source, sheet.title, rows, spoilt))
    return found


def _has_formulas(content: bytes) -> bool:
    """Whether a workbook may hold a formula: in any part, whatever it is called, or in letters of more than one byte."""
    with ZipFile(BytesIO(content)) as packed:
        return any(_FORMULA.search(packed.read(part)) for part in packed.namelist())


def _sheet(source: str, name: str, rows: Sequence[Sequence[Value]], spoilt: Mapping[tuple[int, int], str]) -> Sheet:
    """A sheet without the empty cells at its end."""
    trimmed = [row[: max((place + 1 for place, value in enumerate(row) if value is not None), default=0)] for row in rows]
    while trimmed and not trimmed[-1]:
        trimmed.pop()
    if len(trimmed) > MOST_ROWS or any(len(row) > MOST_COLUMNS for row in trimmed):
        raise unusable(source, f"is too large: sheet {name} has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns")
    return Sheet(name, tuple(tuple(row) for row in trimmed), spoilt)


def _cell(value: Any, written: Any) -> tuple[Value, str | None]:
    """A cell's value, and what is wrong with it."""
    if value is None and isinstance(written, str) and written.startswith("="):
        return None, "holds a formula without a result: type the value instead"
    if isinstance(value, datetime):
        if value.time() != time():
            return None, f"holds a date with a time of day ({value}): a date alone is wanted"
        return value.date(), None
    if isinstance(value, time):
        return f"{value:%H:%M}", None
    if isinstance(value, bool):
        return "yes" if value else "no", None
    if isinstance(value, float):
        return (int(value) if value.is_integer() else value), None
    if isinstance(value, str):
        if value.startswith("#") and value.endswith(("!", "?", "/A")):
            return None, f"holds an error, {value}"
        return _plain_text(value), None
    if value is None or isinstance(value, int | date):
        return value, None
    return None, "holds something that is neither text nor number nor date"


def _plain_text(text: str) -> str | None:
    """A text without blanks around it, and without what guards it from being run as a formula."""
    return unguarded(text.replace("\u00a0", " ").strip()) or None


def problem_at(place: CellPlace, message: str) -> Problem:
    """A problem of a cell."""
    return Problem(str(place), message)
