"""A workbook that would take long to read is refused by what its parts hold, before a reader is let loose on it."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from api.media import XLSX_TYPE
from sequencer import UnusableInput, read_workbook
from sequencer.__main__ import main
from sequencer.files.workbook import counted
from tests.api.service import ask, problem

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'

LAUGHS = (
    '<!DOCTYPE x [<!ENTITY a "<xf/><xf/><xf/><xf/><xf/><xf/><xf/><xf/>">'
    + "".join(f'<!ENTITY {new} "{f"&{old};" * 8}">' for old, new in zip("abcdefg", "bcdefgh", strict=True))
    + "]>"
)
"""Each name stands for eight of the one before."""

TWICE = (
    f'<workbook {MAIN} xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets>'
    '<sheet name="a" sheetId="1" r:id="rId1"/><sheet name="b" sheetId="2" r:id="one"/></sheets></workbook>'
)
TWICE_OVER = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="rId1" Type="worksheet" Target="/xl/worksheets/sheet1.xml"/>'
    '<Relationship Id="one" Type="worksheet" Target="./x/../worksheets/sheet1.xml"/></Relationships>'
)


def sheet_of(rows: str) -> str:
    """Return a sheet's part."""
    return f"<worksheet {MAIN}><sheetData>{rows}</sheetData></worksheet>"


HELD: dict[str, tuple[Mapping[str, str], str]] = {
    "sheets": (
        {"xl/workbook.xml": f"<workbook {MAIN}><sheets>{'<sheet/>' * 201}</sheets></workbook>"},
        "more than 200 sheets, counted up to its part xl/workbook.xml",
    ),
    "styles": (
        {"xl/styles.xml": f"<styleSheet {MAIN}><cellXfs>{'<xf/>' * 10_001}</cellXfs></styleSheet>"},
        "more than 10,000 cell styles, counted up to its part xl/styles.xml",
    ),
    "prefixed styles": (
        {"xl/styles.xml": f"<x:styleSheet {MAIN.replace('xmlns', 'xmlns:x')}>{'<x:xf/>' * 10_001}</x:styleSheet>"},
        "more than 10,000 cell styles",
    ),
    "strings": (
        {"xl/any.name": f"<sst {MAIN}>{'<si><t>a</t></si>' * 50_001}</sst>"},
        "more than 50,000 shared strings, counted up to its part xl/any.name",
    ),
    "cells": ({"xl/worksheets/sheet1.xml": sheet_of("<row>" + "<c/>" * 200_001)}, "more than 200,000 cells"),
    "cells of several": (
        {f"xl/worksheets/sheet{number}.xml": sheet_of("<c/>" * 100_001) for number in (1, 2)},
        "more than 200,000 cells",
    ),
    "rows": ({"xl/worksheets/sheet1.xml": sheet_of("<row/>" * 100_001)}, "more than 100,000 rows"),
    "others": ({"xl/styles.xml": f"<styleSheet {MAIN}>{'<font/>' * 50_001}"}, "more than 50,000 elements beside its cells"),
    "attribute": (
        {"xl/styles.xml": f'<styleSheet {MAIN}><numFmt formatCode="{"0" * 8001}"/></styleSheet>'},
        "an attribute of more than 8,000 characters",
    ),
    "parts": ({f"xl/media/{number}": "" for number in range(2001)}, "more than 2,000 parts"),
    "document type": (
        {"xl/styles.xml": f"{LAUGHS}<styleSheet {MAIN}>&h;</styleSheet>"},
        "xl/styles.xml declares a document type",
    ),
    "one part twice": (
        {"xl/workbook.xml": TWICE, "xl/_rels/workbook.xml.rels": TWICE_OVER},
        "2 of its sheets are one part, xl/worksheets/sheet1.xml",
    ),
}


def with_parts(blank: Path, parts: Mapping[str, str]) -> Path:
    """Put other parts into a workbook, and return it."""
    whole = io.BytesIO(blank.read_bytes())
    with zipfile.ZipFile(whole) as held, zipfile.ZipFile(blank, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in held.namelist():
            if name not in parts:
                packed.writestr(name, held.read(name))
        for name, text in parts.items():
            packed.writestr(name, text)
    return blank


@pytest.mark.parametrize("what", HELD)
def test_too_much_is_refused_before_it_is_read(what: str, blank: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def let_loose(*_: Any, **__: Any) -> None:
        raise AssertionError("the reader was let loose")

    monkeypatch.setattr("sequencer.files.workbook.cells.load_workbook", let_loose)
    parts, says = HELD[what]
    with pytest.raises(UnusableInput) as refused:
        read_workbook(with_parts(blank, parts))
    (problem,) = refused.value.problems
    assert says in problem.message
    assert refused.value.source == str(blank)


def test_the_command_line_says_what_and_where(blank: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = with_parts(blank, HELD["styles"][0])
    assert main(["sequence", str(book)]) == 2
    assert f"{book} holds more than 10,000 cell styles, counted up to its part xl/styles.xml" in capsys.readouterr().err


def test_the_service_does_too(blank: Path) -> None:
    book = with_parts(blank, HELD["sheets"][0])
    body = problem(ask("POST", "/v1/scenarios", book.read_bytes(), XLSX_TYPE), 422)
    assert "holds more than 200 sheets, counted up to its part xl/workbook.xml" in body["detail"]


def test_as_much_as_is_allowed_is_read(blank: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    scenario = read_workbook(blank)
    styles = zipfile.ZipFile(blank).read("xl/styles.xml").decode()
    there = styles.count("<xf ")
    monkeypatch.setitem(counted.MOST_OF, "xf", (there, "cell styles"))
    assert read_workbook(blank) == scenario
    monkeypatch.setitem(counted.MOST_OF, "xf", (there - 1, "cell styles"))
    with pytest.raises(UnusableInput, match=f"more than {there - 1} cell styles"):
        read_workbook(blank)


def test_what_is_no_xml_is_passed_over(blank: Path) -> None:
    scenario = read_workbook(blank)
    parts = {"xl/media/picture.png": "\x89PNG", "xl/media/drawing.svg": "<svg><unclosed></svg>"}
    assert read_workbook(with_parts(blank, parts)) == scenario


def test_empty_rows_that_no_part_states_are_counted_over_all_sheets(blank: Path) -> None:
    parts = zipfile.ZipFile(blank).namelist()
    far = {name: sheet_of('<row r="29000"><c r="A29000"/></row>') for name in parts if "/sheet" in name}
    assert len(far) > 4
    with pytest.raises(UnusableInput, match="far out on sheet"):
        read_workbook(with_parts(blank, far))
