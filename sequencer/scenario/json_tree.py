"""JSON text (RFC 8259) to plain data, with the place of every value.

The standard library's reader says neither where a value stands nor that a key came twice, and it reads ``NaN``. This
one does the outline and leaves strings and numbers to the library.
"""

from __future__ import annotations

import json
import re
from typing import Any

from sequencer.scenario.guards import TOO_LARGE, Lines, Meter, fraction, read_into_tree, unfit_key, unfit_text, whole_number
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import UNREADABLE, CutShort, Path, Tree

_BLANKS = frozenset(" \t\n\r")
_BLANK = re.compile(r"[ \t\n\r]*")
_STRING = re.compile(r'"(?:[^"\\\x00-\x1f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"')
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?(?![0-9A-Za-z.])", re.ASCII)
_NOT_A_NUMBER = re.compile(r"-?(?:NaN|Infinity)\b")
_WORD = re.compile(r"(true|false|null)\b")
_WORDS = {"true": True, "false": False, "null": None}


def json_tree(text: bytes | str, limits: Limits = NO_LIMITS) -> Tree:
    """Read one JSON document."""
    return read_into_tree(_Reader, text, limits)


class _Reader:
    """Reads a text from left to right into a tree."""

    def __init__(self, tree: Tree, text: str) -> None:
        self._tree = tree
        self._text = text
        self._at = 0
        self._lines = Lines(text)
        self._meter = Meter(tree.limits)

    def document(self) -> None:
        self._skip_blanks()
        self._tree.data = self._value(())
        if self._at < len(self._text):
            raise self._wrong("there is more text after the end")

    def _place(self) -> tuple[int, int]:
        return self._lines.place(self._at)

    def _wrong(self, what: str) -> CutShort:
        return CutShort((), f"is not valid JSON: {what}", self._place())

    def _skip_blanks(self) -> None:
        if self._text[self._at : self._at + 1] in _BLANKS:
            blank = _BLANK.match(self._text, self._at)
            assert blank is not None
            self._at = blank.end()

    def _take(self, mark: str) -> bool:
        """Step over a mark and the blanks after it, if it is next."""
        if not self._text.startswith(mark, self._at):
            return False
        self._at += len(mark)
        self._skip_blanks()
        return True

    def _value(self, path: Path, wanted: bool = True) -> Any:
        """Read one value and the blanks after it; its places are kept unless it is not wanted (a repeated key's)."""
        place = self._place()
        self._meter.enter(path, place)
        if wanted:
            self._tree.positions.values[path] = place
        value: Any
        if self._take("{"):
            value = self._mapping(path, place, wanted)
        elif self._take("["):
            value = self._list(path, place, wanted)
        elif self._text.startswith('"', self._at):
            value = self._string()
            if wrong := unfit_text(value):
                self._tree.report(path, wrong, place)
                value = UNREADABLE
        else:
            value = self._scalar(path, place)
        self._skip_blanks()
        self._meter.leave()
        return value

    def _list(self, path: Path, place: tuple[int, int], wanted: bool) -> list[Any]:
        values: list[Any] = []
        if self._take("]"):
            return values
        while True:
            self._meter.require_room(path, len(values), place)
            values.append(self._value((*path, len(values)), wanted))
            if self._take("]"):
                return values
            if not self._take(","):
                raise self._wrong("a comma or ] is missing before this")

    def _mapping(self, path: Path, place: tuple[int, int], wanted: bool) -> dict[str, Any]:
        values: dict[str, Any] = {}
        lines: dict[str, int] = {}
        if self._take("}"):
            return values
        entries = 0
        while True:
            self._meter.require_room(path, entries, place)
            entries += 1
            self._entry(values, lines, path, wanted)
            if self._take("}"):
                return values
            if not self._take(","):
                raise self._wrong("a comma or } is missing before this")

    def _entry(self, values: dict[str, Any], lines: dict[str, int], path: Path, wanted: bool) -> None:
        place = self._place()
        if not self._text.startswith('"', self._at):
            raise self._wrong("a key in double quotes is missing here")
        key = self._string()
        self._skip_blanks()
        if not self._take(":"):
            raise self._wrong("a colon is missing before this")
        if wrong := unfit_key(key):
            self._tree.report(path, wrong, place, spoils=False)
            self._value(path, wanted=False)
            return
        inner = (*path, key)
        if key in values:
            self._tree.report(inner, f"is given twice: on line {lines[key]} and here", place, spoils=False)
            self._value(inner, wanted=False)
            return
        if wanted:
            self._tree.positions.keys[inner] = place
        lines[key] = place[0]
        values[key] = self._value(inner, wanted)

    def _string(self) -> str:
        written = _STRING.match(self._text, self._at)
        if written is None:
            raise self._wrong("this text has no closing quote, a line end, or a backslash that means nothing")
        self._at = written.end()
        if "\\" not in written.group():
            return written.group()[1:-1]
        value: str = json.loads(written.group())
        return value

    def _scalar(self, path: Path, place: tuple[int, int]) -> Any:
        if word := _WORD.match(self._text, self._at):
            self._at = word.end()
            return _WORDS[word.group()]
        if odd := _NOT_A_NUMBER.match(self._text, self._at):
            self._at = odd.end()
            self._tree.report(path, f"must be a number that can be written down (got {odd.group()})", place)
            return UNREADABLE
        written = _NUMBER.match(self._text, self._at)
        if written is None:
            raise self._wrong("a value is missing or misspelt here")
        self._at = written.end()
        value = fraction(written.group()) if written.group(1) or written.group(2) else whole_number(written.group())
        if value is None:
            self._tree.report(path, TOO_LARGE, place)
            return UNREADABLE
        return value
