"""Three Fridays and the next term of a workbook, each edited as in a spreadsheet, opened and saved by LibreOffice between."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
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


def tick(path: Path, until: str, **became: str) -> None:
    """Choose in the sheet with the plan what became of every lesson up to a day: by its id, by ``on_Fri``, or else taught."""
    book = openpyxl.load_workbook(path)
    for row in _rows(book["Plan"]):
        if str(row["date"].value)[:10] <= until and row["what"].value is None:
            row["what"].value = became.get(row["lesson"].value, became.get(f"on_{row['date'].value:%a}", "delivered"))
    book.save(path)


def fridays(book: Path, moved: str, first: str = "2026-11-06") -> Iterator[list[str]]:
    """The commands of a first plan, three Fridays and the next term; what a teacher does before each is done as it is reached.

    A day is lost, a lesson is taught in part, and a test, named by its title, is put off by two days.
    """
    day = date.fromisoformat(first)
    days = [str(day + timedelta(days=7 * number)) for number in range(3)]
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(day - timedelta(days=5))]
    tick(book, days[0], on_Fri="did not take place")
    opened_and_saved(book)
    yield ["week", str(book), "--on", days[0]]
    tick(book, days[1], **{_last_taught(book, days[1]): "part-taught"})
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


def _last_taught(path: Path, until: str) -> str:
    rows = [row for row in _rows(openpyxl.load_workbook(path)["Plan"]) if row["kind"].value == "teach"]
    return str(max((str(row["date"].value), row["lesson"].value) for row in rows if str(row["date"].value)[:10] <= until)[1])


def _put_off(path: Path, title: str) -> None:
    book = openpyxl.load_workbook(path)
    lies = next(row["date"].value for row in _rows(book["Plan"]) if row["title"].value == title)
    next(row for row in _rows(book["Lessons"]) if row["lesson"].value == title)["not before"].value = lies + timedelta(days=2)
    book.save(path)
