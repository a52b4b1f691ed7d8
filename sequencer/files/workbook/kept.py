"""A changed scenario written into a workbook that is there: what is the teacher's own in it stays."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from io import BytesIO
from typing import Any

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from sequencer.errors import UnusableInput, UnusableSettings
from sequencer.files.workbook import all_sheets, form
from sequencer.files.workbook.blank import Contents, add_sheet
from sequencer.files.workbook.cells import Sheet, workbook_sheets
from sequencer.files.workbook.filled import filled_in
from sequencer.files.workbook.rows import heading_of
from sequencer.files.workbook.workbook_written import scenario_contents
from sequencer.instance.load import scenario_from_data
from sequencer.render.tables import put, saved
from sequencer.scenario.schema import Scenario

KNOWN_BY = {form.TERM: ("what",), **{each.name: each.known_by for each in all_sheets.SHEETS}}
"""The columns by which a row of a sheet is known again."""


def written_into(content: bytes, scenario: Scenario, source: str = "") -> bytes:
    """A workbook, given as its bytes, with a scenario written into it, so that it is read back as that scenario.

    A sheet whose rows say already what they should stays as it was typed. Sheets and columns that are not of the form are the
    teacher's own: they stay, and what stands in such a column beside a row stays beside it; it goes when the row goes.

    Raises
    ------
    UnusableInput
        When the workbook cannot be opened.
    UnusableSettings
        When a part of the scenario does not go into a cell.
    """
    sheets = workbook_sheets(content, source)
    before = _meant(sheets)
    if before == scenario:
        return content
    wanted = scenario_contents(scenario)
    tables = dict(wanted.tables())
    told = dict(scenario_contents(before).tables()) if before is not None else {}
    for names in ({name for name, rows in tables.items() if told.get(name) != rows}, tables.keys()):
        result = _with_rows(content, sheets, wanted, names)
        if _meant(workbook_sheets(result, source)) == scenario:
            return result
    raise UnusableSettings(["this scenario cannot be written into the workbook so that it is read back as the same"])


def _meant(sheets: list[Sheet]) -> Scenario | None:
    filled = filled_in(sheets)
    if filled.problems:
        return None
    try:
        return scenario_from_data(filled.data)
    except UnusableInput:
        return None


def _with_rows(content: bytes, sheets: list[Sheet], contents: Contents, names: Collection[str]) -> bytes:
    """The workbook with the rows of some sheets put anew."""
    book = openpyxl.load_workbook(BytesIO(content))
    by_name = {sheet.name.lower(): sheet for sheet in sheets}
    for name, rows in contents.tables():
        read = by_name.get(name.lower())
        if name in names and read is not None and read.rows:
            _put_anew(book[read.name], read, rows, KNOWN_BY[name])
        elif name in names:
            if read is not None:
                del book[read.name]
            add_sheet(book, name, rows)
    return saved(book)


def _put_anew(sheet: Worksheet, read: Sheet, rows: Sequence[Sequence[form.Cell]], named_by: tuple[str, ...]) -> None:
    """Put rows, the first of which names the columns, under the heading of a sheet; the teacher's own cells go with theirs."""
    names = [str(name).lower() for name in rows[0]]
    top, heading = heading_of(read, named_by)
    for place, name in enumerate(names):
        if name not in heading and any(row[place] is not None for row in rows[1:]):
            heading.append(name)
            put(sheet.cell(top + 1, len(heading)), name)
    places = {heading.index(name) + 1: place for place, name in enumerate(names) if name in heading}
    own = [column for column in range(1, sheet.max_column + 1) if column not in places]
    first, end = top + 2, max(sheet.max_row, top + 1) + 1
    for merged in [str(each) for each in sheet.merged_cells.ranges if each.max_row >= first]:
        sheet.unmerge_cells(merged)
    kept = {number: {column: _own(sheet, number, column) for column in own} for number in range(first, end)}
    before = dict(zip(_keys(read.rows[top + 1 :], [heading.index(name) for name in named_by]), range(first, end), strict=False))
    after = _keys(rows[1:], [names.index(name) for name in named_by])
    beside = {number: before[key] for number, key in enumerate(after, first) if key in before}
    below = first + len(after)
    # What stands in rows of its own, such as a sum, goes below.
    unnamed = [number for number in before.values() if number not in beside.values() and not _named(read, number, places)]
    beside |= dict(enumerate(unnamed, below))
    for number in range(first, max(end, below + len(unnamed))):
        for column, place in places.items():
            put(sheet.cell(number, column), rows[number - first + 1][place] if number < below else None)
        for column in own if beside.get(number) != number else ():
            cell = sheet.cell(number, column)
            cell.value, cell.number_format = kept.get(beside.get(number, 0), {}).get(column, (None, "General"))


def _own(sheet: Worksheet, number: int, column: int) -> tuple[Any, str]:
    cell = sheet.cell(number, column)
    return cell.value, cell.number_format


def _named(read: Sheet, number: int, columns: Collection[int]) -> bool:
    """Whether a row has something in one of our columns."""
    return any(cell is not None and column in columns for column, cell in enumerate(read.rows[number - 1], 1))


def _keys(rows: Sequence[Sequence[object]], places: Sequence[int]) -> list[tuple[object, ...]]:
    """What names each row, and how many before it are named so; all but the first name hold for the rows below, too."""
    found: list[tuple[object, ...]] = []
    said: dict[int, object] = {}
    counts: Counter[tuple[object, ...]] = Counter()
    for cells in rows:
        named = [str(cells[place]).lower() if place < len(cells) and cells[place] is not None else None for place in places]
        said |= {place: name for place, name in zip(places, named, strict=True) if name is not None}
        key = (named[0], *(said.get(place) for place in places[1:]))
        counts[key] += 1
        found.append((*key, counts[key]))
    return found
