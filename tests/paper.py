"""Sheets as people get them: ``python -m tests.paper FOLDER`` prints those of every demo to PDF and says what is wrong with one.

Chromium lays them out for A4 and for a phone. Nothing may be cut off, meet what stands beside it, or break inside a word; no
page but the last may hold fewer than five lines (counted by ``pdftotext``, where there is one).
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from sequencer import (
    AROUND,
    Answer,
    Asked,
    Shown,
    SolveSettings,
    StopSignal,
    around_written,
    assign_starters,
    read_scenario,
    solve,
    written,
)
from tests.api.browser import browsing
from tests.api.service import SCENARIOS

if TYPE_CHECKING:
    from playwright.sync_api import Page

LEAST_LINES = 5
PHONE, UPRIGHT, WIDE = 390, 703, 1047
"""Pixels: a phone, and what is left of A4 between its margins, upright and lying."""

PDFTOTEXT = shutil.which("pdftotext")

_FAULTS = """() => {
    const marks = [], faults = [], wide = document.documentElement.clientWidth;
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        for (const found of node.data.matchAll(/[^\\s]+/g)) {
            const range = document.createRange();
            range.setStart(node, found.index);
            range.setEnd(node, found.index + found[0].length);
            const parts = [...range.getClientRects()].filter(each => each.width > 0 && each.height > 0);
            const broken = new Set(parts.map(each => Math.round(each.top))).size > 1;
            if (broken && found[0].length <= 16 && !/[-–—/]/.test(found[0])) {
                faults.push(`${found[0]} is broken`);
            }
            for (const { left, right, top, bottom, height } of parts) {
                // Letters fill less than their line.
                const within = [top + height * 0.15, bottom - height * 0.05];
                marks.push({ node, said: found[0], left: left + 0.5, right: right - 0.5, top: within[0], bottom: within[1] });
            }
        }
    }
    for (const node of document.querySelectorAll(".box, .test, .how, svg")) {
        const { left, right, top, bottom, width, height } = node.getBoundingClientRect();
        if (width > 0 && height > 0) {
            marks.push({ node, said: `the box ${node.textContent}`, left, right, top, bottom });
        }
    }
    for (const { said, left, right } of marks) {
        if (left < 0 || right > wide + 1) {
            faults.push(`${said} is cut off`);
        }
    }
    marks.sort((one, other) => one.top - other.top);
    marks.forEach((one, place) => {
        for (let next = place + 1; next < marks.length && marks[next].top < one.bottom - 0.5; next += 1) {
            const other = marks[next];
            const inside = one.node.contains(other.node) || other.node.contains(one.node);
            if (!inside && Math.min(one.right, other.right) - Math.max(one.left, other.left) > 0.5) {
                faults.push(`${one.said} meets ${other.said}`);
            }
        }
    });
    if (document.documentElement.scrollWidth > wide + 1) {
        faults.push("it is wider than the paper");
    }
    return faults;
}"""


def faults_of(page: Page, sheet: str) -> Iterator[str]:
    """What is wrong with a sheet as it is laid out for A4 and for a phone."""
    page.set_content(sheet)
    for medium, width in (("print", WIDE if 'class="wide"' in sheet else UPRIGHT), ("screen", PHONE)):
        page.emulate_media(media="print" if medium == "print" else "screen")
        page.set_viewport_size({"width": width, "height": 900})
        yield from (f"{medium}: {fault}" for fault in page.evaluate(_FAULTS))


def printed(page: Page, sheet: str, file: Path) -> list[int]:
    """Print a sheet, and count the lines of its pages, without its running head and the number at its foot."""
    page.set_content(sheet)
    page.emulate_media(media="print")
    page.pdf(path=file, prefer_css_page_size=True)
    if PDFTOTEXT is None:
        return []
    text = subprocess.run([PDFTOTEXT, "-layout", file, "-"], capture_output=True, check=True, encoding="utf-8").stdout
    return [sum(bool(line.strip()) for line in lines.splitlines()) - 2 for lines in text.split("\f")[:-1]]


def sheets_of(answer: Answer) -> Iterator[tuple[str, str]]:
    """Every form of an answer that is printed, by its name."""
    for name in ("sheet", "overview"):
        yield name, str(written(answer, name))
    yield "week", str(written(answer, "sheet", Shown(weeks=(2,))))
    starters = tuple(assign_starters(answer, 10, 0, StopSignal()))
    for about in AROUND:
        yield about.name, str(around_written(answer, about.name, "sheet", Asked(starters=starters)))


def main(folder: Path) -> int:
    """Print the sheets of every demo into a folder, and tell what is wrong with them."""
    folder.mkdir(parents=True, exist_ok=True)
    wrong = 0
    with browsing() as browser:
        page = browser.new_page()
        for file in sorted(SCENARIOS.glob("*.yaml")):
            answer = solve(read_scenario(file), SolveSettings(20))
            for name, sheet in sheets_of(answer) if answer.sequence is not None else ():
                lines = printed(page, sheet, folder / f"{file.stem}.{name}.pdf")
                found = [f"page {place} has {count} lines" for place, count in enumerate(lines[:-1], 1) if count < LEAST_LINES]
                found += faults_of(page, sheet)
                wrong += len(found)
                print(f"{file.stem} {name}: pages of {', '.join(map(str, lines)) or 'uncounted'} lines", *found, sep="\n  ")
    print(f"{wrong} wrong" if wrong else "nothing is wrong")
    return min(wrong, 1)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
