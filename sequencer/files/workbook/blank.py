"""Writes the workbook to fill in, or a folder of CSV files that says the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from sequencer.files.workbook.form import (
    GRID_EXAMPLE,
    GRID_PERIODS,
    INSTRUCTIONS,
    LESSONS,
    READ_ME,
    SETTINGS,
    SHEETS,
    TERM,
    TIMETABLE,
    Cell,
    Column,
    Form,
    grid_columns,
)
from sequencer.render.document import csv_bytes
from sequencer.render.tables import height_of, offer, print_on, put, saved
from sequencer.scenario.whole_files import write_new, write_new_folder

_ROWS = 400
"""Rows for which a choice is offered."""

_PRINTED = 8
"""Columns of the lessons that go on paper, in letters that can be read: up to what each goes with."""

_HEAD = PatternFill("solid", fgColor="E6E6E6")


@dataclass(frozen=True)
class Contents:
    """What a workbook holds: values of the first sheet by name, rows of the other sheets, classes of the timetable's periods."""

    settings: Mapping[str, Cell]
    rows: dict[str, Sequence[Sequence[Cell]]]
    grid: Mapping[tuple[str, str, int], str]

    def tables(self) -> Iterator[tuple[str, list[Sequence[Cell]]]]:
        """Every sheet with its heading, in the order in which they stand."""
        yield TERM, [_SETTINGS_HEAD, *((each.name, self.settings.get(each.name), each.note) for each in SETTINGS)]
        columns, rows = _grid(self.grid)
        for form in SHEETS:
            if form.name == SHEETS[1].name:
                yield TIMETABLE, [[column.name for column in columns], *rows]
            yield form.name, [[column.name for column in form.columns], *self.rows.get(form.name, ())]


EXAMPLE = Contents({each.name: each.example for each in SETTINGS}, {form.name: form.example for form in SHEETS}, GRID_EXAMPLE)
"""What is there to be typed over."""


def xlsx_of(contents: Contents) -> bytes:
    """A workbook to fill in, with something in it."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = READ_ME
    sheet.column_dimensions["A"].width = 120
    for row, text in enumerate(INSTRUCTIONS, 1):
        put(sheet.cell(row, 1), text)
        sheet.cell(row, 1).font = Font(bold=row == 1, size=14 if row == 1 else 11)
        sheet.row_dimensions[row].height = 20 if row == 1 else height_of([(text, 120)])
    print_on(sheet, None)
    first, bells, *others = (form.name for form in SHEETS)
    for name in (TERM, first, TIMETABLE, *others[:2], bells, *others[2:]):
        add_sheet(book, name, contents)
    return saved(book)


def add_sheet(book: Workbook, name: str, contents: Contents) -> None:
    """Add one of the sheets to a workbook, with what it holds."""
    sheet = book.create_sheet(name)
    if name == TERM:
        _settings(sheet, contents.settings)
    elif name == TIMETABLE:
        _table(sheet, *_grid(contents.grid))
    else:
        _form(sheet, next(form for form in SHEETS if form.name == name), contents)
    if name == LESSONS:
        sheet.print_area = f"A1:{get_column_letter(_PRINTED)}{sheet.max_row}"


def csv_of(contents: Contents) -> dict[str, bytes]:
    """The files of a folder to fill in, by their names."""
    found = {f"{READ_ME}.txt": "\n".join((*INSTRUCTIONS, "", *_notes())).encode()}
    return found | {f"{name}.csv": csv_bytes(rows) for name, rows in contents.tables()}


def write_blank(path: Path, contents: Contents = EXAMPLE) -> None:
    """Write the workbook, or make the folder with its files; what is there already is left alone.

    Raises
    ------
    FileExistsError
    """
    if path.suffix.lower() == ".xlsx":
        write_new(path, xlsx_of(contents))
    else:
        write_new_folder(path, csv_of(contents))


def blank_workbook() -> bytes:
    """The workbook to fill in, with an example to type over."""
    return xlsx_of(EXAMPLE)


_SETTINGS_HEAD = ("what", "value", "note")


def _notes() -> list[str]:
    return [f"{form.name}, {column.name}: {column.note}" for form in SHEETS for column in form.columns]


def _settings(sheet: Worksheet, values: Mapping[str, Cell]) -> None:
    columns = [Column("what", "What is set.", width=26), Column("value", "Type over it.", width=16), Column("note", "", width=90)]
    _table(sheet, columns, [(each.name, values.get(each.name), each.note) for each in SETTINGS])
    for row, each in enumerate(SETTINGS, 2):
        if each.offers:
            offer(sheet, each.offers, f"B{row}")


def _form(sheet: Worksheet, form: Form, contents: Contents) -> None:
    _table(sheet, form.columns, contents.rows.get(form.name, ()))
    for number, column in enumerate(form.columns, 1):
        if column.offers:
            letter = get_column_letter(number)
            offer(sheet, column.offers, f"{letter}2:{letter}{_ROWS}")


def _grid(filled: Mapping[tuple[str, str, int], str]) -> tuple[list[Column], list[tuple[Cell, ...]]]:
    places = grid_columns(("A", "B"))
    columns = [Column("period", "The period's number.", width=9)]
    for label, weekday in places:
        columns.append(Column(f"{label} {weekday}", f"{weekday} of week {label}: the class, or several with commas."))
    rows: list[tuple[Cell, ...]] = []
    for period in range(1, max([GRID_PERIODS, *(period for _, _, period in filled)]) + 1):
        rows.append((period, *(filled.get((*place, period)) for place in places)))
    return columns, rows


def _table(sheet: Worksheet, columns: Sequence[Column], rows: Sequence[Sequence[Cell]]) -> None:
    for number, column in enumerate(columns, 1):
        cell = sheet.cell(1, number)
        put(cell, column.name)
        cell.font, cell.fill, cell.border = Font(bold=True), _HEAD, Border(bottom=Side("thin"))
        if column.note:
            cell.comment = Comment(column.note, "note", height=90, width=240)
        sheet.column_dimensions[get_column_letter(number)].width = column.width
    for place, row in enumerate(rows, 2):
        for number, value in enumerate(row, 1):
            put(sheet.cell(place, number), value)
            sheet.cell(place, number).alignment = Alignment(wrap_text=True, vertical="top", horizontal="left")
        told = [(str(value), column.width) for value, column in zip(row, columns, strict=False) if value is not None]
        sheet.row_dimensions[place].height = height_of(told)
    print_on(sheet, "1:1")
