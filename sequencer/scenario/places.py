"""Places inside a document: how they are written for people and for programs, and where they stand in the text."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Any

from sequencer.errors import Problem
from sequencer.scenario.limits import NO_LIMITS, Limits

Path = tuple[str | int, ...]
"""Keys and list positions from the top of a document down to a value."""

UNREADABLE: Any = object()
"""Stands in a tree where something was written that could not be read."""

LONGEST_SHOWN = 40
_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


def where_text(path: Path) -> str:
    """Write a path for people: ``units[2].lessons[0].length``."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        elif _PLAIN_KEY.fullmatch(part) and len(part) <= LONGEST_SHOWN:
            text += f".{part}" if text else part
        else:
            text += f"[{shown(part)}]"
    return text


def pointer_text(path: Path) -> str:
    """Write a path as an RFC 6901 JSON pointer: ``/units/2/lessons/0/length``."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in path)


def lies_in(path: Path, places: Collection[Path]) -> bool:
    """Whether a path is one of these places or lies inside one."""
    return bool(places) and any(path[:length] in places for length in range(len(path) + 1))


def cut(text: str) -> str:
    """A text no longer than messages show."""
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"


def shown(value: Any) -> str:
    """A value as it stands in a message: short, and never a whole list or mapping."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(cut(value), ensure_ascii=False)
    if isinstance(value, int | float):
        return str(value)
    if isinstance(value, list | tuple):
        return "an empty list" if not value else f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a mapping"
    return f"a {type(value).__name__}"


@dataclass
class Positions:
    """Where the values and keys of one document stand in its text.

    A document handed over in memory has no text: its places are empty and every line is 0.
    """

    values: dict[Path, tuple[int, int]] = field(default_factory=dict)
    keys: dict[Path, tuple[int, int]] = field(default_factory=dict)

    def problem(self, path: Path, message: str, on_key: bool = False) -> Problem:
        """Describe a problem of the value (or the key) at a path.

        A path that the document does not hold stands at the nearest place above it that it does.
        """
        place = self.keys.get(path) if on_key else None
        above = path
        while place is None and above and above not in self.values:
            above = above[:-1]
        line, column = place or self.values.get(above, (0, 0))
        return Problem(where_text(path), message, pointer_text(path), line, column)


@dataclass
class Tree:
    """A document as it was read: plain data, where each part stands, and what was wrong with the writing.

    Parameters
    ----------
    data
        Mappings, lists, text, numbers, true, false and None; ``UNREADABLE`` where ``spoilt`` says so.
    spoilt
        Places whose value could not be read, so that nothing further is said about them.
    cut_short
        Whether reading stopped, so that the data is not worth looking at.
    """

    data: Any = None
    positions: Positions = field(default_factory=Positions)
    problems: list[Problem] = field(default_factory=list)
    spoilt: set[Path] = field(default_factory=set)
    cut_short: bool = False
    limits: Limits = NO_LIMITS

    def report(self, path: Path, message: str, place: tuple[int, int] = (0, 0), spoils: bool = True) -> None:
        """Note a problem of the text at a path and, when it spoils it, that the value there says nothing reliable."""
        self.problems.append(Problem(where_text(path), message, pointer_text(path), *place))
        if spoils:
            self.spoilt.add(path)

    def is_spoilt(self, path: Path) -> bool:
        """Whether the value at a path, or one above it, could not be read."""
        return lies_in(path, self.spoilt)


class CutShort(Exception):
    """Raised inside a reader where the rest of a text cannot be read."""

    def __init__(self, path: Path, message: str, place: tuple[int, int] = (0, 0)) -> None:
        super().__init__(message)
        self.path, self.message, self.place = path, message, place


class Suggestions:
    """Nearest known words for unknown ones.

    Comparing words is slow, and a document may hold thousands of unknown ones: only the first few are compared.
    """

    def __init__(self, most: int = 60, most_known: int = 1000) -> None:
        self._left = most
        self._most_known = most_known

    def nearest(self, word: str, known: Iterable[str]) -> str | None:
        """The known word most like this one, if any is like it."""
        if self._left <= 0:
            return None
        self._left -= 1
        plain: dict[str, str] = {}
        for name in known:
            plain.setdefault(name.lower(), name)
            if len(plain) >= self._most_known:
                break
        lower = word.lower()[:200]
        close = difflib.get_close_matches(lower, plain, n=1)
        if close:
            return plain[close[0]]
        begun = [name for name in plain if len(name) >= 3 and lower.startswith(name)]
        return plain[begun[0]] if begun else None

    def hint(self, word: str, known: Iterable[str]) -> str:
        """`` (did you mean r1?)``, or nothing."""
        nearest = self.nearest(word, known)
        return f" (did you mean {nearest}?)" if nearest is not None and nearest != word else ""
