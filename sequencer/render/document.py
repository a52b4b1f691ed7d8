"""A document: lines, headings, notes and tables, written once; read as text for a terminal, as HTML to print, as rows of CSV."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from io import StringIO

from sequencer.render.html import Markup, Part, el

Value = str | int | date | None
"""What stands in a cell of a table for programs."""


@dataclass(frozen=True)
class Either:
    """What is one thing as text, and another on paper."""

    text: str
    paper: Part


Cell = Value | Either | tuple[str, ...]
"""Of several texts each has a line of its own on paper."""


@dataclass(frozen=True)
class TableColumn:
    """A column of a table; on paper it has a class of the style. One of the two may leave it out."""

    head: str
    class_: str = ""
    right: bool = False
    in_text: bool = True
    on_paper: bool = True


@dataclass(frozen=True)
class Table:
    """Rows of cells under columns; on paper it has a class of the style.

    The value of the column ``by`` is said once for rows below one another that share it; ``text_repeats`` it in each.
    """

    columns: Sequence[TableColumn]
    rows: Sequence[Sequence[Cell]]
    by: int | None = None
    text_repeats: bool = False
    class_: str = "list"


@dataclass(frozen=True)
class Heading:
    """A heading beneath that of a section."""

    text: str


@dataclass(frozen=True)
class Note:
    """A sentence that explains what stands near it; small on paper."""

    text: str


@dataclass(frozen=True)
class Fact:
    """Something named, and what it is; indented as text."""

    name: str
    text: str


Block = str | Heading | Note | Fact | Table
"""A text is a line, or on paper a paragraph; an empty one parts what stands around it as text."""


# -- as text -------------------------------------------------------------------------------------------------------------


def text_of(blocks: Iterable[Block]) -> str:
    """A document as text."""
    return "\n".join(lines_of(blocks)) + "\n"


def lines_of(blocks: Iterable[Block]) -> list[str]:
    """A document as lines of text."""
    lines: list[str] = []
    for block in blocks:
        if isinstance(block, Table):
            kept = [place for place, column in enumerate(block.columns) if column.in_text]
            by = None if block.text_repeats or block.by is None else kept.index(block.by)
            rows = [tuple(_as_text(row[place]) for place in kept) for row in block.rows]
            said = [_once(row, rows[place - 1] if place else None, by) for place, row in enumerate(rows)]
            right = tuple(number for number, place in enumerate(kept) if block.columns[place].right)
            lines += columns([tuple(block.columns[place].head for place in kept), *said], right)
        elif isinstance(block, Fact):
            lines.append(f"  {block.name}: {block.text}")
        else:
            lines.append(block if isinstance(block, str) else block.text)
    return lines


def _once(row: tuple[str, ...], before: tuple[str, ...] | None, by: int | None) -> tuple[str, ...]:
    if by is None or before is None or row[by] != before[by]:
        return row
    return (*row[:by], "", *row[by + 1 :])


def _as_text(cell: Cell) -> str:
    if isinstance(cell, Either):
        return cell.text
    if isinstance(cell, tuple):
        return "; ".join(cell)
    return day_cell(cell) if isinstance(cell, date) else "" if cell is None else str(cell)


def columns(table: Sequence[tuple[str, ...]], right: tuple[int, ...] = (), keep_empty: bool = False) -> list[str]:
    """Rows with each column as wide as its widest cell, the numbered ones to the right; empty columns are left out."""
    kept = [place for place in range(len(table[0])) if keep_empty or any(row[place] for row in table[1:])]
    widths = {place: max(len(row[place]) for row in table) for place in kept}
    lines = []
    for row in table:
        cells = [row[place].rjust(widths[place]) if place in right else row[place].ljust(widths[place]) for place in kept]
        lines.append(("  " + "  ".join(cells)).rstrip())
    return lines


def day_cell(day: date) -> str:
    """A date that lines up with others: ``Mon  9 Nov 2026``."""
    return f"{day:%a} {day.day:2d} {day:%b %Y}"


# -- as HTML -------------------------------------------------------------------------------------------------------------


def section(title: str, about: str, blocks: Iterable[Block], *foot: Part, far: str | None = None) -> Markup:
    """A document as a section of a sheet, under a heading with what stands beside it."""
    return el("section", header(title, about, far), [_on_paper(block) for block in blocks if block], *foot)


def header(title: str, about: str | None, far: str | None = None) -> Markup:
    """What stands at the head of a section: its title, what it is about, and at the far end what tells it from others."""
    return el("header", el("h1", title), el("p", about) if about else None, el("p", far, class_="far") if far else None)


def heads(columns: Iterable[tuple[str, str | None]]) -> Markup:
    """The head of a table: the name and class of each column."""
    return el("thead", el("tr", [el("th", name, class_=class_ or None) for name, class_ in columns]))


def _on_paper(block: Block) -> Part:
    match block:
        case Heading(text):
            return el("h2", text)
        case Note(text):
            return el("p", text, class_="note")
        case Fact(name, text):
            return el("p", el("b", f"{name}: "), text)
        case Table():
            return _table(block)
    return el("p", block)


def _table(table: Table) -> Markup:
    kept = [(place, column) for place, column in enumerate(table.columns) if column.on_paper]
    rows = []
    for number, row in enumerate(table.rows):
        anew = table.by is None or number == 0 or row[table.by] != table.rows[number - 1][table.by]
        cells = [
            el(
                "td",
                _part(row[place]) if anew or place != table.by else "",
                class_=column.class_ or None,
                data_of=column.head or None,
            )
            for place, column in kept
        ]
        rows.append(el("tr", cells, class_="first" if anew else None))
    head = heads((column.head, column.class_) for _, column in kept)
    return el("table", head, el("tbody", rows, style="break-inside: auto"), class_=table.class_)


def _part(cell: Cell) -> Part:
    if isinstance(cell, Either):
        return cell.paper
    if isinstance(cell, tuple):
        return [el("div", each) for each in cell]
    return short_day(cell) if isinstance(cell, date) else "" if cell is None else str(cell)


def short_day(day: date) -> str:
    """A date without its year: ``Thu 12 Nov``."""
    return f"{day:%a} {day.day} {day:%b}"


# -- as rows for programs ------------------------------------------------------------------------------------------------

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""How a text begins that a spreadsheet program may run."""

GUARD = "'"


def guarded(text: str) -> str:
    """A text that no spreadsheet program takes for a formula; ``unguarded`` undoes it."""
    return GUARD + text if text.startswith((*_FORMULA, GUARD)) else text


def unguarded(text: str) -> str:
    """The text that was guarded."""
    return text[1:] if text.startswith(GUARD) and text[1:].startswith((*_FORMULA, GUARD)) else text


def csv_bytes(rows: Iterable[Iterable[Value]]) -> bytes:
    """Rows as CSV (RFC 4180) in UTF-8; dates as ISO 8601 has them, texts guarded."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    for row in rows:
        writer.writerow(["" if cell is None else guarded(cell) if isinstance(cell, str) else str(cell) for cell in row])
    return text.getvalue().encode("utf-8")
