"""Writes the workbook to fill in, or a folder of CSV files that says the same."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from sequencer.render.table import csv_bytes
from sequencer.render.xlsx import print_on, put, saved
from sequencer.workbook.form import (
    GRID_EXAMPLE,
    GRID_PERIODS,
    INSTRUCTIONS,
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

_ROWS = 400
"""Rows for which a choice is offered."""

_HEAD = PatternFill("solid", fgColor="E6E6E6")


def blank_xlsx() -> bytes:
    """The workbook to fill in, with an example in it."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = READ_ME
    sheet.column_dimensions["A"].width = 120
    for row, text in enumerate(INSTRUCTIONS, 1):
        put(sheet.cell(row, 1), text)
        sheet.cell(row, 1).font = Font(bold=row == 1, size=14 if row == 1 else 11)
    _settings(book.create_sheet(TERM))
    for form in SHEETS[:1]:
        _form(book.create_sheet(form.name), form)
    _table(book.create_sheet(TIMETABLE), *_grid())
    for form in SHEETS[2:]:
        _form(book.create_sheet(form.name), form)
    _form(book.create_sheet(SHEETS[1].name), SHEETS[1])
    return saved(book)


def blank_csv() -> dict[str, bytes]:
    """The files of a folder to fill in, by their names."""
    columns, rows = _grid()
    found = {
        f"{READ_ME}.txt": "\n".join((*INSTRUCTIONS, "", *_notes())).encode(),
        f"{TERM}.csv": csv_bytes([_SETTINGS_HEAD, *((name, value, note) for name, value, note, _ in SETTINGS)]),
        f"{TIMETABLE}.csv": csv_bytes([[column.name for column in columns], *rows]),
    }
    return found | {f"{form.name}.csv": csv_bytes([[column.name for column in form.columns], *form.example]) for form in SHEETS}


def write_blank(path: Path) -> None:
    """Write the workbook, or make the folder with its files; what is there already is left alone.

    Raises
    ------
    FileExistsError
    """
    if path.suffix.lower() == ".xlsx":
        with path.open("xb") as file:
            file.write(blank_xlsx())
        return
    path.mkdir()
    for name, text in blank_csv().items():
        (path / name).write_bytes(text)


_SETTINGS_HEAD = ("what", "value", "note")


def _notes() -> list[str]:
    return [f"{form.name}, {column.name}: {column.note}" for form in SHEETS for column in form.columns]


def _settings(sheet: Worksheet) -> None:
    columns = [Column("what", "What is set.", width=26), Column("value", "Type over it.", width=16), Column("note", "", width=90)]
    _table(sheet, columns, [(name, value, note) for name, value, note, _ in SETTINGS])
    for row, (_, _, _, offers) in enumerate(SETTINGS, 2):
        if offers:
            _offer(sheet, offers, f"B{row}")


def _form(sheet: Worksheet, form: Form) -> None:
    _table(sheet, form.columns, form.example)
    for number, column in enumerate(form.columns, 1):
        if column.offers:
            letter = get_column_letter(number)
            _offer(sheet, column.offers, f"{letter}2:{letter}{_ROWS}")


def _grid() -> tuple[list[Column], list[tuple[Cell, ...]]]:
    places = grid_columns(("A", "B"))
    columns = [Column("period", "The period's number.", width=9)]
    for label, weekday in places:
        columns.append(Column(f"{label} {weekday}", f"{weekday} of week {label}: the class, or several with commas."))
    rows: list[tuple[Cell, ...]] = []
    for period in range(1, GRID_PERIODS + 1):
        rows.append((period, *(GRID_EXAMPLE.get((*place, period)) for place in places)))
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
    print_on(sheet, "1:1")


def _offer(sheet: Worksheet, words: Sequence[str], cells: str) -> None:
    offered = DataValidation("list", formula1=f'"{",".join(words)}"', allow_blank=True, showErrorMessage=True)
    offered.error = f"One of: {', '.join(words)}"
    sheet.add_data_validation(offered)
    offered.add(cells)
