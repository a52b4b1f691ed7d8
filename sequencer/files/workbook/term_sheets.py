"""The sheets that a term adds to the workbook of its scenario: the plan, what happened, and the plans before."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from sequencer.instance.build import build_instance
from sequencer.next_term.term import WholeTerm, term_data
from sequencer.plan.differences import period_text
from sequencer.render.document import Value
from sequencer.render.tables import OFFERED_IN, PARTS_DONE, columns_for, fill, offer_in
from sequencer.scenario.schema import Scenario
from sequencer.words import DID_NOT_TAKE_PLACE, LOST

PLAN, HAPPENED, EARLIER, KEPT = "Plan", "What happened", "Earlier plans", "Kept"
"""The sheets; the last is hidden, and holds what the program needs to bring earlier plans back."""

TERM_SHEETS = (PLAN, HAPPENED, EARLIER, KEPT)

PLAN_COLUMNS = (
    "class", "date", "weekday", "period", "title", "kind", "load", "taught", "what", PARTS_DONE, "pin", "unit", "lesson",
    "revisits",
)  # fmt: skip
LOAD_LEFT, PERIODS_LEFT, TITLE_LEFT = "load left", "periods left", "title left"
HAPPENED_COLUMNS = (
    "class", "date", "period", "title", "what", PARTS_DONE, "taught", LOAD_LEFT, PERIODS_LEFT, TITLE_LEFT, "today", "unit",
    "lesson", "revisits",
)  # fmt: skip
LEFT = {LOAD_LEFT: "load", PERIODS_LEFT: "length", TITLE_LEFT: "title"}
"""Columns that speak of the lesson that is left of another one, and the keys of a record for them."""

_COLUMNS = {PLAN: PLAN_COLUMNS, HAPPENED: HAPPENED_COLUMNS}
_NAMED_BY = ("class", "unit", "lesson")
_EARLIER_COLUMNS = ("made", "why", "class", "title", "from", "to")

_CHUNK = 30_000
"""Characters in a cell; it can hold 32,767."""

MOST_KEPT = 40_000_000
"""Bytes of earlier plans that are unpacked at most."""

Rows = list[dict[str, Value]]


def put_term_sheets(book: openpyxl.Workbook, term: WholeTerm) -> None:
    """Put the sheets of a term into the workbook of its scenario, those that are there anew."""
    own = {name: _own_columns(book[name], columns) for name, columns in _COLUMNS.items() if name in book.sheetnames}
    for name in TERM_SHEETS:
        if name in book.sheetnames:
            del book[name]
    if term.plan is not None:
        rows = plan_rows(term)
        columns = columns_for(term.scenario, PLAN_COLUMNS)
        sheet = _filled(book, 0, PLAN, columns, rows, own)
        offer_in(sheet, columns, OFFERED_IN, len(rows) + 2)
        sheet.print_area = f"A1:{get_column_letter(columns.index('pin') + 1)}{len(rows) + 1}"
        book.active = 0
    if term.scenario.record or term.scenario.today is not None:
        rows = happened_rows(term.scenario)
        columns = columns_for(term.scenario, HAPPENED_COLUMNS)
        sheet = _filled(book, 1, HAPPENED, columns, rows, own)
        offer_in(sheet, columns, OFFERED_IN[:1], len(rows) + 100)
    if term.earlier:
        fill(book.create_sheet(EARLIER), _EARLIER_COLUMNS, _earlier_rows(term))
    if term.plan is not None or term.earlier:
        sheet = book.create_sheet(KEPT)
        sheet.sheet_state = "hidden"
        for number, text in enumerate(_packed(term), 1):
            sheet.cell(number, 1).value = text


Own = tuple[tuple[str, ...], dict[tuple[Any, ...], tuple[Any, ...]]]
"""Columns that are the teacher's own, and what stands in them beside each lesson."""


def _filled(
    book: openpyxl.Workbook, place: int, name: str, columns: tuple[str, ...], rows: Rows, own: Mapping[str, Own]
) -> Worksheet:
    """A new sheet with rows; the teacher's own columns stand to the right, beside the lessons that they stood beside."""
    names, beside = own.get(name, ((), {}))
    nothing = (None,) * len(names)
    wide = [row | dict(zip(names, beside.get(tuple(row[key] for key in _NAMED_BY), nothing), strict=True)) for row in rows]
    sheet: Worksheet = book.create_sheet(name, place)
    fill(sheet, (*columns, *names), wide)
    return sheet


def _own_columns(sheet: Worksheet, columns: tuple[str, ...]) -> Own:
    heading, *rows = sheet.iter_rows(values_only=True) if sheet.max_row else ((),)
    names = [str(name) if name is not None else "" for name in heading]
    by_name = {name.lower(): place for place, name in enumerate(names)}
    own = {name: place for place, name in enumerate(names) if name and name.lower() not in columns}
    if not own or not set(_NAMED_BY) <= by_name.keys():
        return (), {}
    found = {tuple(row[by_name[key]] for key in _NAMED_BY): tuple(row[place] for place in own.values()) for row in rows}
    return tuple(own), found


def plan_rows(term: WholeTerm) -> Rows:
    """The rows of the sheet with the plan."""
    assert term.plan is not None
    instance = build_instance(term.scenario)
    facts = {(instance.class_of(each).id, each.unit, each.id): each for each in instance.lessons}
    found: Rows = []
    for row in term.plan.lessons:
        lesson = facts.get(row.name)
        found.append(
            {
                **_common(row),
                "weekday": f"{row.date:%a}",
                "title": row.title,
                "kind": lesson.kind if lesson is not None else None,
                "load": lesson.load if lesson is not None else None,
                "pin": "yes" if row.pin else None,
                "unit": row.unit,
            }
        )
    return found


def happened_rows(scenario: Scenario) -> Rows:
    """The rows of the sheet with what happened; the day up to which it is told stands in the first."""
    titles = {(unit.id, lesson.id): lesson.title or lesson.id for unit in scenario.units for lesson in unit.lessons}
    found: Rows = []
    for entry in scenario.record:
        row = _common(entry) | {"title": titles.get((entry.unit or "", entry.lesson)), "unit": entry.unit, "today": None}
        found.append(row | {name: getattr(entry, key) for name, key in LEFT.items()})
    if scenario.today is not None:
        found = found or [dict.fromkeys(HAPPENED_COLUMNS)]
        found[0]["today"] = scenario.today
    return found


def _common(row: Any) -> dict[str, Value]:
    """What the plan and the record say of a lesson alike."""
    return {
        "class": row.class_,
        "date": row.date,
        "period": row.period,
        "taught": row.taught,
        "what": DID_NOT_TAKE_PLACE[0] if row.what == LOST else row.what,
        "lesson": row.lesson,
        PARTS_DONE: "; ".join(row.parts_done) or None,
        "revisits": "; ".join(row.revisits) or None,
    }


def _earlier_rows(term: WholeTerm) -> Rows:
    """For people: each plan before, and beneath it what was moved when another one followed it."""
    found: Rows = []
    for each in term.earlier:
        found.append(dict.fromkeys(_EARLIER_COLUMNS) | {"made": each.made, "why": each.why})
        for change in each.changed:
            old, new = (period_text((at.date, at.period)) if at is not None else None for at in (change.from_, change.to))
            told = {"class": change.class_, "title": change.title, "from": old or "new", "to": new or "not placed"}
            found.append(dict.fromkeys(_EARLIER_COLUMNS) | told)
    return found


def _packed(term: WholeTerm) -> Iterator[str]:
    """What the sheets for people do not hold, in letters that no program changes, cell by cell."""
    data = term_data(term)
    kept = {"made_for": term.plan.made_for if term.plan is not None else None, "earlier": data["earlier"]}
    text = base64.b64encode(zlib.compress(json.dumps(kept).encode(), 9)).decode()
    yield from (text[start : start + _CHUNK] for start in range(0, len(text), _CHUNK))


def unpacked(cells: Iterable[object]) -> dict[str, Any]:
    """What a term's hidden sheet holds.

    Raises
    ------
    ValueError
        Where that cannot be read.
    """
    reading = zlib.decompressobj()
    try:
        text = reading.decompress(base64.b64decode("".join(str(cell) for cell in cells), validate=True), MOST_KEPT)
    except zlib.error:
        raise ValueError("damaged") from None
    if reading.unconsumed_tail or not reading.eof:
        raise ValueError("too large, or cut short")
    kept = json.loads(text)
    if not isinstance(kept, dict) or set(kept) != {"made_for", "earlier"}:
        raise ValueError("not what was kept")
    return kept
