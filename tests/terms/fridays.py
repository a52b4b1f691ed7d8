"""Three Fridays and the next term of a workbook, each edited as in a spreadsheet, opened and saved by LibreOffice between."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Collection, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl

from sequencer import Scenario, load_scenario, read_term
from tests.writing_commands import SCENARIOS

LIBREOFFICE = shutil.which("soffice")

MOVED, ROOMY = "Should the road be built?", "10G"
"""Of six classes the test that is put off, and the class that loses a day and does not finish a lesson."""


def six_classes() -> tuple[Scenario, tuple[str, ...]]:
    """The demo of six classes with room for what happens, whichever best first plan is found; and the classes to be spared.

    One class takes one unit less this term: ten periods are left over to it, instead of one. The test that is put off has a
    day of its own, after all else that its class is taught: it moves to the class's next period of that week.
    """
    text = (SCENARIOS / "six-classes.yaml").read_text(encoding="utf-8")
    for old, new in (
        ("units: [coasts, enquiry]", "units: coasts\n    later_units: enquiry"),
        (f'title: "{MOVED}", ', f'title: "{MOVED}", on: 2026-12-14, '),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    scenario = load_scenario(text)
    return scenario, tuple(each.id for each in scenario.classes if each.id != ROOMY)


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


def fridays(book: Path, moved: str, spared: Collection[str] = (), first: str = "2026-11-01") -> Iterator[list[str]]:
    """The commands of a first plan, three Fridays and the next term; what a teacher does before each is done as it is reached.

    A day is lost, a lesson is taught in part, and a test, named by its title, is put off by a few days, each in the next week in
    which a class that is not spared is taught something new. Of the others, which have hardly a period left over, every lesson
    is taught.
    """
    opened_and_saved(book)
    yield ["week", str(book), "--on", first]
    lost = _last_of_a_week(book, date.fromisoformat(first), spared)
    friday = _friday_of(lost["date"])
    tick(book, str(friday), spared, **{f"on_{lost['date']:%Y_%m_%d}": "did not take place"})
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(friday)]
    begun = _last_of_a_week(book, friday, spared)
    friday = _friday_of(begun["date"])
    tick(book, str(friday), **{begun["lesson"]: "part-taught"})
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(friday)]
    friday += timedelta(days=7)
    tick(book, str(friday))
    _put_off(book, moved)
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(friday)]
    spring = book.with_name("spring.xlsx")
    yield ["next", str(book), "--first", "2027-01-04", "--last", "2027-02-12", "--output", str(spring)]
    opened_and_saved(spring)
    yield ["week", str(spring), "--on", "2027-01-03"]


def _rows(sheet: Any) -> Iterator[dict[str, Any]]:
    heading, *rows = sheet.iter_rows()
    names = [cell.value for cell in heading]
    yield from (dict(zip(names, cells, strict=False)) for cells in rows)


def _friday_of(day: date) -> date:
    return day + timedelta(days=4 - day.weekday())


def _last_of_a_week(path: Path, after: date, spared: Collection[str]) -> dict[str, Any]:
    """The last row with new content, of a class that is not spared, in the first week after a day that has one."""
    plan = [{name: cell.value for name, cell in row.items()} for row in _rows(openpyxl.load_workbook(path)["Plan"])]
    rows = [row | {"date": row["date"].date()} for row in plan if row["kind"] == "teach" and row["class"] not in spared]
    rows = [row for row in rows if row["date"] > after]
    friday = _friday_of(min(row["date"] for row in rows))
    return max((row for row in rows if row["date"] <= friday), key=lambda row: (row["date"], row["period"], row["lesson"]))


def _put_off(path: Path, title: str) -> None:
    """Move a test: from a day of its own to the third after it, otherwise to the second after that on which it lies, or later."""
    book = openpyxl.load_workbook(path)
    lies = next(row["date"].value for row in _rows(book["Plan"]) if row["title"].value == title)
    test = next(row for row in _rows(book["Lessons"]) if row["lesson"].value == title)
    if test["on"].value is not None:
        test["on"].value = lies + timedelta(days=3)
    else:
        test["not before"].value = lies + timedelta(days=2)
    book.save(path)
