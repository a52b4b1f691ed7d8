"""Plain data as YAML that a teacher would have written: a line for a lesson, a block for a unit, notes at the ends of lines."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data

WIDTH = 120
"""Columns of a line; only a long text, or a note at the end of a line, goes beyond."""

_IN_BLOCKS = ("units", "classes", "patterns")
"""Lists whose entries are never written on one line, so that all of them look alike."""

# A text stands plain only where every reader takes it for text: YAML 1.1, which makes 630 of ``10:30`` and false of ``no``;
# YAML 1.2, which makes 70 of ``7E1`` and 8 of ``08``; and readers that are strict about punctuation inside brackets. Dates
# stand plain, as the language writes them.
_INSIDE = r"\w./()+;'’“”–—…\-"
_PLAIN_IN_BRACKETS = re.compile(rf"\w(?:[{_INSIDE} ]*[{_INSIDE}])?")
_PLAIN = re.compile(rf"\w(?:[{_INSIDE},?! ]*[{_INSIDE},?!])?")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)

_WORDS = frozenset(("null", "true", "false", "yes", "no", "on", "off", "y", "n"))
"""What some reader takes for nothing, true or false, in small letters or capitals."""

# The core schema of YAML 1.2 (chapter 10.3.2) and the types of YAML 1.1 (int, float, timestamp), a little more widely than
# they say. Numbers that begin with a point or sign do not stand plain anyway.
_NUMBERS = re.compile(
    r"[0-9][0-9_]*(?:\.[0-9_.]*)?(?:[eE][-+]?[0-9]+)?"  # 12, 1_000, 1.5, 7E1, 08
    r"|0[bB][01_]+|0[oO][0-7_]+|0[xX][0-9a-fA-F_]+"
    r"|[0-9][0-9_]*(?::[0-9]+)+(?:\.[0-9_]*)?"  # 10:30
    r"|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*",  # 2026-11-2, 2026-11-02 10:30
    re.ASCII,
)

Notes = Mapping[Path, str]
"""What to say in comments, by the path of the value beside which it is said."""


def scenario_yaml(scenario: Scenario | Mapping[str, Any], head: Sequence[str] = (), notes: Notes | None = None) -> str:
    """A scenario, written as short as the language allows, or plain data of one, as it is, in YAML that reads back as equal.

    Parameters
    ----------
    head
        Lines of a comment above it; one that begins with a dash is an entry of a list, an empty one an empty line.
    notes
        What to say in a comment beside a value, by the path of the value in the data.
    """
    data = scenario_data(scenario) if isinstance(scenario, Scenario) else scenario
    written = _Writer({path: " ".join(note.split()) for path, note in (notes or {}).items()})
    return "".join(f"{line}\n" for line in (*_comment(head), *written.document(data)))


def _comment(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        hanging = "#   " if line.startswith("- ") else "# "
        yield from textwrap.wrap(line, WIDTH, initial_indent="# ", subsequent_indent=hanging, break_long_words=False) or ["#"]


class _Writer:
    """Writes values and the notes beside them."""

    def __init__(self, notes: Notes) -> None:
        self._notes = notes

    def document(self, data: Mapping[str, Any]) -> Iterator[str]:
        """The lines of a whole document, with an empty one around every part that takes more than one."""
        long_before = None
        for key, value in data.items():
            lines = list(self._entry(f"{key_text(key)}:", value, (key,), 0))
            is_long = len(lines) > 1
            if long_before is not None and (is_long or long_before or key == "term"):
                yield ""
            yield from lines
            long_before = is_long

    def _entry(self, opening: str, value: Any, path: Path, indent: int) -> Iterator[str]:
        """A value after its key or dash: on the same line, or on lines of its own below."""
        if self._fits(opening, value, path):
            yield self._noted(f"{opening} {_on_one_line(value)}", self._notes_within(path))
            return
        yield self._noted(opening, self._notes.get(path, ""))
        margin = " " * (indent + 2)
        if isinstance(value, Mapping):
            for key, inner in value.items():
                yield from self._entry(f"{margin}{key_text(key)}:", inner, (*path, key), indent + 2)
            return
        for place, inner in enumerate(value):
            if place and path == ("units",):
                yield ""
            yield from self._listed(inner, (*path, place), indent + 2)

    def _listed(self, value: Any, path: Path, indent: int) -> Iterator[str]:
        """An entry of a list: after its dash, or with its first key after the dash and the others below that."""
        dash = " " * indent + "-"
        if self._fits(dash, value, path) or not isinstance(value, Mapping):
            yield self._noted(f"{dash} {_on_one_line(value)}", self._notes_within(path))
            return
        margin = " " * (indent + 2)
        for place, (key, inner) in enumerate(value.items()):
            opening = f"{margin}{key_text(key)}:" if place else f"{dash} {key_text(key)}:"
            yield from self._entry(opening, inner, (*path, key), indent + 2)

    def _fits(self, opening: str, value: Any, path: Path) -> bool:
        """Whether a value is written on the line of its key or dash."""
        if not isinstance(value, Mapping | list | tuple) or not value:
            return True
        inside = list(value.values() if isinstance(value, Mapping) else value)
        mappings = [isinstance(inner, Mapping) for inner in inside]
        # A table, such as a timetable of two weeks or what a class says of its lessons. An entry of a list is none.
        table = isinstance(value, Mapping) and all(mappings) and isinstance(path[-1], str)
        entries = not isinstance(value, Mapping) and any(mappings)
        if len(inside) > 1 and (table or entries):
            return False
        if (len(path) == 1 or path[-1] == "lessons") and any(_holds_mappings(inner) for inner in inside):
            return False
        if len(path) == 2 and path[0] in _IN_BLOCKS:
            return False
        return len(opening) + 1 + len(_in_brackets(value)) <= WIDTH

    def _notes_within(self, path: Path) -> str:
        """The notes on a value and on all that it holds."""
        return "; ".join(note for place, note in self._notes.items() if place[: len(path)] == path)

    @staticmethod
    def _noted(line: str, note: str) -> str:
        return f"{line}    # {note}" if note else line


def _holds_mappings(value: Any) -> bool:
    if isinstance(value, Mapping):
        return True
    return isinstance(value, list | tuple) and any(_holds_mappings(inner) for inner in value)


def _on_one_line(value: Any) -> str:
    return word_text(value, in_brackets=False) if isinstance(value, str) else _in_brackets(value)


def _in_brackets(value: Any) -> str:
    """A value as it is written on one line, or inside one that is."""
    match value:
        case Mapping():
            return "{" + ", ".join(f"{key_text(key)}: {_in_brackets(inner)}" for key, inner in value.items()) + "}"
        case list() | tuple():
            return "[" + ", ".join(_in_brackets(inner) for inner in value) + "]"
        case str():
            return word_text(value)
        case bool():
            return "true" if value else "false"
        case date():
            return value.isoformat()
        case None:
            return "null"
    return str(value)


def word_text(text: str, in_brackets: bool = True) -> str:
    """A text as YAML writes it on one line: plain, or in double quotes; inside brackets a comma would end it."""
    plain = (_PLAIN_IN_BRACKETS if in_brackets else _PLAIN).fullmatch(text)
    if _DATE.fullmatch(text) or (plain and text.lower() not in _WORDS and not _NUMBERS.fullmatch(text)):
        return text
    # JSON's escapes are YAML's too; what cannot be seen is escaped, so that no editor changes it.
    return "".join(mark if mark.isprintable() else _escaped(mark) for mark in json.dumps(text, ensure_ascii=False))


def key_text(key: str) -> str:
    """A key as it is written in YAML. ``on`` is one of the language's own and stands plain there."""
    return key if key == "on" else word_text(key)


def _escaped(mark: str) -> str:
    return f"\\u{ord(mark):04x}" if ord(mark) < 0x10000 else f"\\U{ord(mark):08x}"
