"""A workbook's parts counted before any of them is laid out: what would take long to read is refused at once."""

from __future__ import annotations

import posixpath
from collections import Counter
from collections.abc import Iterable, Mapping
from functools import partial
from xml.parsers import expat
from zipfile import ZipFile

from sequencer.errors import Problem, UnusableInput

MOST_PARTS = 2000
"""Files inside a workbook."""

MOST_SHEETS, MOST_CELLS = 200, 200_000
"""Sheets, and cells of all of them together, empty ones included: a sheet that is formatted far down has many."""

MOST_OF = {
    "sheet": (MOST_SHEETS, "sheets"),
    "row": (100_000, "rows"),
    "c": (MOST_CELLS, "cells"),
    "si": (50_000, "shared strings"),
    "xf": (10_000, "cell styles"),
}
"""Of elements that a workbook may have many of (ECMA-376, part 1, section 18): the most of each, and what people call them."""

WITHIN = {"v", "f", "is", "t"}
"""What stands within cells and strings, and costs no more than its bytes do."""

MOST_OTHERS = 50_000
"""All other elements together: fonts and borders, names, widths of columns, drawings."""

MOST_ATTRIBUTE = 8000
"""Characters of one attribute; what people write stands between the marks."""

_PIECE = 65_536

_ANEW = "copy what is needed into a new workbook, as values"


def refuse_what_is_too_much(packed: ZipFile, source: str) -> None:
    """Refuse a workbook that has more of something than is read, or names one part as several sheets.

    Every part is looked at, whatever it is called, since the workbook itself says which of them is what; and a picture, or what
    is damaged, as far as it can be read, since whoever reads it gets no further.
    """
    names = list(dict.fromkeys(packed.namelist()))
    if len(names) > MOST_PARTS:
        raise unusable(source, f"holds more than {MOST_PARTS:,} parts; no more are read: {_ANEW}")
    counting = _Counting(source)
    for name in names:
        try:
            with packed.open(name) as part:
                counting.look_at(name, iter(partial(part.read, _PIECE), b""))
        except UnusableInput:
            raise
        except Exception:  # unpacking fails in many ways
            continue
    counting.require_sheets_apart()


class _Counting:
    """What was counted in the parts so far."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._part = ""
        self._counts: Counter[str] = Counter()
        self._sheets: list[tuple[str, str]] = []
        """For each sheet the part that lists it, and the relation that says which part it is."""
        self._targets: dict[tuple[str, str], str] = {}

    def look_at(self, name: str, pieces: Iterable[bytes]) -> None:
        """Count what one part holds."""
        self._part = name
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._start
        parser.StartDoctypeDeclHandler = self._refuse_document_type
        for piece in pieces:
            parser.Parse(piece, False)

    def require_sheets_apart(self) -> None:
        """Refuse several sheets that are one part: it would be read once for each."""
        parts = [self._targets[sheet] for sheet in self._sheets if sheet in self._targets]
        for part, count in Counter(parts).items():
            if count > 1:
                raise unusable(self._source, f"is a damaged workbook: {count} of its sheets are one part, {part}")

    def _start(self, tag: str, attributes: Mapping[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if attributes and max(map(len, attributes.values())) > MOST_ATTRIBUTE:
            raise self._too_many(f"an attribute of more than {MOST_ATTRIBUTE:,} characters")
        if name in WITHIN:
            return
        most, what = MOST_OF.get(name, (MOST_OTHERS, "elements beside its cells and strings"))
        counted = name if name in MOST_OF else ""
        self._counts[counted] += 1
        if self._counts[counted] > most:
            raise self._too_many(f"more than {most:,} {what}")
        if name == "sheet":
            folder, part = posixpath.split(self._part)
            beside = f"{folder}/_rels/{part}.rels".lstrip("/")
            self._sheets += [(beside, value) for key, value in attributes.items() if key.rpartition(":")[2] == "id"]
        elif name == "Relationship" and attributes.get("TargetMode") != "External":
            target = attributes.get("Target", "")
            above = posixpath.dirname(posixpath.dirname(self._part))
            whole = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(above, target))
            self._targets[self._part, attributes.get("Id", "")] = whole

    def _refuse_document_type(self, *_: object) -> None:
        # No part of a workbook may declare one (ECMA-376, part 2); what it could define would multiply.
        message = f"is a damaged workbook: its part {self._part} declares a document type: open it, and save it anew as .xlsx"
        raise unusable(self._source, message)

    def _too_many(self, what: str) -> UnusableInput:
        return unusable(self._source, f"holds {what}, counted up to its part {self._part}; no more are read: {_ANEW}")


def unusable(source: str, message: str) -> UnusableInput:
    """What is wrong with a whole file."""
    return UnusableInput((Problem("", message),), source)
