"""A sequence made by hand as a table (RFC 4180): a line for each lesson, its columns named in the first line."""

from __future__ import annotations

import csv
import io
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.scenario.places import Path, Positions, Tree

NEEDED = ("class", "lesson", "date", "period")
COLUMNS = (*NEEDED, "unit", "taught")


def csv_tree(text: bytes | str, first_line: int = 1) -> Tree:
    """The table as a document of rows, each at its line.

    Raises
    ------
    UnusableInput
        When it is no table with these columns.
    """
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise UnusableInput((Problem("", "must be text in UTF-8"),)) from None
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    rows: list[dict[str, Any]] = []
    places: dict[Path, tuple[int, int]] = {}
    try:
        header = [name.strip().lower() for name in next(reader, [])]
        _check_header(header, first_line)
        line = first_line + reader.line_num
        for cells in reader:
            if any(cell.strip() for cell in cells):
                places["lessons", len(rows)] = (line, 1)
                named = zip(header, (cell.strip() for cell in cells), strict=False)
                rows.append(_row({name: cell for name, cell in named if cell}))
            line = first_line + reader.line_num
    except csv.Error as error:
        raise UnusableInput((Problem("", f"is no table of comma-separated values: {error}", "", first_line, 1),)) from None
    return Tree({"lessons": rows}, Positions(places))


def _check_header(header: list[str], line: int) -> None:
    missing = [name for name in NEEDED if name not in header]
    unknown = [name for name in header if name not in COLUMNS]
    if missing or unknown:
        known = f"the columns can be {', '.join(COLUMNS)}"
        what = f"must name the column {missing[0]}" if missing else f"names a column that is not known: {unknown[0][:40]}"
        raise UnusableInput((Problem("", f"{what} in its first line; {known}", "", line, 1),))


def _row(cells: dict[str, str]) -> dict[str, Any]:
    row: dict[str, Any] = dict(cells)
    unit, slash, lesson = cells.get("lesson", "").partition("/")
    if slash and "unit" not in cells:
        row |= {"unit": unit, "lesson": lesson}
    if cells.get("period", "").isdecimal():
        row["period"] = int(cells["period"])
    return row
