"""JSON text (RFC 8259), part by part.

The standard library's reader says neither where a value stands nor that a key came twice, and it reads ``NaN``. This
one does the outline and leaves strings and numbers to the library.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from sequencer.scenario.guards import TOO_LARGE, Lines, fraction, unfit_text, whole_number
from sequencer.scenario.places import UNREADABLE, CutShort, Tree
from sequencer.scenario.tree_reader import ENDED, LIST, MAPPING, SCALAR, Part

_BLANKS = frozenset(" \t\n\r")
_BLANK = re.compile(r"[ \t\n\r]*")
_STRING = re.compile(r'"(?:[^"\\\x00-\x1f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"')
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?(?![0-9A-Za-z.])", re.ASCII)
_WORD = re.compile(r"(true|false|null|-?(?:NaN|Infinity))\b")
_WORDS = {"true": True, "false": False, "null": None}


def json_parts(text: str, _: Tree) -> Iterator[Part]:
    """The parts of one JSON document."""
    return _Scanner(text).document()


class _Scanner:
    """Goes through a text from left to right; after every part it stands behind the blanks that follow."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._lines = Lines(text)
        self._at = 0
        self._step_to(0)

    def document(self) -> Iterator[Part]:
        part = self._part()
        yield part
        yield from self._inside(part.kind)
        if self._at < len(self._text):
            raise self._wrong("there is more text after the end")

    def _inside(self, kind: str) -> Iterator[Part]:
        """What a mapping or list holds that has begun, and its end; nothing for a scalar."""
        if kind == SCALAR:
            return
        end = "}" if kind == MAPPING else "]"
        more = not self._take(end)
        while more:
            if kind == MAPPING:
                yield self._key()
            part = self._part()
            yield part
            if part.kind != SCALAR:
                yield from self._inside(part.kind)
            more = not self._take(end)
            if more and not self._take(","):
                raise self._wrong(f"a comma or {end} is missing before this")
        yield ENDED

    def _wrong(self, what: str) -> CutShort:
        return CutShort((), f"is not valid JSON: {what}", self._lines.place(self._at))

    def _step_to(self, at: int) -> None:
        self._at = at
        if self._text[at : at + 1] in _BLANKS:
            blank = _BLANK.match(self._text, at)
            assert blank is not None
            self._at = blank.end()

    def _take(self, mark: str) -> bool:
        """Step over a mark, if it is next."""
        found = self._text.startswith(mark, self._at)
        if found:
            self._step_to(self._at + len(mark))
        return found

    def _key(self) -> Part:
        if not self._text.startswith('"', self._at):
            raise self._wrong("a key in double quotes is missing here")
        key = self._string(self._lines.place(self._at))
        if not self._take(":"):
            raise self._wrong("a colon is missing before this")
        return key

    def _part(self) -> Part:
        """A scalar, or the beginning of a mapping or list."""
        place = self._lines.place(self._at)
        mark = self._text[self._at : self._at + 1]
        if mark == '"':
            return self._string(place)
        if mark == "{" or mark == "[":
            self._step_to(self._at + 1)
            return Part(MAPPING if mark == "{" else LIST, place)
        return self._scalar(place)

    def _string(self, place: tuple[int, int]) -> Part:
        found = _STRING.match(self._text, self._at)
        if found is None:
            raise self._wrong("this text has no closing quote, a line end, or a backslash that means nothing")
        self._step_to(found.end())
        written = found.group()
        if "\\" not in written:
            return Part(SCALAR, place, written[1:-1], written[1:-1])
        text = json.loads(written)
        return Part(SCALAR, place, text, text, unfit_text(text))

    def _scalar(self, place: tuple[int, int]) -> Part:
        found = _WORD.match(self._text, self._at) or _NUMBER.match(self._text, self._at)
        if found is None:
            raise self._wrong("a value is missing or misspelt here")
        self._step_to(found.end())
        word = found.group()
        if found.re is _WORD:
            if word in _WORDS:
                return Part(SCALAR, place, _WORDS[word])
            return Part(SCALAR, place, UNREADABLE, wrong=f"must be a number that can be written down (got {word})")
        value = fraction(word) if found.group(1) or found.group(2) else whole_number(word)
        return Part(SCALAR, place, value) if value is not None else Part(SCALAR, place, UNREADABLE, wrong=TOO_LARGE)
