"""Writes the workbook to fill in, or a folder of CSV files that says the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from sequencer.files.workbook import all_sheets, form
from sequencer.render.document import csv_bytes
from sequencer.render.tables import height_of, offer, print_on, put, saved
from sequencer.scenario.bank_holidays import bank_holidays
from sequencer.scenario.whole_files import write_new, write_new_folder

_ROWS = 400
"""Rows for which a choice is offered."""

_PRINTED = 8
"""Columns of the lessons that go on paper, in letters that can be read: up to what each goes with."""

_HEAD, _BASIC = PatternFill("solid", fgColor="E6E6E6"), "404040"
"""The ground of a heading, and the colour of the tabs of the sheets that everyone fills in."""


@dataclass(frozen=True)
class Contents:
    """What a workbook holds: values of the first sheet by name, rows of the other sheets, classes of the timetable's periods."""

    settings: Mapping[str, form.Cell]
    rows: dict[str, Sequence[Sequence[form.Cell]]]
    grid: Mapping[form.Place, str]

    def tables(self) -> Iterator[tuple[str, list[Sequence[form.Cell]]]]:
        """Every sheet with its heading, in the order in which they stand."""
        settings = [(each.name, self.settings.get(each.name), each.note) for each in form.SETTINGS]
        settings = [row for row in settings if row[0] != form.WEEK_ONE or row[1] is not None]
        yield form.TERM, [form.TERM_COLUMNS, *settings]
        for each in all_sheets.SHEETS:
            rows = _grid(self.grid) if each.name == form.TIMETABLE else self.rows.get(each.name, ())
            yield each.name, [tuple(column.name for column in each.columns), *rows]


EXAMPLE = Contents(
    {each.name: each.example for each in form.SETTINGS},
    {each.name: each.example for each in all_sheets.SHEETS},
    all_sheets.GRID_EXAMPLE,
)
"""What is there to be typed over."""


def begun(country: str, first: date, last: date) -> Contents:
    """The example in a term's dates, with the bank holidays of its country as rows that can be deleted.

    Raises
    ------
    UnusableSettings
        When the country is not known, or the dates are none of a term.
    """
    days = [(form.HOLIDAY, each.name, each.on) for each in bank_holidays(country, first, last)]
    title = f"9B, {first:%B} to {last:%B %Y}"
    settings = {**EXAMPLE.settings, form.TITLE: title, form.FIRST_DAY: first, form.LAST_DAY: last, form.COUNTRY: country}
    return replace(EXAMPLE, settings=settings, rows={**EXAMPLE.rows, form.DAYS: days})


def xlsx_of(contents: Contents) -> bytes:
    """A workbook to fill in, with something in it."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = form.READ_ME
    sheet.column_dimensions["A"].width = 120
    for row, text in enumerate(all_sheets.INSTRUCTIONS, 1):
        put(sheet.cell(row, 1), text)
        sheet.cell(row, 1).font = Font(bold=row == 1, size=14 if row == 1 else 11)
        sheet.row_dimensions[row].height = 20 if row == 1 else height_of([(text, 120)])
    print_on(sheet, None)
    for name, rows in contents.tables():
        add_sheet(book, name, rows)
    return saved(book)


def add_sheet(book: Workbook, name: str, rows: Sequence[Sequence[form.Cell]]) -> None:
    """Add one of the sheets to a workbook, with its rows; the first names the columns."""
    sheet = book.create_sheet(name)
    if name == form.TERM:
        _table(sheet, _SETTINGS_COLUMNS, rows[1:])
        for row, setting in enumerate(form.SETTINGS, 2):
            _offer(sheet, setting.offers, f"B{row}")
        return
    each = next(each for each in all_sheets.SHEETS if each.name == name)
    _table(sheet, each.columns, rows[1:], each.purpose)
    for number, column in enumerate(each.columns, 1):
        letter = get_column_letter(number)
        _offer(sheet, column.offers, f"{letter}{3 if each.purpose else 2}:{letter}{_ROWS}", column.open)
    if name == form.LESSONS:
        sheet.print_area = f"A1:{get_column_letter(_PRINTED)}{sheet.max_row}"
    if each in all_sheets.BASIC:
        sheet.sheet_properties.tabColor = _BASIC


def csv_of(contents: Contents) -> dict[str, bytes]:
    """The files of a folder to fill in, by their names."""
    notes = [f"{each.name}, {column.name}: {column.note}" for each in all_sheets.SHEETS for column in each.columns]
    found = {f"{form.READ_ME}.txt": "\n".join((*all_sheets.INSTRUCTIONS, "", *notes)).encode()}
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


MOST_OFFERED = 255
"""A list of choices of more characters cannot be opened: it stands in cells then, or is cut and others may be typed."""

_LISTED = 3
"""The column of the first sheet in which such a list stands."""

_SETTINGS_COLUMNS = tuple(map(form.Column, form.TERM_COLUMNS, ("What is set.", "Type over it.", ""), ((),) * 3, (26, 16, 90)))


def _offer(sheet: Worksheet, words: Sequence[str], cells: str, others: bool = False) -> None:
    """Let one of some words be chosen, where there are any; or something else be typed, too."""
    if not words:
        return
    fit = [word for number, word in enumerate(words) if len(",".join(words[: number + 1])) <= MOST_OFFERED]
    offer(sheet, fit, cells)
    choice = sheet.data_validations.dataValidation[-1]
    choice.showErrorMessage = not others and len(fit) == len(words)
    book = sheet.parent
    if book is not None and len(fit) < len(words) and form.READ_ME in book.sheetnames:
        listed = book[form.READ_ME]
        for row, word in enumerate(words, 1):
            put(listed.cell(row, _LISTED), word)
        choice.formula1 = f"'{form.READ_ME}'!${get_column_letter(_LISTED)}$1:${get_column_letter(_LISTED)}${len(words)}"


def _grid(filled: Mapping[form.Place, str]) -> list[tuple[form.Cell, ...]]:
    """The rows of the timetable: those of the first one, and those of the periods that are other ones from a date on."""
    most = max([all_sheets.GRID_PERIODS, *(period for _, _, _, period in filled)])
    later = sorted({(since, period) for since, _, _, period in filled if since is not None})
    places = [*((None, period) for period in range(1, most + 1)), *later]
    return [(period, *(filled.get((since, *column, period)) for column in form.GRID), since) for since, period in places]


def _table(sheet: Worksheet, columns: Sequence[form.Column], rows: Sequence[Sequence[form.Cell]], purpose: str = "") -> None:
    top = 2 if purpose else 1
    if purpose:
        put(sheet.cell(1, 1), purpose)
        sheet.cell(1, 1).font = Font(italic=True)
        sheet.merge_cells(start_row=1, start_column=1, end_row=1, end_column=max(2, len(columns)))
        sheet.row_dimensions[1].height = height_of([(purpose, sum(column.width for column in columns))])
    for number, column in enumerate(columns, 1):
        cell = sheet.cell(top, number)
        put(cell, column.name)
        cell.font, cell.fill, cell.border = Font(bold=True), _HEAD, Border(bottom=Side("thin"))
        if column.note:
            cell.comment = Comment(column.note, "note", height=40 + int(height_of([(column.note, 36)])), width=240)
        sheet.column_dimensions[get_column_letter(number)].width = column.width
        if column.holds == form.MINUTES_TEXT:
            sheet.column_dimensions[get_column_letter(number)].number_format = "@"
    for place, row in enumerate(rows, top + 1):
        for number, value in enumerate(row, 1):
            put(sheet.cell(place, number), value)
            sheet.cell(place, number).alignment = Alignment(wrap_text=True, vertical="top", horizontal="left")
        told = [(str(value), column.width) for value, column in zip(row, columns, strict=False) if value is not None]
        sheet.row_dimensions[place].height = height_of(told)
    print_on(sheet, f"1:{top}")
    sheet.freeze_panes = f"A{top + 1}"
