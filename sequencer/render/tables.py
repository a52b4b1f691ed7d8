"""A sequence as a table of lessons: as CSV, and as a workbook (Office Open XML) ready to print and to work on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from io import BytesIO

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from sequencer.plan.notes import cautions
from sequencer.questions.solve import Answer
from sequencer.render.document import Value, csv_bytes
from sequencer.render.shown import Line, Shown, details, headline, laid_out, lines_of, notes_of, one_line
from sequencer.scenario.schema import Scenario
from sequencer.words import DELIVERED, OFFERED, PART_TAUGHT, REMAINS

PARTS_DONE = "parts done"

COLUMNS = (
    "class", "date", "weekday", "week", "label", "period", "length", "title", "kind", "load", "taught", "teacher", "goes with",
    "what", PARTS_DONE, "pin", "unit", "lesson", "revisits", "today",
)  # fmt: skip
"""Those that are read back are named as in answers; ``what`` is what became of the lesson, and ``pin`` fixes it where it lies.

Parts done are asked for where lessons have parts. ``today`` is the day from which what is left may be planned anew; it stands in
one row.
"""

_OF_CLASS = (
    "date", "weekday", "week", "period", "title", "kind", "load", "taught", "goes with", "what", PARTS_DONE, "pin",
    "today", "class", "unit", "lesson", "revisits", "teacher",
)  # fmt: skip
_NOT_PRINTED = 6
"""Columns at the end by which a class's sheet is read back."""

OFFERED_IN = (("what", OFFERED), ("pin", ("yes",)))
"""What can be chosen in it."""

_OF_TEACHER = ("week", "label", "date", "weekday", "period", "class", "title", "kind", "load", "taught", "goes with")

_WIDTHS = {
    "date": 12, "weekday": 9, "title": 34, "goes with": 40, "kind": 12, "what": 14, "teacher": 14, "unit": 14, "lesson": 18,
    "taught": 10, "revisits": 24, "today": 12, "lesson title": 28, "objectives": 28, "material": 24, "latest start": 12,
    PARTS_DONE: 24,
}  # fmt: skip

DATE_FORMAT = "yyyy-mm-dd"
_RULE, _HAIR = Border(bottom=Side("thin")), Border(bottom=Side("hair"))


def answer_rows(answer: Answer, shown: Shown) -> list[dict[str, Value]]:
    """One row for each lesson shown, class by class in order of time."""
    lines = list(lines_of(laid_out(answer), shown))
    there = {(line.owner.id, line.lesson.unit, line.lesson.id) for line in lines}
    record = (entry for entry in answer.instance.scenario.record if entry.parts_done)
    done = {(entry.class_, entry.unit, entry.lesson): "; ".join(entry.parts_done) for entry in record}
    rows = [_row(line, there, done) for line in lines]
    if rows:
        rows[0]["today"] = answer.instance.scenario.today
    return rows


def _row(line: Line, there: set[tuple[str, str, str]], done: Mapping[tuple[str, str | None, str], str]) -> dict[str, Value]:
    lesson, slot = line.lesson, line.slots[0]
    what = None
    if lesson.delivered is not None:
        remains = (what for what, ends in REMAINS.items() if (line.owner.id, lesson.unit, f"{lesson.id}-{ends}") in there)
        what = next(remains, DELIVERED)
    named = [(line.owner.id, unit, lesson.id) for unit in (lesson.unit, None)]
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
        "goes with": "; ".join((*details(line), *map(one_line, notes_of(line)))) or None,
        "what": what,
        PARTS_DONE: next((done[key] for key in named if key in done), None) if what == PART_TAUGHT else None,
        "pin": None,
        "unit": lesson.unit,
        "lesson": lesson.id,
        "revisits": "; ".join(f"{met.unit}/{met.id}" for _, met, _ in line.met) or None,
        "today": None,
    }


def columns_for(scenario: Scenario, columns: tuple[str, ...]) -> tuple[str, ...]:
    """The columns that a scenario's plan has: without that for parts done where no lesson has parts."""
    has_parts = any(lesson.parts for unit in scenario.units for lesson in unit.lessons)
    return tuple(name for name in columns if has_parts or name != PARTS_DONE)


def answer_csv(answer: Answer, shown: Shown) -> bytes:
    """The lessons of an answer as CSV (RFC 4180), in UTF-8."""
    rows, columns = answer_rows(answer, shown), columns_for(answer.instance.scenario, COLUMNS)
    return csv_bytes([columns, *([row[name] for name in columns] for row in rows)])


def answer_xlsx(answer: Answer, shown: Shown) -> bytes:
    """The lessons of an answer as a workbook."""
    rows, columns = answer_rows(answer, shown), columns_for(answer.instance.scenario, _OF_CLASS)
    book = Workbook()
    book.remove(book.worksheets[0])
    taken: set[str] = set()
    for class_id in dict.fromkeys(row["class"] for row in rows):
        own = [row for row in rows if row["class"] == class_id]
        sheet = book.create_sheet(sheet_name(str(class_id), taken))
        fill(sheet, columns, own)
        sheet.print_area = f"A1:{get_column_letter(len(columns) - _NOT_PRINTED)}{len(own) + 1}"
        offer_in(sheet, columns, OFFERED_IN, len(own) + 1)
    for teacher in dict.fromkeys(row["teacher"] for row in rows if row["teacher"]):
        own = [row for row in rows if row["teacher"] == teacher]
        own.sort(key=lambda row: (row["date"], row["period"]))
        fill(book.create_sheet(sheet_name(f"Week of {teacher}", taken)), _OF_TEACHER, own)
    about = book.create_sheet(sheet_name("About", taken))
    about.column_dimensions["A"].width = 110
    for place, text in enumerate((*headline(answer), *cautions(laid_out(answer))), 1):
        put(about.cell(place, 1), text)
        about.row_dimensions[place].height = height_of([(text, 110)])
    print_on(about, None)
    return saved(book)


def rows_xlsx(name: str, columns: Sequence[str], rows: Iterable[dict[str, Value]]) -> bytes:
    """The rows of a list as a workbook of one sheet."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = name
    fill(sheet, columns, ({column: row.get(column) for column in columns} for row in rows))
    return saved(book)


def saved(book: Workbook) -> bytes:
    """A workbook as the bytes of a file."""
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def sheet_name(name: str, taken: set[str]) -> str:
    """A name that a sheet can have: short, of allowed characters, used once."""
    plain = "".join("-" if mark in "[]:*?/\\'" else mark for mark in name)[:28].strip() or "sheet"
    found, number = plain, 1
    while found.lower() in taken:
        number += 1
        found = f"{plain[:25]} {number}"
    taken.add(found.lower())
    return found


def fill(sheet: Worksheet, columns: Sequence[str], rows: Iterable[dict[str, Value]]) -> None:
    """Put rows under a frozen header, and say how the sheet is printed."""
    for column, name in enumerate(columns, 1):
        cell = sheet.cell(1, column)
        put(cell, name)
        cell.font, cell.border = Font(bold=True), _RULE
        sheet.column_dimensions[get_column_letter(column)].width = _WIDTHS.get(name, 8)
    for place, row in enumerate(rows, 2):
        for column, name in enumerate(columns, 1):
            put(sheet.cell(place, column), row[name])
            sheet.cell(place, column).border = _HAIR
        told = [(str(row[name] or ""), _WIDTHS.get(name, 8)) for name in columns if name != "revisits"]
        sheet.row_dimensions[place].height = height_of(told)
    print_on(sheet, "1:1")


def height_of(told: Iterable[tuple[str, int]]) -> float:
    """How high a row must be for texts in columns so many letters wide, in points: programs do not all find that themselves."""
    return 14 * max([1, *(_lines(text, width) for text, width in told)])


def _lines(text: str, width: int) -> int:
    """Lines of a text that is broken between words."""
    lines, left = 1, width
    for word in text.split():
        if len(word) > left and left < width:
            lines, left = lines + 1, width
        lines, left = lines + len(word) // (width + 1), left - len(word) % (width + 1) - 1
    return lines


def put(cell: object, value: Value) -> None:
    """Put a value in a cell: a text is a text, whatever it begins with."""
    cell.value = value  # type: ignore[attr-defined]
    cell.alignment = Alignment(wrap_text=isinstance(value, str), vertical="top", horizontal="left")  # type: ignore[attr-defined]
    if isinstance(value, str):
        cell.data_type = "s"  # type: ignore[attr-defined]
        cell.quotePrefix = value.startswith(("=", "+", "-", "@"))  # type: ignore[attr-defined]
    elif isinstance(value, date):
        cell.number_format = DATE_FORMAT  # type: ignore[attr-defined]


def print_on(sheet: Worksheet, heading: str | None) -> None:
    """A4 landscape, as wide as the page; a heading stands on each page, and is frozen on the screen."""
    if heading is not None:
        sheet.freeze_panes = "A2"
        sheet.print_title_rows = heading
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", 9
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    foot = HeaderFooterItem()
    foot.right.text = "&A, page &P of &N"
    sheet.oddFooter = foot


def offer_in(sheet: Worksheet, columns: Sequence[str], offered: Iterable[tuple[str, Sequence[str]]], last: int) -> None:
    """Let words be chosen in some columns, down to a last row."""
    for column, words in offered:
        letter = get_column_letter(columns.index(column) + 1)
        offer(sheet, words, f"{letter}2:{letter}{last}")


def offer(sheet: Worksheet, words: Sequence[str], cells: str) -> None:
    """Let one of some words be chosen in some cells."""
    offered = DataValidation("list", formula1=f'"{",".join(words)}"', allow_blank=True, showErrorMessage=True)
    offered.error = f"One of: {', '.join(words)}"
    sheet.add_data_validation(offered)
    offered.add(cells)
