"""Two small workbooks that would take a reader seconds: one of many cell styles, one of many sheets."""

from __future__ import annotations

import tempfile
import time
import zipfile
from io import BytesIO
from pathlib import Path

from api.media import XLSX_TYPE
from sequencer import write_blank
from tests.api.attacks.attack import Attack
from tests.api.raw import asked, exchange
from tests.benchmarks.served import Served

STYLES, SHEETS = 400_000, 20_000

MOST_SECONDS = 1.0
"""In which each is to be refused."""

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
RELATED = 'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'

PARTS = {
    "xl/styles.xml": f"<styleSheet {MAIN}><cellXfs>{'<xf/>' * STYLES}</cellXfs></styleSheet>",
    "xl/workbook.xml": (
        f"<workbook {MAIN} {RELATED}><sheets>"
        + "".join(f'<sheet name="s{number}" sheetId="{number}" r:id="rId1"/>' for number in range(1, SHEETS + 1))
        + "</sheets></workbook>"
    ),
}


def run(served: Served) -> str:
    """Send each a few times."""
    taken = []
    for part in PARTS:
        book = _with(part)
        for _ in range(3):
            began = time.monotonic()
            came = exchange(served.port, asked(served.port, "/v1/scenarios", book, XLSX_TYPE))
            taken.append(time.monotonic() - began)
            assert came.status == 422, f"one with another {part} was answered with {came.status}"
            assert b"holds more than" in came.body, "the refusal does not say of what it holds too much"
    assert max(taken) < MOST_SECONDS, f"the slowest was refused in {max(taken):.2f} s"
    return f"refused, the slowest in {max(taken):.2f} s"


def _with(part: str) -> bytes:
    """A workbook to fill in with one of the parts in the place of its own."""
    book = BytesIO()
    with tempfile.TemporaryDirectory() as folder:
        blank = Path(folder) / "plan.xlsx"
        write_blank(blank)
        with zipfile.ZipFile(blank) as held, zipfile.ZipFile(book, "w", zipfile.ZIP_DEFLATED) as packed:
            for name in held.namelist():
                packed.writestr(name, PARTS[part] if name == part else held.read(name))
    return book.getvalue()


ATTACK = Attack("workbooks", f"workbooks of {STYLES:,} cell styles and of {SHEETS:,} sheets", run)
