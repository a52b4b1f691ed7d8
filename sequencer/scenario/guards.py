"""What no document may hold, whatever its language: limits on size and depth, characters, numbers."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from typing import Any

from sequencer.errors import BeyondLimit
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import UNREADABLE, CutShort, Path, Tree

MOST_BYTES = 2_000_000
MOST_DEPTH = 50
MOST_NODES = 100_000
MOST_ENTRIES = 20_000
"""Entries of one list or mapping; the most lessons that can be planned together have as many rows."""

LONGEST_KEY = 200
MOST_DIGITS = 15
"""Whole numbers beyond 15 digits are not exact in every JSON reader; nothing in a scenario comes near."""

# Control characters other than tab and line ends, line separators that only some readers count as line ends, halves of
# surrogate pairs, and the two code points that are not characters.
_UNFIT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")
_LINE_END = re.compile(r"\r\n|\r|\n")


class Lines:
    """Turns offsets into a text into lines and columns, counted from 1."""

    def __init__(self, text: str) -> None:
        self._starts = [0, *(match.end() for match in _LINE_END.finditer(text))]

    def place(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset."""
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1


def readable_text(text: bytes | str) -> str:
    """Decode a text and check what can be checked before it is parsed.

    Raises
    ------
    CutShort
        When it is too large, not UTF-8, empty, or holds characters that no text should.
    """
    if len(text) > MOST_BYTES:
        raise CutShort((), f"is too large: at most {MOST_BYTES:,} bytes can be read")
    text = (_decoded(text) if isinstance(text, bytes) else text).removeprefix("\ufeff")
    if unfit := _UNFIT.search(text):
        raise CutShort((), f"holds {_named(unfit)}, which cannot stand here", Lines(text).place(unfit.start()))
    if len(text) > MOST_BYTES // 4 and len(text.encode()) > MOST_BYTES:
        raise CutShort((), f"is too large: at most {MOST_BYTES:,} bytes can be read")
    if not text.strip():
        raise CutShort((), "is empty", (1, 1))
    return text


def _decoded(text: bytes) -> str:
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError as error:
        before = text[: error.start].decode("utf-8")
        place = Lines(before).place(len(before))
        raise CutShort((), f"is not UTF-8 text (byte {text[error.start]:#04x})", place) from None


def _named(unfit: re.Match[str]) -> str:
    return f"the character U+{ord(unfit.group()):04X}"


def unfit_text(value: str) -> str:
    """What is wrong with a text that was written with escapes, or nothing."""
    unfit = _UNFIT.search(value)
    return f"holds {_named(unfit)}, which text cannot hold" if unfit else ""


def unfit_key(key: str) -> str:
    """What is wrong with a key, or nothing."""
    if len(key) > LONGEST_KEY:
        return f"has a key of {len(key):,} characters; at most {LONGEST_KEY} can be read"
    unfit = _UNFIT.search(key)
    return f"has a key that holds {_named(unfit)}" if unfit else ""


def whole_number(digits: str) -> int | None:
    """The value of a decimal whole number, or None when it is too large to be meant."""
    return int(digits) if len(digits.lstrip("+-").lstrip("0")) <= MOST_DIGITS else None


def fraction(digits: str) -> float | None:
    """The value of a number with a point or exponent, or None when it is too large."""
    value = float(digits)
    return value if math.isfinite(value) else None


TOO_LARGE = "is too large a number"


class Meter:
    """Counts what a reader has met, and stops it where there is too much or it lies too deep."""

    def __init__(self, limits: Limits = NO_LIMITS) -> None:
        self._nodes = 0
        self._limit = limits.depth
        self._deepest = MOST_DEPTH if limits.depth is None else min(MOST_DEPTH, limits.depth)

    def count(self, path: Path, depth: int, place: tuple[int, int] = (0, 0)) -> None:
        """Count one value that lies so many levels deep, the whole document being the first."""
        self._nodes += 1
        if depth > self._deepest:
            if self._limit is not None and depth > self._limit:
                where = f" (line {place[0]}, column {place[1]})" if place[0] else ""
                raise BeyondLimit("depth", self._limit, f"there are more than {self._limit} levels inside one another{where}")
            raise CutShort(path, f"is nested too deeply: at most {MOST_DEPTH} levels can be read", place)
        if self._nodes > MOST_NODES:
            raise CutShort(path, f"is one value too many: at most {MOST_NODES:,} can be read", place)

    def require_room(self, path: Path, entries: int, place: tuple[int, int] = (0, 0)) -> None:
        """Refuse one more entry of a list or mapping that has so many."""
        if entries >= MOST_ENTRIES:
            raise CutShort(path, f"has too many entries: at most {MOST_ENTRIES:,} can be read", place)


def plain_tree(data: Any, limits: Limits = NO_LIMITS) -> Tree:
    """Copy data handed over in memory, holding it to what a text could have said."""
    tree = Tree(limits=limits)
    meter = Meter()

    def copy(value: Any, path: Path, depth: int = 1) -> Any:
        meter.count(path, depth)
        match value:
            case dict():
                copied = {}
                meter.require_room(path, len(value) - 1)
                for key, inner in value.items():
                    if not isinstance(key, str):
                        tree.report(path, f"has a key that is not text ({type(key).__name__})")
                    elif wrong := unfit_key(key):
                        tree.report(path, wrong)
                    else:
                        copied[key] = copy(inner, (*path, key), depth + 1)
                return copied
            case list() | tuple():
                meter.require_room(path, len(value) - 1)
                return [copy(inner, (*path, index), depth + 1) for index, inner in enumerate(value)]
            case str():
                if wrong := unfit_text(value):
                    tree.report(path, wrong)
                    return UNREADABLE
                return str(value)
            case None | bool():
                return value
            case int() if abs(value) < 10**MOST_DIGITS:
                return int(value)
            case float() if math.isfinite(value):
                return float(value)
            case int():
                tree.report(path, TOO_LARGE)
            case float():
                tree.report(path, "must be a number that can be written down, not infinite or undefined")
            case _:
                got = type(value).__name__
                tree.report(path, f"must be text, a number, true, false, a list or a mapping, not a {got}")
        return UNREADABLE

    try:
        tree.data = copy(data, ())
    except CutShort as stop:
        tree.report(stop.path, stop.message)
        tree.cut_short = True
    return tree


def with_tuples(data: Any) -> Any:
    """Plain data in which every list has become a tuple, as the frozen models hold them."""
    if isinstance(data, dict):
        return {key: with_tuples(value) for key, value in data.items()}
    if isinstance(data, list):
        return tuple(with_tuples(value) for value in data)
    return data
