"""Fourteen lessons with parts typed in the workbook, as a teacher would: few enough keys, and an outline for every lesson.

How long a key takes is an assumption: 0.6 seconds, a hundred keys a minute, Tab or Return after each cell included.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import openpyxl

from sequencer import outline_sequence, read_workbook, solve
from sequencer.plan.sequence import Laid
from tests.test_workbook_sentences import Typed, type_in

SECONDS_A_KEY, MINUTES = 0.6, 40

TITLES = (
    "Where waves come from", "Building and breaking waves", "Weathering of a cliff", "Headlands and bays",
    "Caves, arches, stacks",
    "Longshore drift", "Spits and bars", "Dunes", "Reading a coast on a map", "Walls", "Groynes", "Beach feeding",
    "Let the sea in",
    "A village decides",
)  # fmt: skip
HARD = (4, 6, 11, 13)


def _parts(number: int, title: str) -> list[dict[str, Any]]:
    named = {"unit": "Coasts", "lesson": title} if number == 1 else {"lesson": title}
    rows: list[dict[str, Any]] = [
        named | {"part": f"{title}: the idea", "kind": "explain", "minutes": "6 to 9"} | ({"load": 4} if number in HARD else {}),
        {"part": "Sketch and label", "kind": "apply", "minutes": "8 to 12"} | ({"tags": "practical"} if number == 5 else {}),
        {"part": "A place we know", "kind": "model", "minutes": 8},
        {"part": "Questions 1 to 6", "kind": "apply", "minutes": "10 to 15", "material": "ready", "where it is": "folder"},
        {"part": "Thumbs", "kind": "check", "minutes": 3},
    ]
    return rows + ([{"part": "A film", "kind": "other", "minutes": 5, "can be left out": "yes"}] if number % 4 == 0 else [])


def test_fourteen_lessons_with_parts_are_typed_in_time_and_outlined(blank: Path) -> None:
    book = openpyxl.load_workbook(blank)
    for cells in book["Lessons"].iter_rows(min_row=2):
        for cell in cells:
            cell.value = None
    book["Term"]["B4"] = date(2027, 1, 29)
    book.save(blank)
    lessons: list[Typed] = [
        ("Lessons", ({"unit": "Coasts"} if number == 1 else {}) | {"lesson": title, "load": 4 if number in HARD else 2})
        for number, title in enumerate(TITLES, 1)
    ]
    around: list[Typed] = [
        ("Parts", {"unit": "lessons open with", "part": "Register", "kind": "settle", "minutes": 3}),
        ("Parts", {"part": "Five questions", "kind": "recall", "minutes": 6}),
        ("Parts", {"unit": "lessons close with", "part": "What we can do now", "kind": "review", "minutes": 3}),
    ]
    typed = [*lessons, *around, *(("Parts", row) for number, title in enumerate(TITLES, 1) for row in _parts(number, title))]
    keys = sum(len(str(value)) + 1 for _, row in typed for value in row.values())
    assert keys * SECONDS_A_KEY <= MINUTES * 60
    answer = solve(read_workbook(type_in(blank, *typed)))
    assert answer.sequence is not None
    found = outline_sequence(Laid(answer.instance, answer.sequence))
    assert [each.inside.title for each in found.lessons] == list(TITLES)
    assert found.proven and all(each.laid is not None and not each.broken for each in found.lessons)
