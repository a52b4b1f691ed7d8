"""Three Fridays and the next term of a workbook, each edited as in a spreadsheet, opened and saved by LibreOffice between."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Collection, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl

from sequencer import Scenario, build_instance, load_scenario, read_term
from sequencer.next_term.happened import with_what_happened
from sequencer.next_term.term import PlanRow
from sequencer.questions.explaining.possible import Clock, possible
from tests.builders import PATIENT
from tests.writing_commands import SCENARIOS

LIBREOFFICE = shutil.which("soffice")

MOVED = "Should the road be built?"
"""Of six classes the test that is put off."""


def six_classes() -> Scenario:
    """The demo of six classes, with a day of its own for the test that is put off: it moves within its week."""
    text = (SCENARIOS / "six-classes.yaml").read_text(encoding="utf-8")
    stated = f'title: "{MOVED}", '
    assert text.count(stated) == 1
    return load_scenario(text.replace(stated, f"{stated}on: 2026-12-14, "))


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
            of_day = became.get(f"on_{row['date'].value:%Y_%m_%d}", "delivered")
            row["what"].value = "delivered" if row["class"].value in taught else became.get(row["lesson"].value, of_day)
    book.save(path)


def fridays(book: Path, moved: str, first: str = "2026-11-06") -> Iterator[list[str]]:
    """The commands of a first plan, three Fridays and the next term; what a teacher does before each is done as it is reached.

    A class loses a day, a lesson is taught in part, and a test, named by its title, is put off by a few days. Whose day and
    which lesson hangs on the plan: of the class with most room for it, as some may have no period left over.
    """
    days = [date.fromisoformat(first) + timedelta(days=7 * number) for number in range(3)]
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(days[0] - timedelta(days=5))]
    _happens(book, days[0], moved, "did not take place")
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(days[0])]
    _happens(book, days[1], moved, "part-taught")
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(days[1])]
    tick(book, str(days[2]))
    _put_off(book, moved)
    opened_and_saved(book)
    yield ["week", str(book), "--on", str(days[2])]
    spring = book.with_name("spring.xlsx")
    yield ["next", str(book), "--first", "2027-01-04", "--last", "2027-02-12", "--output", str(spring)]
    opened_and_saved(spring)
    yield ["week", str(spring), "--on", "2027-01-03"]


def _happens(book: Path, friday: date, moved: str, what: str) -> None:
    """Fill in a week up to a Friday, in which something became of the last new lesson of one class that leaves a sequence."""
    plan = read_term(book).term.plan
    assert plan is not None
    owner = next(row.class_ for row in plan.lessons if row.title == moved)
    trial = book.with_name("trial.xlsx")
    # The class of the test that is put off comes last.
    for row in sorted(_last_new(book, friday), key=lambda row: row.class_ == owner):
        shutil.copy(book, trial)
        others = {each.class_ for each in plan.lessons} - {row.class_}
        became = {row.lesson: what} if what == "part-taught" else {f"on_{row.date:%Y_%m_%d}": what}
        tick(trial, str(friday), others, **became)
        if possible(with_what_happened(read_term(trial).term).scenario, Clock(PATIENT, PATIENT)):
            shutil.move(trial, book)
            return
    raise AssertionError(f"whatever {what} up to {friday}, there is no sequence")


def _last_new(book: Path, friday: date) -> list[PlanRow]:
    """Of each class the last lesson with new content in the week of a Friday; those with most periods spare after it first."""
    term = read_term(book).term
    assert term.plan is not None
    instance, found = build_instance(term.scenario), []
    new = {(instance.class_of(each).id, each.unit, each.id) for each in instance.lessons if each.kind == "teach"}
    for facts in instance.classes:
        own = [row for row in term.plan.lessons if row.class_ == facts.id]
        rows = [row for row in own if row.name in new and friday - timedelta(days=4) <= row.date <= friday and row.what is None]
        spare = sum(slot.date > friday for slot in facts.slots) - sum(row.date > friday for row in own)
        found += [(-spare, facts.index, rows[-1])] if rows else []
    return [row for *_, row in sorted(found, key=lambda each: each[:2])]


def _rows(sheet: Any) -> Iterator[dict[str, Any]]:
    heading, *rows = sheet.iter_rows()
    names = [cell.value for cell in heading]
    yield from (dict(zip(names, cells, strict=False)) for cells in rows)


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
