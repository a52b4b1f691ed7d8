"""A sequence as rows of a table, the same for CSV and for spreadsheets; and what keeps a text from being run as a formula."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import date
from io import StringIO

from sequencer.questions.solve import Answer
from sequencer.render.shown import Line, Shown, details, laid_out, lines_of
from sequencer.words import DELIVERED, REMAINS

Cell = str | int | date | None

COLUMNS = (
    "class", "date", "weekday", "week", "label", "period", "length", "title", "kind", "load", "taught", "teacher", "goes with",
    "what", "pin", "unit", "lesson", "revisits", "today",
)  # fmt: skip
"""Those that are read back are named as in answers; ``what`` is what became of the lesson, and ``pin`` fixes it where it lies.

``today`` is the day from which what is left may be planned anew; it stands in one row.
"""

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""How a text begins that a spreadsheet program may run."""

GUARD = "'"


def guarded(text: str) -> str:
    """A text that no spreadsheet program takes for a formula; ``unguarded`` undoes it."""
    return GUARD + text if text.startswith((*_FORMULA, GUARD)) else text


def unguarded(text: str) -> str:
    """The text that was guarded."""
    return text[1:] if text.startswith(GUARD) and text[1:].startswith((*_FORMULA, GUARD)) else text


def answer_rows(answer: Answer, shown: Shown) -> list[dict[str, Cell]]:
    """One row for each lesson shown, class by class in order of time.

    Raises
    ------
    NothingToShow
        When there is no sequence.
    """
    lines = list(lines_of(laid_out(answer), shown))
    there = {(line.owner.id, line.lesson.unit, line.lesson.id) for line in lines}
    rows = [_row(line, there) for line in lines]
    if rows:
        rows[0]["today"] = answer.instance.scenario.today
    return rows


def _row(line: Line, there: set[tuple[str, str, str]]) -> dict[str, Cell]:
    lesson, slot = line.lesson, line.slots[0]
    what = None
    if lesson.delivered is not None:
        remains = (what for what, ends in REMAINS.items() if (line.owner.id, lesson.unit, f"{lesson.id}-{ends}") in there)
        what = next(remains, DELIVERED)
    return {
        "class": line.owner.id,
        "date": line.date,
        "weekday": f"{line.date:%a}",
        "week": slot.week.number,
        "label": slot.week.label,
        "period": slot.period,
        "length": lesson.length,
        "title": line.title,
        "kind": lesson.kind,
        "load": lesson.load,
        "taught": line.taught,
        "teacher": line.teacher,
        "goes with": "; ".join(details(line)) or None,
        "what": what,
        "pin": None,
        "unit": lesson.unit,
        "lesson": lesson.id,
        "revisits": "; ".join(f"{met.unit}/{met.id}" for _, met, _ in line.met) or None,
        "today": None,
    }


def answer_csv(answer: Answer, shown: Shown) -> bytes:
    """The lessons of an answer as CSV (RFC 4180), in UTF-8.

    Raises
    ------
    NothingToShow
        When there is no sequence.
    """
    rows = answer_rows(answer, shown)
    return csv_bytes([COLUMNS, *([row[name] for name in COLUMNS] for row in rows)])


def csv_bytes(rows: Iterable[Iterable[Cell]]) -> bytes:
    """Rows as CSV; dates as ISO 8601 has them, texts guarded."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    for row in rows:
        writer.writerow(["" if cell is None else guarded(cell) if isinstance(cell, str) else str(cell) for cell in row])
    return text.getvalue().encode("utf-8")
