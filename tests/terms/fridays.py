"""Three Fridays and the next term of a workbook, each edited as in a spreadsheet, opened and saved by LibreOffice between."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Collection, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl

from sequencer import read_term

LIBREOFFICE = shutil.which("soffice")


def opened_and_saved(book: Path) -> None:
    """Let LibreOffice open a workbook and save it in its place: it holds the same term."""
    before = read_term(book).term
    out = book.parent / "saved"
    command = ["soffice", "--headless", "--convert-to", "xlsx", "--outdir", str(out), str(book)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    shutil.move(out / book.name, book)
    assert read_term(book).term == before


def tick(path: Path, until: str, taught: Collection[str] = (), **became: str) -> None:
    """Choose in the sheet with the plan what became of every lesson up to a day: by its id, by its day, or else taught.

    Of the classes in ``taught`` every lesson was.
    """
    book = openpyxl.load_workbook(path)
    for row in _rows(book["Plan"]):
        if str(row["date"].value)[:10] <= until and row["what"].value is None:
            of_day = "delivered" if row["class"].value in taught else became.get(f"on_{row['date'].value:%Y_%m_%d}", "delivered")
            row["what"].value = became.get(row["lesson"].value, of_day)
    book.save(path)


def fridays(book: Path, moved: str, spared: Collection[str] = (), first: str = "2026-11-06") -> Iterator[list[str]]:
    """The commands of a first plan, three Fridays and the next term; what a teacher does before each is done as it is reached.

    A day is lost, a lesson is taught in part, and a test, named by its title, is put off by two days. Of the classes that are
    spared, since they have no period left over, every lesson is taught.
    """
    day = date.fromisoformat(first)
    days = [str(day + timedelta(days=7 * number)) for number in range(3)]
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(day - timedelta(days=5))]
    tick(book, days[0], spared, **{f"on_{_last(book, days[0], spared)['date']:%Y_%m_%d}": "did not take place"})
    opened_and_saved(book)
    yield ["week", str(book), "--on", days[0]]
    tick(book, days[1], **{_last(book, days[1], spared)["lesson"]: "part-taught"})
    opened_and_saved(book)
    yield ["week", str(book), "--on", days[1]]
    tick(book, days[2])
    _put_off(book, moved)
    opened_and_saved(book)
    yield ["week", str(book), "--on", days[2]]
    spring = book.with_name("spring.xlsx")
    yield ["next", str(book), "--first", "2027-01-04", "--last", "2027-02-12", "--output", str(spring)]
    opened_and_saved(spring)
    yield ["week", str(spring), "--on", "2027-01-03"]


def _rows(sheet: Any) -> Iterator[dict[str, Any]]:
    heading, *rows = sheet.iter_rows()
    names = [cell.value for cell in heading]
    yield from (dict(zip(names, cells, strict=False)) for cells in rows)


def _last(path: Path, until: str, spared: Collection[str]) -> dict[str, Any]:
    """The last row with new content up to a day, of a class that is not spared."""
    plan = ({name: cell.value for name, cell in row.items()} for row in _rows(openpyxl.load_workbook(path)["Plan"]))
    rows = [row for row in plan if row["kind"] == "teach" and row["class"] not in spared and str(row["date"])[:10] <= until]
    return max(rows, key=lambda row: (row["date"], row["period"], row["lesson"]))


def _put_off(path: Path, title: str) -> None:
    book = openpyxl.load_workbook(path)
    lies = next(row["date"].value for row in _rows(book["Plan"]) if row["title"].value == title)
    next(row for row in _rows(book["Lessons"]) if row["lesson"].value == title)["not before"].value = lies + timedelta(days=2)
    book.save(path)
